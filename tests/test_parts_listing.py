"""Listing parts: filters, the plain-text table, the explained empty file."""

from __future__ import annotations

import csv
import io

import pytest

from optimizer.errors import UsageError
from optimizer.parts.catalog import Catalog
from optimizer.parts.cells import columns_of
from optimizer.parts.describing import PLURALS, csv_text, guide, template
from optimizer.parts.listing import rows, table
from optimizer.parts.reading import read_catalog
from optimizer.parts.records import KINDS, ChargeController, OwnPart, RoofFan


def fan(part_id: str, price: float, volts: str = "12", **more: object) -> RoofFan:
    values = {
        "id": part_id,
        "name": f"Fan {part_id}",
        "price_usd": price,
        "mass_kg": 2,
        "draw_w": 10,
        "airflow_m3_h": 300,
    }
    return RoofFan.model_validate({**values, "dc_v": volts, **more})


CONTROLLER = ChargeController(
    id="cc", name="Controller", price_usd=80, mass_kg=1, tracking=True, output_a=20, array_v_max=100,
    array_a_max=20, bank_v="12|24", efficiency=0.97,
)  # fmt: skip
SHOP = Catalog.of(
    [
        fan("a", 90, "12|24"),
        fan("b", 150, upright=True, skill="roof_cutting"),
        fan("c", 300, "24", note="quiet"),
        CONTROLLER,
    ],
    {
        "bikes": [
            OwnPart(id="bike", name="Bike", columns={"joy": 3.0}),
            OwnPart(id="trike", name="Trike", columns={"joy": 5.0}),
        ]
    },
    {"a": {"own_noise": 50.0}},
)


@pytest.mark.parametrize(
    ("kind", "where", "ids"),
    [
        (None, [], "cc a b c bike trike"),
        ("roof_fan", [], "a b c"),
        ("bikes", ["joy>3"], "trike"),
        (None, ["price_usd<100"], "cc a bike trike"),
        ("roof_fan", ["price_usd<=150"], "a b"),
        ("roof_fan", ["price_usd<150"], "a"),
        ("roof_fan", ["price_usd>=150"], "b c"),
        ("roof_fan", ["price_usd>150"], "c"),
        ("roof_fan", ["price_usd=150"], "b"),
        ("roof_fan", ["price_usd != 150"], "a c"),
        ("roof_fan", ["price_usd>=100", "price_usd<200"], "b"),
        ("roof_fan", ["mass_kg<4 lb"], ""),
        ("roof_fan", ["mass_kg<5 lb"], "a b c"),
        ("roof_fan", ["price_usd>0"], "a b c"),
        ("roof_fan", ["dc_v=24"], "a c"),
        ("roof_fan", ["dc_v!=24"], "b"),
        ("roof_fan", ["dc_v=12|24"], "a"),
        ("roof_fan", ["upright=yes"], "b"),
        ("roof_fan", ["upright!=true"], "a c"),
        ("roof_fan", ["skill=none"], "a c"),
        ("roof_fan", ["skill=-"], "a c"),
        ("roof_fan", ["skill=roof_cutting"], "b"),
        ("roof_fan", ["note~QUI"], "c"),
        ("roof_fan", ["id=b"], "b"),
        (None, ["own_noise>10"], "a"),
        (None, ["tracking=no"], ""),
        ("battery", ["capacity_ah>10"], ""),
    ],
)
def test_filters(kind: str | None, where: list[str], ids: str) -> None:
    """Filters hold together; parts without the column do not pass; words match one of several."""
    assert [part.id for part in rows(SHOP, kind, where)] == ids.split()


@pytest.mark.parametrize(
    ("kind", "where", "sentence"),
    [
        ("roof_fans", [], "There is no kind 'roof_fans'. Did you mean 'roof_fan'?"),
        (
            "roof_fan",
            ["prise_usd<3"],
            "There is no column 'prise_usd' in the kind 'roof_fan'. Did you mean 'price_usd'?",
        ),
        (None, ["colour=red"], "There is no column 'colour' in the catalog. Valid: "),
        (
            None,
            ["price_usd"],
            "The filter 'price_usd' is not understood; write a column, one of < <= > >= = != ~ and a value,"
            " such as 'price_usd<500' or 'chemistry=lfp'.",
        ),
        (
            "roof_fan",
            ["dc_v<24"],
            "The column 'dc_v' holds words, so it can only be asked for with =, != or ~.",
        ),
        (
            "roof_fan",
            ["price_usd<1,5"],
            "The filter on 'price_usd' has the value '1,5'; expected a number [USD]. Use a point for"
            " decimals, and nothing between thousands.",
        ),
        (
            "roof_fan",
            ["opening=rof"],
            "The filter on 'opening' has the value 'rof'; expected one of roof, wall, floor, or '-' for none."
            " Did you mean 'roof'?",
        ),
        (
            "roof_fan",
            ["upright=maybe"],
            "The filter on 'upright' has the value 'maybe'; expected true or false (yes or no, 1 or 0).",
        ),
    ],
)
def test_filters_that_cannot_be(kind: str | None, where: list[str], sentence: str) -> None:
    """A filter or kind that is not understood says what would be."""
    with pytest.raises(UsageError) as caught:
        rows(SHOP, kind, where)
    assert str(caught.value).startswith(sentence)


