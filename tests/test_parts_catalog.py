"""The catalog as a value: sorted, frozen, equal by content, and easy to make small ones of."""

from __future__ import annotations

import pickle
from dataclasses import FrozenInstanceError
from functools import cache

import pytest
from pydantic import ValidationError

from optimizer.parts.catalog import KIND_OF_RECORD, Catalog
from optimizer.parts.reading import read_catalog
from optimizer.parts.records import KINDS, Battery, CellManager, OwnPart, RoofFan, Toilet


@cache
def generic() -> Catalog:
    return read_catalog(["generic"])


def fan(part_id: str, price: float = 100) -> RoofFan:
    return RoofFan(id=part_id, name=part_id, price_usd=price, mass_kg=2, draw_w=10, airflow_m3_h=300)


def toilet(part_id: str) -> Toilet:
    return Toilet(id=part_id, name=part_id, price_usd=30, mass_kg=2, visits=40)


BIKE = OwnPart(id="bike", name="Bike", mass_kg=12, columns={"joy": 3.0})


def test_empty_catalog_has_every_kind() -> None:
    """A rule may ask for any kind of any catalog."""
    assert list(Catalog.empty().parts) == list(KINDS)
    assert len(Catalog.empty()) == 0


def test_parts_are_sorted_by_id_within_their_kind() -> None:
    """The order in which parts are given plays no part."""
    catalog = Catalog.of([fan("b"), toilet("c"), fan("a")])
    assert [part.id for part in catalog.parts["roof_fan"]] == ["a", "b"]
    assert [part.id for part in catalog.all_parts] == ["c", "a", "b"]  # toilets come before fans
    assert catalog == Catalog.of([toilet("c"), fan("a"), fan("b")])
    assert catalog.ids == ("a", "b", "c")


def test_id_given_twice_is_refused() -> None:
    """An id means one part, over all kinds, own ones too."""
    with pytest.raises(ValueError, match="twice"):
        Catalog.of([fan("a"), toilet("a")])
    with pytest.raises(ValueError, match="twice"):
        Catalog.of([fan("bike")], {"bikes": [BIKE]})
    with pytest.raises(ValueError, match="twice"):
        Catalog.empty().with_parts(fan("a"), fan("a"))


def test_finding_by_id() -> None:
    """Each way to ask for an id finds what it should and raises KeyError for the rest."""
    catalog = Catalog.of([fan("a")], {"bikes": [BIKE]})
    assert catalog.part("a") == fan("a")
    assert catalog.own_part("bike") == BIKE
    assert (catalog.any_part("a"), catalog.any_part("bike")) == (fan("a"), BIKE)
    assert (catalog.kind_of("a"), catalog.kind_of("bike")) == ("roof_fan", "bikes")
    assert "a" in catalog
    assert "z" not in catalog
    for ask in (catalog.part, catalog.own_part, catalog.any_part, catalog.kind_of):
        with pytest.raises(KeyError):
            ask("z")
    with pytest.raises(KeyError):
        catalog.part("bike")
    with pytest.raises(KeyError):
        catalog.own_part("a")


def test_find_filters_by_fields() -> None:
    """Finding by record class gives that class, filtered by equal fields, sorted by id."""
    loose = generic().find(Battery, managed=False, chemistry="lfp")
    assert loose
    assert all(isinstance(part, Battery) and not part.managed for part in loose)
    assert [part.id for part in loose] == sorted(part.id for part in loose)
    assert generic().find(CellManager) == generic().parts["cell_manager"]
    with pytest.raises(AttributeError, match="no field colour"):
        generic().find(Battery, colour="red")


def test_kinds_and_records_match() -> None:
    """Each kind has a record class of its own."""
    assert {record: kind for kind, record in KINDS.items()} == dict(KIND_OF_RECORD)
    assert len(KIND_OF_RECORD) == len(KINDS)


def test_with_parts_replaces_and_adds() -> None:
    """A part with a known id takes the other's place, even from another kind."""
    catalog = Catalog.of([fan("a"), fan("b")], columns={"a": {"own_x": 1.0}})
    assert catalog.with_parts(fan("a", 5)).part("a").price_usd == 5
    assert catalog.with_parts(toilet("a")).kind_of("a") == "toilet"
    assert catalog.with_parts(bikes=[BIKE]).own["bikes"] == (BIKE,)
    assert catalog.part("a").price_usd == 100  # the first one is untouched


