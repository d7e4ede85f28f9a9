"""The buy list: to the cent and the gram what the kit's price and mass are, and harmless in a spreadsheet."""

from __future__ import annotations

import csv
import io
import random
import re
import sys
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from wiring_cases import EXAMPLES, drawn_kit, example

from optimizer.brief.preferences import Owned
from optimizer.buying.files import csv_text, xlsx_bytes
from optimizer.buying.grouping import STAGES, SYSTEM_ORDER
from optimizer.buying.lines import buy_list, unlisted
from optimizer.buying.tables import buy_table
from optimizer.buying.telling import FUSES_READ, buy_csv, buy_xlsx, settings_table_of, tell_buy
from optimizer.buying.text import harmless
from optimizer.circuits.bank import charger_settings
from optimizer.circuits.shelf import WIRING_KINDS
from optimizer.errors import MissingExtra
from optimizer.job import Job
from optimizer.parts.records import Battery, Part
from optimizer.problem.records import Kit
from optimizer.problem.wired import circuits_of
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents

IDS = [path.stem for path in EXAMPLES]


def some_kit(job: Job, seed: int = 3, fill: float = 0.8) -> Kit:
    return drawn_kit(job.problem, random.Random(seed), fill)


@pytest.mark.parametrize("path", EXAMPLES, ids=IDS)
def test_total_is_the_budgets_used_figure(path: Path) -> None:
    """To the cent and to the gram, for kits of every sort: the two are worked out apart."""
    job = example(path)
    for seed in range(40):
        kit = some_kit(job, seed, fill=seed / 40)
        bought = buy_list(job, kit)
        assert bought.cents == price_cents(job.problem, kit)
        assert bought.mass_g == kit_mass_g(job.problem, kit)


def test_owned_parts_are_free_up_to_their_count() -> None:
    """Owned cable, fuses and panels lower the total by what they are, here as in the budget."""
    job = example(EXAMPLES[0])
    kit = some_kit(job)
    counts = kit.counts(job.problem)
    cable = next(part for part in counts if part.startswith("cable-dc") and counts[part] > 2)
    mine = tuple(Owned(part=part, count=2) for part in (cable, kit.choices["battery"].split()[0], "ins-none"))
    preferences = job.brief.preferences.model_copy(update={"owned": (*job.brief.preferences.owned, *mine)})
    owning = Job(job.brief.model_copy(update={"preferences": preferences}), job.catalog, job.years, job.file)
    bought = buy_list(owning, kit)
    assert bought.cents == price_cents(owning.problem, kit) < price_cents(job.problem, kit)
    (line,) = [line for line in bought.lines if line.part == cable]
    assert line.owned == 2
    assert line.cents == round(line.unit_usd * 100) * (counts[cable] - 2)


def test_every_line_says_what_it_is_for_and_when() -> None:
    """System, stage, quantity, purpose: nothing is blank; parts come once."""
    job = example(EXAMPLES[0])
    lines = buy_list(job, some_kit(job)).lines
    for line in lines:
        assert line.system in SYSTEM_ORDER
        assert line.stage in STAGES
        assert line.quantity > 0
        assert line.purposes
        assert all(line.purposes)
    parts = [line.part for line in lines if line.part]
    assert len(parts) == len(set(parts))
    assert {line.part for line in lines} - {""} == set(some_kit(job).counts(job.problem)) - {"ins-none"}


def test_every_circuit_is_bought() -> None:
    """Each circuit of the kit is named as the purpose of its cable."""
    job = example(EXAMPLES[0])
    kit = some_kit(job)
    told = {purpose for line in buy_list(job, kit).lines for purpose in line.purposes}
    assert {circuit.name for circuit in circuits_of(job.problem, kit)} <= told


def test_small_parts_weigh_in() -> None:
    """Wiring and small parts are a share of the bill worth counting: between 5 and 40 % of price."""
    job = example(EXAMPLES[0])
    bought = buy_list(job, some_kit(job))
    small = [line for line in bought.lines if line.part and job.catalog.kind_of(line.part) in WIRING_KINDS]
    assert 0.05 < sum(line.cents for line in small) / bought.cents < 0.4


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("=1+1", "'=1+1"), ("+49", "'+49"), ("-x", "'-x"), ("@sum", "'@sum"), ("  =1", "'  =1"), ("\t=1", "' =1"),
        ("a=1", "a=1"), ("", ""), ("'=1", "'=1"), ("\x07=1", "'=1"), ("a\nb", "a b"), ("\ufeff=1", "'=1"),
    ],
)  # fmt: skip
def test_text_that_could_run_is_made_harmless(text: str, safe: str) -> None:
    """An apostrophe before = + - @, also behind blanks and characters nobody sees."""
    assert harmless(text) == safe


