"""First chapter: the job and the answer on one page.

On the road: facts -> *chapter*.
"""

from __future__ import annotations

from optimizer.book.blocks import Block, Box, Cell, Chapter, Para, Table, Tile, Tiles
from optimizer.book.facts import Facts
from optimizer.rules import Limit
from optimizer.showing import show
from optimizer.telling import CAUTION, binding_lines, broken_rules, proof_sentence

TIGHT = 5
"""How many limits the first page names."""
NO_SIZE = (
    "skills", "required", "refused", "safety_kit", "cooking", "wiring", "disconnect", "bay_space", "roof_plan",
    "cable_reach", "fuel_apart",
)  # fmt: skip


def answer(facts: Facts) -> Chapter:
    """What, how much, how heavy, how long it lasts, what sets it."""
    broken = _broken(facts)
    standing = [_unfit(broken)] if broken else [Para(proof(facts), strong=True)]
    caution = Box("Before you begin", CAUTION, danger=True)
    blocks: list[Block] = [_tiles(facts), *standing, *_sets(facts), caution, asked(facts)]
    blocks += [Box("Note", note) for note in facts.notes]
    return Chapter("answer", "The job and the answer", tuple(blocks))


def _tiles(facts: Facts) -> Tiles:
    trip, problem = facts.job.brief.trip, facts.job.problem
    tiles = [
        Tile("Price", facts.money(facts.cents, "price"), f"of a budget of {_usd(facts)}"),
        Tile("Mass of the parts", facts.mass(facts.mass_g, "mass"), "empty, as bought"),
        Tile("Nights on end", facts.num(facts.kit.nights, "", "nights"), _people(facts)),
        _bank(facts),
    ]
    if facts.replay is not None:
        covered = facts.num(facts.replay.coverage_pct, "%", "coverage")
        words = f"{facts.replay.covered} of {facts.replay.departures} departures; {trip.coverage:g} % asked for"
        tiles.append(Tile("Short of nothing", covered, words))
    if problem.goal.slug.startswith("most:"):
        value = facts.data.get("value")
        if isinstance(value, int | float):
            tiles.insert(0, Tile(problem.goal.slug, facts.num(float(value), problem.goal.unit, "goal")))
    return Tiles(tuple(tiles))


def _broken(facts: Facts) -> list[str]:
    """What of the brief and catalog as they are now a kit does not keep: rules, and the trips asked for."""
    faults = broken_rules(facts.verdict, facts.units)
    replay = facts.replay
    if replay is not None and replay.departures - replay.covered > facts.job.allowed_short:
        wanted = replay.departures - facts.job.allowed_short
        faults.append(f"{replay.covered} of {replay.departures} departures come through, {wanted} are asked for")
    return faults


def _unfit(faults: list[str]) -> Box:
    """Such a kit must not be built unseen."""
    words = f"It does not keep the brief and catalog as they are now: {'; '.join(faults)}."
    return Box("Do not build this kit", words, danger=True)


def _usd(facts: Facts) -> str:
    return show(facts.job.brief.limits.budget, "USD", facts.units)


def _people(facts: Facts) -> str:
    count = len(facts.job.brief.people)
    return f"for {count} {'person' if count == 1 else 'people'}"


def _bank(facts: Facts) -> Tile:
    bank = facts.option("battery")
    if bank is None:
        return Tile("Bank", facts.num(facts.kit.voltage, "V"))
    part, count = bank.parts[0]
    many = f"{count} x " if count > 1 else ""
    usable = facts.num(bank.effects.get("usable_wh", 0.0), "Wh", "usable")
    return Tile("Usable in the bank", usable, f"{many}{facts.name_of(part)}, {facts.kit.voltage} V")


def proof(facts: Facts) -> str:
    """What is proven about the kit, in a sentence."""
    if facts.changed:
        return "Not proven: brief or catalog have changed since this kit was chosen. Choose again before you buy."
    return proof_sentence(facts.result)


def _sets(facts: Facts) -> list[Block]:
    """What sets the size: the binding spell and the tightest limits."""
    tight = tightest(facts.limits)[:TIGHT]
    words = "; ".join(
        f"{name_of(limit)} ({show(limit.used / limit.scale, limit.unit, facts.units)} of "
        f"{show(limit.allowed / limit.scale, limit.unit, facts.units)})"
        for limit in tight
    )
    sentences = [f"Nearest to their limits: {words}."] if words else []
    if facts.replay is not None:
        sentences = [*binding_lines(facts.replay, facts.units), *sentences]
    return [Para(sentence) for sentence in sentences]


