"""Questions of a person with cable and pliers in hand, answered from the kit.

On the road: facts -> *answers* -> electrical chapter. Where the kit does not know, the maker's sheet and the
local code are named instead. Common practice, no source, where no number of the kit stands.
"""

from __future__ import annotations

from optimizer.book.blocks import Answers
from optimizer.book.facts import Facts
from optimizer.book.oneline import AWAY_FROM_BUSBARS, BANK, BUS, LINKS, ends_of
from optimizer.circuits.plans import STRINGS_WITHOUT_FUSES
from optimizer.problem.season import season_of
from optimizer.showing import show
from optimizer.work_order import Has

_ARRAYS = {"panels_1": "controller_1", "panels_2": "controller_2"}
_STANDS = {
    "battery": "the bank", "controller_1": "the solar controller", "controller_2": "the second solar controller",
    "alternator_charger": "the alternator charger", "mains_charger": "the mains charger", "inverter": "the inverter",
    "dc_converter": "the 12 V converter", "safety fuse_box": "the fuse box",
}  # fmt: skip


def at_the_bench(facts: Facts) -> Answers:
    """Every question that this kit raises, with its answer."""
    has = Has(facts.job.problem, facts.kit, facts.job.catalog)
    found = [
        ("Where does each fuse sit?", _fuses(facts)),
        ("Where does everything stand?", _places(facts)),
        ("How is the bank put together?", _bank(facts)),
        *((f"How are the panels of {_STANDS[controller]} put together?", _array(facts, panels, controller))
          for panels, controller in _ARRAYS.items() if facts.option(panels) is not None),
        (
            "Which way do terminals go?",
            "Towards the busbars, and so that a hand with a torque driver reaches every one. The plan knows outer sizes"
            " only: set each thing down in its bay before a hole is drilled, keep the air its maker asks for, and turn"
            " a battery onto its side only where its maker allows that.",
        ),
        (
            "Which lug, which crimp, which torque?",
            "The lugs of the buy list are two for each core, and two more beside each bolted fuse, main fuse and"
            " disconnect, for the conductor size of the circuit; the hole must fit the stud of what you bought. Crimp"
            " with the tool that the lug's maker names, tug, then shrink the sleeve; no solder. Torque as each maker"
            " prints it, and ask where none is printed: loose terminals burn.",
        ),
        (
            "Which cable is which?",
            "Every direct-current circuit is two cores of the size shown, side by side: red is plus, black (or yellow)"
            " is minus. The minus comes back to the minus busbar, never through the body. Both ends carry a label with"
            " the circuit's name.",
        ),
        (
            "What is tied to the body?",
            "The minus busbar, at one place, with a bond sized by the local code; where mains is fitted, its earth"
            " too.",
        ),
        (
            "What if a run comes out longer?",
            "Measure each path before you buy, with bends and slack. Where it is longer than the table says, type it"
            " into [vehicle.runs] of the brief and choose again: conductor, drop and price follow.",
        ),
        ("In which order is it connected?", _order(has)),
        (
            "What tools does it take?",
            "Crimping pliers for every lug size, heat gun, insulated tools, multimeter, torque driver, hole saws, file,"
            " primer and brush. They are not on the buy list; nor is a spare fuse of each rating, which belongs in the"
            " van.",
        ),
    ]  # fmt: skip
    return Answers(tuple((question, answer) for question, answer in found if answer))


def _fuses(facts: Facts) -> str:
    lead = next((c for c in facts.circuits if ends_of(c) == (BANK, BUS)), None)
    words = []
    main = facts.safety.get("main_fuse")
    if lead is not None and main is not None:
        near = show(lead.fuse_distance_mm, "mm", facts.units)
        words.append(
            f"{main.name}: within {near} along the cable of the bank's plus terminal, nothing connected before it, the"
            " disconnect right after it"
        )
    branch = [c for c in facts.circuits if c.level == "branch"]
    if branch:
        near = show(max(c.fuse_distance_mm for c in branch), "mm", facts.units)
        there = {ends_of(c)[0] for c in branch}
        other = "".join(f" (or of the {source})" for source in AWAY_FROM_BUSBARS if source in there)
        words.append(f"bolted fuses: within {near} of the plus busbar that feeds them{other}, one for each circuit")
    if any(c.level == "box" for c in facts.circuits):
        words.append("blade fuses: in the fuse box, one way each")
    if any(c.string_fuse_a for c in facts.circuits):
        words.append("string fuses: in each panel string's plus, where the strings join")
    return "; ".join(words)[:1].upper() + "; ".join(words)[1:] + "." if words else ""


def _places(facts: Facts) -> str:
    stands = [(what, facts.bay_of(group)) for group, what in _STANDS.items()]
    words = "; ".join(f"{what}: {bay}" for what, bay in stands if bay)
    if not words:
        return ""
    return (
        words[:1].upper() + words[1:] + ". Busbars, main fuse and disconnect have no box of their own on the plan: put"
        " them on a board beside the bank, as near as the run from bank to busbars says, under covers."
    )


def _bank(facts: Facts) -> str:
    bank = facts.option("battery")
    if bank is None:
        return ""
    part, count = bank.parts[0]
    name = facts.name_of(part)
    if count == 1:
        words = f"One {name}; nothing to join."
    elif all(c.name != LINKS for c in facts.circuits):
        words = (
            f"{count} x {name}: {bank.words}. Join them with the busbars that come with their manager, in one block"
            " inside its enclosure, as its maker draws it. All of one make, age and charge."
        )
    else:
        words = (
            f"{count} x {name}: {bank.words}. Link them with the battery links of the table, all of one length; take"
            " plus from one end of the row and minus from the other. All of one make, age and charge."
        )
    return words + " Strapped down so that it stays put in a crash, terminals covered."


def _array(facts: Facts, panels: str, controller: str) -> str:
    option = facts.option(panels)
    assert option is not None
    part, count = option.parts[0]
    joined = f"{count} x {facts.name_of(part)}, {option.words}." if count > 1 else f"One {facts.name_of(part)}."
    number = panels.rpartition("_")[2]
    volts = next((one for one in facts.limits if one.name == f"array_voltage {number}"), None)
    if volts is not None and volts.allowed:
        most, stood = (show(v / volts.scale, "V", facts.units) for v in (volts.used, volts.allowed))
        coldest = show(season_of(facts.job.brief, facts.job.years).bare_coldest_c, "degC", facts.units)
        joined += (
            f" On the year's coldest morning ({coldest}, whether the van is used or parked) it gives {most} with"
            f" nothing drawn; {_STANDS[controller]} stands {stood}. Where the van winters colder than that, leave the"
            " isolator open."
        )
    strings = max((c.strings for c in facts.circuits if c.use == "solar"), default=0)
    if 0 < strings <= STRINGS_WITHOUT_FUSES:
        joined += " With so few strings none needs a fuse of its own; open the isolator before you touch a plug."
    return joined


def _order(has: Has) -> str:
    words = "Loads and chargers first, all fuses out; the bank last, plus before minus; fuses in from the bank outward."
    if has.kind("solar_panel"):
        words += " The bank goes onto the solar controller before the panels do, and comes off after them."
    return words
