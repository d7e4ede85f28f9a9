"""Reading catalogs: the form of files, stacking, dropping, own columns and own kinds."""

from __future__ import annotations

import csv
import io
import random
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.brief.preferences import OwnKind
from optimizer.errors import Fault, FaultsFound
from optimizer.parts import reading
from optimizer.parts.catalog import Catalog
from optimizer.parts.describing import csv_text, template
from optimizer.parts.reading import catalog_home, read_catalog
from optimizer.parts.records import KINDS, GreyContainer, RoofFan

FANS = "id,name,price_usd,mass_kg,draw_w,airflow_m3_h"
FAN = "fan-a,Fan A,100,2,10,300"


@cache
def generic() -> Catalog:
    return read_catalog(["generic"])


def write(base: Path, **files: str | bytes) -> None:
    """Write files named ``folder__kind``."""
    for name, content in files.items():
        folder, kind = name.split("__")
        (base / folder).mkdir(exist_ok=True)
        (base / folder / f"{kind}.csv").write_bytes(content if isinstance(content, bytes) else content.encode())


def sentences(base: Path, *names: str, own: tuple[OwnKind, ...] = ()) -> list[str]:
    with pytest.raises(FaultsFound) as caught:
        read_catalog(names, own, base)
    return [fault.sentence() for fault in caught.value.faults]


# --- the form of a file


@pytest.mark.parametrize(
    "content",
    [
        f"{FANS}\n{FAN}\n",
        f"{FANS}\n{FAN}",
        f"{FANS}\r\n{FAN}\r\n",
        f"{FANS}\r{FAN}\r",
        f"\ufeff{FANS}\n{FAN}\n",
        f"# a remark, with a comma\n\n{FANS}\n#{FAN}\n{FAN}\n,,,\n",
        f"{FANS},,\n{FAN},,\n",
        "airflow_m3_h,id,draw_w,name,mass_kg,price_usd\n300,fan-a,10,Fan A,2,100\n",
        f'{FANS}\n"fan-a","Fan\nA",100,2,10,300\n',
        f"{FANS}\n fan-a , Fan   A ,1e2,+2.0,10.,300\n",
        f"{FANS}\nfan-a,Fan A,$100,2000 g,0.01 kW,300 m3/h\n",
        f"{FANS},bay_tags,dc_v,upright,skill\n{FAN},,,,\n",
        f"{FANS},bay_tags,dc_v,upright,skill\n{FAN},inside,12,No,-\n",
    ],
)  # fmt: skip
def test_forms_of_the_same_part(content: str, tmp_path: Path) -> None:
    """Line ends, a byte order mark, remarks, quotes, units, order and blanks make no difference."""
    write(tmp_path, mine__roof_fan=content)
    assert read_catalog(["mine"], base=tmp_path).find(RoofFan) == (
        RoofFan(id="fan-a", name="Fan A", price_usd=100, mass_kg=2, draw_w=10, airflow_m3_h=300),
    )


def test_units_are_converted(tmp_path: Path) -> None:
    """A cell may carry its unit: 14 in is 355.6 mm and 10 lb is 4.536 kg (NIST SP 811, appendix B)."""
    write(tmp_path, mine__roof_fan=f"{FANS},length_mm\nfan-a,Fan A,100,10 lb,10,177 cfm,14 in\n")
    (fan,) = read_catalog(["mine"], base=tmp_path).find(RoofFan)
    assert fan.length_mm == pytest.approx(355.6)
    assert fan.mass_kg == pytest.approx(4.5359237)
    assert fan.airflow_m3_h == pytest.approx(177 * 0.3048**3 * 60)


def test_minus_zero_is_zero(tmp_path: Path) -> None:
    """-0 is read as 0, so that equal catalogs hash alike."""
    write(tmp_path, one__roof_fan=f"{FANS}\n{FAN.replace(',2,', ',-0,')}")
    write(tmp_path, two__roof_fan=f"{FANS}\n{FAN.replace(',2,', ',0,')}")
    one, two = (read_catalog([name], base=tmp_path) for name in ("one", "two"))
    assert (one, one.hash) == (two, two.hash)


