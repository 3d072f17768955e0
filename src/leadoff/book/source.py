"""A book as something to merge or export from, at one moment."""

from __future__ import annotations

from collections.abc import Iterator

from leadoff.book.filepool import Line
from leadoff.book.store import Store
from leadoff.book.values import Record, SealedFile
from leadoff.record.errors import LeadoffError


class BookSource:
    """All of a book as seen by one connection."""

    def __init__(self, store: Store, conn: Line) -> None:
        self._store, self._conn = store, conn

    def records(self) -> Iterator[Record]:
        """Every entry exactly as stored, ancestors first, then by id."""
        line, body = self._store.as_bytes("line"), self._store.as_bytes("body")
        order = "id" if self._store.sqlite else 'id COLLATE "C"'
        sql = f"SELECT id, {line}, salt, {body} FROM entries ORDER BY depth, {order}"
        for i, text, salt, content in self._store.rows(self._conn, sql):
            yield Record(i, text, salt, content)

    def file_digests(self) -> list[str]:
        return sorted(r[0] for r in self._store.rows(self._conn, "SELECT digest FROM files"))

    def file(self, digest: str) -> SealedFile:
        found = self._store.row(self._conn, "SELECT salt, data FROM files WHERE digest = ?", (digest,))
        if found is None:
            raise LeadoffError.one(
                "no_such_file",
                f"the book has no file {digest[:12]} (redacted or lost)",
                where=digest,
                do="verify",
            )
        return SealedFile(digest, bytes(found[0]), bytes(found[1]))

    def sent(self) -> list[tuple[str, str]]:
        if "sent" not in self._store.tables(
            self._conn
        ):  # tables of revision 0001, saved before they are brought up
            return []
        return [(a, b) for a, b in self._store.rows(self._conn, "SELECT once, entry FROM sent")]