@given(st.text())
def test_no_text_stays_harmful(text: str) -> None:
    """Whatever is written, no cell begins with a sign that starts a formula, and no control character is left."""
    safe = harmless(text)
    assert safe.strip()[:1] not in {"=", "+", "-", "@"}
    assert safe.isprintable() or not safe
    assert harmless(safe) == safe


def poisoned() -> tuple[Job, Kit]:
    """A catalog whose battery is called a formula."""
    job = example(EXAMPLES[0])
    kit = some_kit(job)
    battery = job.catalog.part(kit.choices["battery"].split()[0])
    catalog = job.catalog.with_parts(battery.model_copy(update={"name": "=HYPERLINK(1)"}))
    return Job(job.brief, catalog, job.years, job.file), kit


def test_csv_reads_back_with_its_total() -> None:
    """Rows add up to the last one, which is the budget's used figure; a formula stays text."""
    job, kit = poisoned()
    head, *rows = list(csv.reader(io.StringIO(buy_csv(job, kit))))
    at = head.index("total [USD]")
    assert sum(round(float(row[at]) * 100) for row in rows[:-1]) == price_cents(job.problem, kit)
    assert round(float(rows[-1][at]) * 100) == price_cents(job.problem, kit)
    assert "'=HYPERLINK(1)" in [row[head.index("what")] for row in rows]
    assert not any(cell[:1] in ("=", "+", "@") for row in rows for cell in row)


def test_workbook_reads_back() -> None:
    """The sheets are there, text is text, numbers are numbers, and the totals are the budget's."""
    openpyxl = pytest.importorskip("openpyxl")
    job, kit = poisoned()
    book = openpyxl.load_workbook(io.BytesIO(buy_xlsx(job, kit)))
    assert book.sheetnames == [
        "By system", "By when needed", "Circuits", "Charger settings", "Order of work", "Before first use", "Cautions",
    ]  # fmt: skip
    for name in ("By system", "By when needed"):
        head, *rows = list(book[name].iter_rows(values_only=True))
        at = head.index("total [USD]")
        assert round(rows[-1][at] * 100) == price_cents(job.problem, kit)
        assert sum(round(row[at] * 100) for row in rows[:-1]) == price_cents(job.problem, kit)
    stages = [row[1] for row in list(book["By when needed"].iter_rows(values_only=True))[1:-1]]
    assert stages == sorted(stages)
    assert not any(cell.data_type == "f" for sheet in book for row in sheet.iter_rows() for cell in row)


def test_same_kit_same_bytes() -> None:
    """A workbook has no date of its own in it, neither of its making nor of a file inside."""
    pytest.importorskip("openpyxl")
    job = example(EXAMPLES[0])
    workbook = buy_xlsx(job, some_kit(job))
    assert workbook == buy_xlsx(job, some_kit(job))
    with zipfile.ZipFile(io.BytesIO(workbook)) as inside:
        assert {entry.date_time[0] for entry in inside.infolist()} == {1980}
        dates = re.findall(rb">([0-9]{4})-[^<]*</dcterms", inside.read("docProps/core.xml"))
    assert len(dates) == 2
    assert set(dates) == {b"1980"}