def test_none_is_said_with_a_dash(tmp_path: Path) -> None:
    """A dash empties what a blank cell leaves at its default."""
    write(tmp_path, mine__roof_fan=f"{FANS},bay_tags\n{FAN},-\nfan-b,Fan B,100,2,10,300,\n")
    assert [fan.bay_tags for fan in read_catalog(["mine"], base=tmp_path).find(RoofFan)] == ["", "inside"]


def test_header_alone_is_an_empty_kind(tmp_path: Path) -> None:
    """A file that has not been filled in yet is no fault."""
    write(tmp_path, mine__roof_fan=f"{FANS}\n")
    assert read_catalog(["mine"], base=tmp_path) == Catalog.empty()


def test_files_that_are_not_catalogs_are_left_alone(tmp_path: Path) -> None:
    """Notes, hidden files and spreadsheets beside the CSVs do not disturb."""
    write(tmp_path, mine__roof_fan=f"{FANS}\n{FAN}\n")
    for name in ("README.md", "prices.ods", "._roof_fan.csv", ".hidden.csv"):
        (tmp_path / "mine" / name).write_text("anything")
    assert len(read_catalog(["mine"], base=tmp_path)) == 1


# --- stacking


def test_later_folder_corrects_adds_and_drops(tmp_path: Path) -> None:
    """A cell given replaces, a blank keeps, a new id adds, drop takes out."""
    write(
        tmp_path,
        shop__roof_fan=f"{FANS},note\n{FAN},loud\nfan-b,Fan B,200,3,12,500,\n",
        mine__roof_fan=f"{FANS},drop\nfan-a,,90,,,,\nfan-b,,,,,,yes\nfan-c,Fan C,50,1,4,40,no\n",
    )
    first, second = read_catalog(["shop", "mine"], base=tmp_path).find(RoofFan)
    assert (first.id, first.name, first.price_usd, first.note) == ("fan-a", "Fan A", 90, "loud")
    assert (second.id, second.price_usd) == ("fan-c", 50)


def test_a_row_of_two_cells_corrects_a_generic_price(tmp_path: Path) -> None:
    """The commonest overlay: what the shop asks for one part of the generic catalog."""
    write(tmp_path, mine__battery="id,price_usd\nbat-lfp-100,312.50\n")
    changed = read_catalog(["generic", "mine"], base=tmp_path)
    before, after = generic().part("bat-lfp-100"), changed.part("bat-lfp-100")
    assert after == before.model_copy(update={"price_usd": 312.5})
    assert len(changed) == len(generic())
    assert changed.hash != generic().hash


def test_whole_row_replaces_a_part(tmp_path: Path) -> None:
    """A row with every cell leaves nothing of the earlier one."""
    new = RoofFan(
        id="fan-a", name="New", price_usd=1, mass_kg=1, draw_w=1, airflow_m3_h=1, note="new", dc_v="24",
        skill="roof_cutting", bay_tags="roof", upright=True,
    )  # fmt: skip
    write(
        tmp_path,
        shop__roof_fan=f"{FANS},opening,note\n{FAN},roof,old\n",
        mine__roof_fan=csv_text("roof_fan", [new]),
    )
    (found,) = read_catalog(["shop", "mine"], base=tmp_path).find(RoofFan)
    assert found == new.model_copy(update={"opening": "roof"})  # blank on purpose is '-', not ''


def test_order_of_catalogs_matters(tmp_path: Path) -> None:
    """The last folder has the last word."""
    write(tmp_path, one__roof_fan=f"{FANS}\n{FAN}", two__roof_fan=f"{FANS}\n{FAN.replace('100', '70')}")
    assert read_catalog(["one", "two"], base=tmp_path).column("fan-a", "price_usd") == 70
    assert read_catalog(["two", "one"], base=tmp_path).column("fan-a", "price_usd") == 100


def test_dropped_id_may_return_as_another_kind(tmp_path: Path) -> None:
    """Dropping comes before adding within a folder, whichever file is read first."""
    write(
        tmp_path,
        shop__roof_fan=f"{FANS}\n{FAN}",
        mine__roof_fan="id,drop\nfan-a,1",
        mine__grey_container="id,name,price_usd,mass_kg,volume_l\nfan-a,Can,10,1,10",
    )
    catalog = read_catalog(["shop", "mine"], base=tmp_path)
    assert catalog.find(RoofFan) == ()
    assert [part.id for part in catalog.find(GreyContainer)] == ["fan-a"]


