"""Every way to get a brief wrong, and the exact words each gets."""

from __future__ import annotations

import os
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from brief_samples import GOOD, changed

from optimizer.brief.reading import brief_data, brief_from_dict, read_brief
from optimizer.errors import FaultsFound

CASES: list[dict[str, Any]] = tomllib.loads(
    (Path(__file__).parent / "brief_faults.toml").read_text(encoding="utf-8")
)["case"]
KNOWN_LIMITS = ("budget", "payload")


def report_of(raw: bytes | str, name: str = "brief.toml") -> str:
    """The whole report on a brief in the working folder."""
    Path(name).write_bytes(raw if isinstance(raw, bytes) else raw.encode())
    with pytest.raises(FaultsFound) as caught:
        read_brief(Path(name), KNOWN_LIMITS)
    return str(caught.value)


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Relative names, so that reports read the same everywhere."""
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("case", CASES, ids=[case["story"] for case in CASES])
def test_exact_report(case: dict[str, Any]) -> None:
    """A faulty brief gets exactly this report: file, line, key, value, what was expected, what to do."""
    edits = [(GOOD if old == "good" else old, new) for old, new in case["edits"]]
    assert report_of(changed(*edits)) == case["report"].rstrip("\n")


def test_the_table_is_long_and_told_apart() -> None:
    """The table has its hundred stories, each with a name of its own."""
    stories = [case["story"] for case in CASES]
    assert len(stories) == len(set(stories)) >= 100


def test_no_report_speaks_of_the_machinery() -> None:
    """No report carries the wording of the libraries behind it."""
    for case in CASES:
        for word in ("Input should", "Value error", "pydantic", "type=", "NoneType", "ctx", "(at line"):
            assert word not in case["report"]


def test_the_good_brief_is_good() -> None:
    """The brief that the table breaks has no fault itself, with or without a byte order mark or CRLF."""
    for raw in (GOOD.encode(), b"\xef\xbb\xbf" + GOOD.encode(), GOOD.replace("\n", "\r\n").encode()):
        Path("brief.toml").write_bytes(raw)
        brief = read_brief(Path("brief.toml"), KNOWN_LIMITS)
        assert (brief.trip.nights, brief.vehicle.bays[1].name) == (7, "galley")
        assert brief_data(Path("brief.toml")) == tomllib.loads(GOOD)


def test_lines_are_right_with_a_mark_and_carriage_returns() -> None:
    """A byte order mark and CRLF line ends do not shift the lines of a report."""
    faulty = changed(("nights = 7", "nights = 400"))
    plain = report_of(faulty)
    assert report_of(b"\xef\xbb\xbf" + faulty.encode()) == plain
    assert report_of(faulty.replace("\n", "\r\n")) == plain


def test_file_that_is_not_there() -> None:
    """A file that is not there gets the nearest name in its folder."""
    Path("brief.toml").write_text(GOOD)
    with pytest.raises(FaultsFound) as caught:
        read_brief(Path("brif.toml"))
    assert str(caught.value) == "brif.toml: expected a file that exists. Did you mean 'brief.toml'?"


def test_file_in_no_folder() -> None:
    """A file in a folder that is not there either gets a plain answer."""
    with pytest.raises(FaultsFound) as caught:
        brief_data(Path("nowhere") / "brief.toml")
    assert str(caught.value) == f"{Path('nowhere') / 'brief.toml'}: expected a file that exists."


def test_folder_for_a_file() -> None:
    """A folder is no brief; the briefs in it are named."""
    Path("van").mkdir()
    (Path("van") / "a.toml").write_text(GOOD)
    with pytest.raises(FaultsFound) as caught:
        read_brief(Path("van"))
    assert str(caught.value) == "van: expected a file, and this is a folder. Name a file in it: a.toml."


def test_name_that_no_system_takes() -> None:
    """A name with a zero byte, or far too long, is a fault and no crash."""
    with pytest.raises(FaultsFound) as caught:
        read_brief(Path("a\0b"))
    assert "expected" in str(caught.value)
    with pytest.raises(FaultsFound, match="expected a file"):
        read_brief(Path("a" * 5000))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes on this system")
def test_pipe_for_a_file() -> None:
    """A pipe would be waited on for ever; it is refused."""
    os.mkfifo("pipe")
    with pytest.raises(FaultsFound) as caught:
        read_brief(Path("pipe"))
    assert str(caught.value) == "pipe: expected an ordinary file. Name the TOML file of the brief."


def test_file_that_may_not_be_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file without leave to read is a fault that says so."""
    Path("brief.toml").write_text(GOOD)

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(FaultsFound) as caught:
        read_brief(Path("brief.toml"))
    assert str(caught.value) == (
        "brief.toml: expected a file that can be read (permission denied)."
        " Check its name and who may read it."
    )


