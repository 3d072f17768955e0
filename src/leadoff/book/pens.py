"""Pens: one chain of entries per installation, remembered in the config folder and never in the book.

A pen is a file ``pens/<id>.pen`` with two lines: the last entry this pen wrote, and the one it was about to
write. A pen may go on in a book that holds what it remembers; in any other book (copied from elsewhere,
restored from a backup, new) another pen starts. So two copies of a book never continue one chain.
"""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

import msgspec

from leadoff.record.errors import LeadoffError

MAIN: Final = ".pen"
QUEUE: Final = ".queue"
"""Pens for inputs that waited elsewhere: their chain must not reach what the person had not seen."""

_TEXT = re.compile(rb"([0-9a-f]{64}|-{64})\n([0-9a-f]{64}|-{64})\n")
_NONE = b"-" * 64


class Memory(msgspec.Struct, frozen=True):
    """What a pen remembers: ``last`` was written; ``next`` was about to be, "" when that is settled."""

    last: str
    next: str


class PenBox:
    """The pens of one installation."""

    def __init__(self, config_dir: Path) -> None:
        self.folder = config_dir / "pens"

    def names(self, ending: str) -> list[str]:
        """Ids of all pens of a sort, newest file last."""
        try:
            found = [p for p in self.folder.iterdir() if p.suffix == ending]
            return [p.stem for p in sorted(found, key=lambda p: (p.stat().st_mtime_ns, p.stem))]
        except FileNotFoundError:
            return []

    def new(self) -> str:
        return secrets.token_hex(8)

    def recall(self, pen: str, ending: str) -> Memory | None:
        """What the pen remembers; None for a damaged file, which retires the pen: safe, it costs a new id."""
        try:
            return _parse((self.folder / (pen + ending)).read_bytes())
        except FileNotFoundError:
            return None

    @contextmanager
    def held(self, pen: str, ending: str, wait_ms: int) -> Iterator[PenFile]:
        """The pen's file, locked against other processes that use the same pen in a copy of the book."""
        path = self.folder / (pen + ending)
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            fd = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o644)
        except OSError as why:
            raise LeadoffError.one(
                "config_unwritable",
                f"{path} cannot be written ({why.strerror}): without it this installation could not know its "
                f"own "
                "last entry, and a restored backup would fork unnoticed; nothing was written",
                where=str(self.folder),
                do="make the config folder writable, or choose another one",
            ) from why
        try:
            _lock(fd, path, wait_ms)
            yield PenFile(fd, path)
        finally:
            if os.fstat(fd).st_size == 0:  # a pen that started but wrote nothing
                with contextlib.suppress(
                    OSError
                ):  # Windows keeps an open file: an empty one is ignored anyway
                    path.unlink()
            os.close(fd)


class PenFile:
    """One locked pen file."""

    def __init__(self, fd: int, path: Path) -> None:
        self._fd = fd
        self._path = path

    def recall(self) -> Memory | None:
        os.lseek(self._fd, 0, os.SEEK_SET)
        return _parse(os.read(self._fd, 200))

    def intend(self, last: str, coming: str) -> None:
        """Before the commit: if the commit came and a backup is restored later, ``coming`` will be missed."""
        self._put(last, coming)

    def settle(self, last: str) -> None:
        """After the commit (or after a rollback, with the former ``last``)."""
        self._put(last, "")

    def _put(self, last: str, coming: str) -> None:
        text = (last.encode() or _NONE) + b"\n" + (coming.encode() or _NONE) + b"\n"
        try:
            os.lseek(self._fd, 0, os.SEEK_SET)
            os.write(self._fd, text)
            if coming:
                os.fsync(self._fd)
        except OSError as why:
            raise LeadoffError.one(
                "config_unwritable",
                f"{self._path} cannot be written ({why.strerror}); nothing was written to the book",
                where=str(self._path),
                do="free some space or make the config folder writable",
            ) from why


def _parse(text: bytes) -> Memory | None:
    shape = _TEXT.fullmatch(text)
    if shape is None:
        return None
    last, coming = ("" if part == _NONE else part.decode() for part in shape.groups())
    return Memory(last, coming)


def _lock(fd: int, path: Path, wait_ms: int) -> None:
    end = time.monotonic() + wait_ms / 1000
    while not _try_lock(fd):
        if time.monotonic() > end:
            raise LeadoffError.one(
                "book_locked",
                f"{path} is held by another program; nothing was written",
                where=str(path),
                do="close the other program, or try again",
            )
        time.sleep(0.005)


def _try_lock(fd: int) -> bool:
    try:
        import fcntl
    except ImportError:
        return _try_lock_windows(fd)
    try:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _try_lock_windows(fd: int) -> bool:
    import msvcrt

    os.lseek(fd, 4096, os.SEEK_SET)  # beyond the text: Windows locks bar reading of the locked bytes
    try:
        msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
    except OSError:
        return False
    return True