def test_dropped_part_returns_afresh(tmp_path: Path) -> None:
    """A part dropped and added again later keeps nothing of its first life, own columns included."""
    write(
        tmp_path,
        one__roof_fan=f"{FANS},note,own_noise\n{FAN},loud,50",
        two__roof_fan="id,drop\nfan-a,yes",
        three__roof_fan=f"{FANS}\n{FAN}",
    )
    catalog = read_catalog(["one", "two", "three"], base=tmp_path)
    assert catalog.find(RoofFan)[0].note == ""
    assert catalog.column("fan-a", "own_noise") == 0


def test_own_columns(tmp_path: Path) -> None:
    """A column that starts with own_ is kept for any part, corrected by later folders, blank is 0."""
    write(
        tmp_path,
        shop__roof_fan=f"{FANS},own_noise\n{FAN},50\nfan-b,Fan B,200,3,12,500,\n",
        mine__roof_fan="id,own_noise,own_co2_kg\nfan-a,45,-1.5\n",
    )
    catalog = read_catalog(["shop", "mine"], base=tmp_path)
    assert catalog.column("fan-a", "own_noise") == 45
    assert catalog.column("fan-a", "own_co2_kg") == -1.5
    assert catalog.column("fan-b", "own_noise") == 0
    assert {"own_noise", "own_co2_kg"} <= set(catalog.column_names)


# --- own kinds


BIKE = OwnKind(name="bike", file="bikes.csv")


def test_own_kind(tmp_path: Path) -> None:
    """A kind of the author's own keeps its further columns as numbers."""
    (tmp_path / "bikes.csv").write_text(
        "# ours\nid,name,price_usd,mass_kg,joy,range_km\nbike-b,Bike B,900,19.5,7,60\nbike-a,Bike A,300,11,-2,0\n"
    )
    write(tmp_path, mine__roof_fan=f"{FANS}\n{FAN}")
    catalog = read_catalog(["mine"], [BIKE], tmp_path)
    first, second = catalog.own["bike"]
    assert (first.id, first.columns) == ("bike-a", {"joy": -2.0, "range_km": 0.0})
    assert (second.price_usd, second.mass_kg, second.bay_tags) == (900, 19.5, "")
    assert catalog.kind_of("bike-a") == "bike"
    assert catalog.column("bike-b", "joy") == 7
    assert catalog.column("fan-a", "joy") == 0
    assert catalog.own_part("bike-b") is second


def test_own_kind_may_live_in_a_catalog_folder(tmp_path: Path) -> None:
    """The file of an own kind is not taken for a misnamed kind of part."""
    write(tmp_path, mine__roof_fan=f"{FANS}\n{FAN}", mine__bikes="id,name\nbike-a,Bike A\n")
    catalog = read_catalog(["mine"], [OwnKind(name="bike", file="mine/bikes.csv")], tmp_path)
    assert len(catalog) == 2


