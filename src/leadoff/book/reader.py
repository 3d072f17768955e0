"""Entries out of a book, in fold order: effective time, then ancestry, then id."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Any, NamedTuple

from leadoff.book.amends import EMPTY, AmendRow, Correction, Standing, standing, targets
from leadoff.book.envelope import LINE_VERSION, UNREADABLE, body_version, decode_line
from leadoff.book.filepool import Line
from leadoff.book.kinds import AMEND, KINDS
from leadoff.book.store import Store
from leadoff.book.upcast import Upcasters
from leadoff.book.values import Entry
from leadoff.book.when import at_key
from leadoff.record.errors import LeadoffError

_CHUNK = 500
"""Values per IN list: below the limit of every SQLite built since 2005 (999)."""


class Placed(NamedTuple):
    """An entry with its place in the fold order and its order of arrival in this file.

    Sorts by itself: at_seconds, depth, id; ids are unique, so the rest never decides.
    """

    at_seconds: int
    depth: int
    id: str
    n: int
    entry: Entry


class Reader:
    """Reads within one connection, so that all its answers are of one moment."""

    def __init__(self, store: Store, conn: Line, upcasters: Upcasters) -> None:
        self.store = store
        self.conn = conn
        self.upcasters = upcasters

    def entries(self, kinds: Iterable[str] | None = None) -> list[Entry]:
        """All entries of these kinds (None: all) as written, with what later amends made of them."""
        known = self._standing()
        found = [self._marked(p, known) for p in self._placed(_only(kinds))]
        return [p.entry for p in sorted(found)]

    def live(self, kinds: Iterable[str] | None = None) -> list[Entry]:
        """Entries that count: corrected, without the undone and the redacted, and without amends."""
        return [p.entry for p in self.live_placed(_only(kinds))]

    def live_placed(self, kinds: Collection[str] | None, after_n: int = -1) -> list[Placed]:
        known = self._standing()
        if known == EMPTY:
            return sorted(
                p for p in self._placed(kinds, after_n) if p.entry.body is not None and p.entry.kind != AMEND
            )
        found = []
        for p in self._placed(kinds, after_n):
            if p.id in known.undone or p.id in known.covered or p.entry.kind == AMEND or p.entry.body is None:
                continue
            fix = known.corrected.get(p.id)
            found.append(self._marked(self._corrected(p, fix) if fix else p, known))
        return sorted(found)

    def get(self, entry: str) -> Entry:
        """The entry with this id, or with an id that starts so (6 digits or more).

        Raises LeadoffError ``no_such_entry`` or ``many_entries``.
        """
        full = self.find(entry)
        return next(self._marked(p, self._standing()).entry for p in self._where("id = ?", (full,)))

    def find(self, start: str) -> str:
        """The full id for the start of one."""
        if len(start) == 64:
            found = [
                r[0] for r in self.store.rows(self.conn, "SELECT id FROM entries WHERE id = ?", (start,))
            ]
        elif len(start) >= 6 and all(c in "0123456789abcdef" for c in start):
            sql = "SELECT id FROM entries WHERE id >= ? AND id <= ? ORDER BY id LIMIT 5"
            found = [r[0] for r in self.store.rows(self.conn, sql, (start, start + "g"))]
        else:
            found = []
        if len(found) == 1:
            return str(found[0])
        if not found:
            raise LeadoffError.one(
                "no_such_entry",
                f"the book has no entry {start!r}",
                where=start,
                do="give at least 6 digits of its id",
            )
        raise LeadoffError.one(
            "many_entries",
            f"{start!r} begins several ids: {', '.join(found)}",
            where=start,
            do="give more digits",
        )

    def has(self, entry: str) -> bool:
        return self.store.row(self.conn, "SELECT 1 FROM entries WHERE id = ?", (entry,)) is not None

    def heads(self) -> list[tuple[str, str, int, int]]:
        """(id, pen, seq, depth) of every entry that no other one cites, by id."""
        rows = self.store.rows(self.conn, "SELECT id, pen, seq, depth FROM heads")
        return sorted((str(a), str(b), int(c), int(d)) for a, b, c, d in rows)

    def citing(self, entry: str) -> list[str]:
        """Entries, amends apart, whose bodies cite this id or file digest."""
        sql = "SELECT id FROM entries WHERE kind <> ? AND body LIKE ?"
        asked: tuple[object, ...] = (AMEND, f'%"{entry}"%')
        place = self.store.row(self.conn, "SELECT n FROM entries WHERE id = ?", (entry,))
        if place is not None:
            # What was written here cites only what was there before it, so all that is older need not be read.
            sql = f"{sql} AND n > ? UNION {sql} AND NOT here"
            asked = (*asked, place[0], *asked)
        return sorted(str(r[0]) for r in self.store.rows(self.conn, sql, asked) if r[0] != entry)

    def cites_file(self, digest: str) -> bool:
        """True when any body, that of an amend included, cites the file."""
        sql = "SELECT 1 FROM entries WHERE body LIKE ? LIMIT 1"
        return self.store.row(self.conn, sql, (f'%"file:{digest}"%',)) is not None

    def amend_rows(self) -> list[AmendRow]:
        sql = (
            f"SELECT id, depth, {self.store.as_bytes('line')}, {self.store.as_bytes('body')} "
            "FROM entries WHERE kind = ?"
        )
        rows = self.store.rows(self.conn, sql, (AMEND,))
        found = []
        for i, depth, line, body in rows:
            try:
                found.append(AmendRow(i, int(depth), decode_line(line).seen, body))
            except (*UNREADABLE, TypeError, ValueError) as why:
                raise _damaged(i, why) from why
        return found

    def still_there(self, covered: Iterable[str]) -> list[tuple[str, str]]:
        """(id, kind) of entries whose bodies are present although a redaction covers them."""
        return list(self.those("SELECT id, kind FROM entries WHERE body IS NOT NULL AND id", covered))

    def kinds_of(self, ids: Iterable[str]) -> dict[str, str]:
        """The kind of each of these entries that is in the book."""
        return dict(self.those("SELECT id, kind FROM entries WHERE id", ids))

    def last_n(self) -> int:
        found = self.store.row(self.conn, "SELECT max(n) FROM entries")
        return int(found[0]) if found and found[0] is not None else 0

    def standing(self) -> Standing:
        """What all amends amount to, read anew."""
        rows = self.amend_rows()
        return standing(rows, self.kinds_of(targets(rows)))

    def _standing(self) -> Standing:
        # amends written through this connection change last_n, so the answer is never stale
        n = self.last_n()
        if getattr(self, "_known_at", None) != n:
            self._known, self._known_at = self.standing(), n
        return self._known

    def those(self, sql: str, ids: Iterable[str]) -> Iterator[Any]:
        """Rows of a query that ends where ``IN (ids)`` follows."""
        wanted = list(ids)
        for start in range(0, len(wanted), _CHUNK):
            part = wanted[start : start + _CHUNK]
            yield from self.store.rows(self.conn, f"{sql} IN ({', '.join('?' * len(part))})", part)

    def _placed(self, kinds: Collection[str] | None, after_n: int = -1) -> Iterator[Placed]:
        where, values = ("n > ?", [after_n]) if after_n >= 0 else ("1 = 1", [])
        if kinds is not None:
            if not kinds:
                return
            where += f" AND kind IN ({', '.join('?' * len(kinds))})"
            values += sorted(kinds)  # type: ignore[arg-type]
        yield from self._where(where, values)

    def _where(self, where: str, values: Iterable[Any]) -> Iterator[Placed]:
        sql = (
            f"SELECT n, id, at_seconds, depth, {self.store.as_bytes('line')}, {self.store.as_bytes('body')} "
            f"FROM entries WHERE {where}"
        )
        for n, i, at_seconds, depth, line, body in self.store.cursor(self.conn, sql, tuple(values)):
            try:
                env = decode_line(line)
            except (*UNREADABLE, TypeError) as why:
                raise _damaged(i, why) from why
            if type(at_seconds) is not int or type(depth) is not int:
                raise _damaged(i, "its place in order is lost")
            v, body, newer = self._lifted(env.kind, body)
            newer = newer or env.v > LINE_VERSION
            entry = Entry(i, env.pen, env.seq, env.at, env.kind, body, v, env.prev, env.seen, newer=newer)
            yield Placed(at_seconds, depth, i, n, entry)

    def _lifted(self, kind: str, body: bytes | None) -> tuple[int, bytes | None, bool]:
        """(version, body, newer) with an old body at today's version."""
        v = body_version(body)
        known = self.upcasters.newest(kind)
        if v == known:
            return v, body, kind not in KINDS
        if v > known or body is None:
            return v, body, v > known or kind not in KINDS
        return *self.upcasters.lift(kind, v, body), kind not in KINDS

    def _corrected(self, p: Placed, fix: Correction) -> Placed:
        e = p.entry
        at = e.at if fix.at is None else fix.at
        v, body, newer = self._lifted(e.kind, fix.body) if fix.body is not None else (e.v, e.body, e.newer)
        entry = Entry(e.id, e.pen, e.seq, at, e.kind, body, v, e.prev, e.seen, newer=newer)
        return Placed(at_key(at), p.depth, p.id, p.n, entry)

    def _marked(self, p: Placed, known: Standing) -> Placed:
        i, e = p.id, p.entry
        undone, withdrawn, covered = i in known.undone, i in known.withdrawn, i in known.covered
        fix = known.corrected.get(i)
        if not (undone or withdrawn or covered or fix):
            return p
        marked = Entry(
            i, e.pen, e.seq, e.at, e.kind, e.body, e.v, e.prev, e.seen, undone, withdrawn, covered,
            fix.amend if fix else "", e.newer,
        )  # fmt: skip
        return p._replace(entry=marked)


def _damaged(i: object, why: object) -> LeadoffError:
    return LeadoffError.one(
        "book_corrupt",
        f"entry {str(i)[:12]} of the book is damaged ({why}); nothing was changed",
        where=str(i),
        do="run `leadoff book verify`, keep the file as it is and restore the newest backup",
    )


def _only(kinds: Iterable[str] | None) -> Collection[str] | None:
    return None if kinds is None else {kinds} if isinstance(kinds, str) else set(kinds)
