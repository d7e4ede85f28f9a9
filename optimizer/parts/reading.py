"""Reading catalogs: folders of CSV files, stacked, into one ``Catalog``, or every fault of all of them.

On the road: the files' end of the second input (CATALOG); the only room of ``parts`` that opens files.
A later folder changes rows by id, adds rows and drops rows. See ``catalogs/generic/README.md``.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.errors import Fault, FaultsFound, did_you_mean, nearest
from optimizer.parts.catalog import Catalog
from optimizer.parts.cells import shown
from optimizer.parts.owned_kinds import own_parts
from optimizer.parts.records import KINDS, OwnPart
from optimizer.parts.stacking import Entry, Stack
from optimizer.parts.table import SPLIT, Table, read_table

if TYPE_CHECKING:
    from optimizer.brief.preferences import OwnKind

GENERIC = "generic"
SPREADSHEETS = (".xlsx", ".xls", ".ods", ".numbers", ".tsv")
LARGEST_FILE = 20_000_000  # bytes; a catalog of 25,000 parts has about a quarter of it


def catalog_home() -> Path:
    """The folder that holds the catalogs shipped with the package."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "catalogs"
    return installed if installed.is_dir() else package.parent / "catalogs"


def read_catalog(names: Sequence[str], own_kinds: Sequence[OwnKind] = (), base: Path | None = None) -> Catalog:
    """The catalog that the folders ``names`` and the files of ``own_kinds`` make together.

    ``'generic'`` is the catalog shipped with the package; any other name is a folder, and it and the
    files of own kinds are looked for from ``base`` (left out: the current folder). Raises FaultsFound
    with every fault of every file.
    """
    root = Path() if base is None else base
    where = "in the current folder" if base is None else "beside the brief"
    faults: list[Fault] = []
    stack = Stack(faults)
    apart = {_resolved(root / kind.file) for kind in own_kinds}
    for index, name in enumerate(names):
        if name in names[:index]:
            faults.append(Fault(name, 0, "", "named twice", "each catalog once"))
            continue
        folder = catalog_home() / GENERIC if name == GENERIC else root / name
        stack.add_folder(_tables(folder, name, where, apart, faults))
    own = _own(own_kinds, root, dict(stack.entries), faults)
    parts = stack.parts()
    if faults:
        raise FaultsFound(faults)
    return Catalog.of(parts, own, stack.columns)


def _tables(folder: Path, name: str, where: str, apart: set[Path], faults: list[Fault]) -> list[tuple[str, Table]]:
    """The tables of one folder with their kinds, in the order of ``KINDS``."""
    try:
        every = sorted(folder.iterdir())
    except (OSError, ValueError):
        faults.append(
            Fault(
                name,
                0,
                "",
                "missing" if not _exists(folder) else "not a folder that can be read",
                f"a folder of CSV files, or '{GENERIC}'",
                did_you_mean(name, (GENERIC,)) or f"It is looked for {where}.",
            )
        )
        return []
    files = [
        path for path in every
        if path.suffix.lower() == ".csv" and not path.name.startswith(".") and _resolved(path) not in apart
    ]
    sheets = _unread(every)
    for path in sheets:
        kind = path.stem.lower()
        faults.append(
            Fault(f"{name.rstrip('/')}/{path.name}", 0, "", "no CSV file", f"{kind}.csv beside it",
                  "Only CSV is read: save the table as 'CSV UTF-8'.")
        )  # fmt: skip
    if not files and not sheets:
        faults.append(Fault(name, 0, "", "without CSV files", "a file named after a kind, such as battery.csv"))
    found = []
    for path in files:
        # a name that is no UTF-8 must not spoil the report
        shown_name = f"{name.rstrip('/')}/{path.name}".encode("utf-8", "backslashreplace").decode()
        if path.name[:-4] not in KINDS or path.suffix != ".csv":
            faults.append(
                Fault(
                    shown_name,
                    0,
                    "",
                    "named after no kind",
                    "a kind's name and .csv",
                    nearest(path.name[:-4].lower(), tuple(KINDS)),
                )
            )
            continue
        table = _table(path, shown_name, faults)
        if table is not None:
            found.append((path.name[:-4], table))
    order = list(KINDS)
    return sorted(found, key=lambda pair: order.index(pair[0]))


def _unread(every: Sequence[Path]) -> list[Path]:
    """Spreadsheets named after a kind that nobody has saved as CSV: their rows would be missing without a word."""
    tables = {path.stem.lower() for path in every if path.suffix.lower() == ".csv"}
    found = [path for path in every if path.suffix.lower() in SPREADSHEETS]
    return [path for path in found if path.stem.lower() in KINDS and path.stem.lower() not in tables]


def _table(path: Path, shown_name: str, faults: list[Fault]) -> Table | None:
    try:
        if not path.is_file():  # a pipe or a device is never opened: it may keep us waiting, or never end
            found, remedy = ("not a file", "") if path.exists() else ("missing", "It is looked for beside the brief.")
            faults.append(Fault(shown_name, 0, "", found, "a CSV file", remedy))
            return None
        if path.stat().st_size > LARGEST_FILE:
            faults.append(
                Fault(
                    shown_name,
                    0,
                    "",
                    f"{path.stat().st_size / 1e6:.0f} MB long",
                    f"at most {LARGEST_FILE // 1_000_000} MB",
                    SPLIT,
                )
            )
            return None
        data = path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "bad name"
        faults.append(Fault(shown_name, 0, "", f"unreadable ({reason})", "a CSV file that may be read"))
        return None
    return read_table(data, shown_name, faults)


def _own(
    own_kinds: Sequence[OwnKind], root: Path, taken: dict[str, Entry], faults: list[Fault]
) -> dict[str, list[OwnPart]]:
    own: dict[str, list[OwnPart]] = {}
    for kind in own_kinds:
        if kind.name in KINDS or kind.name in own:
            faults.append(Fault(kind.file, 0, "name of the own kind", shown(kind.name), "a name no other kind has"))
            continue
        table = _table(root / kind.file, kind.file, faults)
        own[kind.name] = own_parts(table, kind.name, taken, faults) if table is not None else []
    return own


def _exists(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def _resolved(path: Path) -> Path:
    try:
        return path.resolve()
    except (OSError, ValueError, RuntimeError):
        return path