def share(limit: Limit) -> float:
    """How much of what is allowed is used, 0 to 1."""
    if limit.allowed > 0:
        return min(1.0, max(0.0, limit.used / limit.allowed))
    return 1.0 if limit.used >= limit.allowed else 0.0


def tightest(limits: tuple[Limit, ...]) -> list[Limit]:
    """Limits that measure something, the one most used first, each sort once."""
    found: dict[str, Limit] = {}
    for limit in sorted(limits, key=lambda one: (-share(one), one.name)):
        if limit.allowed > 0 and limit.used > 0 and limit.slug not in NO_SIZE and limit.slug != "coverage":
            found.setdefault(limit.slug, limit)
    return list(found.values())


def name_of(limit: Limit) -> str:
    """A limit's name as it is read."""
    return limit.name.replace("_", " ").removeprefix("own:")


def asked(facts: Facts) -> Table:
    """What the brief asks for, in its main lines."""
    brief, units = facts.job.brief, facts.units
    trip, place, comfort, supplies = brief.trip, brief.place, brief.comfort, brief.supplies
    rows: list[tuple[Cell, ...]] = [
        ("Who", ", ".join(f"{p.name or 'person'} ({show(p.mass, 'kg', units)})" for p in brief.people)),
        ("Season", f"departures from {trip.season_from} to {trip.season_to} (month-day)"),
        ("Weather", "; ".join(year.name for year in facts.job.years)),
        ("Van", f"{brief.vehicle.name}, at most {show(brief.vehicle.gross_mass, 'kg', units)} on the road"),
        ("Driving", _driving(facts)),
        ("Power", "; ".join(_use(facts, number) for number in range(len(brief.uses))) or "nothing but the kit's own"),
        ("Meals", "; ".join(f"{m.name} ({m.ability}, {every(m.every_days)})" for m in brief.meals) or "none"),
        ("Warmth", _warmth(facts) if comfort.heating else "no heater wanted"),
        (
            "Water",
            f"{show(supplies.water_per_person_day, 'L', units)} a person a day,"
            f" {100 * supplies.grey_share:.0f} % of it kept as waste",
        ),
        ("Cold food", f"{show(supplies.chilled, 'L', units)} chilled, {show(supplies.frozen, 'L', units)} frozen"),
        ("Best is", f"{brief.preferences.goal}, then {brief.preferences.tie_break}"),
        ("Skills", ", ".join(s.replace("_", " ") for s in brief.preferences.skills) or "nothing special"),
    ]
    if place.coldest_night is not None:
        rows.insert(3, ("Coldest night", show(place.coldest_night, "degC", units)))
    return Table("What was asked for", ("topic", "in the brief"), tuple(rows), small=True)


def _driving(facts: Facts) -> str:
    driving = facts.job.brief.trip.driving
    if not driving.every_days:
        return "none: the engine stands still"
    return f"{lasting(driving.hours)} {every(driving.every_days)}, from {driving.start_hour:02d}:00"


def lasting(hours: float) -> str:
    """How long a day, in hours; less than one in minutes, as a clock shows it."""
    return f"{hours:.3g} h" if hours >= 1 else f"{60 * hours:.3g} min"


def every(days: int) -> str:
    """How often, in words."""
    return "every day" if days == 1 else f"every {days} days"


def _use(facts: Facts, number: int) -> str:
    use = facts.job.brief.uses[number]
    many = f"{use.count} x " if use.count > 1 else ""
    return f"{many}{use.name} {use.power:g} W {lasting(use.hours)} {every(use.every_days)}" + (
        " (mains)" if use.supply == "ac" else ""
    )


def _warmth(facts: Facts) -> str:
    comfort, units = facts.job.brief.comfort, facts.units
    day, night = (show(t, "degC", units) for t in (comfort.day_temperature, comfort.night_temperature))
    return f"{day} by day, {night} from {comfort.night_from:02d}:00 to {comfort.night_to:02d}:00"
