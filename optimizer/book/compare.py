"""Two kits side by side: what differs, and what it does to money, mass and trips.

On the road: facts + facts -> *chapters* -> page. The two may come from different briefs.
"""

from __future__ import annotations

from collections.abc import Iterable

from optimizer.book.answer import name_of
from optimizer.book.blocks import Block, Cell, Chapter, Num, Para, Table, Tile, Tiles
from optimizer.book.facts import Facts
from optimizer.book.render import Cover
from optimizer.buying.tables import length
from optimizer.kitfile import versions
from optimizer.parts.records import Cable, Fitting, Fuse
from optimizer.rules import Limit
from optimizer.showing import show
from optimizer.telling import CAUTION, OWN_SYSTEM, SYSTEMS, option_cents, system_of

_SMALL = (Cable, Fuse, Fitting)


def compared(one: Facts, other: Facts, clock: str = "") -> tuple[Cover, tuple[Chapter, ...]]:
    """Cover and chapters. Numbers are shown in the units of the first kit's brief."""
    names = _names(one, other)
    cover = Cover(f"{names[0]} and {names[1]}", "Two kits side by side", "Build book: comparison", CAUTION)
    found = (
        Chapter("totals", "Money, mass, trips", (_tiles(one, other), _totals(one, other, names))),
        Chapter("parts", "What differs", tuple(_parts(one, other, names))),
        Chapter("small", "Cables, fuses and small parts that differ", tuple(_small(one, other, names))),
        Chapter("limits", "How the limits stand", tuple(_limits(one, other, names))),
        Chapter("versions", "Versions and hashes", tuple(_colophon(one, other, names, clock))),
    )
    return cover, found


def _names(one: Facts, other: Facts) -> tuple[str, str]:
    """What the two are called: their briefs, or their files where the briefs have one name."""
    if one.title != other.title:
        return one.title, other.title
    first, second = one.file.stem, other.file.stem
    return (first, second) if first != second else (f"A: {first}", f"B: {second}")


def _tiles(one: Facts, other: Facts) -> Tiles:
    """The second kit's difference from the first."""
    units = one.units
    pairs = [
        ("Price", (other.cents - one.cents) / 100, "USD", "price difference"),
        ("Mass of the parts", (other.mass_g - one.mass_g) / 1000, "kg", "mass difference"),
        ("Nights", other.kit.nights - one.kit.nights, "", "nights difference"),
    ]
    if one.replay is not None and other.replay is not None:
        pairs.append(("Trips", other.replay.coverage_pct - one.replay.coverage_pct, "%", "coverage difference"))
    tiles = []
    for label, value, unit, key in pairs:
        sign = "+" if value > 0 else "-" if value < 0 else ""
        text = "the same" if not value else f"{sign}{show(abs(value), unit, units)}"
        tiles.append(Tile(f"{label}: second less first", Num(float(value), text, key)))
    return Tiles(tuple(tiles))


def _totals(one: Facts, other: Facts, names: tuple[str, str]) -> Table:
    units = one.units

    def cells(facts: Facts) -> list[Cell]:
        bank = facts.option("battery")
        usable = bank.effects.get("usable_wh", 0.0) if bank else 0.0
        trips = (
            f"{facts.replay.covered} of {facts.replay.departures} ({facts.replay.coverage_pct:.1f} %)"
            if facts.replay
            else "not asked"
        )
        return [
            Num(facts.cents / 100, show(facts.cents / 100, "USD", units)),
            Num(facts.mass_g / 1000, show(facts.mass_g / 1000, "kg", units)),
            Num(float(facts.kit.nights), str(facts.kit.nights)),
            Num(float(facts.kit.voltage), f"{facts.kit.voltage} V"),
            Num(usable, show(usable, "Wh", units)), trips, _status(facts), _binding(facts),
        ]  # fmt: skip

    labels = (
        "price", "mass of the parts", "nights", "bank voltage", "usable in the bank", "departures that come through",
        "proof", "hardest spell",
    )  # fmt: skip
    rows = tuple(zip(labels, cells(one), cells(other), strict=True))
    return Table("The two kits", ("what", *names), rows)


def _status(facts: Facts) -> str:
    """What was proven when it was chosen, which holds no longer for another brief or catalog."""
    return "brief or catalog changed since" if facts.changed else facts.status


def _binding(facts: Facts) -> str:
    if facts.replay is None:
        return "-"
    spell = facts.replay.binding_spell()
    return f"departure of {spell.date}, {spell.hours} h, {show(spell.room_wh, 'Wh', facts.units)} left"


