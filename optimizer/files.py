"""Files as bytes in, and files written whole or not at all.

On the road: both ends. Readers word their own faults, so reading raises OSError with a reason in plain words;
writing raises FaultsFound, for there is one thing to say.
"""

from __future__ import annotations

import errno
import os
import secrets
import stat
from contextlib import suppress
from pathlib import Path

from optimizer.errors import Fault, FaultsFound

_PIECE = 1 << 20


def read_bytes(path: Path, most: int) -> bytes:
    """The content of an ordinary file of at most ``most`` bytes.

    Raises OSError, its ``strerror`` in words, for anything else: pipes and devices are never opened, since they may
    keep a reader waiting for ever or never end.
    """
    try:
        if _size_of_ordinary(path) > most:
            raise _too_large(most)
        content = bytearray()
        with path.open("rb") as stream:
            while len(content) <= most and (more := stream.read(_PIECE)):
                content += more
    except ValueError as error:  # a name with a null character
        raise OSError(errno.EINVAL, "the name cannot be used") from error
    if len(content) > most:
        raise _too_large(most)
    return bytes(content)


def write_whole(path: Path, text: str | bytes) -> None:
    """Write a file (text as UTF-8) whole or not at all. Raises FaultsFound when it cannot be written.

    A link is followed and what it points at replaced; a pipe or a device is refused.
    """
    try:
        replace_whole(path, text.encode("utf-8") if isinstance(text, str) else text)
    except (OSError, ValueError) as error:
        raise FaultsFound([unwritable(path, error)]) from error


def replace_whole(path: Path, content: bytes) -> None:
    """The same for places whose failing is no fault. Raises OSError or ValueError."""
    target = Path(os.path.realpath(path))
    with suppress(FileNotFoundError):
        _size_of_ordinary(target)
    unfinished = target.with_name(f".{target.name[:60]}.{secrets.token_hex(4)}.part")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    try:
        # readable by whom the person's settings say, unlike what the standard library makes for passing use
        with os.fdopen(os.open(unfinished, flags, 0o666), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.replace(unfinished, target)
    except BaseException:
        with suppress(OSError):
            unfinished.unlink()
        raise


def has_folder(path: Path) -> None:
    """Raises FaultsFound when there is no folder to write a file into: better told before hours of work than after."""
    if not path.parent.is_dir():
        raise FaultsFound([unwritable(path, FileNotFoundError(errno.ENOENT, "there is no such folder"))])


def new_folder(path: Path) -> None:
    """Make a folder where there is none. Raises FaultsFound when that cannot be."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise FaultsFound([unwritable(path, error)]) from error


def unwritable(path: Path, error: OSError | ValueError) -> Fault:
    """The fault of a file that cannot be written."""
    reason = (getattr(error, "strerror", None) or str(error)).lower()
    return Fault(str(path), 0, "the file", f"not writable ({reason})", "a place that can be written to")


def _size_of_ordinary(path: Path) -> int:
    """Bytes of an ordinary file. Raises OSError for what is there and none."""
    found = path.stat()
    if stat.S_ISDIR(found.st_mode):
        raise IsADirectoryError(errno.EISDIR, "is a folder")
    if not stat.S_ISREG(found.st_mode):
        raise OSError(errno.EINVAL, "not an ordinary file")
    return found.st_size


def _too_large(most: int) -> OSError:
    return OSError(errno.EFBIG, f"larger than {most // 1_000_000} MB")
