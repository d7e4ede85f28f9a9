"""Every example and hundreds of small worlds solved again with other search parameters: the answers must be equal.

Run nightly with ``PYTHONPATH=.:tests python tests/second_opinions.py [--cases 500] [--examples/--no-examples]``.
A solver that certifies a wrong optimum, or calls a model impossible that is not, is seldom wrong twice in the same
way: presolve, relaxation, branching and seed are all others the second time. Compared are status, value and kit.
Prints what differs and a table; exit code 1 when anything does.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from sampled_worlds import sampled_job
from small_worlds import small_problem, small_world

from optimizer.choosing.choose import Outcome, choose
from optimizer.choosing.solve import Settings
from optimizer.job import choose_kit, lifter_for, open_job, places_for, settled

EXAMPLES = Path(__file__).parents[1] / "examples"
FIRST, SECOND = Settings(), Settings(second_opinion=True)
SECOND_OF_EXAMPLES = Settings(second_opinion=True, presolve="more")
"""The examples take too long without presolve. Seed, branching, cuts, probing and rounds of presolve still are others,
and nothing is left out before the search: no dominated option, and none that no kit can have."""
SAMPLED = 25
"""One case in so many is drawn from the whole catalog, with trips; the others are small worlds with every rule."""

Solve = Callable[[Settings], Outcome]


@dataclass(frozen=True)
class Case:
    """Something to solve twice."""

    name: str
    sort: str
    solve: Solve


def cases(many: int, examples: bool, first: int = 0) -> Iterator[Case]:
    """The examples, then ``many`` worlds, the same ones for the same ``first``."""
    for path in sorted(EXAMPLES.glob("*.toml")) if examples else ():
        yield Case(path.stem, "example", lambda how, path=path: _example(path, how))
    for number in range(first, first + many):
        if number % SAMPLED == SAMPLED - 1:
            coverage = (100, 95, 80)[number // SAMPLED % 3]
            yield Case(
                f"sampled job {number}", "with trips",
                lambda how, n=number, c=coverage: choose_kit(sampled_job(n, c), how).outcome,
            )  # fmt: skip
        else:
            yield Case(f"small world {number}", "rules alone", lambda how, n=number: _small(n, how))


def _example(path: Path, how: Settings) -> Outcome:
    job = open_job(path)
    if not how.second_opinion:
        return choose_kit(job, how).outcome
    places, trips = places_for(job.problem), lifter_for(job, job.problem)
    judges = [judge for judge in (trips, places) if judge is not None]
    return settled(choose(job.problem, judges, SECOND_OF_EXAMPLES), job.problem, places)


def _small(number: int, how: Settings) -> Outcome:
    return choose(small_problem(*small_world(number)), settings=how)


def difference(case: Case) -> tuple[str, str]:
    """Status of the first answer, and what is different in the second; empty when nothing is."""
    one, other = case.solve(FIRST), case.solve(SECOND)
    if one.status != other.status:
        return one.status, f"{one.status}, then {other.status}"
    if one.value != other.value:
        return one.status, f"{one.value}, then {other.value}"
    if one.ties_broken and other.ties_broken and _kit(one) != _kit(other):
        return one.status, "the same value by another kit, though ties are broken"
    return one.status, ""


def _kit(outcome: Outcome) -> object:
    kit = outcome.kit
    return None if kit is None else (sorted(kit.choices.items()), kit.voltage, kit.nights)


def main(words: Sequence[str]) -> int:
    """Solve, compare, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--first", type=int, default=0, help="number of the first world: another night, other worlds")
    parser.add_argument("--examples", action=argparse.BooleanOptionalAction, default=True)
    asked = parser.parse_args(words)
    tried: Counter[str] = Counter()
    equal: Counter[str] = Counter()
    statuses: Counter[str] = Counter()
    begun = time.process_time()
    for case in cases(asked.cases, asked.examples, asked.first):
        status, found = difference(case)
        tried[case.sort] += 1
        statuses[status] += 1
        equal[case.sort] += not found
        if tried.total() % 50 == 0:
            print(f"{tried.total()} cases, {equal.total()} equal", file=sys.stderr, flush=True)
        if found:
            print(f"DIFFERENT, {case.name}: {found}", flush=True)
    for sort in tried:
        print(f"{sort:<14}{equal[sort]:>6} of {tried[sort]} equal")
    words_of = ", ".join(f"{many} {status}" for status, many in sorted(statuses.items()))
    print(f"{'all':<14}{equal.total():>6} of {tried.total()} equal; {words_of}; {time.process_time() - begun:.0f} s")
    return 0 if equal == tried else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
