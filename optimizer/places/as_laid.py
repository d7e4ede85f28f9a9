"""What the axles carry with everything just where it is drawn, not at the middle of its bay or of the roof.

On the road: placed kit -> *places* -> words, drawings. The rules count each thing at the middle of its place,
which does not hang on how things are put there; a heavy thing at the far end of a long bay weighs more on one axle
than that. So what is drawn is weighed too: where it would be too much, things are shifted to the other end of
their bay if that helps, and what still is too much is told. Knows no solver.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from math import ceil, floor

from optimizer.packing.bays import Bay, Stowed
from optimizer.places.reaching import ways_of
from optimizer.places.things import fan_of, named, roof_things
from optimizer.places.weighing import Resting, Weights, resting, weighed
from optimizer.problem.records import Kit, Problem
from optimizer.problem.space import At, BayPlace, Placement, Space

MOST_TURNED = 4
"""Bays that are tried turned round; each makes four times as many ways."""
STRAIGHT = (False, False)


@dataclass(frozen=True)
class Overload:
    """A limit that would be passed as drawn, in a loading state [g]."""

    what: str
    state: str
    used: int
    allowed: int


def weights_as_laid(problem: Problem, kit: Kit) -> tuple[Weights, ...]:
    """Axle loads and side differences of a placed kit with everything where it is drawn, a loading state each."""
    assert problem.space is not None
    return weighed(problem.space, tuple(_moved(problem, kit)))


def overloads(problem: Problem, kit: Kit) -> tuple[Overload, ...]:
    """What would be too much as drawn; nothing for a kit without its places."""
    if problem.space is None or kit.places is None:
        return ()
    found = []
    for one in weights_as_laid(problem, kit):
        for what, used, need, slug in (
            ("front axle", one.front, "front_axle_g", "front_axle"),
            ("rear axle", one.rear, "rear_axle_g", "rear_axle"),
            ("side balance", one.difference, "side_g", "side_balance"),
        ):
            allowed = problem.need(need) + problem.give(slug)
            if used > allowed:
                found.append(Overload(what, one.state, used, allowed))
    return tuple(found)


def evened(problem: Problem, kit: Kit) -> Kit:
    """The kit as it is when nothing is too much as drawn; else with bays turned round so that the least is.

    A bay's boxes turned round together, end for end or side for side, stand as well as before, unless a cable would
    not reach any more. The heaviest bays are tried; of equal ways the one that turns fewest.
    """
    if not overloads(problem, kit):
        return kit
    assert problem.space is not None
    assert kit.places is not None
    masses = {thing.name: max(thing.masses) for thing in resting(problem, kit)}
    loads: dict[str, int] = {}
    for box in kit.places.stowed:
        loads[box.bay] = loads.get(box.bay, 0) + masses.get(box.id, 0)
    heaviest = sorted(loads, key=lambda bay: (-loads[bay], bay))[:MOST_TURNED]
    bays = {place.bay.name: place.bay for place in problem.space.bays}
    best, least = kit, _excess(problem, kit)
    for turns in sorted(product(product((False, True), repeat=2), repeat=len(heaviest)), key=_how_many):
        chosen = dict(zip(heaviest, turns, strict=True))
        stowed = tuple(_turned(bays[s.bay], s, *chosen.get(s.bay, STRAIGHT)) for s in kit.places.stowed)
        other = replace(kit, places=Placement(kit.places.roof, stowed))
        excess = _excess(problem, other)
        if excess < least and all(way.placed_mm <= way.cable_mm for way in ways_of(problem, other)):
            best, least = other, excess
        if not least:
            break
    return best


def _how_many(turns: tuple[tuple[bool, ...], ...]) -> int:
    return sum(map(sum, turns))


def _excess(problem: Problem, kit: Kit) -> int:
    return sum(one.used - one.allowed for one in overloads(problem, kit))


def _turned(bay: Bay, stowed: Stowed, ends: bool, sides: bool) -> Stowed:
    x = bay.length - stowed.x - stowed.length if ends else stowed.x
    y = bay.width - stowed.y - stowed.width if sides else stowed.y
    return replace(stowed, x=x, y=y)


def _moved(problem: Problem, kit: Kit) -> Iterator[Resting]:
    """What is aboard, with its place as drawn where it has one."""
    assert problem.space is not None
    places = _in_bays(problem.space, kit) | _on_roof(problem, problem.space, kit)
    for thing in resting(problem, kit):
        found = places.get(thing.name)
        if not found:
            yield thing
            continue
        for at in found:  # like things on the roof are one entry: each of them an equal share
            yield replace(thing, masses=tuple(mass // len(found) for mass in thing.masses), at=at)


def _in_bays(space: Space, kit: Kit) -> dict[str, list[At]]:
    assert kit.places is not None
    bays = {place.bay.name: place for place in space.bays}
    return {stowed.id: [_middle(bays[stowed.bay], stowed)] for stowed in kit.places.stowed if stowed.bay in bays}


def _middle(place: BayPlace, stowed: Stowed) -> At:
    off_x = stowed.x + stowed.length / 2 - place.bay.length / 2
    off_y = stowed.y + stowed.width / 2 - place.bay.width / 2
    return _shifted(place.at, off_x, off_y)


def _shifted(at: At, x: float, y: float) -> At:
    """A place further along and across, the two whole millimetres around it."""
    low, high = at.x_low, at.x_high
    assert low is not None
    assert high is not None
    return At(floor(low + x), ceil(high + x), floor(at.y_low + y), ceil(at.y_high + y))


def _on_roof(problem: Problem, space: Space, kit: Kit) -> dict[str, list[At]]:
    """By group and part, as ``weighing`` names them; nothing where the roof's own place is not known."""
    assert kit.places is not None
    roof = space.roof
    if roof.at.x_low is None:
        return {}
    spots = {placed.id: placed for placed in kit.places.roof}
    found: dict[str, list[At]] = {}
    for group, option in kit.options(problem):
        things = [(name, spots[name]) for name, _ in named(group, roof_things(space, group, option)) if name in spots]
        pinned = fan_of(space, [(group, option)])
        if pinned is not None:
            things += [(f"{group.name}/{thing.part}/1", pinned) for thing in option.things if thing.on_roof][:1]
        for name, spot in things:
            here = spot.moved(*roof.margin)
            off_x = here.x + here.length / 2 - roof.size[0] / 2
            off_y = here.y + here.width / 2 - roof.size[1] / 2
            found.setdefault(name.rsplit("/", 1)[0], []).append(_shifted(roof.at, off_x, off_y))
    return found
