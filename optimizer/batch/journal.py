"""Finished rows, kept safe as they come: a line each, on the disk before the next is looked at.

On the road: inside ``batch``, between workers and the result file. Lines that did not get whole onto the disk
are left out when read again.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO

from optimizer.errors import Fault, FaultsFound

Row = dict[str, Any]


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
        whole = self._read()
        try:
            self._file = self.path.open("r+b" if whole else "wb")
            self._file.truncate(whole)
            self._file.seek(whole)
            if not whole:
                self._line({"batch": self._mark})
        except OSError as error:
            raise self._fault(f"not writable ({(error.strerror or str(error)).lower()})") from error
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._file is not None:
            self._file.close()

    def add(self, key: str, row: Row) -> None:
        """Keep a row; when this returns it is on the disk."""
        if key not in self.rows:
            self.rows[key] = row
            self._line({"key": key, "row": row})

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
        try:
            content = self.path.read_bytes()
        except FileNotFoundError:
            return 0
        except OSError as error:
            raise self._fault(f"not readable ({(error.strerror or str(error)).lower()})") from error
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

    def _fault(self, found: str) -> FaultsFound:
        return FaultsFound([
            Fault(str(self.path), 0, "the journal", found, "the journal of this very batch, or none",
                  "Remove it to begin anew, or name another result file.")
        ])  # fmt: skip


def _checked(line: bytes) -> dict[str, Any] | None:
    check, _, text = line.rstrip(b"\n").partition(b" ")
    if not line.endswith(b"\n") or hashlib.sha256(text).hexdigest()[:8].encode() != check:
        return None
    data: dict[str, Any] = json.loads(text)
    return data
