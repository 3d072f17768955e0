"""Making a redacted body vanish: from the rows, the file, its log, the cache and the book's own backups."""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path

from leadoff.book.amends import cited_files
from leadoff.book.errors import explain
from leadoff.book.reader import Reader
from leadoff.book.store import Store

PENDING = "scrub"
"""Key in ``meta`` while freed space may still hold a redacted text: a crash in between is made good at next
opening.
"""


def drop_covered(reader: Reader) -> list[str]:
    """Drop bodies, salts and files that a redaction covers, and every cached projection; ids of the
    dropped.
    """
    known = reader.standing()
    store, conn = reader.store, reader.conn
    held = f"SELECT id, {store.as_bytes('body')} FROM entries WHERE body IS NOT NULL AND id"
    bodies = dict(reader.those(held, known.covered))
    there = sorted(bodies)
    store.many(conn, "UPDATE entries SET body = NULL, salt = NULL WHERE id = ?", [(i,) for i in there])
    # a correction made elsewhere may cite a file that the redaction could not name
    spare = {f for b in bodies.values() for f in cited_files(b) if not reader.cites_file(f)}
    unwanted = known.dropped_files | spare
    files = [f for (f,) in reader.those("SELECT digest FROM files WHERE digest", unwanted)]
    store.many(conn, "DELETE FROM files WHERE digest = ?", [(f,) for f in files])
    if there or files:
        store.run(conn, "DELETE FROM projections")
        store.keep(conn, PENDING, "1")
    return there


def pending(store: Store) -> bool:
    with store.read() as conn:
        return store.kept(conn, PENDING) is not None


def settled(store: Store) -> None:
    with store.write() as conn:
        store.run(conn, "DELETE FROM meta WHERE key = ?", (PENDING,))


def scrub(store: Store) -> list[str]:
    """Rewrite the file and empty its log; returns sentences about what could not be reached (empty: all
    clean).

    On PostgreSQL the table is rewritten; the server's own log and base backups are the server owner's to
    renew.
    """
    if not store.sqlite:
        with store.bare() as db:
            for table in ("entries", "files", "projections"):
                db.execute(f"VACUUM (FULL) {table}")
        return [
            "the server's own log and base backups may still hold the redacted text: its owner must renew "
            "them"
        ]
    left = []
    with store.bare() as db:
        try:
            # secure_delete blanks the row itself; only a rewrite reaches copies left in pages that were split
            db.execute("VACUUM")
        except sqlite3.Error as why:
            left.append(_said(why, store, "the file could not be rewritten"))
        if not empty_log(db, store.wait_ms):
            left.append(
                "another program still reads the book, so its log could not be emptied: close it, open again"
            )
    return left


def empty_log(db: sqlite3.Connection, wait_ms: int) -> bool:
    """Move the log into the file and cut it to nothing; False if a reader held it for too long."""
    end = time.monotonic() + wait_ms / 1000
    while True:
        try:
            busy: int = db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
        except sqlite3.OperationalError:
            busy = 1
        if not busy:
            return True
        if time.monotonic() > end:
            return False
        time.sleep(0.02)


def _said(error: sqlite3.Error, store: Store, what: str) -> str:
    told = explain(error, store.name)
    return f"{what}: {told if told else error}"


def backup_folder(path: Path) -> Path:
    """The folder beside the book that its own backups go to, so that a redaction finds them."""
    return path.with_name(path.stem + "-backups")
