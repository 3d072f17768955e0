"""Entries into a book: under the one writer lock, with the right pen, all of them or none."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from hashlib import sha256

from leadoff.book.ancestry import Ancestry
from leadoff.book.envelope import SALT_BYTES, check_body, check_kind, make_line
from leadoff.book.filepool import Line
from leadoff.book.kinds import AMEND, KINDS
from leadoff.book.pens import MAIN, QUEUE, Memory, PenBox, PenFile
from leadoff.book.reader import Reader
from leadoff.book.setup import book_format, is_newer, newer
from leadoff.book.store import Store
from leadoff.book.upcast import Upcasters
from leadoff.book.values import Draft, Entry, PenState, SealedFile
from leadoff.book.when import at_key
from leadoff.record.errors import LeadoffError

INSERT = (
    "INSERT INTO entries (id, pen, seq, kind, at_seconds, depth, here, line, salt, body) "
    "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)

_BATCH = 5000
"""Rows handed to the database at once: enough for speed, without holding a second copy of a large import."""


class _Chain:
    """The end of one pen's chain while a writer holds it."""

    def __init__(self, pen: str, file: PenFile, last: str, seq: int, depth: int, why: PenState) -> None:
        self.pen, self.file, self.why = pen, file, why
        self.start = self.last = last
        self.seq, self.depth = seq, depth


