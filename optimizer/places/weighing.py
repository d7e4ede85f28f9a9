"""What rests where, read off a placement: the second telling of the axle loads, apart from ``places.loads``.

On the road: placed kit -> *places* -> rules, drawings. Knows no solver.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from optimizer.places.things import bay_things, named
from optimizer.problem.records import Kit, Problem
from optimizer.problem.space import NOWHERE, STATES, At, Space


@dataclass(frozen=True)
class Resting:
    """A mass and where it rests, in each loading state [g]."""

    name: str
    masses: tuple[int, ...]
    at: At
    eaten: bool = False
    """Food goes on the way: it is counted only where it does harm."""


@dataclass(frozen=True)
class Weights:
    """What the axles and sides carry in one loading state [g], rounded against the kit."""

    state: str
    front: int
    rear: int
    right_over_left: int
    left_over_right: int

    @property
    def difference(self) -> int:
        """How much more one side carries than the other."""
        return max(self.right_over_left, self.left_over_right)


def resting(problem: Problem, kit: Kit) -> tuple[Resting, ...]:
    """Everything that is aboard besides the van as weighed. ValueError for a kit without its places."""
    space = problem.space
    if space is None or kit.places is None:
        raise ValueError("the kit has no places yet")
    every = range(len(STATES))
    aboard = [Resting(b.name, tuple(b.mass if s in b.states else 0 for s in every), b.at) for b in space.ballast]
    food = problem.need("food_g_night") * kit.nights
    return (*aboard, Resting("food", (food, 0, 0), space.food, eaten=True), *_of_kit(problem, space, kit))


def _of_kit(problem: Problem, space: Space, kit: Kit) -> Iterator[Resting]:
    assert kit.places is not None
    spots = {place.bay.name: place.at for place in space.bays}
    homes = {stowed.id: stowed.bay for stowed in kit.places.stowed}
    for group, option in kit.options(problem):
        # All of the option, less what has a place of its own, has a place nobody knows.
        left = [option.mass_g, option.mass_g, option.mass_g]
        left[0] += option.get("full_g") + option.get("used_g_night") * kit.nights
        left[2] += option.get("grey_g") + option.get("used_g_night") * kit.nights
        for name, thing in named(group, bay_things(space, option)):
            masses = tuple(thing.mass_in(state) for state in range(len(STATES)))
            left = [rest - mass for rest, mass in zip(left, masses, strict=True)]
            yield Resting(name, masses, spots.get(homes.get(name, ""), NOWHERE))
        for thing in option.things:
            if thing.on_roof:
                mass = thing.mass * thing.count
                left = [rest - mass for rest in left]
                yield Resting(f"{group.name}/{thing.part}", (mass,) * len(STATES), space.roof.at)
        if any(rest > 0 for rest in left):
            yield Resting(f"{group.name}, no place", tuple(max(0, rest) for rest in left), NOWHERE)


def weights(problem: Problem, kit: Kit) -> tuple[Weights, ...]:
    """Axle loads and side differences of a placed kit, a loading state each (moments: ``physics.statics``)."""
    assert problem.space is not None
    return weighed(problem.space, resting(problem, kit))


def weighed(space: Space, things: tuple[Resting, ...]) -> tuple[Weights, ...]:
    """What the axles and sides carry of the van and these things, a loading state each."""
    return tuple(_weights(space, things, state) for state in range(len(STATES)))


def _weights(space: Space, things: tuple[Resting, ...], state: int) -> Weights:
    low, high = space.wheelbase
    front, rear = (weighed * low for weighed in space.weighed)
    right, left = (more * space.track for more in space.weighed_sides)
    for thing in things:
        mass, at = thing.masses[state], thing.at
        if at.x_low is None or at.x_high is None:
            on_front = on_rear = mass * low
        else:
            on_front, on_rear = mass * (high - at.x_low), mass * at.x_high
        to_right, to_left = 2 * mass * at.y_high, -2 * mass * at.y_low
        sums = [on_front, on_rear, to_right, to_left]
        on_front, on_rear, to_right, to_left = [max(0, s) for s in sums] if thing.eaten else sums
        front, rear, right, left = front + on_front, rear + on_rear, right + to_right, left + to_left
    return Weights(STATES[state], -(-front // low), -(-rear // low), -(-right // space.track), -(-left // space.track))
