"""Whether one choice is at least as hard to place as another: then where the harder fits, so does the other.

On the road: beside *places*; ``problem.dominance`` and ``places.judge`` ask it. Knows no solver.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import permutations

from optimizer.problem.records import Option
from optimizer.problem.space import STATES, Space, Thing

Relation = Callable[[Thing, Thing], bool]
MOST_PAIRS = 1 << 18
"""Pairs of things whose answers are kept: more than one catalog has, and an end to it where many are read."""


@lru_cache(maxsize=MOST_PAIRS)
def rectangle_as_hard(hard: Thing, easy: Thing) -> bool:
    """Whether the first covers the second on the roof, one of them turned if need be."""
    one, other = sorted(hard.laid), sorted(easy.laid)
    return one[0] >= other[0] and one[1] >= other[1]


@lru_cache(maxsize=MOST_PAIRS)
def box_as_hard(hard: Thing, easy: Thing) -> bool:
    """Whether wherever the first can stand, the second can within the same room and air, and weighs no more.

    What is neither fuel nor spark may stand beside either; else both must be the same.
    """
    lighter = easy.mass <= hard.mass and easy.heaviest <= hard.heaviest
    if easy.hazard not in ("", hard.hazard):
        return False
    if not lighter or not set(hard.tags) <= set(easy.tags) or easy.filling not in ("", hard.filling):
        return False
    return all(any(_within(easy, stand, hard, other) for stand in _stands(easy)) for other in _stands(hard))


def _stands(thing: Thing) -> list[tuple[int, int, int]]:
    ways = sorted(set(permutations((thing.length, thing.width, thing.height))))
    return [(a, b, c) for a, b, c in ways if not thing.upright or c == thing.height]


def _within(easy: Thing, small: tuple[int, int, int], hard: Thing, large: tuple[int, int, int]) -> bool:
    """Floor and height with the air, and what must pass the opening without it."""
    air, other = easy.clearance, hard.clearance
    floor = all(small[i] + 2 * air <= large[i] + 2 * other for i in (0, 1))
    passes = min(small[:2]) <= min(large[:2]) and small[2] <= large[2]
    return floor and passes and small[2] + air <= large[2] + other


def as_hard(hard: Sequence[Thing], easy: Sequence[Thing], relation: Relation) -> bool:
    """Whether every single thing of ``easy`` has one of its own in ``hard`` that is as hard to place."""
    capacity = [thing.count for thing in hard]
    if sum(capacity) < sum(thing.count for thing in easy):
        return False
    if len(hard) == 1 or len(easy) == 1:
        # One sort on a side: counting is enough.
        return _counted(hard, easy, relation)
    return _matched(hard, easy, relation)


def _counted(hard: Sequence[Thing], easy: Sequence[Thing], relation: Relation) -> bool:
    if len(hard) == 1:
        return all(relation(hard[0], thing) for thing in easy)
    able = sum(thing.count for thing in hard if all(relation(thing, small) for small in easy))
    return able >= sum(thing.count for thing in easy)


def _matched(hard: Sequence[Thing], easy: Sequence[Thing], relation: Relation) -> bool:
    """A matching of single things, by augmenting paths."""
    singles = [index for index, thing in enumerate(hard) for _ in range(thing.count)]
    holder: dict[int, int] = {}
    wanted = [thing for thing in easy for _ in range(thing.count)]

    def seat(number: int, seen: set[int]) -> bool:
        for place, index in enumerate(singles):
            if place in seen or not relation(hard[index], wanted[number]):
                continue
            seen.add(place)
            if place not in holder or seat(holder[place], seen):
                holder[place] = number
                return True
        return False

    return all(seat(number, set()) for number in range(len(wanted)))


def fits_wherever(space: Space, easy: Option, hard: Option) -> bool:
    """Whether the first option can take the place of the second in any kit that fits.

    Boxes must weigh the same in every loading state: a lighter one may tip the balance from side to side, or
    unload what hangs behind an axle. What lies on the roof, or has no place, may weigh less.
    """
    if not reaches_wherever(space, easy, hard):
        return False
    small, large = roof_of(easy), roof_of(hard)
    inside, other = (_boxes(easy), _boxes(hard)) if space.has_bays else ((), ())
    if not as_hard(large, small, rectangle_as_hard) or not as_hard(other, inside, box_as_hard):
        return False
    on_roof, on_roof_of_hard = _mass(small), _mass(large)
    loose, loose_of_hard = easy.mass_g - on_roof - _mass(inside), hard.mass_g - on_roof_of_hard - _mass(other)
    lighter = on_roof == on_roof_of_hard or (on_roof < on_roof_of_hard and _between_axles(space))
    return lighter and loose <= loose_of_hard and _masses(inside) == _masses(other)


def reaches_wherever(space: Space, easy: Option, hard: Option) -> bool:
    """Whether the cable of the first reaches wherever that of the second does.

    Where bays alone tell what is within reach, size is nothing to it. Where the middles of boxes must be within a
    length that the brief states, only boxes of the same sizes have the same middles in the same places.
    """
    if easy.reach_mm and (not hard.reach_mm or easy.reach_mm < hard.reach_mm):
        return False
    return not any(reach.stated for reach in space.reaches) or _shapes(easy) == _shapes(hard)


def _shapes(option: Option) -> list[tuple[object, ...]]:
    """What a bay sees of an option's boxes, the main part's told from the others'."""
    return sorted(
        (thing.part == option.main, thing.count, thing.length, thing.width, thing.height, thing.clearance,
         thing.upright)
        for thing in _boxes(option)
    )  # fmt: skip


def _between_axles(space: Space) -> bool:
    """Whether more on the roof is more on both axles."""
    at = space.roof.at
    return at.x_low is None or at.x_high is None or (at.x_low >= 0 and at.x_high <= space.wheelbase[0])


def _masses(things: Sequence[Thing]) -> list[tuple[int, ...]]:
    return sorted(tuple(thing.mass_in(state) for state in range(len(STATES)))
                  for thing in things for _ in range(thing.count))  # fmt: skip


def roof_of(option: Option) -> tuple[Thing, ...]:
    """What of an option lies on the roof."""
    return tuple(thing for thing in option.things if thing.on_roof)


def _boxes(option: Option) -> tuple[Thing, ...]:
    return tuple(thing for thing in option.things if not thing.on_roof)


def _mass(things: Sequence[Thing]) -> int:
    return sum(thing.count * thing.mass for thing in things)