class Writer(Reader):
    """The writer lock, held. Reads see what this writer has written; nothing is kept if the block fails."""

    def __init__(
        self, store: Store, conn: Line, upcasters: Upcasters, pens: PenBox, stack: ExitStack
    ) -> None:
        super().__init__(store, conn, upcasters)
        self._pens, self._stack = pens, stack
        self._chains: list[_Chain] = []
        self._main: _Chain | None = None
        self._heads = {i: depth for i, _, _, depth in self.heads()}
        found = book_format(store, conn)
        if is_newer(found):
            raise newer(store, found)

    def append(self, draft: Draft) -> Entry:
        """Write one entry; later ones of this block may cite its id."""
        return self.extend([draft])[0]

    def extend(self, drafts: Iterable[Draft]) -> list[Entry]:
        """Write entries in order. Raises bad_kind, bad_body, bad_time, unknown_seen: then nothing is kept."""
        done: list[Entry] = []
        plain: list[Draft] = []
        for draft in drafts:
            if draft.kind == AMEND or draft.kind not in KINDS:
                raise LeadoffError.one(
                    "bad_kind",
                    f"{draft.kind!r} is not a kind of entry to append; nothing was written",
                    where="kind",
                    do=f"use one of {', '.join(sorted(KINDS - {AMEND}))}; amends go through amend()",
                )
            if draft.seen is None and not draft.once:
                plain.append(draft)
                continue
            if plain:
                done += self._write(self.main(), plain)
                plain = []
            done.append(self._from_queue(draft))
        return done + self._write(self.main(), plain) if plain else done

    def add_file(self, file: SealedFile) -> None:
        """Keep file bytes; the same sealed file twice is kept once."""
        self.store.run(
            self.conn,
            "INSERT INTO files (digest, salt, data) VALUES (?, ?, ?) ON CONFLICT (digest) DO NOTHING",
            (file.digest, file.salt, file.data),
        )

    def main(self) -> _Chain:
        """The chain this installation continues in this book, or a new one."""
        if self._main is None:
            self._main = self._choose_main()
        return self._main

    def write_amend(self, body: bytes, of: str, at: str) -> Entry:
        """Write an amend. Its ``seen`` names what it amends, so that this stays known when its body is
        gone.
        """
        return self._write(self.main(), [Draft(AMEND, body, at)], (of,))[0]

    def _write(self, chain: _Chain, drafts: Sequence[Draft], also: Sequence[str] = ()) -> list[Entry]:
        """The fast path: one loop, one executemany."""
        if not drafts:
            return []
        seen = tuple(sorted((set(self._heads) - {chain.last}) | set(also)))
        depth = max([chain.depth, *self._heads.values()])
        done: list[Entry] = []
        for start in range(0, len(drafts), _BATCH):
            part = drafts[start : start + _BATCH]
            done += self._insert(chain, part, () if start else seen, max(depth, chain.depth))
        self._heads = {chain.last: chain.depth}
        return done

    def _insert(
        self, chain: _Chain, drafts: Sequence[Draft], seen: tuple[str, ...], depth: int
    ) -> list[Entry]:
        pen, seq, prev = chain.pen, chain.seq, chain.last
        salts = os.urandom(SALT_BYTES * len(drafts))
        rows: list[tuple[object, ...]] = []
        done: list[Entry] = []
        kinds: set[str] = set()
        for k, draft in enumerate(drafts):
            kind, body, at = draft.kind, draft.body, draft.at
            if kind not in kinds:
                check_kind(kind)
                kinds.add(kind)
            v = check_body(body)
            at_seconds = at_key(at)
            seq += 1
            depth += 1
            salt = salts[k * SALT_BYTES : (k + 1) * SALT_BYTES]
            line = make_line(pen, seq, prev, seen, at, kind, sha256(salt + body).hexdigest())
            i = sha256(line).hexdigest()
            rows.append((i, pen, seq, kind, at_seconds, depth, True, line.decode(), salt, body.decode()))
            done.append(Entry(i, pen, seq, at, kind, body, v, prev, seen))
            prev, seen = i, ()
        self.store.many(self.conn, INSERT, rows)
        chain.seq, chain.last, chain.depth = seq, prev, depth
        return done

    def _from_queue(self, draft: Draft) -> Entry:
        if draft.once:
            found = self.store.row(
                self.conn, "SELECT entry FROM sent WHERE once = ? ORDER BY entry LIMIT 1", (draft.once,)
            )
            if found:
                return self.get(found[0])
        if draft.seen is None or set(self._heads) <= set(draft.seen):
            entry = self._write(self.main(), [draft])[0]
        else:
            entry = self._aside(draft, draft.seen)
        if draft.once:
            self.store.run(self.conn, "INSERT INTO sent (once, entry) VALUES (?, ?)", (draft.once, entry.id))
        return entry

    def _aside(self, draft: Draft, seen: tuple[str, ...]) -> Entry:
        """An input that waited: on a pen whose chain reaches nothing beyond what the person had seen."""
        missing = [i for i in seen if not self.has(i)]
        if missing:
            raise LeadoffError.one(
                "unknown_seen",
                f"the input says it had seen entry {missing[0]}, which this book does not hold; it was not "
                f"written, "
                "because nobody could tell what came before it",
                where="seen",
                do="load the page anew from this book and send again",
            )
        chain = self._choose_queue(seen)
        depths = [r[0] for r in self.those("SELECT depth FROM entries WHERE id", seen)]
        cites = tuple(sorted(set(seen) - {chain.last}))
        entry = self._insert(chain, [draft], cites, max([chain.depth, *depths]))[0]
        gone = {*seen, entry.prev}
        self._heads = {i: d for i, d in self._heads.items() if i not in gone} | {entry.id: chain.depth}
        return entry

    def _choose_main(self) -> _Chain:
        ours = self._pens.names(MAIN)
        for pen in reversed(ours):
            chain = self._resume(pen, MAIN)
            if chain is not None:
                return chain
        return self._start(MAIN, self._reason(ours))

    def _reason(self, ours: Sequence[str]) -> PenState:
        if not self._heads:
            return PenState("", "first", "first entry of this book")
        if any(True for _ in self.those("SELECT id FROM entries WHERE pen", ours)):
            return PenState(
                "",
                "restored",
                "this book lacks the last entry written here (a restored backup?): a new pen starts",
            )
        return PenState("", "copied", "this book came from another installation: a new pen starts")

    def _choose_queue(self, seen: Sequence[str]) -> _Chain:
        above = Ancestry.of(self.store, self.conn)
        for chain in self._chains:
            if chain is not self._main and chain.last and above.reached(chain.last, seen):
                return chain
        held = {chain.pen for chain in self._chains}
        for pen in reversed(self._pens.names(QUEUE)):
            memory = self._pens.recall(pen, QUEUE)
            if pen in held or memory is None or not above.reached(memory.next or memory.last, seen):
                continue
            resumed = self._resume(pen, QUEUE)
            if resumed is not None and above.reached(resumed.last, seen):
                return resumed
        return self._start(QUEUE, PenState("", "first", "input that waited elsewhere"))

    def _start(self, ending: str, why: PenState) -> _Chain:
        pen = self._pens.new()
        file = self._stack.enter_context(self._pens.held(pen, ending, self.store.wait_ms))
        chain = _Chain(pen, file, "", 0, 0, PenState(pen, why.why, why.text))
        self._chains.append(chain)
        return chain

    def _resume(self, pen: str, ending: str) -> _Chain | None:
        """The pen's chain if this book holds what the pen remembers; the memory is read again under its
        lock.
        """
        memory = self._pens.recall(pen, ending)
        if memory is None or self._tail(pen, memory) is None:
            return None
        file = self._stack.enter_context(self._pens.held(pen, ending, self.store.wait_ms))
        memory = file.recall()
        tail = self._tail(pen, memory) if memory else None
        if tail is None:
            return None
        chain = _Chain(pen, file, *tail, PenState(pen, "same", "continues its chain"))
        self._chains.append(chain)
        return chain

    def _tail(self, pen: str, memory: Memory) -> tuple[str, int, int] | None:
        """(id, seq, depth) of the chain's end from the remembered entry on; None if it is missing or
        forks.
        """
        sql = "SELECT id, seq, depth FROM entries WHERE id = ? AND pen = ?"
        found = None
        for known in (memory.next, memory.last):
            if known and found is None:
                found = self.store.row(self.conn, sql, (known, pen))
        if found is None:
            return None
        i, seq, depth = found
        later = list(
            self.store.rows(
                self.conn,
                "SELECT id, seq, depth FROM entries WHERE here AND pen = ? AND seq > ? UNION ALL "
                "SELECT id, seq, depth FROM entries WHERE NOT here AND pen = ? AND seq > ?",
                (pen, seq, pen, seq),
            )
        )
        for step in sorted(later, key=lambda r: (r[1], r[0])):
            if step[1] != seq + 1:
                return None
            i, seq, depth = step
        return str(i), int(seq), int(depth)

    def finish(self) -> None:
        """Last act before the commit: store the heads, let each pen remember what is coming."""
        changed = [c for c in self._chains if c.last != c.start]
        if not changed:
            return
        self.store.run(self.conn, "DELETE FROM heads")
        rows = self.those("SELECT id, pen, seq, depth FROM entries WHERE id", self._heads)
        self.store.many(self.conn, "INSERT INTO heads (id, pen, seq, depth) VALUES (?, ?, ?, ?)", list(rows))
        for chain in changed:
            chain.file.intend(chain.start, chain.last)

    def settle(self) -> None:
        """First act after the commit. If it never comes, the pen finds out next time which of the two
        happened.
        """
        for chain in self._chains:
            if chain.last != chain.start:
                chain.file.settle(chain.last)


@contextmanager
def writing(store: Store, upcasters: Upcasters, pens: PenBox) -> Iterator[Writer]:
    """The writer lock for the length of the block, then commit; the pens' files are held until after it."""
    with ExitStack() as stack:
        with store.write() as conn:
            writer = Writer(store, conn, upcasters, pens, stack)
            yield writer
            writer.finish()
        writer.settle()
