"""Everything the book draws on, read once: kit, brief, check, trips, buy list, places.

On the road: saved kit -> *facts* -> chapters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from optimizer.book.blocks import Num
from optimizer.buying.lines import BuyList, buy_list
from optimizer.check import Verdict, check
from optimizer.circuits.records import Circuit
from optimizer.job import Job, Result, open_job
from optimizer.kitfile import SavedKit, brief_of, changes_since, kit_on_offer, load
from optimizer.parts.records import Cable, Fitting, Fuse, OwnPart, Part, SafetyItem
from optimizer.places.weighing import Weights, weights
from optimizer.problem.records import Kit, Option
from optimizer.problem.wired import circuits_of
from optimizer.rules import Limit
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents
from optimizer.showing import System, show
from optimizer.told_limits import told_limits

if TYPE_CHECKING:
    from optimizer.trips.replay import Replay


_SMALL = (Cable, Fuse, Fitting)


@dataclass(frozen=True, eq=False)
class Facts:
    """A saved kit with its brief, as the chapters ask for it."""

    job: Job
    kit: Kit
    """With its places where they could be found."""
    data: Mapping[str, Any]
    """The kit's file as it was read."""
    file: Path
    notes: tuple[str, ...] = ()
    """What is odd or has changed since the kit was saved."""
    changed: bool = False
    """Whether brief or catalog are others than those that the kit was chosen by."""

    @property
    def units(self) -> System:
        """The units of the brief."""
        return self.job.brief.units

    @property
    def title(self) -> str:
        """The name of the brief."""
        return self.job.brief.name or "Unnamed brief"

    @property
    def status(self) -> str:
        """'proven' or 'unproven'."""
        return str(self.data.get("status", "unproven"))

    @cached_property
    def cents(self) -> int:
        """What the kit costs."""
        return price_cents(self.job.problem, self.kit)

    @cached_property
    def mass_g(self) -> int:
        """What its parts weigh."""
        return kit_mass_g(self.job.problem, self.kit)

    @cached_property
    def verdict(self) -> Verdict:
        """The plain check of the kit."""
        return check(self.job.problem, self.kit)

    @cached_property
    def replay(self) -> Replay | None:
        """Its trips, where the brief asks for any."""
        if self.job.brief.trip.coverage is None:
            return None
        from optimizer.job import replay_kit

        return replay_kit(self.job, self.kit)

    @cached_property
    def result(self) -> Result:
        """The kit as choosing would hand it over."""
        from optimizer.choosing.choose import Outcome

        goal = self.job.problem.goal
        value, bound = (self._scaled(name, goal.scale) for name in ("value", "bound"))
        status: Any = "proven" if self.status == "proven" else "unproven"
        ties = bool(self.data.get("ties_broken", True))
        return Result(self.job, Outcome(status, goal, self.kit, value, bound, ties, 0, 0), self.verdict, self.replay)

    def _scaled(self, name: str, scale: int) -> int | None:
        number = self.data.get(name)
        return round(number * scale) if isinstance(number, int | float) else None

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """How every limit stands."""
        return told_limits(self.result)

    @cached_property
    def bought(self) -> BuyList:
        """The buy list."""
        return buy_list(self.job, self.kit)

    @cached_property
    def circuits(self) -> tuple[Circuit, ...]:
        """Every circuit of the kit."""
        return circuits_of(self.job.problem, self.kit)

    @cached_property
    def weights(self) -> tuple[Weights, ...]:
        """Axle loads in each loading state; empty where places are not known."""
        if self.kit.places is None or self.job.problem.space is None:
            return ()
        return weights(self.job.problem, self.kit)

    def option(self, group: str) -> Option | None:
        """What was chosen in a group; None when nothing was or there is no such group."""
        return self.kit.chosen(self.job.problem, group) if self.job.problem.has(group) else None

    def name_of(self, part: str) -> str:
        """What a person calls a part."""
        return self.job.catalog.any_part(part).name

    @cached_property
    def records(self) -> tuple[Part | OwnPart, ...]:
        """Every part of the kit once, as the catalog has it."""
        return tuple(self.job.catalog.any_part(part) for part in self.kit.counts(self.job.problem))

    @cached_property
    def safety(self) -> dict[str, SafetyItem]:
        """Alarms, main fuse, disconnect and fuse box by their role."""
        return {record.role: record for record in self.records if isinstance(record, SafetyItem)}

    def limit(self, slug: str) -> Limit | None:
        """The first limit of a sort that allows anything at all."""
        return next((one for one in self.limits if one.slug == slug and one.allowed), None)

    def own_parts(self, option: Option) -> tuple[tuple[str, int], ...]:
        """What an option is, without the cables, fuses and fittings that come with it."""
        record = self.job.catalog.any_part
        return tuple(one for one in option.parts if not isinstance(record(one[0]), _SMALL)) or option.parts

    def bay_of(self, group: str) -> str:
        """The bay in which a group's thing stands; empty where that is not known."""
        stowed = self.kit.places.stowed if self.kit.places is not None else ()
        return next((box.bay for box in stowed if box.id.partition("/")[0] == group), "")

    def num(self, value: float, unit: str, key: str = "") -> Num:
        """A number in the documented unit, shown in the brief's units."""
        return Num(float(value), show(value, unit, self.units), key)

    def signed(self, number: Num) -> Num:
        """A difference with its sign, more being plus."""
        return Num(number.value, f"+{number.text}" if number.value > 0 else number.text, number.key)

    def money(self, cents: int, key: str = "") -> Num:
        """Money."""
        return self.num(cents / 100, "USD", key)

    def mass(self, grams: int, key: str = "") -> Num:
        """A mass."""
        return self.num(grams / 1000, "kg", key)


def gather(kit_file: Path) -> Facts:
    """Read a saved kit and all that belongs to it. Raises FaultsFound."""
    from optimizer.job import remarks

    saved = load(kit_file)
    job = open_job(brief_of(saved))
    kit = kit_on_offer(saved, job)
    changes = changes_since(saved, job)
    return Facts(job, with_places(job, kit), saved.data, kit_file, (*changes, *remarks(job)), bool(changes))


def with_places(job: Job, kit: Kit) -> Kit:
    """The kit with its places, as long as some are found for it."""
    if kit.places is not None or job.problem.space is None:
        return kit
    from optimizer.packing.shapes import NoPacking
    from optimizer.places.finding import place

    found = place(job.problem, kit)
    return kit if isinstance(found, NoPacking) else replace(kit, places=found)


__all__ = ["Facts", "SavedKit", "gather", "with_places"]