OWN_FAULTS = {
    "missing": (None, "bikes.csv is missing; expected a CSV file. It is looked for beside the brief."),
    "empty": ("", "bikes.csv is empty; expected a header row with the names of the columns."),
    "no name": ("id,joy\nbike,3", "bikes.csv, line 1: column name is missing; expected this column."),
    "blank name": (
        "id,name\nbike,",
        "bikes.csv, line 2: name is blank; expected text of at most 120 characters.",
    ),
    "slip": (
        "id,name,mas_kg\nbike,Bike,3",
        "bikes.csv, line 1: column is 'mas_kg'; expected a known column, or a name less like one."
        " Did you mean 'mass_kg'?",
    ),
    "column name": (
        "id,name,Joy!\nbike,Bike,3",
        "bikes.csv, line 1: column is 'Joy!'; expected a name of a-z 0-9 _ that starts with a letter, other than drop.",
    ),
    "text": ("id,name,joy\nbike,Bike,much", "bikes.csv, line 2: joy is 'much'; expected a number."),
    "blank number": (
        "id,name,joy\nbike,Bike,",
        "bikes.csv, line 2: joy is blank; expected a number. Write 0 where there is none of it.",
    ),
    "too large": ("id,name,joy\nbike,Bike,1e10", "bikes.csv, line 2: joy is '1e10'; expected a number."),
    "negative": (
        "id,name,mass_kg\nbike,Bike,-1",
        "bikes.csv, line 2: mass_kg is '-1'; expected a number from 0 to 1000 [kg].",
    ),
    "tag": (
        "id,name,bay_tags\nbike,Bike,rear_hung",
        "bikes.csv, line 2: bay_tags is 'rear_hung'; expected any of inside, warm, vented, outside,"
        " gas_locker, drained, rear_hang, roof with '|' between, or '-' for none. Did you mean 'rear_hang'?",
    ),
    "taken": (
        "id,name\nfan-a,Bike",
        "bikes.csv, line 2: id is 'fan-a'; expected an id that no part of another kind has. It is taken by"
        " a roof_fan in mine/roof_fan.csv, line 2.",
    ),
    "twice": (
        "id,name\nbike,Bike\nbike,Bike",
        "bikes.csv, line 3: id is 'bike'; expected an id not given before; line 2 has it.",
    ),
}


@pytest.mark.parametrize(("content", "sentence"), OWN_FAULTS.values(), ids=OWN_FAULTS)
def test_faulty_own_kind(content: str | None, sentence: str, tmp_path: Path) -> None:
    """Each slip in an own kind's file gets exactly this sentence."""
    write(tmp_path, mine__roof_fan=f"{FANS}\n{FAN}")
    if content is not None:
        (tmp_path / "bikes.csv").write_text(content)
    assert sentences(tmp_path, "mine", own=(BIKE,)) == [sentence]


def test_own_kind_names_must_be_new(tmp_path: Path) -> None:
    """An own kind may not be called as an ordinary kind or as another own kind."""
    (tmp_path / "bikes.csv").write_text("id,name\nbike,Bike\n")
    (tmp_path / "more.csv").write_text("id,name\nmore,More\n")
    kinds = (BIKE, OwnKind(name="bike", file="more.csv"), OwnKind(name="battery", file="more.csv"))
    assert sentences(tmp_path, "generic", own=kinds) == [
        "more.csv: name of the own kind is 'battery'; expected a name no other kind has.",
        "more.csv: name of the own kind is 'bike'; expected a name no other kind has.",
    ]


def test_an_id_is_unique_over_own_kinds(tmp_path: Path) -> None:
    """Two own kinds cannot share an id."""
    (tmp_path / "bikes.csv").write_text("id,name\nbike,Bike\n")
    (tmp_path / "more.csv").write_text("id,name\nbike,More\n")
    assert sentences(tmp_path, "generic", own=(BIKE, OwnKind(name="more", file="more.csv"))) == [
        "more.csv, line 2: id is 'bike'; expected an id that no part of another kind has. It is taken by a"
        " bike in bikes.csv, line 2."
    ]


# --- where catalogs are


