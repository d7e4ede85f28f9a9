"""The judge of places: does a kit fit, and if not, what every kit that fits must do otherwise.

On the road: choosing <-> *places*. Whether a kit fits is settled by laying it out (``places.finding``). Why
it does not is settled by dropping: what can be left out, with its boxes, and still nothing fits, is no
part of the reason; what is left is the culprit, and each culprit has its ways out: options that are not at
least as hard to place. Balance makes it delicate, since more mass in the right place helps: what is left
out counts in each axle's sum with the least that any of its options could add.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from optimizer.choosing.walls import NONE, NOTHING_KNOWN, Outlook, Wall
from optimizer.packing.bays import Box, Sum
from optimizer.packing.shapes import IMPOSSIBLE, Item, NoPacking
from optimizer.packing.stowing import stow
from optimizer.places.finding import lay_out, place
from optimizer.places.hardness import Relation, as_hard, box_as_hard, reaches_wherever, rectangle_as_hard, roof_of
from optimizer.places.loads import MEASURES, Loads, Measure
from optimizer.places.reaching import nears_of
from optimizer.places.things import (
    bay_things,
    bays_of,
    box_of,
    fan_of,
    items_of,
    named,
    pinned_fan,
    roof_things,
    split_groups,
)
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.problem.space import Placement, Thing

Chosen = tuple[Group, Option]
NOTHING = Option(key=NONE, parts=())
"""What is chosen from a group that is left empty: it counts too, since something there could tip the balance."""
EFFORT = 8.0
"""For each question why a kit does not fit; what is not settled by then is not used."""


class Places:
    """Judge of where things go (see ``choosing.walls.Judge``)."""

    def __init__(self, problem: Problem) -> None:
        assert problem.space is not None
        self.problem = problem
        self.space = problem.space
        self.loads = Loads(problem)
        self.undecided = 0
        """Kits turned away though it is not known that they do not fit: then nothing is proven."""
        self._bays = bays_of(self.loads.places)
        self._split = split_groups(problem)
        self._seen: dict[tuple[object, ...], Placement | NoPacking] = {}
        self._least: dict[tuple[str, Measure, int], int] = {}
        self._over = NOTHING_KNOWN.over

    # -- questions ------------------------------------------------------------------------------

    def passes(self, kit: Kit) -> bool:
        """Whether everything has a place and the axles carry it."""
        return isinstance(self.where(kit), Placement)

    def where(self, kit: Kit) -> Placement | NoPacking:
        """The places of a kit, or why there are none."""
        key = (kit.nights, *sorted(kit.choices.items()))
        if key not in self._seen:
            self._seen[key] = place(self.problem, kit)
        return self._seen[key]

    def walls(self, kit: Kit, outlook: Outlook = NOTHING_KNOWN) -> list[Wall]:
        """The walls that a kit which does not fit stands before.

        Each question that narrows a wall down may take seconds, and there are dozens: once the time is up none is
        asked, and what was not left out by then stays a culprit.
        """
        self._over = outlook.over
        taken = {group.name: (group, option) for group, option in kit.options(self.problem)}
        chosen = [taken.get(group.name, (group, NOTHING)) for group in self.problem.groups if not group.hidden]
        on_roof = [one for one in chosen if self._on_roof(one)]
        if lay_out(self.space.roof, items_of(self.problem, kit), pinned_fan(self.problem, kit)) is IMPOSSIBLE:
            return self._roof_walls(on_roof)
        if self.where(kit) is IMPOSSIBLE:
            return self._bay_walls(chosen, kit.nights)
        self.undecided += 1
        return [self._this_very(chosen, kit.nights)]

    # -- the roof -------------------------------------------------------------------------------

    def _on_roof(self, one: Chosen) -> bool:
        return any(thing.on_roof for thing in one[1].things)

    def _roof_fails(self, chosen: Sequence[Chosen]) -> bool:
        if self._over():
            return False
        items = tuple(
            Item(name, *thing.laid)
            for group, option in chosen for name, thing in named(group, roof_things(self.space, group, option))
        )  # fmt: skip
        return lay_out(self.space.roof, items, fan_of(self.space, chosen), EFFORT) is IMPOSSIBLE

    def _roof_walls(self, chosen: list[Chosen]) -> list[Wall]:
        """Culprits shrunk; of one culprit, all options that fail like it are looked for by laying them out."""
        culprits = _shrunk(chosen, self._roof_fails)
        failing: dict[str, set[str]] = {}
        for group, option in culprits:
            failing[group.name] = {
                other.key for other in group.options
                if as_hard(roof_of(other), roof_of(option), rectangle_as_hard)
            }  # fmt: skip
        grown = max(culprits, key=lambda one: len(one[0].options))[0]
        others = [one for one in culprits if one[0] is not grown]
        failing[grown.name] |= {
            option.key for option in grown.options
            if option.key not in failing[grown.name] and self._roof_fails([*others, (grown, option)])
        }  # fmt: skip
        return self._mirrored(_wall(culprits, failing, 0), culprits)

    def _mirrored(self, wall: Wall, culprits: Sequence[Chosen]) -> list[Wall]:
        """The wall, and the same of the second of two groups that are alike."""
        walls = [wall]
        names = {group.name for group, option in culprits if option is not NOTHING}
        empty = {group.name for group, option in culprits if option is NOTHING}
        for group in self.problem.groups:
            pair = {group.twin, group.name}
            if group.twin and len(names & pair) == 1 and not empty & pair:
                swap = {group.twin: group.name, group.name: group.twin}
                walls.append(self._renamed(wall, swap))
        return walls

    def _renamed(self, wall: Wall, swap: dict[str, str]) -> Wall:
        ways = []
        for name, keys in wall.ways:
            group = self.problem.group(swap.get(name, name))
            if name in swap:
                # Nothing is a way out of a group that need not be filled, whether or not its twin must.
                keys = tuple(key for key in keys if key) + (() if group.needed else (NONE,))
            ways.append((group.name, keys))
        order = [group.name for group in self.problem.groups]
        return Wall(tuple(sorted(ways, key=lambda way: order.index(way[0]))), wall.fewer_nights)

    # -- bays and axles -------------------------------------------------------------------------

    def _bay_walls(self, chosen: list[Chosen], nights: int) -> list[Wall]:
        """The fewest sums and culprits that still leave no place."""
        measures: tuple[Measure, ...] = MEASURES
        for slug in ("side_balance", "front_axle", "rear_axle"):
            fewer = tuple(measure for measure in measures if measure.slug != slug)
            if self._stuck(chosen, fewer, nights):
                measures = fewer
        by_weight = sorted(chosen, key=lambda one: (len(one[1].things) > 0, one[1].mass_g + one[1].get("full_g")))
        culprits = _shrunk(by_weight, lambda kept: self._stuck(kept, measures, nights))
        order = {group.name: number for number, (group, _) in enumerate(chosen)}
        culprits.sort(key=lambda one: order[one[0].name])
        failing = {
            group.name: {
                other.key for other in group.options if self._as_bad(group, other, option, measures, nights)
            }
            for group, option in culprits
        }
        if measures:
            # Twins differ in what they add at the least when only one of them must be filled.
            return [_wall(culprits, failing, nights)]
        return self._mirrored(_wall(culprits, failing, 0), culprits)

    def _stuck(self, kept: Sequence[Chosen], measures: tuple[Measure, ...], nights: int) -> bool:
        """Whether no places are left for the boxes kept, whatever is chosen from all other groups; no when unasked."""
        if self._over():
            return False
        boxes: list[Box] = []
        things: list[Thing] = []
        for group, option in kept:
            for name, thing in named(group, bay_things(self.space, option)):
                boxes.append(box_of(name, thing, group.name))
                things.append(thing)
        names = {group.name for group, _ in kept}
        others = [group for group in self.problem.groups if group.name not in names and not group.hidden]
        sums = []
        for measure in measures:
            most = self.loads.allowed(measure) - self.loads.food(measure) * nights
            most -= sum(self.loads.loose(measure, group, option, nights) for group, option in kept)
            most -= sum(self._at_least(group, measure, nights) for group in others)
            rows = tuple(tuple(self.loads.in_bay(measure, t, p) for p in self.loads.places) for t in things)
            sums.append(Sum(rows, most))
        nears = nears_of(self.space, self.loads.places, kept)
        return stow(self._bays, boxes, self._split, effort=EFFORT, sums=tuple(sums), nears=nears) is IMPOSSIBLE

    def _at_least(self, group: Group, measure: Measure, nights: int) -> int:
        """The least that any choice from a group adds to a sum."""
        key = (group.name, measure, nights)
        if key not in self._least:
            found = [self.loads.lowest(measure, group, option, nights) for option in group.options]
            known = [least for least in found if least is not None]
            self._least[key] = min(known + ([] if group.needed and known else [0]))
        return self._least[key]

    def _as_bad(
        self, group: Group, other: Option, option: Option, measures: tuple[Measure, ...], nights: int
    ) -> bool:
        """Whether another option of a group is at least as hard to place, and no lighter on any of the sums.

        It reaches no further, then, and where lengths within bays count it has the very same shape.
        """
        loads = self.loads
        if not reaches_wherever(self.space, option, other):
            return False
        if any(loads.loose(m, group, other, nights) < loads.loose(m, group, option, nights) for m in measures):
            return False
        large, small = bay_things(self.space, other), bay_things(self.space, option)
        if not as_hard(large, small, self._relation(measures)):
            return False
        if sum(thing.count for thing in large) == sum(thing.count for thing in small):
            return True
        return all(self._adds(thing, measure) >= 0 for thing in large for measure in measures)

    def _relation(self, measures: tuple[Measure, ...]) -> Relation:
        def relation(hard: Thing, easy: Thing) -> bool:
            return box_as_hard(hard, easy) and all(
                self.loads.in_bay(m, hard, place) >= self.loads.in_bay(m, easy, place)
                for m in measures for place in self.loads.places if set(hard.tags) & set(place.bay.tags)
            )  # fmt: skip

        return relation

    def _adds(self, thing: Thing, measure: Measure) -> int:
        """The least that one box adds to a sum, in any bay it may live in."""
        here = [p for p in self.loads.places if set(thing.tags) & set(p.bay.tags)]
        return min((self.loads.in_bay(measure, thing, place) for place in here), default=0)

    # -- not decided ----------------------------------------------------------------------------

    def _this_very(self, chosen: Sequence[Chosen], nights: int) -> Wall:
        """A wall that stops just the kits with these very things and masses, since nothing more is known."""
        placing = [one for one in chosen if one[1].things]
        failing = {
            group.name: {
                other.key for other in group.options
                if (other.things, other.mass_g, other.reach_mm) == (option.things, option.mass_g, option.reach_mm)
            }
            for group, option in placing
        }
        return _wall(placing, failing, nights)


def _shrunk(chosen: Sequence[Chosen], fails: Callable[[Sequence[Chosen]], bool]) -> list[Chosen]:
    """What is left when all is dropped, first ones first and many at once, without which it fails just as well."""
    kept = list(chosen)
    step = max(1, len(kept) // 2)
    while True:
        start = 0
        while start < len(kept):
            fewer = kept[:start] + kept[start + step :]
            if fails(fewer):
                kept = fewer
            else:
                start += step
        if step == 1:
            return kept
        step //= 2


def _wall(culprits: Sequence[Chosen], failing: dict[str, set[str]], fewer_nights: int) -> Wall:
    """The ways out: of each culprit, all that does not fail like it, and nothing where that may be and helps."""
    ways = []
    for group, chosen in culprits:
        keys = [option.key for option in group.options if option.key not in failing[group.name]]
        ways.append((group.name, tuple(keys + ([] if group.needed or chosen is NOTHING else [NONE]))))
    return Wall(tuple(way for way in ways if way[1]), fewer_nights)
