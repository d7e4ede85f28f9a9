"""What every maker of options is handed, and how a bundle of parts is priced and weighed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from optimizer.brief.brief import Brief
from optimizer.circuits.plans import Planner
from optimizer.circuits.records import Wired
from optimizer.circuits.shelf import Shelf
from optimizer.circuits.volts import MAINS_V
from optimizer.parts.catalog import Catalog
from optimizer.parts.records import OwnPart, Part
from optimizer.problem.placing import thing_of
from optimizer.problem.reaches import Length, Lengths
from optimizer.problem.records import Option
from optimizer.problem.season import Season
from optimizer.problem.space import Space
from optimizer.units import MASS_SCALE, MONEY_SCALE, demand_up, supply_down

Bundle = Sequence[tuple[Part | OwnPart, int]]


@dataclass(frozen=True)
class Context:
    """Brief, catalog and season, and the columns that goals and own limits sum."""

    brief: Brief
    catalog: Catalog
    season: Season
    space: Space
    columns: tuple[str, ...] = ()
    owned: frozenset[str] = field(default_factory=frozenset)

    @cached_property
    def plan(self) -> Planner:
        """The planner of circuits: what the catalog has for wiring, less what the brief refuses."""
        metric = self.brief.units == "metric"
        shelf = Shelf(self.catalog, "metric" if metric else "awg", frozenset(self.brief.preferences.refused))
        return Planner(shelf, self.brief.vehicle.runs, MAINS_V[self.brief.units], self.lengths.fixed)

    @cached_property
    def lengths(self) -> Lengths:
        """How long cables must be, from the places of their ends."""
        return Lengths(self.brief, self.catalog, self.space)

    def by_reach(self, group: str, part: Part, make: Callable[[Length], Option]) -> Iterator[Option]:
        """The options of a part that hangs on the bank, one for each reach of its cable.

        A reach that saves nothing over a longer one is left out, and so is one for which no cable will do.
        """
        kept: list[Option] = []
        asked = set(self.owned) | set(self.brief.preferences.required)
        for length in reversed(self.lengths.of(group, thing_of(part, 1) is not None)):
            option = replace(make(length), reach_mm=length.reach_mm)
            if not any(_as_cheap(longer, option, asked) for longer in kept):
                kept.append(option)
        wired = [option for option in kept if not option.get("unwired")]
        return iter(wired or kept)

    def option(
        self,
        key: str,
        bundle: Bundle,
        amounts: Mapping[str, int] | None = None,
        *,
        effects: Mapping[str, float] | None = None,
        traits: Mapping[str, str] | None = None,
        voltage: int = 0,
        words: str = "",
        extra_usd: float = 0.0,
        extra_kg: float = 0.0,
        times: float = 1.0,
        wired: Wired = Wired(),  # noqa: B008 - frozen
        fan_side: int = 0,
        reach_mm: int = 0,
    ) -> Option:
        """An option made of parts: money, mass, skills and own columns added up.

        ``times`` multiplies price and mass (square metres of insulation); ``extra_usd`` and
        ``extra_kg`` are for brackets and the like; ``fan_side`` is the side of a roof fan's opening.
        ``wired`` is what feeds it: circuits and small parts, bought with it; where nothing on offer will
        do, the option is marked and a rule keeps it out.
        """
        priced = [(part, n, times) for part, n in bundle] + [(part, n, 1.0) for part, n in wired.parts]
        bought = [(part, n, by) for part, n, by in priced if part.id not in self.owned]
        price = sum(n * demand_up(part.price_usd * by, MONEY_SCALE) for part, n, by in bought)
        mass = sum(n * demand_up(part.mass_kg * by, MASS_SCALE) for part, n, by in priced)
        unwired = {} if wired.complete else {"unwired": 1}
        bundle = [*bundle, *wired.parts]
        return Option(
            key=key,
            parts=tuple((part.id, n) for part, n in bundle),
            price_cents=price + demand_up(extra_usd, MONEY_SCALE),
            mass_g=mass + demand_up(extra_kg, MASS_SCALE),
            amounts={k: v for k, v in {**self._columns(bundle), **(amounts or {}), **unwired, "one": 1}.items() if v},
            voltage=voltage,
            skills=tuple(sorted({part.skill for part, _ in bundle if part.skill})),
            effects=dict(effects or {}),
            traits=dict(traits or {}),
            words=words,
            circuits=wired.circuits,
            things=tuple(thing for part, n in bundle if (thing := thing_of(part, n, fan_side)) is not None),
            reach_mm=reach_mm,
        )

    def _columns(self, bundle: Bundle) -> dict[str, int]:
        sums: dict[str, int] = {}
        for column in self.columns:
            total = sum(n * self.catalog.column(part.id, column) for part, n in bundle)
            sums[f"column_{column}"] = demand_up(total, 1000)
            sums[f"column_{column}_down"] = supply_down(total, 1000)
        return sums


def _as_cheap(longer: Option, option: Option, asked: Collection[str]) -> bool:
    """Whether a longer reach costs, weighs and counts no more, and is the same in parts that are owned or required."""
    dearer = longer.price_cents > option.price_cents or longer.mass_g > option.mass_g
    some = [[(part, n) for part, n in one.parts if part in asked] for one in (longer, option)]
    return not dearer and longer.amounts == option.amounts and some[0] == some[1]


def joined_words(*some: str) -> str:
    """Those that say something, with commas."""
    return ", ".join(words for words in some if words)


def ordered(options: Iterable[Option]) -> tuple[Option, ...]:
    """Options in the order of their keys: the order of catalog rows never matters."""
    return tuple(sorted(options, key=lambda option: option.key))


def voltages_of(text: str) -> tuple[int, ...]:
    """The voltages of a catalog cell such as ``12|24``."""
    return tuple(int(float(word)) for word in text.replace(" ", "").split("|") if word)