def test_without_openpyxl_the_command_to_install_it_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A workbook needs a library; the list itself and CSV do not."""
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    with pytest.raises(MissingExtra, match=r"kitwright\[tables\]"):
        xlsx_bytes({"a": (("b",), [("c",)])})
    assert csv_text((("b",), [("c",)])) == "b\nc\n"


def test_us_units() -> None:
    """A US brief reads pounds and feet."""
    job = example(EXAMPLES[0])
    american = Job(job.brief.model_copy(update={"units": "us"}), job.catalog, job.years, job.file)
    kit = some_kit(american)
    head, rows = buy_table(buy_list(american, kit), "us")
    assert "mass [lb]" in head
    kilograms = kit_mass_g(american.problem, kit) / 1000
    assert rows[-1][head.index("mass [lb]")] == pytest.approx(kilograms / 0.45359237, rel=1e-4)
    assert "AWG" in tell_buy(american, kit)
    told = tell_buy(american, kit)
    assert " mm2  " not in told.split("Circuits")[1].split("Charger")[0]
    assert "[degC]" not in told.split("Charger")[1]
    units = {row[head.index("unit")] for row in rows[:-1]}
    assert "ft" in units
    assert not units & {"m", "m2"}
    assert not re.search(r"^  [0-9.]+ m2? of ", told, re.MULTILINE)
    for line, row in zip(buy_list(american, kit).lines, rows, strict=False):
        if row[head.index("unit")] == "ft":
            feet = float(row[head.index("quantity")])
            assert line.quantity <= feet * 0.3048 <= line.quantity + 0.031
            assert float(row[head.index("unit price [USD]")]) == pytest.approx(0.3048 * line.unit_usd, abs=1e-4)


def test_the_whole_telling() -> None:
    """List, circuits, settings, order, tests and cautions, with the total of the budget."""
    job = example(EXAMPLES[0])
    told = tell_buy(job, some_kit(job))
    for heading in ("Circuits", "Charger settings", "Order of work", "Before first use", "Cautions"):
        assert f"\n{heading}\n" in told
    uses = ", ".join(use.name for use in job.brief.uses)
    assert f"\nNot on the list: {uses}, furniture, " in told


def test_lines_are_in_a_builders_order() -> None:
    """Sizes and ratings count as numbers: a fuse of 2 A comes before one of 10 A, 2.5 mm2 before 10 mm2."""
    job = example(EXAMPLES[0])
    seen = set()
    for seed in range(5):
        names = [line.what for line in buy_list(job, some_kit(job, seed)).lines]
        for start in ("Blade fuse ", "Fine-stranded cable ", "Copper lug up to "):
            sizes = [float(name.removeprefix(start).split()[0]) for name in names if name.startswith(start)]
            assert sizes == sorted(sizes)
            seen.add(len(sizes) > 3)
    assert True in seen


def test_circuits_without_a_fuse_are_explained() -> None:
    """Where the table says 'none' the line beneath says why; where every circuit has a fuse there is no such line."""
    job = example(EXAMPLES[0])
    seen = set()
    for seed in range(30):
        kit = some_kit(job, seed, fill=seed / 30)
        bare = any(not circuit.fuse_a for circuit in circuits_of(job.problem, kit))
        assert (FUSES_READ in tell_buy(job, kit)) == bare
        seen.add(bare)
    assert True in seen


def test_settings_are_those_of_the_kits_bank() -> None:
    """The row of settings is the bank's own chemistry at its voltage, whichever is drawn."""
    job = example(EXAMPLES[0])
    seen = set()
    for seed in range(40):
        kit = some_kit(job, seed)
        battery = job.catalog.part(kit.choices["battery"].split()[0])
        assert isinstance(battery, Battery)
        _, (row,) = settings_table_of(job, kit)
        expected = charger_settings(battery.chemistry, kit.voltage)
        assert row[:3] == (battery.chemistry, expected.absorption_v, expected.float_v)
        line = tell_buy(job, kit).split("Charger settings\n")[1].splitlines()[1].split()
        assert line[:2] == [battery.chemistry, f"{expected.absorption_v:g}"]
        assert row[5] == (0.0 if battery.chemistry.startswith("lfp") else "none")
        seen.add(battery.chemistry)
    assert len(seen) > 2


def test_a_lead_to_the_hook_up_is_named_where_none_is_bought() -> None:
    """A charger that is wired in is bought with an inlet and no lead: the builder is told to have one."""
    job = example(next(path for path in EXAMPLES if path.stem == "fjord_winter"))
    seen = set()
    for seed in range(30):
        kit = some_kit(job, seed)
        bought = {line.part for line in buy_list(job, kit).lines}
        inlet = any(part.startswith("hookup-inlet") for part in bought)
        assert ("a hook-up lead" in unlisted(job, kit)) == inlet
        seen.add(inlet)
    assert seen == {True, False}


def test_notes_of_the_catalog_are_told() -> None:
    """What a row says comes with it, or asks to look at, stands on its line: a gas bottle's regulator and hose, say."""
    job = example(EXAMPLES[0])
    seen = set()
    for seed in range(10):
        kit = some_kit(job, seed)
        told = tell_buy(job, kit).split("\n\nCircuits\n")[0]
        for line in buy_list(job, kit).lines:
            part = job.catalog.any_part(line.part) if line.part else None
            if isinstance(part, Part) and part.note:
                (row,) = [row for row in told.splitlines() if f" {line.what}:" in row or f" {line.what} [" in row]
                assert row.endswith(f" [{part.note}]")
                assert line.note == part.note
                seen.add(part.id)
    assert len(seen) > 3