def test_table_of_everything_is_short() -> None:
    """Over all kinds only what they share is shown."""
    assert table(SHOP, None, ["price_usd<100"]) == (
        "kind               id     name        price_usd  mass_kg\n"
        "charge_controller  cc     Controller         80        1\n"
        "roof_fan           a      Fan a              90        2\n"
        "bikes              bike   Bike                0        0\n"
        "bikes              trike  Trike               0        0\n"
        "\n"
        "4 parts."
    )


def test_table_of_a_kind_says_once_what_is_the_same() -> None:
    """Columns that differ stand in the table, the others below it; what is none is not said."""
    assert table(SHOP, "roof_fan") == (
        "id  name   price_usd  mass_kg  upright  skill         dc_v   own_noise  note\n"
        "a   Fan a         90        2  no       -             12|24         50  -\n"
        "b   Fan b        150        2  yes      roof_cutting  12                -\n"
        "c   Fan c        300        2  no       -             24                quiet\n"
        "\n"
        "3 parts.\n"
        "The same in all: length_mm 0, width_mm 0, height_mm 0, bay_tags inside, clearance_mm 0, draw_w 10,"
        " airflow_m3_h 300."
    )


def test_table_of_one_part_shows_everything() -> None:
    """With one part nothing is left out."""
    text = table(SHOP, "roof_fan", ["id=a"])
    assert "airflow_m3_h" in text.splitlines()[0]
    assert text.endswith("\n1 part.")


def test_table_of_nothing_says_so() -> None:
    """No part is an answer too."""
    assert table(SHOP, "battery") == "No part passes."


@pytest.mark.parametrize("kind", KINDS)
def test_template_explains_every_column(kind: str) -> None:
    """Each column has its remark, and below stands a header of exactly these columns."""
    lines = list(csv.reader(io.StringIO(template(kind))))
    columns = columns_of(KINDS[kind])
    assert lines[-1] == list(columns)
    assert len(lines) == len(columns) + 3
    assert lines[0][0].startswith(f"# {PLURALS[kind]}: ")
    for line, column in zip(lines[2:-1], columns.values(), strict=True):
        assert len(line) == 1  # one cell, so that a spreadsheet shows it whole
        assert line[0].startswith(f"# {column.name}: {column.description}")


@pytest.mark.parametrize(("kind", "by"), [("insulation", "square metre"), ("cable", "metre"), ("fitting", "its unit")])
def test_what_is_not_sold_by_the_piece_says_so(kind: str, by: str) -> None:
    """A price for a metre must not be read, or typed in, as that of a roll or a sheet."""
    generic = read_catalog(["generic"])
    said = next(line for line in table(generic, kind).splitlines() if line.startswith(f"Of {kind}, price and mass are"))
    assert by in said
    assert said in table(generic).splitlines()
    assert "price and mass are" not in table(generic, "battery")
    if kind != "fitting":
        assert by in next(csv.reader(io.StringIO(template(kind))))[0]


def test_template_of_an_unknown_kind() -> None:
    """An unknown kind is answered with the closest one."""
    with pytest.raises(UsageError, match="Did you mean 'cooker'"):
        template("cookers")


def test_csv_text_quotes_and_dashes() -> None:
    """None is written so that it reads back as none, and commas are quoted."""
    part = fan("a", 90.5).model_copy(update={"bay_tags": "", "name": "Fan, small"})
    assert (
        csv_text("roof_fan", [part]).splitlines()[1] == 'a,"Fan, small",90.5,2,0,0,0,-,false,0,,,,10,300,12'
    )


def test_guide_describes_every_column_of_every_kind() -> None:
    """Every kind has its section, and every column its row."""
    text = guide()
    assert list(PLURALS) == list(KINDS)
    for kind, record in KINDS.items():
        assert f"## {PLURALS[kind]} (`{kind}.csv`)" in text
        assert all(f"| `{name}` | " in text for name in columns_of(record))


def test_every_column_is_described() -> None:
    """No field of a part goes without a description, and every measured number names its unit."""
    for kind, record in KINDS.items():
        for column in columns_of(record).values():
            assert column.description, (kind, column.name)
            measured = column.name.endswith(
                ("_usd", "_kg", "_mm", "_v", "_a", "_w", "_wh", "_l", "_ah", "_c", "_m")
            )
            if measured and "|" not in column.accepts:
                assert column.unit, (kind, column.name)
