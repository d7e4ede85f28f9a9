"""The folder of a build book: every file, made again from what lies in it, and two kits side by side."""

from __future__ import annotations

import csv
import json
import random
import re
import shutil
import sys
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from book_cases import chosen_kit, save_kit, saved_kit, short_brief, taken_apart
from typer.testing import CliRunner
from wiring_cases import EXAMPLES, drawn_kit, example

from optimizer.book.closing import references
from optimizer.book.compare import compared
from optimizer.book.facts import Facts, gather
from optimizer.book.look import inline
from optimizer.book.oneline import BANK, BOX, BUS, CONVERTER, LINKS, Labels, chains, diagram, ends_of, in_reading_order
from optimizer.book.render import page
from optimizer.book.writing import Wanted, left_over, write_book
from optimizer.buying.lines import buy_list
from optimizer.cli import app
from optimizer.errors import FaultsFound, MissingExtra
from optimizer.job import Job, open_job
from optimizer.problem.wired import circuits_of

pytest.importorskip("schemdraw")
PARTS = "id,name,price_usd,mass_kg\nrack-a,Rack A,20,2\nrack-b,Rack B,30,1\n"
OWN = '[[preferences.own_kinds]]\nname = "rack"\nfile = "../parts/racks.csv"\n'


@pytest.fixture(scope="module")
def kit(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A kit of a brief that names a file one folder up."""
    folder = tmp_path_factory.mktemp("van") / "briefs"
    (folder.parent / "parts").mkdir(parents=True)
    folder.mkdir()
    (folder.parent / "parts" / "racks.csv").write_text(PARTS, encoding="utf-8")
    path = short_brief(folder)
    path.write_text(f"{path.read_text(encoding='utf-8')}\n{OWN}", encoding="utf-8")
    job = open_job(path)
    return save_kit(job, chosen_kit(job), folder / "kit.json")


@pytest.mark.long
def test_the_book_is_made_again_from_its_folder(kit: Path, tmp_path: Path) -> None:
    """The folder alone, brief and named files gone from where they were, makes the same page and files."""
    first = tmp_path / "first"
    write_book(gather(kit), first, Wanted())
    names = {str(path.relative_to(first)) for path in first.rglob("*") if path.is_file()}
    assert {"book.html", "buy_list.csv", "buy_list.xlsx", "hours.csv", "drawings/one-line.svg"} <= names
    moved = tmp_path / "elsewhere"
    shutil.move(first / "made_from", moved)
    (again,) = moved.rglob("kit.json")
    shutil.rmtree(kit.parent.parent)
    second = tmp_path / "second"
    write_book(gather(again), second, Wanted())
    for name in sorted(names):
        if not name.startswith("made_from"):
            assert (second / name).read_bytes() == (first / name).read_bytes(), name
    assert {str(path.relative_to(moved)) for path in moved.rglob("*")} == {
        str(path.relative_to(second / "made_from")) for path in (second / "made_from").rglob("*")
    }


@pytest.mark.long
def test_files_agree_with_the_page(tmp_path: Path) -> None:
    """The CSV's total is the page's price, each drawing is sound XML, and no page is over 3 MB."""
    facts = gather(saved_kit(tmp_path))
    write_book(facts, tmp_path / "out", Wanted())
    html = (tmp_path / "out" / "book.html").read_text(encoding="utf-8")
    with (tmp_path / "out" / "buy_list.csv").open(encoding="utf-8", newline="") as file:
        total = list(csv.reader(file))[-1]
    assert float(total[7]) == taken_apart(html).numbers["price"] == facts.cents / 100
    drawings = sorted((tmp_path / "out" / "drawings").glob("*.svg"))
    assert len(drawings) >= 8
    for drawing in drawings:
        ElementTree.parse(drawing)
    assert len(html.encode()) < 3_000_000


@pytest.mark.long
def test_pdf_has_the_same_bytes(tmp_path: Path) -> None:
    """Printed twice, the PDF is the same to the byte, and begins as a PDF does."""
    pytest.importorskip("weasyprint")
    from optimizer.book.printing import pdf

    html = "<!DOCTYPE html><html lang='en'><title>t</title><h1>A page</h1><p>some words</p></html>"
    first = pdf(html, "A4")
    assert first[:5] == b"%PDF-"
    assert first == pdf(html, "A4") != pdf(html, "Letter")



def test_compare_says_what_differs() -> None:
    """The differences are the second kit's numbers less the first's; a kit beside itself differs in nothing."""
    job = example(EXAMPLES[0])
    one = Facts(job, drawn_kit(job.problem, random.Random(3)), {"status": "unproven"}, Path("a.json"))
    other = Facts(job, drawn_kit(job.problem, random.Random(4)), {"status": "unproven"}, Path("b.json"))
    read = taken_apart(page(*compared(one, other)))
    assert read.numbers["price difference"] == (other.cents - one.cents) / 100 != 0
    assert read.numbers["mass difference"] == (other.mass_g - one.mass_g) / 1000
    same = taken_apart(page(*compared(one, one)))
    assert same.numbers["price difference"] == 0
    assert "The two have the same parts." in same.text
    assert "The two have the same parts." not in read.text
    american = Job(job.brief.model_copy(update={"units": "us"}), job.catalog, job.years, job.file)
    feet, changed = replace(one, job=american), replace(other, changed=True)
    text = taken_apart(page(*compared(feet, changed))).text
    assert re.search(r"105 degC[0-9.]+ ft", text)
    assert re.search(r"105 degC[0-9.]+ m", read.text)
    assert "brief or catalog changed since" in text
    assert "brief or catalog changed since" not in read.text


@pytest.mark.parametrize("path", EXAMPLES, ids=[path.stem for path in EXAMPLES])
def test_every_circuit_is_on_the_diagram(path: Path) -> None:
    """Each circuit of kits drawn by chance is in one chain, in no other, and its chain begins or ends as it must."""
    job = example(path)
    for seed in range(25):
        circuits = circuits_of(job.problem, drawn_kit(job.problem, random.Random(seed), 1.0))
        giving, taking, small = chains(circuits)
        drawn = [id(c) for chain in (*giving, *taking, *small) for c in chain.circuits]
        aside = [c for c in circuits if c.name == LINKS or ends_of(c) == (BANK, BUS)]
        assert sorted(drawn) == sorted(id(c) for c in circuits if not any(c is one for one in aside))
        assert all(chain.ends[-1] == BUS for chain in giving)
        assert all(chain.ends[0] == BUS for chain in taking)
        assert all(chain.ends[0] == BOX for chain in small)


def test_the_converter_feeds_the_fuse_box_of_a_bank_above_12_v() -> None:
    """Never the busbars: no circuit leads from them into the 12 V fuse box, and each of its loads is drawn once."""
    job = example(next(path for path in EXAMPLES if path.stem == "high_plains_spring"))
    kit = next(k for k in (drawn_kit(job.problem, random.Random(seed), 1.0) for seed in range(99)) if k.voltage == 24)
    circuits = circuits_of(job.problem, kit)
    names = {circuit.name for circuit in circuits}
    assert {"busbars to converter", "converter to fuse box"} <= names
    assert "busbars to fuse box" not in names
    assert next(c for c in circuits if ends_of(c) == (BANK, BUS)).system_v == 24
    _, taking, small = chains(circuits)
    assert [chain.ends for chain in taking if BOX in chain.ends] == [(BUS, CONVERTER, BOX)]
    text = list(ElementTree.fromstring(diagram(circuits, Labels(), "metric", "words")).itertext())
    assert text.count("fuse box") == text.count("converter") == 1
    loads = [chain.ends[1] for chain in small]
    assert len(loads) > 5
    assert all(text.count(load) == loads.count(load) for load in loads if len(load) < 17)
    told = {purpose for line in buy_list(job, kit).lines for purpose in line.purposes}
    assert "converter to fuse box" in told
    assert "busbars to fuse box" not in told
    order = [c.name for c in in_reading_order(circuits)]
    assert order.index("converter to fuse box") > order.index("busbars to converter")


def test_diagram_shows_every_fuse_and_size() -> None:
    """Fuse and conductor of each circuit stand on the drawing, and it reads as XML."""
    job = example(EXAMPLES[0])
    circuits = circuits_of(job.problem, drawn_kit(job.problem, random.Random(2), 1.0))
    svg = diagram(circuits, Labels("a bank", isolator="an isolator"), "metric", "words")
    text = " ".join(ElementTree.fromstring(svg).itertext())
    assert len(circuits) > 8
    for circuit in circuits:
        if circuit.name != LINKS and ends_of(circuit) != (BANK, BUS):
            assert circuit.size.replace("mm2", "mm²") in text, circuit.name
            assert not circuit.fuse_a or f"{circuit.fuse_a:g} A" in text


def test_ids_of_pictures_stay_their_own() -> None:
    """Two drawings with the same ids inside do not get into each other's way on one page."""
    svg = '<svg width="9" height="9"><defs><g id="a"/></defs><use href="#a"/><path clip-path="url(#a)"/></svg>'
    one, other = inline(svg, "one", "first"), inline(svg, "other", "<&>")
    assert 'id="one-a"' in one
    assert 'href="#other-a"' in other
    assert "url(#other-a)" in other
    assert '<title id="other-title">&lt;&amp;&gt;</title>' in other
    assert not re.search(r'<svg[^>]* (width|height)=', one)


def test_every_room_of_formulas_has_its_sources() -> None:
    """References are read whole: numbered entries, each on a line, none lost."""
    words = "Title.\n\nReferences\n----------\n.. [1] A book,\n   2nd page.\n.. [2] Another, as in [1]_.\n"
    assert references(words) == ("A book, 2nd page.", "Another, as in [1].")
    assert references("No list at all.") == ()


def test_a_command_without_a_kit(tmp_path: Path) -> None:
    """The command says what it needs; a file that is no kit is a fault with its name, and nothing is written."""
    run = CliRunner().invoke(app, ["book"])
    assert run.exit_code == 2
    assert "--compare A B" in run.output
    both = CliRunner().invoke(app, ["book", "a.json", "--compare", "a.json", "b.json"])
    assert both.exit_code == 2
    assert "--compare A B" in both.output
    bad = tmp_path / "kit.json"
    bad.write_text(json.dumps({"choices": {}}), encoding="utf-8")
    run = CliRunner().invoke(app, ["book", str(bad), "-o", str(tmp_path / "out")])
    assert isinstance(run.exception, FaultsFound)
    assert not (tmp_path / "out").exists()


def test_what_an_earlier_book_left_is_named(tmp_path: Path) -> None:
    """Drawings, PDF and kit that this book did not write are told, its own files and a person's are not."""
    names = ("book.html", "book.pdf", "drawings/plan-bay-1.svg", "drawings/plan-bay-9.svg", "made_from/kit.json",
             "made_from/old/kit.json", "my notes.txt")  # fmt: skip
    for name in names:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("x", encoding="utf-8")
    written = [tmp_path / name for name in ("book.html", "drawings/plan-bay-1.svg", "made_from/kit.json")]
    left = {path.relative_to(tmp_path).as_posix() for path in left_over(tmp_path, written)}
    assert left == {"book.pdf", "drawings/plan-bay-9.svg", "made_from/old/kit.json"}


def test_without_the_library_the_command_to_install_it_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A missing extra is named with the command that brings it."""
    monkeypatch.setitem(sys.modules, "schemdraw", None)
    with pytest.raises(MissingExtra, match=r"pip install 'kitwright\[book\]'"):
        diagram((), Labels(), "metric", "")