def _parts(one: Facts, other: Facts, names: tuple[str, str]) -> Iterable[Block]:
    """System by system what each has, where they differ, with money and mass."""
    rows: list[tuple[Cell, ...]] = []
    same: list[str] = []
    for system in [*SYSTEMS, OWN_SYSTEM]:
        first, second = (_lines(facts, system) for facts in (one, other))
        if not first and not second:
            continue
        if first == second:
            same.append(system)
            continue
        only = [sorted(set(a) - set(b)) for a, b in ((first, second), (second, first))]
        both = sorted(set(first) & set(second))
        money, mass = ([_sum(f, system)[place] for f in (one, other)] for place in (0, 1))
        rows.append((
            system, "; ".join(only[0]) or "-", "; ".join(only[1]) or "-", "; ".join(both) or "-",
            _change(money[1] - money[0], 100, "USD", one), _change(mass[1] - mass[0], 1000, "kg", one),
        ))  # fmt: skip
    if rows:
        head = ("system", f"only {names[0]}", f"only {names[1]}", "both", "price, second less first", "mass")
        yield Table("Systems that differ", head, tuple(rows), stack=True)
    else:
        yield Para("The two have the same parts.")
    if same:
        yield Para(f"The same in both: {', '.join(same)}.")


def _change(value: int, scale: int, unit: str, facts: Facts) -> Num:
    sign = "+" if value > 0 else "-" if value < 0 else ""
    return Num(value / scale, f"{sign}{show(abs(value) / scale, unit, facts.units)}")


def _lines(facts: Facts, system: str) -> list[str]:
    """Main parts of a system, each as '2 x name'."""
    counts: dict[str, int] = {}
    for group, option in facts.kit.options(facts.job.problem):
        if group.hidden or system_of(group.kind) != system:
            continue
        for part, count in option.parts:
            if not isinstance(facts.job.catalog.any_part(part), _SMALL):
                counts[part] = counts.get(part, 0) + count
    return [
        f"{count} x {facts.name_of(part)}" if count > 1 else facts.name_of(part)
        for part, count in sorted(counts.items())
    ]


def _sum(facts: Facts, system: str) -> tuple[int, int]:
    some = [o for g, o in facts.kit.options(facts.job.problem) if not g.hidden and system_of(g.kind) == system]
    return sum(option_cents(facts.job.problem, facts.kit, o) for o in some), sum(o.mass_g for o in some)


def _small(one: Facts, other: Facts, names: tuple[str, str]) -> Iterable[Block]:
    counts = [f.kit.counts(f.job.problem) for f in (one, other)]
    rows: list[tuple[Cell, ...]] = []
    for part in sorted(set(counts[0]) | set(counts[1])):
        first, second = (some.get(part, 0) for some in counts)
        holder = one if part in one.job.catalog else other
        record = holder.job.catalog.any_part(part)
        if first != second and isinstance(record, _SMALL):
            rows.append((record.name, *(_many(record, count, one) for count in (first, second))))
    if rows:
        yield Table("How many of each", ("what", *names), tuple(rows), small=True)
    else:
        yield Para("None.")


def _many(record: Cable | Fuse | Fitting, count: int, facts: Facts) -> Num:
    """Pieces, or a length with its unit."""
    long = isinstance(record, Cable) or (isinstance(record, Fitting) and record.unit == "m")
    if not long:
        return Num(float(count), str(count))
    return Num(float(count), f"{length(count, facts.units):g} {'ft' if facts.units == 'us' else 'm'}")


def _limits(one: Facts, other: Facts, names: tuple[str, str]) -> Iterable[Block]:
    stands = [{limit.name: limit for limit in facts.limits} for facts in (one, other)]
    order = list(dict.fromkeys([*stands[0], *stands[1]]))
    rows: list[tuple[Cell, ...]] = []
    same: list[str] = []
    for name in order:
        first, second = stands[0].get(name), stands[1].get(name)
        known = first or second
        if known is None or not any(limit and (limit.used or limit.allowed) for limit in (first, second)):
            continue
        if first == second:
            same.append(name_of(known))
        else:
            rows.append((name_of(known), *_stand(first, one), *_stand(second, one)))
    head = ("limit", f"{names[0]}: used", "allowed", f"{names[1]}: used", "allowed")
    if rows:
        yield Table("Limits that stand otherwise", head, tuple(rows), small=True)
    if same:
        yield Para(f"The same in both: {', '.join(same)}.")


def _stand(limit: Limit | None, facts: Facts) -> tuple[Cell, Cell]:
    if limit is None:
        return "-", "-"
    return facts.num(limit.used / limit.scale, limit.unit), facts.num(limit.allowed / limit.scale, limit.unit)


def _colophon(one: Facts, other: Facts, names: tuple[str, str], clock: str) -> Iterable[Block]:
    rows = tuple(
        (what, *(str(f.data.get(key, "unknown")) for f in (one, other)))
        for what, key in (("brief", "brief_hash"), ("catalog when chosen", "catalog_hash"), ("status", "status"))
    )
    yield Table("What was compared", ("what", *names), rows)
    yield Para("Made with " + ", ".join(f"{name} {number}" for name, number in sorted(versions().items())) + ".")
    if clock:
        yield Para(f"Made on {clock}.")
