"""Checking a book: every damaged entry is named.

What a good answer proves: nothing was damaged or carelessly edited since it was written. It does not prove
anything to others: whoever holds the book can rewrite all of it, unless a head's fingerprint left the house.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from hashlib import sha256
from itertools import chain
from typing import Any

import msgspec

from leadoff.book.amends import EMPTY, Standing
from leadoff.book.envelope import CITED_FILE, UNREADABLE, Envelope, decode_line
from leadoff.book.filepool import Line
from leadoff.book.merge import forks_at
from leadoff.book.pens import MAIN, QUEUE, PenBox
from leadoff.book.reader import Reader
from leadoff.book.store import Store
from leadoff.book.values import Fault, PenLine, VerifyReport
from leadoff.book.when import at_key
from leadoff.record.errors import LeadoffError

Tail = tuple[str, int, int, int]
"""(id, seq, depth) of the last entry of a pen so far, and how many it wrote."""


class Checkpoint(msgspec.Struct, frozen=True):
    """Where an earlier full check ended: what the next one may take as read."""

    n: int
    entries: int
    redacted: int
    tails: dict[str, Tail]
    leaves: list[str]
    forked: list[tuple[str, int]]


NOTHING = Checkpoint(0, 0, 0, {}, [], [])
_KEY = "checkpoint"


def last_checkpoint(reader: Reader) -> Checkpoint:
    """Where the last full check ended; ``NOTHING`` where none is known."""
    found = reader.store.kept(reader.conn, _KEY)
    try:
        return msgspec.json.decode(found, type=Checkpoint) if found is not None else NOTHING
    except msgspec.MsgspecError:
        return NOTHING


def keep_checkpoint(store: Store, conn: Line, reached: Checkpoint) -> None:
    """Remember where a full check ended."""
    store.keep(conn, _KEY, msgspec.json.encode(reached).decode())


class Check:
    """One walk over the entries after a checkpoint (``NOTHING``: over all)."""

    def __init__(self, reader: Reader, since: Checkpoint) -> None:
        self._reader, self._store, self._conn = reader, reader.store, reader.conn
        self._since = since
        self._faults: list[Fault] = []
        self._notes: list[str] = []
        self._tails: dict[str, Tail] = dict(since.tails)
        # ends of chains count as leaves unless cited; a checkpoint says which of them already were
        ends = {tail[0] for tail in since.tails.values()}
        self._leaves: set[str] = set(since.leaves) - ends
        self._cited: set[str] = ends - set(since.leaves)
        self._forked: set[tuple[str, int]] = set(since.forked)
        self._files: dict[str, str] = {}
        self._checked = 0
        self._last_n = since.n
        self._redacted = since.redacted

    def run(self, pens: PenBox | None) -> tuple[VerifyReport, Checkpoint]:
        """The report, and the checkpoint to keep if it is good."""
        known = self._standing()
        self._walk(known)
        if not self._since.n:
            self._check_pages()
            self._check_files(known)
        self._check_count()
        self._check_heads()
        if pens is not None:
            self._check_pens(pens)
        forks = forks_at(self._reader, self._forked)
        self._notes += [
            f"pen {f.pen} wrote {len(f.entries)} entries at place {f.seq}: all are kept" for f in forks
        ]
        entries = self._since.entries + self._checked
        lines = [PenLine(pen, tail[3], tail[0]) for pen, tail in sorted(self._tails.items())]
        report = VerifyReport(
            entries=entries,
            checked=self._checked,
            redacted=self._redacted,
            heads=tuple(sorted(self._leaves)),
            pens=tuple(lines),
            faults=tuple(dict.fromkeys(self._faults)),
            forks=tuple(forks),
            notes=tuple(self._notes),
        )
        kept = Checkpoint(
            self._last_n,
            entries,
            self._redacted,
            self._tails,
            sorted(self._leaves),
            sorted(self._forked),
        )
        return report, kept

    def _standing(self) -> Standing:
        try:
            return self._reader.standing()
        except (*UNREADABLE, sqlite3.DatabaseError, LeadoffError) as why:
            self._fault("", "amends_unreadable", f"the amends cannot be read: {why}")
            return EMPTY

    def _walk(self, known: Standing) -> None:
        """The hot loop: an entry that follows its pen's last one is judged without asking the database."""
        covered, tails = known.covered, self._tails
        start: Tail = ("", 0, 0, 0)
        n, checked = self._last_n, 0
        for n, i, pen, seq, kind, at_seconds, depth, line, salt, body in chain.from_iterable(self._chunks()):
            checked += 1
            if line is None or type(i) is not str:  # a flip can change the type of a stored value too
                self._fault(str(i), "row_unreadable", f"row {n} ({str(i)[:12]}): it holds no readable entry")
                continue
            if sha256(line).hexdigest() != i:
                self._fault(i, "line_changed", f"entry {short(i)}: its line or its id was changed")
                continue
            try:
                env = decode_line(line)
                at_now = at_key(env.at)
            except (*UNREADABLE, LeadoffError) as why:
                self._fault(i, "line_unreadable", f"entry {short(i)}: its line cannot be read: {why}")
                continue
            prev, pen_now, seq_now = env.prev, env.pen, env.seq
            if body is None:
                self._redacted += 1
                if i not in covered or salt is not None:
                    self._fault(
                        i, "body_missing", f"{env.kind} {short(i)}: its body is missing, but not redacted"
                    )
            elif type(salt) is not bytes or sha256(salt + body).hexdigest() != env.body:
                self._fault(i, "body_changed", f"{env.kind} {short(i)}: its body was changed")
            elif b'"file:' in body:
                self._files.update((f.decode(), i) for f in CITED_FILE.findall(body))
            tail = tails.get(pen_now, start)
            if tail[0] == prev and seq_now == tail[1] + 1:
                before = tail[2]
            else:
                self._leaves.add(tail[0])
                before = self._branch(env, i)
            if env.seen:
                before = self._across(env, i, before)
            if (
                pen_now != pen
                or seq_now != seq
                or env.kind != kind
                or at_now != at_seconds
                or (before >= 0 and depth != before + 1)
            ):
                self._fault(i, "row_changed", f"{env.kind} {short(i)}: a stored column differs from its line")
            if seq_now >= tail[1]:
                tails[pen_now] = (i, seq_now, before + 1 if before >= 0 else depth, tail[3] + 1)
            else:
                tails[pen_now] = (*tail[:3], tail[3] + 1)
                self._leaves.add(i)
        self._last_n, self._checked = n, checked
        if covered:
            self._check_covered(covered)
        self._leaves |= {tail[0] for tail in tails.values()}
        self._leaves -= self._cited
        self._leaves.discard("")

    def _branch(self, env: Envelope, i: str) -> int:
        """An entry that does not follow its pen's last one; returns the depth before it, -1 when unknown."""
        place = (env.pen, env.seq)
        self._forked.add(place)
        if not env.prev:
            if env.seq != 1:
                self._fault(
                    i, "chain_broken", f"{env.kind} {short(i)}: it is number {env.seq} but follows nothing"
                )
            return 0
        self._cited.add(env.prev)
        sql = "SELECT pen, seq, depth FROM entries WHERE id = ?"
        found = self._store.row(self._conn, sql, (env.prev,))
        if found is None:
            self._missing(env.prev, env.kind, i)
            return -1
        if (found[0], found[1]) != (env.pen, env.seq - 1):
            self._fault(i, "chain_broken", f"{env.kind} {short(i)}: it does not follow the entry it names")
        return int(found[2])

    def _across(self, env: Envelope, i: str, before: int) -> int:
        """Take the other heads an entry cites into account."""
        for other in env.seen:
            self._cited.add(other)
            found = self._store.row(self._conn, "SELECT depth FROM entries WHERE id = ?", (other,))
            if found is None:
                self._missing(other, env.kind, i)
                before = -1
            elif before >= 0:
                before = max(before, int(found[0]))
        return before

    def _missing(self, lost: str, kind: str, by: str) -> None:
        self._fault(lost, "missing", f"entry {short(lost)} is missing; {kind} {short(by)} cites it")

    def _fault(self, entry: str, kind: str, text: str) -> None:
        self._faults.append(Fault(entry, kind, text))

    def _check_covered(self, covered: frozenset[str]) -> None:
        """A redaction that was not carried out is damage too: the text is still there."""
        for i, kind in self._reader.still_there(covered):
            self._fault(i, "not_redacted", f"{kind} {short(i)}: it is redacted, yet its body is here")

    def _check_pages(self) -> None:
        """SQLite's own check of the file's structure. What stands in an index is not compared: rebuild renews it."""
        if self._store.sqlite:
            for (said,) in self._store.rows(self._conn, "PRAGMA quick_check(20)"):
                if said != "ok":
                    self._fault("", "file_damaged", f"the file is damaged: {said}")

    def _check_files(self, known: Standing) -> None:
        sql = "SELECT digest, salt, data FROM files"
        there = set()
        for digest, salt, data in self._store.rows(self._conn, sql):
            there.add(digest)
            if sha256(bytes(salt) + bytes(data)).hexdigest() != digest:
                self._fault(digest, "file_changed", f"file {short(digest)}: its bytes were changed")
        for digest, by in sorted(self._files.items()):
            if digest not in there and digest not in known.dropped_files:
                self._fault(
                    digest, "file_missing", f"file {short(digest)} is missing; entry {short(by)} cites it"
                )

    def _check_count(self) -> None:
        found = self._store.row(self._conn, "SELECT count(*) FROM entries")
        count = int(found[0]) if found else 0
        if count != self._since.entries + self._checked:
            self._fault(
                "",
                "count",
                f"the book holds {count} entries, {self._since.entries + self._checked} were expected: "
                "an entry before the checkpoint was added or removed; check the whole book",
            )

    def _check_heads(self) -> None:
        if any(f.kind in ("row_unreadable", "line_changed", "line_unreadable") for f in self._faults):
            return  # what such an entry cites is unknown, so the heads cannot be told
        stored = {i for i, *_ in self._reader.heads()}
        for i in sorted(stored - self._leaves):
            if self._reader.has(i):
                self._fault(i, "heads_changed", f"entry {short(i)} is listed as last, but others cite it")
            else:
                self._fault(i, "missing", f"entry {short(i)} is missing: it was the last one")
        for i in sorted(self._leaves - stored):
            self._fault(
                i, "inserted", f"entry {short(i)} stands at an end but was not put there by this program"
            )

    def _check_pens(self, pens: PenBox) -> None:
        """What this installation remembers against what the book holds."""
        for ending in (MAIN, QUEUE):
            for pen in pens.names(ending):
                memory = pens.recall(pen, ending)
                tail = self._tails.get(pen)
                if memory is None or tail is None:
                    continue
                known = [i for i in (memory.next, memory.last) if i]
                if known and not any(self._reader.has(i) for i in known):
                    self._notes.append(
                        f"this installation wrote entry {short(known[-1])} with pen {pen}, and it is not "
                        "here: a restored backup or an older copy; the next entry starts a new pen"
                    )
                elif known and tail[0] not in known:
                    self._notes.append(
                        f"pen {pen} goes on to {short(tail[0])}, which this installation does not recall"
                    )

    def _chunks(self) -> Iterator[Sequence[tuple[Any, ...]]]:
        """All rows after the checkpoint; row by row once the file is damaged, to lose no more than needed."""
        done = self._since.n
        text = self._store.as_bytes
        tail = f"at_seconds, depth, {text('line')}, salt, {text('body')} FROM entries WHERE n"
        try:
            sql = f"SELECT n, id, pen, seq, kind, {tail} > ? ORDER BY n"
            for rows in self._store.chunks(self._conn, sql, (done,)):
                yield rows
                done = rows[-1][0]
            return
        except sqlite3.DatabaseError as why:
            self._notes.append(f"the file is damaged ({why}); reading on row by row")
        sql = f"SELECT n, {text('id')}, {text('pen')}, seq, {text('kind')}, {tail} = ?"
        for n in self._numbers(done):
            try:
                found = self._store.row(self._conn, sql, (n,))
            except sqlite3.DatabaseError as why:
                self._fault("", "file_damaged", f"row {n} of the file cannot be read: {why}")
                continue
            if found is not None:
                i, pen, kind = (str(v or b"", "utf-8", "replace") for v in (found[1], found[2], found[4]))
                yield [(found[0], i, pen, found[3], kind, *found[5:7], found[7] or b"", *found[8:])]

    def _numbers(self, after: int) -> list[int]:
        found: list[int] = []
        try:
            for (n,) in self._store.rows(
                self._conn, "SELECT n FROM entries WHERE n > ? ORDER BY n", (after,)
            ):
                found.append(n)
        except sqlite3.DatabaseError as why:
            self._fault(
                "", "file_damaged", f"the file cannot be read beyond row {max(found, default=after)}: {why}"
            )
        return found


def short(i: str) -> str:
    """The first 12 digits: enough for a person to find it again."""
    return i[:12]
