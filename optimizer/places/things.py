"""The things of a kit one by one, as rectangles for the roof and boxes for the bays.

On the road: problem + kit -> *places*. Knows no solver.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from optimizer.packing.bays import Bay, Box
from optimizer.packing.shapes import Item, Placed
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.problem.space import BayPlace, Space, Thing

FAN = "roof_fan"


def roof_things(space: Space, group: Group, option: Option) -> list[Thing]:
    """What of an option is laid on the roof; a pinned fan is not: its place is given."""
    if group.kind == FAN and space.roof.fan is not None:
        return []
    return [thing for thing in option.things if thing.on_roof]


def bay_things(space: Space, option: Option) -> list[Thing]:
    """What of an option goes into bays; nothing when the brief names none."""
    return [thing for thing in option.things if not thing.on_roof] if space.has_bays else []


def usable_bays(problem: Problem) -> tuple[BayPlace, ...]:
    """The bays, less those that would make the van too long to park."""
    assert problem.space is not None
    room = problem.need("parking_mm") + problem.give("parking_length") - problem.need("length_mm")
    return tuple(place for place in problem.space.bays if not place.hangs_out or place.hangs_out <= room)


def pinned_fan(problem: Problem, kit: Kit) -> Placed | None:
    """The fan where the brief wants it, in the region's coordinates."""
    space = problem.space
    return fan_of(space, kit.options(problem)) if space is not None else None


def fan_of(space: Space, chosen: Iterable[tuple[Group, Option]]) -> Placed | None:
    """The pinned fan among what is chosen."""
    fans = [thing for group, option in chosen if group.kind == FAN for thing in option.things if thing.on_roof]
    return space.roof.fan_at(max(fans[0].laid)) if fans else None


def named(group: Group, things: Iterable[Thing]) -> Iterator[tuple[str, Thing]]:
    """Each single thing with a name of its own: group, part and number."""
    for thing in things:
        for number in range(1, thing.count + 1):
            yield f"{group.name}/{thing.part}/{number}", thing


def items_of(problem: Problem, kit: Kit) -> tuple[Item, ...]:
    """The rectangles that a kit lays on the roof."""
    assert problem.space is not None
    return tuple(
        Item(name, *thing.laid)
        for group, option in kit.options(problem)
        for name, thing in named(group, roof_things(problem.space, group, option))
    )


def frames(problem: Problem, kit: Kit) -> tuple[Placed, ...]:
    """What a placed kit lays on the roof, without the room kept free around it, from the roof's own corner."""
    assert problem.space is not None
    assert kit.places is not None
    around = {
        name: thing.clearance
        for group, option in kit.options(problem)
        for name, thing in named(group, roof_things(problem.space, group, option))
    }
    return tuple(p.moved(*problem.space.roof.margin).grown(-around.get(p.id, 0)) for p in kit.places.roof)


def boxes_of(problem: Problem, kit: Kit) -> tuple[Box, ...]:
    """The boxes that a kit puts into bays. What makes up one choice (a bank, a set of cans) is one group."""
    assert problem.space is not None
    space = problem.space
    return tuple(
        box_of(name, thing, group.name)
        for group, option in kit.options(problem)
        for name, thing in named(group, bay_things(space, option))
    )


def box_of(name: str, thing: Thing, group: str) -> Box:
    """A thing as a box, at the mass it has when full."""
    sizes = (thing.length, thing.width, thing.height)
    return Box(name, *sizes, thing.heaviest, thing.tags, thing.upright, thing.clearance, group)


def split_groups(problem: Problem) -> tuple[str, ...]:
    """The groups whose boxes may be spread over bays."""
    assert problem.space is not None
    return tuple(sorted(group.name for group in problem.groups)) if problem.space.may_split else ()


def bays_of(places: Iterable[BayPlace]) -> tuple[Bay, ...]:
    """The bays themselves."""
    return tuple(place.bay for place in places)