def test_without_takes_parts_out() -> None:
    """Parts, own parts and their columns go together; an unknown id is no matter."""
    catalog = Catalog.of([fan("a"), fan("b")], {"bikes": [BIKE]}, {"a": {"own_x": 1.0}})
    assert catalog.without("a", "bike", "z") == Catalog.of([fan("b")], {"bikes": []})


def test_columns_of_any_part() -> None:
    """Any number of any part can be summed; what a part does not have counts 0."""
    standing = fan("a").model_copy(update={"upright": True})
    catalog = Catalog.of([standing, toilet("b")], {"bikes": [BIKE]}, {"a": {"own_x": 1.5}})
    assert catalog.column("a", "draw_w") == 10
    assert catalog.column("a", "own_x") == 1.5
    assert catalog.column("bike", "joy") == 3
    assert catalog.column("bike", "mass_kg") == 12
    assert catalog.column("b", "draw_w") == 0
    assert catalog.column("a", "upright") == 0  # true and false are not summed
    assert catalog.column("a", "name") == 0
    with pytest.raises(KeyError):
        catalog.column("z", "draw_w")


def test_column_names_are_those_that_can_be_summed() -> None:
    """Numbers of all kinds, own columns and columns of own kinds; no words, no flags."""
    names = Catalog.of([fan("a")], {"bikes": [BIKE]}, {"a": {"own_x": 1.5}}).column_names
    assert {"price_usd", "mass_kg", "draw_w", "visits", "cells", "own_x", "joy"} <= set(names)
    assert not {"id", "name", "upright", "bank_v", "managed", "columns"} & set(names)
    assert list(names) == sorted(names)


def test_hash_tells_contents_apart() -> None:
    """Any change of content changes the hash; the way to get there does not."""
    first = Catalog.of([fan("a"), fan("b")], {"bikes": [BIKE]}, {"a": {"own_x": 1.0}})
    same = Catalog.of([fan("b"), fan("a")], {"bikes": [BIKE]}, {"a": {"own_x": 1.0}})
    others = [
        Catalog.of([fan("a"), fan("b", 101)], {"bikes": [BIKE]}, {"a": {"own_x": 1.0}}),
        Catalog.of([fan("a"), fan("b")], {"bikes": [BIKE]}, {"a": {"own_x": 2.0}}),
        Catalog.of([fan("a"), fan("b")], {"bikes": [BIKE]}),
        Catalog.of([fan("a"), fan("b")], {"cycles": [BIKE]}, {"a": {"own_x": 1.0}}),
        first.without("b"),
    ]
    assert (first, first.hash, hash(first)) == (same, same.hash, hash(same))
    assert len({first.hash, *(other.hash for other in others)}) == 6
    assert all(first != other for other in others)
    assert len(first.hash) == 16
    assert first != "a catalog"


def test_zero_and_zero_point_zero_hash_alike() -> None:
    """Numbers that are equal hash alike, whole or not."""
    whole = Catalog.of([fan("a").model_copy(update={"length_mm": 10})])
    point = Catalog.of([fan("a").model_copy(update={"length_mm": 10.0})])
    assert whole.hash == point.hash


def test_catalog_is_frozen() -> None:
    """Neither the catalog nor its mappings nor its parts can be changed."""
    catalog = Catalog.of([fan("a")], {"bikes": [BIKE]}, {"a": {"own_x": 1.0}})
    with pytest.raises(FrozenInstanceError):
        catalog.own = {}  # type: ignore[misc]
    for mapping in (catalog.parts, catalog.own, catalog.columns, catalog.columns["a"]):
        with pytest.raises(TypeError):
            mapping["x"] = ()  # type: ignore[index]
    with pytest.raises(ValidationError):
        catalog.part("a").price_usd = 1.0


def test_catalog_travels_between_processes() -> None:
    """A pickled catalog comes back equal, with the same hash."""
    catalog = generic().with_parts(bikes=[BIKE])
    again = pickle.loads(pickle.dumps(catalog))
    assert (again, again.hash) == (catalog, catalog.hash)
