"""What a person who got a catalog wrong reads: every fault, with file, line, column, value and remedy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

from optimizer.errors import LONGEST_SHOWN, MOST_TOLD, Fault, FaultsFound
from optimizer.parts import reading
from optimizer.parts.reading import read_catalog

FANS = "id,name,price_usd,mass_kg,draw_w,airflow_m3_h"
FAN = "fan-a,Fan A,100,2,10,300"


@dataclass(frozen=True)
class Case:
    """Files by name, the sentences they must get, and the catalogs asked for."""

    files: Mapping[str, str | bytes]
    sentences: list[str]
    names: tuple[str, ...] = ("mine",)


CASES: dict[str, Case] = {
    "missing folder": Case(
        {},
        [
            ("mine is missing; expected a folder of CSV files, or 'generic'. It is looked for beside the brief."),
        ],
    ),
    "misspelt generic": Case(
        {},
        [
            ("genric is missing; expected a folder of CSV files, or 'generic'. Did you mean 'generic'?"),
        ],
        ("genric",),
    ),
    "folder is a file": Case(
        {"mine": "x"},
        [
            (
                "mine is not a folder that can be read; expected a folder of CSV files, or 'generic'. "
                "It is looked for beside the brief."
            ),
        ],
    ),
    "no csv": Case(
        {"mine/readme.txt": "x"},
        [
            "mine is without CSV files; expected a file named after a kind, such as battery.csv.",
        ],
    ),
    "named twice": Case(
        {"mine/roof_fan.csv": f"{FANS}\n"},
        [
            "mine is named twice; expected each catalog once.",
        ],
        ("mine", "mine"),
    ),
    "unknown file": Case(
        {"mine/roof_fans.csv": f"{FANS}\n"},
        [
            ("mine/roof_fans.csv is named after no kind; expected a kind's name and .csv. Did you mean 'roof_fan'?"),
        ],
    ),
    "unknown file far": Case(
        {"mine/zzz.csv": f"{FANS}\n"},
        [
            (
                "mine/zzz.csv is named after no kind; expected a kind's name and .csv. Valid: "
                "alternator_charger, battery, cable, cell_manager, charge_controller, cold_box, cooker, "
                "dc_converter, fitting, fuel_tank, fuse, grey_container, ..."
            ),
        ],
    ),
    "spreadsheet alone": Case(
        {"mine/battery.xlsx": b"PK"},
        [
            (
                "mine/battery.xlsx is no CSV file; expected battery.csv beside it. Only CSV is read: save the table as "
                "'CSV UTF-8'."
            ),
        ],
    ),
    "spreadsheet beside tables": Case(
        {"mine/Roof_Fan.ods": b"PK", "mine/notes.xlsx": b"PK", "mine/fuse.xlsx": b"PK", "mine/fuse.csv": "id\n"},
        [
            (
                "mine/Roof_Fan.ods is no CSV file; expected roof_fan.csv beside it. Only CSV is read: save the table"
                " as 'CSV UTF-8'."
            ),
        ],
    ),
    "upper-case file": Case(
        {"mine/Roof_Fan.CSV": f"{FANS}\n"},
        [
            ("mine/Roof_Fan.CSV is named after no kind; expected a kind's name and .csv. Did you mean 'roof_fan'?"),
        ],
    ),
    "empty file": Case(
        {"mine/roof_fan.csv": ""},
        [
            "mine/roof_fan.csv is empty; expected a header row with the names of the columns.",
        ],
    ),
    "blank file": Case(
        {"mine/roof_fan.csv": "\n \n"},
        [
            "mine/roof_fan.csv is empty; expected a header row with the names of the columns.",
        ],
    ),
    "only comments": Case(
        {"mine/roof_fan.csv": "# nothing yet\n"},
        [
            ("mine/roof_fan.csv is without a header; expected a header row with the names of the columns."),
        ],
    ),
    "no header": Case(
        {"mine/roof_fan.csv": "fan-a,Fan A,100,2,10,300\n"},
        [
            (
                "mine/roof_fan.csv, line 1: header is 'fan-a, Fan A, 100, 2, 10, 300'; expected a "
                "column named id. The first row must name the columns, in lower case."
            ),
        ],
    ),
    "semicolons": Case(
        {"mine/roof_fan.csv": f"{FANS}\n{FAN}".replace(",", ";")},
        [
            (
                "mine/roof_fan.csv, line 1: header is "
                "'id;name;price_usd;mass_kg;draw_w;airflow_m3_h'; expected columns with commas "
                "between. The file has semicolons between: export it again with commas and decimal "
                "points."
            ),
        ],
    ),
    "tabs": Case(
        {"mine/roof_fan.csv": FANS.replace(",", "\t")},
        [
            (
                "mine/roof_fan.csv, line 1: header is "
                "'id\\tname\\tprice_usd\\tmass_kg\\tdraw_w\\tairflow_m3_h'; expected columns with commas "
                "between. The file has tabs between: export it again with commas and decimal points."
            ),
        ],
    ),
    "blank column name": Case(
        {"mine/roof_fan.csv": "id,,name"},
        [
            "mine/roof_fan.csv, line 1: header, cell 2 is blank; expected the name of a column.",
        ],
    ),
    "column twice": Case(
        {"mine/roof_fan.csv": "id,name,name"},
        [
            "mine/roof_fan.csv, line 1: header, cell 3 is 'name'; expected each column once.",
        ],
    ),
    "too many columns": Case(
        {"mine/roof_fan.csv": "id" + "".join(f",own_{n}" for n in range(200))},
        [
            "mine/roof_fan.csv, line 1: header is 201 columns long; expected at most 200 columns.",
        ],
    ),
    "unknown column": Case(
        {"mine/roof_fan.csv": f"{FANS},airflow\n{FAN},1"},
        [
            (
                "mine/roof_fan.csv, line 1: column is 'airflow'; expected a column of roof_fan, or "
                "one of your own: own_ and a-z 0-9 _. Did you mean 'airflow_m3_h'?"
            ),
        ],
    ),
    "bad own column": Case(
        {"mine/roof_fan.csv": f"{FANS},own_CO2\n{FAN},1"},
        [
            (
                "mine/roof_fan.csv, line 1: column is 'own_CO2'; expected a column of roof_fan, or "
                "one of your own: own_ and a-z 0-9 _. Valid: airflow_m3_h, bay_tags, clearance_mm, "
                "dc_v, draw_w, drop, height_mm, id, length_mm, mass_kg, name, note, ..."
            ),
        ],
    ),
    "missing column": Case(
        {
            "mine/roof_fan.csv": (
                "id,name,price_usd,draw_w,airflow_m3_h\nfan-a,Fan A,100,10,300\nfan-b,Fan B,100,10,300"
            )
        },
        [
            (
                "mine/roof_fan.csv, line 1: header is without mass_kg; expected that column. Line 2 "
                "adds 'fan-a', which is new."
            ),
        ],
    ),
    "blank cell": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,,2,10,300"},
        [
            ("mine/roof_fan.csv, line 2: price_usd is blank; expected a number from 0 to 100000 [USD]."),
        ],
    ),
    "blank id": Case(
        {"mine/roof_fan.csv": f"{FANS}\n,Fan A,100,2,10,300"},
        [
            "mine/roof_fan.csv, line 2: id is blank; expected an id.",
        ],
    ),
    "bad id": Case(
        {"mine/roof_fan.csv": f"{FANS}\nFan A,Fan A,100,2,10,300"},
        [
            (
                "mine/roof_fan.csv, line 2: id is 'Fan A'; expected an id of at most 60 of a-z 0-9 . "
                "_ - that starts with a letter or digit."
            ),
        ],
    ),
    "id twice": Case(
        {"mine/roof_fan.csv": f"{FANS}\n{FAN}\n{FAN}"},
        [
            ("mine/roof_fan.csv, line 3: id is 'fan-a'; expected an id not given before; line 2 has it."),
        ],
    ),
    "id of another kind": Case(
        {
            "mine/roof_fan.csv": f"{FANS}\n{FAN}",
            "mine/grey_container.csv": "id,name,price_usd,mass_kg,volume_l\nfan-a,Can,10,1,10",
        },
        [
            (
                "mine/roof_fan.csv, line 2: id is 'fan-a'; expected an id that no part of another "
                "kind has. It is taken by a grey_container in mine/grey_container.csv, line 2."
            ),
        ],
    ),
    "id of another kind, earlier": Case(
        {
            "mine/roof_fan.csv": f"{FANS}\n{FAN}",
            "more/grey_container.csv": "id,name,price_usd,mass_kg,volume_l\nfan-a,Can,10,1,10",
        },
        [
            (
                "more/grey_container.csv, line 2: id is 'fan-a'; expected an id that no part of "
                "another kind has. It is taken by a roof_fan in mine/roof_fan.csv, line 2."
            ),
        ],
        ("mine", "more"),
    ),
    "not a number": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,cheap,2,10,300"},
        [
            ("mine/roof_fan.csv, line 2: price_usd is 'cheap'; expected a number from 0 to 100000 [USD]."),
        ],
    ),
    "nan": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,nan,2,10,300"},
        [
            ("mine/roof_fan.csv, line 2: price_usd is 'nan'; expected a number from 0 to 100000 [USD]."),
        ],
    ),
    "infinite": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,inf,2,10,300"},
        [
            ("mine/roof_fan.csv, line 2: price_usd is 'inf'; expected a number from 0 to 100000 [USD]."),
        ],
    ),
    "far too large": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,1e400,2,10,300"},
        [
            ("mine/roof_fan.csv, line 2: price_usd is '1e400'; expected a number from 0 to 100000 [USD]."),
        ],
    ),
    "negative": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,-3,2,10,300"},
        [
            ("mine/roof_fan.csv, line 2: price_usd is '-3'; expected a number from 0 to 100000 [USD]."),
        ],
    ),
    "absurd": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,250000,2,10,300"},
        [
            ("mine/roof_fan.csv, line 2: price_usd is '250000'; expected a number from 0 to 100000 [USD]."),
        ],
    ),
    "decimal comma": Case(
        {"mine/roof_fan.csv": f'{FANS}\nfan-a,Fan A,"1,5",2,10,300'},
        [
            (
                "mine/roof_fan.csv, line 2: price_usd is '1,5'; expected a number from 0 to 100000 "
                "[USD]. Use a point for decimals, and nothing between thousands."
            ),
        ],
    ),
    "thousands comma": Case(
        {"mine/roof_fan.csv": f'{FANS}\nfan-a,Fan A,"1,200",2,10,300'},
        [
            (
                "mine/roof_fan.csv, line 2: price_usd is '1,200'; expected a number from 0 to 100000 "
                "[USD]. Use a point for decimals, and nothing between thousands."
            ),
        ],
    ),
    "wrong unit": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,3 kg,2,10,300"},
        [
            (
                "mine/roof_fan.csv, line 2: price_usd is '3 kg'; expected a number from 0 to 100000 "
                "[USD]. 'kg' is a unit of mass, not of money."
            ),
        ],
    ),
    "unknown unit": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,3 florins,2,10,300"},
        [
            (
                "mine/roof_fan.csv, line 2: price_usd is '3 florins'; expected a number from 0 to "
                "100000 [USD]. The unit 'florins' is not known."
            ),
        ],
    ),
    "underscore": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,1_000,2,10,300"},
        [
            ("mine/roof_fan.csv, line 2: price_usd is '1_000'; expected a number from 0 to 100000 [USD]."),
        ],
    ),
    "percent": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,5%,2,10,300"},
        [
            ("mine/roof_fan.csv, line 2: price_usd is '5%'; expected a number from 0 to 100000 [USD]."),
        ],
    ),
    "ambiguous ton": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,100,2 ton,10,300"},
        [
            (
                "mine/roof_fan.csv, line 2: mass_kg is '2 ton'; expected a number from 0 to 1000 "
                "[kg]. Write 'tonne' for 1000 kg or 'short ton' for 2000 lb."
            ),
        ],
    ),
    "zero where more is needed": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,100,2,10,0"},
        [
            ("mine/roof_fan.csv, line 2: airflow_m3_h is '0'; expected a number above 0 and at most 5000 [m3/h]."),
        ],
    ),
    "unquoted comma": Case(
        {"mine/roof_fan.csv": f"{FANS}\n{FAN},5"},
        [
            (
                "mine/roof_fan.csv, line 2: row is 7 cells long; expected at most 6 cells, as in the "
                "header. Put quotes round a text with a comma in it; decimals take a point."
            ),
        ],
    ),
    "bad flag": Case(
        {"mine/roof_fan.csv": f"{FANS},upright\n{FAN},maybe"},
        [
            ("mine/roof_fan.csv, line 2: upright is 'maybe'; expected true or false (yes or no, 1 or 0)."),
        ],
    ),
    "bad choice": Case(
        {"mine/roof_fan.csv": f"{FANS},opening\n{FAN},rof"},
        [
            (
                "mine/roof_fan.csv, line 2: opening is 'rof'; expected one of roof, wall, floor, or "
                "'-' for none. Did you mean 'roof'?"
            ),
        ],
    ),
    "bad choice far": Case(
        {"mine/roof_fan.csv": f"{FANS},skill\n{FAN},magic"},
        [
            (
                "mine/roof_fan.csv, line 2: skill is 'magic'; expected one of mains_wiring, "
                "gas_fitting, cell_assembly, roof_cutting, body_cutting, or '-' for none."
            ),
        ],
    ),
    "bad word": Case(
        {"mine/roof_fan.csv": f"{FANS},bay_tags\n{FAN},roof|insde"},
        [
            (
                "mine/roof_fan.csv, line 2: bay_tags is 'roof|insde'; expected any of inside, warm, "
                "vented, outside, gas_locker, drained, rear_hang, roof with '|' between, or '-' for "
                "none. Did you mean 'inside'?"
            ),
        ],
    ),
    "word twice": Case(
        {"mine/roof_fan.csv": f"{FANS},dc_v\n{FAN},12|12"},
        [
            (
                "mine/roof_fan.csv, line 2: dc_v is '12|12'; expected any of 12, 24, 48 with '|' "
                "between. Name each word once."
            ),
        ],
    ),
    "no voltage": Case(
        {"mine/roof_fan.csv": f"{FANS},dc_v\n{FAN},-"},
        [
            "mine/roof_fan.csv, line 2: dc_v is '-'; expected any of 12, 24, 48 with '|' between.",
        ],
    ),
    "name too long": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,{'x' * 121},100,2,10,300"},
        [
            (
                "mine/roof_fan.csv, line 2: name is "
                "'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx...'; expected text of at "
                "most 120 characters."
            ),
        ],
    ),
    "control character": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,Fan\x07,100,2,10,300"},
        [
            ("mine/roof_fan.csv, line 2: name is 'Fan\\x07'; expected printable text. Remove the control characters."),
        ],
    ),
    "half a part": Case(
        {"mine/cell_manager.csv": ("id,name,price_usd,mass_kg,cells,charge_a,discharge_a\ncm,Manager,50,1,4.5,10,10")},
        [
            "mine/cell_manager.csv, line 2: cells is '4.5'; expected a whole number from 3 to 20.",
        ],
    ),
    "not UTF-8": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,L\xfcfter,100,2,10,300".encode("latin-1")},
        [
            (
                "mine/roof_fan.csv, line 2 is not UTF-8 (byte 0xfc); expected text in UTF-8. Save the "
                "file as 'CSV UTF-8'."
            ),
        ],
    ),
    "UTF-16": Case(
        {"mine/roof_fan.csv": f"{FANS}\n{FAN}".encode("utf-16")},
        [
            (
                "mine/roof_fan.csv, line 1 is not UTF-8 (byte 0xff); expected text in UTF-8. Save the "
                "file as 'CSV UTF-8'."
            ),
        ],
    ),
    "open quote": Case(
        {"mine/roof_fan.csv": f'{FANS}\n"{FAN}\nfan-b,Fan B,100,2,10,300'},
        [
            (
                "mine/roof_fan.csv, line 2 is no whole row; expected cells with commas between. A "
                "quote is open or out of place on this line, or a cell is far too long."
            ),
        ],
    ),
    "text behind a quote": Case(
        {"mine/roof_fan.csv": f'{FANS}\nfan-a,"Fan" A,100,2,10,300'},
        [
            (
                "mine/roof_fan.csv, line 2 is no whole row; expected cells with commas between. A "
                "quote is open or out of place on this line, or a cell is far too long."
            ),
        ],
    ),
    "endless cell": Case(
        {"mine/roof_fan.csv": f"{FANS}\nfan-a,{'x' * 200_000},100,2,10,300"},
        [
            (
                "mine/roof_fan.csv, line 2 is no whole row; expected cells with commas between. A "
                "quote is open or out of place on this line, or a cell is far too long."
            ),
        ],
    ),
    "drops nothing": Case(
        {"mine/roof_fan.csv": f"{FANS}\n{FAN}", "more/roof_fan.csv": "id,drop\nfan-b,yes"},
        [
            (
                "more/roof_fan.csv, line 2: id is 'fan-b'; expected the id of a roof_fan of an "
                "earlier catalog, since the row drops it. Did you mean 'fan-a'?"
            ),
        ],
        ("mine", "more"),
    ),
    "drop maybe": Case(
        {"mine/roof_fan.csv": f"{FANS}\n{FAN}", "more/roof_fan.csv": "id,drop\nfan-a,maybe"},
        [
            ("more/roof_fan.csv, line 2: drop is 'maybe'; expected true or false (yes or no, 1 or 0)."),
        ],
        ("mine", "more"),
    ),
    "dropped in its own folder": Case(
        {"mine/roof_fan.csv": f"{FANS},drop\n{FAN},true"},
        [
            (
                "mine/roof_fan.csv, line 2: id is 'fan-a'; expected the id of a roof_fan of an "
                "earlier catalog, since the row drops it."
            ),
        ],
    ),
    "overlay misspells an id": Case(
        {"mine/roof_fan.csv": f"{FANS}\n{FAN}", "more/roof_fan.csv": "id,price_usd\nfan-aa,90"},
        [
            (
                "more/roof_fan.csv, line 1: header is without name, mass_kg, draw_w, airflow_m3_h; "
                "expected a column for each. Line 2 adds 'fan-aa', which is new. Did you mean "
                "'fan-a'?"
            ),
        ],
        ("mine", "more"),
    ),
    "overlay with a bad cell": Case(
        {"mine/roof_fan.csv": f"{FANS}\n{FAN}", "more/roof_fan.csv": "id,price_usd\nfan-a,free"},
        [
            ("more/roof_fan.csv, line 2: price_usd is 'free'; expected a number from 0 to 100000 [USD]."),
        ],
        ("mine", "more"),
    ),
    "own column no number": Case(
        {"mine/roof_fan.csv": f"{FANS},own_co2_kg\n{FAN},much"},
        [
            "mine/roof_fan.csv, line 2: own_co2_kg is 'much'; expected a number.",
        ],
    ),
    "voltages of a panel": Case(
        {
            "mine/solar_panel.csv": (
                "id,name,price_usd,mass_kg,power_w,voc_v,vmp_v,isc_a,imp_a,power_coefficient_pct_k,"
                "voc_coefficient_pct_k,noct_c,flexible\n"
                "pv,Panel,90,6,100,18,22,5,5.5,-0.3,-0.3,45,no"
            )
        },
        [
            "mine/solar_panel.csv, line 2: isc_a is 5; expected at least imp_a, 5.5.",
            "mine/solar_panel.csv, line 2: power_w is 100; expected about vmp_v times imp_a, 121.",
            "mine/solar_panel.csv, line 2: vmp_v is 22; expected less than voc_v, 18.",
        ],
    ),
    "kilowatts for watts": Case(
        {
            "mine/inverter.csv": (
                "id,name,price_usd,mass_kg,bank_v,continuous_w,peak_w,efficiency,idle_w\n"
                "inv,Inverter,90,6,12,2000,2,0.9,5"
            )
        },
        [
            "mine/inverter.csv, line 2: peak_w is 2; expected at least continuous_w, 2000.",
        ],
    ),
    "several at once": Case(
        {
            "mine/roof_fan.csv": f"{FANS}\nfan-a,Fan A,free,2,10,300\nfan-b,Fan B,100,-2,10,",
            "mine/toilet.csv": "",
        },
        [
            ("genric is missing; expected a folder of CSV files, or 'generic'. Did you mean 'generic'?"),
            ("mine/roof_fan.csv, line 2: price_usd is 'free'; expected a number from 0 to 100000 [USD]."),
            ("mine/roof_fan.csv, line 3: airflow_m3_h is blank; expected a number above 0 and at most 5000 [m3/h]."),
            "mine/roof_fan.csv, line 3: mass_kg is '-2'; expected a number from 0 to 1000 [kg].",
            "mine/toilet.csv is empty; expected a header row with the names of the columns.",
        ],
        ("mine", "genric"),
    ),
    "several words with a bad voltage": Case(
        {
            "mine/dc_converter.csv": (
                "id,name,price_usd,mass_kg,bank_v,continuous_w,efficiency\ndc,Converter,90,6,24|36,200,0.9"
            )
        },
        [
            ("mine/dc_converter.csv, line 2: bank_v is '24|36'; expected any of 12, 24, 48 with '|' between."),
        ],
    ),
}


def faults_of(case: Case, folder: Path) -> list[str]:
    for name, content in case.files.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(FaultsFound) as caught:
        read_catalog(case.names, base=folder)
    return [fault.sentence() for fault in caught.value.faults]


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_faulty_catalog(case: Case, tmp_path: Path) -> None:
    """Each faulty catalog gets exactly these sentences, in this order."""
    assert faults_of(case, tmp_path) == case.sentences


def test_a_column_in_capitals_is_told_its_name(tmp_path: Path) -> None:
    """A spreadsheet that capitalises is told which column it means, and not a list of a dozen."""
    case = Case({"mine/roof_fan.csv": "id,Price_USD\nfan-280,90\n"}, [])
    assert faults_of(case, tmp_path)[0].endswith("Did you mean 'price_usd'?")


def test_without_a_brief_names_start_from_the_current_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever looks through a catalog by a command has no brief that anything could lie beside."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(FaultsFound, match="looked for in the current folder"):
        read_catalog(["mine"])


def test_sound_rows_beside_faulty_ones_are_not_blamed(tmp_path: Path) -> None:
    """One bad cell brings one fault, however many sound rows stand round it."""
    rows = "\n".join(f"fan-{n},Fan {n},{'free' if n == 7 else 100},2,10,300" for n in range(20))
    case = Case({"mine/roof_fan.csv": f"{FANS}\n{rows}"}, [])
    assert faults_of(case, tmp_path) == [
        "mine/roof_fan.csv, line 9: price_usd is 'free'; expected a number from 0 to 100000 [USD]."
    ]


def test_line_counts_quoted_newlines_and_comments(tmp_path: Path) -> None:
    """The line named is the one an editor shows, whatever stands above it."""
    text = f'# fans\n{FANS},note\n{FAN},"two\nlines"\n\nfan-b,Fan B,free,2,10,300\n'
    assert faults_of(Case({"mine/roof_fan.csv": text}, []), tmp_path) == [
        "mine/roof_fan.csv, line 6: price_usd is 'free'; expected a number from 0 to 100000 [USD]."
    ]


def test_huge_file_is_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file beyond the limit is refused by its size alone."""
    monkeypatch.setattr(reading, "LARGEST_FILE", 2_000_000)
    case = Case({"mine/roof_fan.csv": b"x" * 3_000_000}, [])
    assert faults_of(case, tmp_path) == [
        "mine/roof_fan.csv is 3 MB long; expected at most 2 MB. Split it over several folders."
    ]


