"""Which limits, each enough alone, may give less two together: many are asked about at once, none is passed over."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations
from types import SimpleNamespace
from typing import Any, cast

import pytest

from optimizer.explain.hands import Hands
from optimizer.explain.knowledge import Change, Found
from optimizer.explain.members import Member
from optimizer.explain.ways_out import Step, WayOut, _sharing
from optimizer.problem.records import Kit

NAMES = ("budget", "payload", "water", "grey_water", "chilled", "frozen", "fuel")
GIVE = 10


@dataclass
class Kits:
    """Kits told by how much of each limit they ask for; stands in for the bench and for whoever asks it."""

    asked_for: list[dict[str, int]]
    settles: bool = True
    questions: int = 0
    bench: Any = field(init=False)

    def __post_init__(self) -> None:
        self.bench = SimpleNamespace(problem=SimpleNamespace(space=None), excess=self.excess)

    def excess(self, kit: Kit, name: str) -> int:
        return self.asked_for[kit.nights].get(name, 0)

    def possible(self, changes: Sequence[Change]) -> list[Found]:
        found = []
        for change in changes:
            self.questions += 1
            number = self.first(change.gives)
            kit = None if number is None else Kit({}, 12, number)
            status = "impossible" if kit is None else "proven"
            found.append(Found(kit, cast(Any, status)) if self.settles else Found(None, "unproven"))
        return found

    def first(self, gives: Any) -> int | None:
        """The first kit that does with these."""
        for number, asked in enumerate(self.asked_for):
            if all(much <= gives.get(name, 0) for name, much in asked.items()):
                return number
        return None


def single(name: str, give: int = GIVE) -> WayOut:
    return WayOut((Step(Member(name, True), give),), Kit({}, 12, 0), True)


def told(kits: Kits, names: Sequence[str]) -> set[frozenset[str]]:
    pairs = _sharing(cast(Hands, kits), [single(name) for name in names])
    names_of = {first.names | second.names for first, second in pairs}
    assert len(names_of) == len(pairs)
    return names_of


def test_no_pair_that_shares_is_passed_over() -> None:
    """Kits that ask two, three or four limits for a little each: every pair of which a kit asks no more is told."""
    shared = saved = 0
    for seed in range(300):
        rng = random.Random(seed)
        names = NAMES[: rng.randint(2, len(NAMES))]
        asked_for = [
            {name: rng.randint(1, GIVE) for name in rng.sample(names, min(len(names), rng.randint(2, 4)))}
            for _ in range(rng.randint(0, 4))
        ]
        kits = Kits(asked_for)
        least = dict.fromkeys(names, GIVE - 1)
        true = {
            frozenset(pair) for pair in combinations(names, 2)
            if kits.first({name: least[name] for name in pair}) is not None
        }
        found = told(kits, names)
        assert true <= found, seed
        shared += len(true)
        saved += len(names) * (len(names) - 1) // 2 - len(found)
    assert shared > 100
    assert saved > 1000


@pytest.mark.parametrize("many", range(2, len(NAMES) + 1))
def test_where_none_share_one_question_settles_it(many: int) -> None:
    """For two the pair itself is the question."""
    kits = Kits([])
    assert told(kits, NAMES[:many]) == ({frozenset(NAMES[:2])} if many == 2 else set())
    assert kits.questions == (0 if many == 2 else 1)


def test_what_is_not_settled_is_asked_of_each_pair() -> None:
    assert told(Kits([], settles=False), NAMES) == {frozenset(pair) for pair in combinations(NAMES, 2)}


def test_only_what_can_give_less_is_held_against_others() -> None:
    """What gives in steps, and what gives one unit of its own, has nothing less to give."""
    kits = Kits([{"budget": 1, "payload": 1}])
    ways = [single("budget"), single("payload", 1), single("coverage"), single("water")]
    assert [[way.steps[0].member.name for way in pair] for pair in _sharing(cast(Hands, kits), ways)] == [
        ["budget", "water"]
    ]
