"""The book's own copies: made while others write, found again when something is redacted."""

from __future__ import annotations

import json
import os
import sqlite3
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from leadoff.book.archive import ArchiveSource, export
from leadoff.book.errors import told
from leadoff.book.filepool import Line
from leadoff.book.kinds import AMEND
from leadoff.book.merge import merge
from leadoff.book.pens import PenBox
from leadoff.book.redact import scrub
from leadoff.book.setup import prepare
from leadoff.book.source import BookSource
from leadoff.book.store import Store, open_store
from leadoff.book.upcast import Upcasters
from leadoff.book.writer import writing
from leadoff.record.errors import LeadoffError

What = Literal["backup", "export"]

_PLACES = "places"
"""Key in ``meta``: where this book's backups and archives were put, as JSON pairs."""


def places(store: Store) -> list[tuple[What, str]]:
    """Where copies of this book were put by this program."""
    with store.read() as conn:
        return _places(store, conn)


def remember(store: Store, what: What, path: Path) -> None:
    """Note a copy, so that a redaction finds it."""
    with store.write() as conn:
        known = _places(store, conn)
        entry = (what, str(path.absolute()))
        if entry not in known:
            store.keep(conn, _PLACES, json.dumps([*known, entry]))


def _places(store: Store, conn: Line) -> list[tuple[What, str]]:
    return [(what, path) for what, path in json.loads(store.kept(conn, _PLACES) or "[]")]


def new_name(folder: Path, stem: str) -> Path:
    """A dated name not yet taken."""
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S")
    names = (folder / f"{stem}-{stamp}{end}.db" for end in ["", *(f"-{k}" for k in range(2, 10_000))])
    return next(name for name in names if not name.exists())


def copy_file(store: Store, to: Path) -> None:
    """An exact copy through SQLite's backup interface, safe while a writer commits; whole or not at all."""
    part = to.with_name(to.name + ".part")
    with told(str(to)):
        try:
            to.parent.mkdir(parents=True, exist_ok=True)
            with store.bare() as db:
                copy = sqlite3.connect(part)
                try:
                    db.backup(copy)
                    copy.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it
                finally:
                    copy.close()
            os.replace(part, to)
        except OSError as why:
            raise _failed(to, why) from why
        finally:
            part.unlink(missing_ok=True)


def copy_entries(store: Store, to: Path, upcasters: Upcasters) -> None:
    """A new SQLite book with all entries: the backup of a book that lies on a server."""
    part = to.with_name(to.name + ".part")
    part.unlink(missing_ok=True)
    try:
        bring_forward(store, part, upcasters, create=True)
        os.replace(part, to)
    finally:
        part.unlink(missing_ok=True)


def redact_copies(store: Store, upcasters: Upcasters, own: Path, stem: str) -> list[str]:
    """Bring every known copy forward to the redaction; sentences about those that could not be reached.

    ``own`` is the book's backup folder: what lies there is found even if a kill kept it from being noted.
    """
    left = []
    known = dict.fromkeys(places(store))
    known |= dict.fromkeys(("backup", str(path.absolute())) for path in sorted(own.glob(f"{stem}-*.db")))
    halves = [Path(name + ".part") for _, name in known] + sorted(own.glob(f"{stem}-*.db.part*"))
    for half in halves:
        half.unlink(missing_ok=True)  # left by a kill, or being written from what was there before
    for what, name in known:
        path = Path(name)
        if not path.exists():
            left.append(
                f"{what} {name} is not there now: if it still exists elsewhere, it still holds the text"
            )
            continue
        try:
            if what == "backup":
                bring_forward(store, path, upcasters)
            else:
                _export_again(store, path)
        except LeadoffError as why:
            left.append(f"{what} {name} could not be rewritten ({why}): delete it")
    return left


def amends(store: Store) -> int:
    """How many amends the book holds: a copy made meanwhile may lack the last ones."""
    with store.read() as conn:
        found = store.row(conn, "SELECT count(*) FROM entries WHERE kind = ?", (AMEND,))
    return int(found[0]) if found else 0


def bring_forward(store: Store, path: Path, upcasters: Upcasters, *, create: bool = False) -> None:
    """Make a copy hold all that the book holds, redactions included, and leave no freed text in it."""
    copy, new = open_store(path, create=create, wait_ms=store.wait_ms)
    try:
        prepare(copy, new=new, create=create, before_migration=lambda: None)
        with store.read() as conn, writing(copy, upcasters, PenBox(path.parent / "no-pens")) as writer:
            merge(writer, BookSource(store, conn))
            writer.store.run(writer.conn, "DELETE FROM projections")
        left = scrub(copy)
        with copy.bare() as db:
            db.execute("PRAGMA journal_mode=DELETE")
    finally:
        copy.close()
    if left:
        raise LeadoffError.one("copy_not_clean", "; ".join(left), where=str(path))


def _export_again(store: Store, path: Path) -> None:
    """Write an archive anew, unless somebody put another book's archive there since."""
    archive = ArchiveSource(path)
    try:
        theirs = {r.id for r in archive.records()}
    finally:
        archive.close()
    with store.read() as conn:
        ours = {r[0] for r in store.rows(conn, "SELECT id FROM entries")}
        if theirs - ours:
            raise LeadoffError.one("other_archive", "it holds entries that this book lacks", where=str(path))
        export(BookSource(store, conn), path)


def _failed(to: Path, why: OSError) -> LeadoffError:
    return LeadoffError.one(
        "backup_failed",
        f"{to} could not be written ({why.strerror}); no backup was made, the book is untouched",
        where=str(to),
        do="check free space and rights, or choose another place",
    )