RAW = [
    (b"", "brief.toml: expected a brief, and this file is empty. Begin with the starter brief."),
    (
        b"\xef\xbb\xbf \r\n",
        "brief.toml: expected a brief, and this file is empty. Begin with the starter brief.",
    ),
    (
        "a = 1".encode("utf-16"),
        "brief.toml: expected text in UTF-8, and this is UTF-16. Save it as UTF-8 in the editor.",
    ),
    (
        b"\x7fELF\0\0",
        "brief.toml: expected a text file, and this is binary. Name the TOML file of the brief.",
    ),
    (
        b'a = 1\nname = "caf\xe9"\n',
        "brief.toml, line 2: column 12 is the byte 0xE9; expected text in UTF-8."
        " Save it as UTF-8 in the editor.",
    ),
    (
        b'\xef\xbb\xbfname = "caf\xe9"\n',
        "brief.toml, line 1: column 12 is the byte 0xE9; expected text in UTF-8."
        " Save it as UTF-8 in the editor.",
    ),
    (
        b"#" * 2_000_001,
        "brief.toml: expected a file of at most 2 MB."
        " Name the TOML file of the brief; weather and catalogs are files of their own.",
    ),
    (
        b"name = " + b"[" * 5000,
        f"brief.toml, line 1: column 5008 in 'name = {'[' * 50}...': expected lists, tables and keys nested less"
        " than 64 deep. Take the slip of the pen out.",
    ),
    (
        b"a = 1\nname = " + b"9" * 5000,
        f"brief.toml, line 2: column 1 in 'name = {'9' * 50}...': expected numbers of ordinary size."
        " Write fewer digits.",
    ),
]


@pytest.mark.parametrize(("raw", "report"), RAW, ids=[str(place) for place in range(len(RAW))])
def test_exact_report_on_raw_files(raw: bytes, report: str) -> None:
    """What is no text, no UTF-8, empty, huge or absurd gets exactly this report."""
    assert report_of(raw) == report


def test_same_faults_from_a_dictionary() -> None:
    """Raw data gets the same faults as its file, without lines."""
    faulty = changed(
        ("nights = 7", "nigths = 7"), ("length = 1000", 'length = "3 fot"'), ('"right"', '"rigth"')
    )
    from_file = report_of(faulty).split("\n")
    with pytest.raises(FaultsFound) as caught:
        brief_from_dict(tomllib.loads(faulty), "brief.toml", KNOWN_LIMITS)
    told = {line.partition(": ")[2] for line in from_file}
    assert {line.partition(": ")[2] for line in str(caught.value).split("\n")} == told
    assert ", line" not in str(caught.value)
    assert brief_from_dict(tomllib.loads(GOOD)).trip.nights == 7


def test_raw_data_wants_toml() -> None:
    """Raw data is not given from a file with a fault in its syntax."""
    Path("brief.toml").write_text("a = b")
    with pytest.raises(FaultsFound, match="column 5 in 'a = b'"):
        brief_data(Path("brief.toml"))
    Path("brief.toml").write_text("# words")
    with pytest.raises(FaultsFound, match="has no keys"):
        brief_data(Path("brief.toml"))


def test_syntax_faults_end_somewhere() -> None:
    """A file of nothing but broken lines gets twenty faults and not thousands."""
    assert len(report_of("\n".join(f"key{n} = 1 2" for n in range(500))).split("\n")) == 20


def test_good_briefs_need_no_positions() -> None:
    """The syntax tree is loaded only where there is a fault."""
    import subprocess

    Path("brief.toml").write_text(GOOD)
    code = (
        "import sys, pathlib; from optimizer.brief.reading import read_brief;"
        "read_brief(pathlib.Path('brief.toml'));"
        "slow = {'tree_sitter', 'pint', 'numpy', 'pandas'} & set(sys.modules); assert not slow, slow"
    )
    root = str(Path(__file__).parent.parent)
    done = subprocess.run([sys.executable, "-c", code], env={**os.environ, "PYTHONPATH": root}, check=False)
    assert done.returncode == 0
