"""What a copy may be written over: nothing but an earlier copy of the same book."""

from __future__ import annotations

import sqlite3
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import msgspec

from leadoff.book.envelope import entry_id
from leadoff.record.errors import LeadoffError


class _Line(msgspec.Struct, frozen=True):
    entry: msgspec.Raw


def refuse_unless_ours(to: Path, has: Callable[[str], bool]) -> None:
    """Let a file be replaced only where every entry in it is in this book too; ``has`` says of an entry's id
    whether it is.

    Raises:
        LeadoffError: file_in_the_way, for any other file that is there.
    """
    if not to.exists():
        return
    try:
        if all(has(entry) for entry in _entries(to)):
            return
    except (OSError, sqlite3.Error, zipfile.BadZipFile, KeyError, msgspec.MsgspecError):
        pass
    raise LeadoffError.one(
        "file_in_the_way",
        f"{to} is there already and is no earlier copy of this book; it was left as it is",
        where=str(to),
        do="choose another name, or move that file away first",
    )


def _entries(file: Path) -> Iterator[str]:
    """The ids in a book or an archive; any of several errors where the file is neither."""
    if zipfile.is_zipfile(file):
        with zipfile.ZipFile(file) as zf, zf.open("entries.jsonl") as lines:
            for line in lines:
                yield entry_id(bytes(msgspec.json.decode(line, type=_Line).entry))
        return
    with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)) as db:
        for (entry,) in db.execute("SELECT id FROM entries"):
            yield str(entry)
