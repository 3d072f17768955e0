"""Files that were sent to be looked at, held for as long as somebody may still say yes to them."""

from __future__ import annotations

import re
import secrets
import tempfile
from collections import OrderedDict
from pathlib import Path
from threading import Lock

import msgspec

from leadoff.record.errors import LeadoffError, Problem

MOST_SETS = 8
MOST_FILES = 12
MOST_BYTES = 26_000_000


class SentFile(msgspec.Struct, frozen=True):
    """A file as it came; its name is the sender's own and is never used as a path."""

    name: str
    data: bytes


class Holding:
    """Sets of files by a token that cannot be guessed; the oldest set goes when there are too many.

    They lie in a folder of their own that goes with the server, and nowhere in the book until someone says so.
    """

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="leadoff-read-")
        self._sets: OrderedDict[str, tuple[str, ...]] = OrderedDict()
        self._lock = Lock()

    def keep(self, files: tuple[SentFile, ...]) -> str:
        """Hold these files; the token under which :meth:`paths` has them.

        Raises:
            LeadoffError: no file, or too many.
        """
        if not files:
            raise LeadoffError.one(
                "files_none", "no file came with the form", where="files", do="choose a file"
            )
        if len(files) > MOST_FILES:
            raise LeadoffError.one(
                "files_many",
                f"{len(files)} files are more than {MOST_FILES} at a time",
                where="files",
                do="send fewer of them",
            )
        token = secrets.token_urlsafe(12)
        folder = Path(self._folder.name) / token
        folder.mkdir()
        paths = []
        for n, file in enumerate(files):
            place = folder / f"{n}" / _plain(file.name)
            place.parent.mkdir()
            place.write_bytes(file.data)
            paths.append(str(place))
        with self._lock:
            self._sets[token] = tuple(paths)
            while len(self._sets) > MOST_SETS:
                self._drop(*self._sets.popitem(last=False))
        return token

    def paths(self, token: str) -> tuple[str, ...]:
        """The held files.

        Raises:
            LeadoffError: a token that is not held, or not any more.
        """
        with self._lock:
            found = self._sets.get(token)
        if found is None:
            raise LeadoffError.one(
                "not_held", "these files are not held any more", where="held", do="send them once more"
            )
        return found

    def close(self) -> None:
        """Let go of every file."""
        self._folder.cleanup()

    @staticmethod
    def _drop(token: str, paths: tuple[str, ...]) -> None:
        for path in paths:
            Path(path).unlink(missing_ok=True)


def shown_as_named(problem: Problem, path: str) -> Problem:
    """The same problem with the file's own name in it: where the server holds it means nothing to its sender."""
    name = Path(path).name
    text, where = problem.text.replace(path, name), problem.where.replace(path, name)
    return msgspec.structs.replace(problem, text=text, where=where)


def _plain(name: str) -> str:
    """The last piece of a name with nothing in it that a path could take amiss."""
    last = re.split(r"[/\\]", name)[-1]
    return re.sub(r"[^A-Za-z0-9 ._()+-]", "_", last).strip(" .")[:80] or "file"
