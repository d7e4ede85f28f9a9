"""Small worlds with some limits moved, so that one enumeration serves many questions, rich in answers.

What a limit allows is a plain number of the problem: moved by so much, every kit passes it by so much more or
less. That is held here against the check itself, for a few kits of each world.
"""

from __future__ import annotations

import random
from dataclasses import replace

from explain_truth import Row, allowed

from optimizer.check import check
from optimizer.problem.records import Problem

World = tuple[Problem, list[Row]]
NEEDS = {
    "budget": ("budget_cents", 1), "payload": ("payload_g", 1), "roof_area": ("roof_cm2", 1),
    "roof_load": ("roof_load_g", 1), "alternator_spare": ("alternator_ma", 1), "chilled": ("chilled_ml", -1),
    "frozen": ("frozen_ml", -1),
}  # fmt: skip
"""The number a limit hangs on, and which way is looser."""
PLENTY = 10**7
SAMPLED = 5


def moved(world: World, moves: dict[str, int]) -> World:
    """The world with limits looser by so much (below zero tighter)."""
    problem, every = world
    needs = dict(problem.needs)
    for name, more in moves.items():
        key, way = NEEDS[name]
        needs[key] = needs[key] + way * more
    rows = [replace(row, over={n: over - moves.get(n, 0) for n, over in row.over.items()}) for row in every]
    other = replace(problem, needs=needs)
    for row in random.Random(len(rows)).sample(rows, min(SAMPLED, len(rows))):
        limits = check(replace(other, rules=tuple(moves)), row.kit).limits
        for name in moves:
            assert row.over[name] == max(-limit.room for limit in limits if limit.slug == name), name
    return other, rows


def movable(world: World) -> list[str]:
    """Limits that stand in this world and differ from kit to kit."""
    return [name for name in NEEDS if len({row.over.get(name) for row in world[1]} - {None}) > 1]


def loosened(world: World) -> World:
    """Far more kits: what is bought, carried and laid on the roof hardly counts any more."""
    return moved(world, {name: PLENTY for name in movable(world) if NEEDS[name][1] > 0})


def turned(world: World) -> World:
    """Goal and tie-break in each other's place."""
    problem, every = world
    other = replace(problem, goal=problem.tie_break, tie_break=problem.goal)
    return other, [replace(row, value=(row.value[1], row.value[0])) for row in every]


def just_out(rng: random.Random, world: World) -> World | None:
    """The best kit just not allowed any more, while a worse one is; None where that cannot be."""
    inside = sorted(allowed(world[1]), key=lambda row: row.value)
    for name in rng.sample(movable(world), len(movable(world))):
        best = inside[0].over[name]
        others = [row.over[name] for row in inside if row.over[name] < best]
        if others:
            return moved(world, {name: max(others)})
    return None


def impossible(rng: random.Random, world: World) -> World | None:
    """No kit at all: one limit drawn to where some kits keep it, and another below what those use of it.

    The second is often fine alone. None where no two limits can be drawn so.
    """
    names = rng.sample(movable(world), len(movable(world)))
    if len(names) < 2:
        return None
    first, second = names[:2]
    overs = sorted({row.over[first] for row in allowed(world[1])})
    drawn = overs[rng.randrange(max(1, len(overs) // 2))]
    least = min(row.over[second] for row in allowed(world[1]) if row.over[first] <= drawn)
    return moved(world, {first: drawn, second: least - 1})
