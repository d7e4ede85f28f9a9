"""Finished rows, kept safe as they come: a line each, on the disk before the next is looked at.

On the road: inside ``batch``, between workers and the result file. Lines that did not get whole onto the disk
are left out when read again.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO

from optimizer.errors import Fault, FaultsFound
from optimizer.files import read_bytes

Row = dict[str, Any]
_NEW_OR_OLD = os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0)
LARGEST_FILE = 1_000_000_000  # bytes; as many variants as a batch takes have a sixth of it


class Journal:
    """Rows by the key of their variant. Use as a context.

    Parameters
    ----------
    path : Path
        Beside the result file.
    mark : str
        What the whole batch hangs on; a journal with another mark is refused.
    """

    def __init__(self, path: Path, mark: str) -> None:
        self.path = path
        self.rows: dict[str, Row] = {}
        self._mark = mark
        self._file: BinaryIO | None = None

    def __enter__(self) -> Journal:
        try:
            self._file = os.fdopen(os.open(self.path, _NEW_OR_OLD, 0o666), "r+b")
            if not _locked(self._file):
                raise self._fault("in use by another run", "a result file that no other run is writing", "Wait for it.")
            whole = self._read()
            self._file.truncate(whole)
            self._file.seek(whole)
            if not whole:
                self._line({"batch": self._mark})
        except OSError as error:
            self._close()
            raise self._unwritable(error) from error
        except BaseException:
            self._close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._close()

    def _close(self) -> None:
        if self._file is not None:
            with suppress(OSError):  # a full disk has been told of; the torn line is left out when read again
                self._file.close()

    def add(self, key: str, row: Row) -> None:
        """Keep a row; when this returns it is on the disk."""
        if key not in self.rows:
            self.rows[key] = row
            try:
                self._line({"key": key, "row": row})
            except OSError as error:
                raise self._unwritable(error) from error

    def remove(self) -> None:
        """The result file has it all now."""
        self.path.unlink(missing_ok=True)

    def _line(self, data: Mapping[str, Any]) -> None:
        assert self._file is not None
        text = json.dumps(data, ensure_ascii=False, allow_nan=False)
        check = hashlib.sha256(text.encode()).hexdigest()[:8]
        self._file.write(f"{check} {text}\n".encode())
        self._file.flush()
        os.fsync(self._file.fileno())

    def _read(self) -> int:
        """Take in the whole lines; gives back how many bytes they are."""
        content = read_bytes(self.path, LARGEST_FILE)
        whole = 0
        for line in content.splitlines(keepends=True):
            data = _checked(line)
            if data is None:
                break
            if whole == 0 and data.get("batch") != self._mark:
                raise self._fault("of another batch: the brief, the variants, a catalog or a version has changed")
            if "key" in data:
                self.rows[str(data["key"])] = data["row"]
            whole += len(line)
        return whole

    def _unwritable(self, error: OSError) -> FaultsFound:
        return self._fault(
            f"not writable ({(error.strerror or str(error)).lower()})", "a place that can be written to",
            "Finished rows are kept; make room, and the same command goes on.",
        )  # fmt: skip

    def _fault(
        self, found: str, expected: str = "the journal of this very batch, or none",
        remedy: str = "Remove it to begin anew, or name another result file.",
    ) -> FaultsFound:  # fmt: skip
        return FaultsFound([Fault(str(self.path), 0, "the journal", found, expected, remedy)])


def _locked(file: BinaryIO) -> bool:
    """Whether this run alone has the journal now; the system lets go of it when the run ends, however it ends."""
    try:
        import fcntl
    except ImportError:  # a system without such locks: nothing is promised for two runs at once
        return True
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _checked(line: bytes) -> dict[str, Any] | None:
    check, _, text = line.rstrip(b"\n").partition(b" ")
    if not line.endswith(b"\n") or hashlib.sha256(text).hexdigest()[:8].encode() != check:
        return None
    data: dict[str, Any] = json.loads(text)
    return data
