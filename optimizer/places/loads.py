"""What everything puts on the axles and the sides, in whole numbers, ready to be summed by any model.

On the road: problem -> *places*. Knows no solver. A moment is grams times millimetres: about the front axle
for the rear one, about the rear axle for the front one, about the middle for the sides (twice, since what
leaves one side goes to the other; see ``physics.statics``). A limit holds when the sum of moments is at
most what is allowed, so rounding each position against the kit rounds the sum against it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from optimizer.places.things import bay_things, usable_bays
from optimizer.problem.records import Group, Option, Problem
from optimizer.problem.space import STATES, At, BayPlace, Space, Thing

AXLES = ("front_axle", "rear_axle")
SIDES = ("right", "left")


@dataclass(frozen=True, order=True)
class Measure:
    """One sum that must hold: of an axle or of a side, in a loading state."""

    what: str
    state: int

    @property
    def slug(self) -> str:
        """The limit it belongs to."""
        return self.what if self.what in AXLES else "side_balance"


MEASURES = tuple(Measure(what, state) for what in (*AXLES, *SIDES) for state in range(len(STATES)))


def moment(space: Space, what: str, mass: int, at: At) -> int:
    """What a mass adds to one of the sums [g mm]; where its place is unknown, all that it could."""
    if what == "right":
        return 2 * mass * at.y_high
    if what == "left":
        return -2 * mass * at.y_low
    if at.x_low is None or at.x_high is None:
        return mass * space.wheelbase[0]
    return mass * (at.x_high if what == "rear_axle" else space.wheelbase[1] - at.x_low)


@dataclass(frozen=True)
class _Sorted:
    """An option's things by where they go, and the mass of what has no place [g]."""

    inside: list[Thing]
    roof: list[Thing]
    unplaced_g: int


class Loads:
    """The sums of one problem."""

    def __init__(self, problem: Problem) -> None:
        assert problem.space is not None
        self.problem = problem
        self.space = problem.space
        self._sorted: dict[int, tuple[Option, _Sorted]] = {}
        self._lowest: dict[tuple[str, int, str, int, int], int | None] = {}

    @cached_property
    def places(self) -> tuple[BayPlace, ...]:
        """The bays that may be used."""
        return usable_bays(self.problem)

    def allowed(self, measure: Measure) -> int:
        """What a sum may be at most, less what is there whatever is chosen; food not counted yet."""
        space, what = self.space, measure.what
        give = self.problem.give(measure.slug)
        if what in AXLES:
            rating = self.problem.need(f"{what}_g") + give
            left = (rating - space.weighed[AXLES.index(what)]) * space.wheelbase[0]
        else:
            rating = self.problem.need("side_g") + give
            left = (rating - space.weighed_sides[SIDES.index(what)]) * space.track
        aboard = (b for b in space.ballast if measure.state in b.states)
        return left - sum(moment(space, what, ballast.mass, ballast.at) for ballast in aboard)

    def unit(self, measure: Measure) -> int:
        """What one gram at the limit is in the sum [mm]."""
        return self.space.wheelbase[0] if measure.what in AXLES else self.space.track

    def food(self, measure: Measure) -> int:
        """What the food of one night adds; it is eaten on the way, so it is never counted where it helps."""
        if measure.state != 0:
            return 0
        grams = self.problem.need("food_g_night")
        return max(0, moment(self.space, measure.what, grams, self.space.food))

    def loose(self, measure: Measure, group: Group, option: Option, nights: int) -> int:
        """What of an option adds to a sum wherever its boxes are: what is on the roof, and what has no place."""
        space, parts = self.space, self._parts(option)
        rest = parts.unplaced_g + self._unplaced_contents(measure, option)
        if measure.state != 1:
            rest += option.get("used_g_night") * nights
        total = moment(space, measure.what, rest, At()) if rest else 0
        return total + sum(
            moment(space, measure.what, thing.count * thing.mass, space.roof.at) for thing in parts.roof
        )

    def _parts(self, option: Option) -> _Sorted:
        """An option's things sorted by where they go; kept, since every sum asks for them again."""
        known = self._sorted.get(id(option))
        if known is None:
            inside = bay_things(self.space, option)
            roof = [thing for thing in option.things if thing.on_roof]
            placed = sum(thing.count * thing.mass for thing in (*inside, *roof))
            known = self._sorted[id(option)] = (option, _Sorted(inside, roof, max(0, option.mass_g - placed)))
        return known[1]

    def _unplaced_contents(self, measure: Measure, option: Option) -> int:
        """Contents of containers that have no place of their own."""
        full = ("full_g", "", "grey_g")[measure.state]
        contents = option.get(full) if full else 0
        if not contents:
            return 0
        inside = self._parts(option).inside
        return max(0, contents - sum(t.count * (t.mass_in(measure.state) - t.mass) for t in inside))

    def in_bay(self, measure: Measure, thing: Thing, place: BayPlace) -> int:
        """What one thing adds in a bay."""
        return moment(self.space, measure.what, thing.mass_in(measure.state), place.at)

    def lowest(self, measure: Measure, group: Group, option: Option, nights: int) -> int | None:
        """The least an option adds to a sum, wherever its boxes are; None when some box has no bay at all."""
        total = self.loose(measure, group, option, nights)
        for thing in self._parts(option).inside:
            least = self._lowest_in_bays(measure, thing)
            if least is None:
                return None
            total += thing.count * least
        return total

    def _lowest_in_bays(self, measure: Measure, thing: Thing) -> int | None:
        key = (measure.what, measure.state, thing.part, thing.mass, thing.contents)
        if key not in self._lowest:
            here = [self.in_bay(measure, thing, p) for p in self.places if set(thing.tags) & set(p.bay.tags)]
            self._lowest[key] = min(here, default=None)
        return self._lowest[key]