def test_folder_named_like_a_file(tmp_path: Path) -> None:
    """A folder called battery.csv is no catalog file."""
    (tmp_path / "mine" / "battery.csv").mkdir(parents=True)
    assert faults_of(Case({}, []), tmp_path) == [
        "mine/battery.csv is not a file; expected a CSV file.",
    ]


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000, "", "../nowhere"])
def test_odd_folder_names(name: str, tmp_path: Path) -> None:
    """A name that no folder can have is a fault like any other."""
    (fault,) = faults_of(Case({}, [], (name,)), tmp_path)
    assert "expected a" in fault


def test_hints_stay_quick_with_many_unknown_ids(tmp_path: Path) -> None:
    """Every row is reported, but only the first few get the closest id, which is slow to find."""
    rows = "\n".join(f"fan-{n},yes" for n in range(200))
    case = Case({"mine/roof_fan.csv": f"{FANS}\n{FAN}", "more/roof_fan.csv": f"id,drop\n{rows}"}, [], ("mine", "more"))
    found = faults_of(case, tmp_path)
    assert len(found) == 200
    assert sum("Did you mean" in sentence for sentence in found) == 50


@pytest.mark.parametrize("odd", ["x", "\0", "\x1b", "\ud800", "\n"])
def test_a_fault_stays_one_short_printable_line(odd: str) -> None:
    """Whatever stands in a file: control characters as escapes, and an end to each thing that is named."""
    for many in (LONGEST_SHOWN, LONGEST_SHOWN + 1, 10 * LONGEST_SHOWN):
        told = Fault("f.csv", 1, "id", odd * many, "an id").sentence()
        assert told.isprintable()
        assert len(told) <= len("f.csv, line 1: id is ; expected an id.") + LONGEST_SHOWN
        assert ("..." in told) == (odd != "x" or many > LONGEST_SHOWN)


def test_only_so_many_faults_are_told_and_the_rest_counted() -> None:
    """Nobody reads a thousand and first line."""
    found = FaultsFound(Fault("f.csv", line, "id", "", "an id") for line in range(1, MOST_TOLD + 3))
    lines = str(found).splitlines()
    assert (len(lines), lines[-1]) == (MOST_TOLD + 1, "And 2 more like these.")
    assert len(found.faults) == MOST_TOLD + 2