def test_generic_is_found_when_installed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In an installed package the shipped catalogs lie inside it; in a working copy beside it."""
    package = tmp_path / "optimizer"
    monkeypatch.setattr(reading, "__file__", str(package / "parts" / "reading.py"))
    assert catalog_home() == tmp_path / "catalogs"
    (package / "catalogs").mkdir(parents=True)
    assert catalog_home() == package / "catalogs"


def test_reading_stays_cheap_to_import() -> None:
    """Reading a catalog of bare numbers loads no heavy library."""
    code = (
        "import sys; from optimizer.parts.reading import read_catalog; read_catalog(['generic']);"
        "print([name for name in ('pandas', 'numpy', 'pint', 'pvlib', 'ortools') if name in sys.modules])"
    )
    root = Path(__file__).parent.parent
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=root)
    assert result.stdout.strip() == "[]"


# --- properties


@settings(max_examples=15, deadline=None)
@given(st.randoms(use_true_random=False))
def test_order_of_rows_and_columns_changes_nothing(shuffler: random.Random) -> None:
    """The same parts in any order of rows and columns make the same catalog with the same hash."""
    with tempfile.TemporaryDirectory() as name:
        base = Path(name)
        for kind, some in generic().parts.items():
            header, *rows = csv.reader(io.StringIO(csv_text(kind, some)))
            order = list(range(len(header)))
            shuffler.shuffle(rows)
            shuffler.shuffle(order)
            out = io.StringIO()
            csv.writer(out).writerows([row[at] for at in order] for row in [header, *rows])
            write(base, **{f"mine__{kind}": out.getvalue()})
        again = read_catalog(["mine"], base=base)
    assert again == generic()
    assert again.hash == generic().hash


@pytest.mark.parametrize("kind", KINDS)
def test_template_round_trips(kind: str, tmp_path: Path) -> None:
    """The explained empty file reads as no parts; filled with parts it reads as those parts."""
    write(tmp_path, mine__x="")
    (tmp_path / "mine" / "x.csv").unlink()
    write(tmp_path, mine__battery=template("battery"))
    write(tmp_path, **{f"mine__{kind}": template(kind)})
    assert len(read_catalog(["mine"], base=tmp_path)) == 0
    rows = csv_text(kind, generic().parts[kind]).split("\n", 1)[1]
    write(tmp_path, **{f"mine__{kind}": template(kind) + rows})
    assert read_catalog(["mine"], base=tmp_path).parts[kind] == generic().parts[kind]


# what people and programs do to a CSV, and plain noise
SCRAPS = st.sampled_from(
    [",", ";", '"', "\n", "\r", "#", "-", "|", "\t", "\0", "\ufeff", "nan", "1e999", "-1", "1,5", "true",
     "id", "drop", "own_", "yes", "9" * 400, "µ", "½", "5 ft 3 in", "12 V", "$", "%", "²", "\u2028", "'"]
)  # fmt: skip
EDITS = st.lists(
    st.tuples(st.integers(0, 10_000), st.integers(0, 40), SCRAPS | st.text(max_size=6)),
    min_size=1,
    max_size=6,
)


def faults_of(names: list[str], base: Path, *own: OwnKind) -> tuple[Fault, ...]:
    """What reading finds wrong; anything else that it raises is let through."""
    try:
        catalog = read_catalog(names, own, base)
    except FaultsFound as found:
        return found.faults
    assert catalog.hash
    return ()


def mutated(text: str, edits: list[tuple[int, int, str]]) -> bytes:
    for at, cut, scrap in edits:
        start = at % (len(text) + 1)
        text = text[:start] + scrap + text[start + cut :]
    return text.encode("utf-8", "surrogatepass")


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(KINDS)), EDITS, st.sampled_from(["base", "overlay", "own"]))
def test_mutated_files_bring_only_faults(kind: str, edits: list[tuple[int, int, str]], place: str) -> None:
    """However a file is mangled, it is read or it brings faults with sentences, never anything else."""
    sound = csv_text(kind, generic().parts[kind][:4])
    with tempfile.TemporaryDirectory() as name:
        base = Path(name)
        write(base, **{f"mine__{kind}": sound, f"more__{kind}": sound})
        (base / "own.csv").write_text("id,name,price_usd,joy\nbike,Bike,3,4\n")
        if place == "own":
            (base / "own.csv").write_bytes(mutated("id,name,price_usd,joy\nbike,Bike,3,4\n", edits))
        else:
            folder = "mine" if place == "base" else "more"
            (base / folder / f"{kind}.csv").write_bytes(mutated(sound, edits))
        faults = faults_of(["mine", "more"], base, OwnKind(name="bike", file="own.csv"))
    for fault in faults:
        assert fault.file in (f"mine/{kind}.csv", f"more/{kind}.csv", "own.csv")
        assert fault.sentence().isprintable()


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_bring_only_faults(data: bytes) -> None:
    """Bytes that are no CSV at all bring faults, never anything else."""
    with tempfile.TemporaryDirectory() as name:
        base = Path(name)
        write(base, mine__roof_fan=FANS.encode() + b"\n" + data)
        faults = faults_of(["mine"], base)
    assert all(fault.file == "mine/roof_fan.csv" for fault in faults)
