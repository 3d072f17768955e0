"""Merging: the union of two sets of entries, in which a redaction wins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import Any, NamedTuple, Protocol

from leadoff.book.amends import AmendRow, cited_files, standing, targets
from leadoff.book.derive import derive
from leadoff.book.envelope import LINE_VERSION, UNREADABLE, Envelope, body_digest, decode_line, entry_id
from leadoff.book.kinds import AMEND, KINDS
from leadoff.book.reader import Reader
from leadoff.book.redact import drop_covered
from leadoff.book.values import Fault, Fork, MergeReport, Record, SealedFile
from leadoff.book.when import at_key
from leadoff.book.writer import INSERT, Writer
from leadoff.record.errors import LeadoffError, Problem

GAPS = "gaps"
"""Key in ``meta`` after a salvage that left out an ancestor: it may still come, then depths must be worked
out anew.
"""


class Source(Protocol):
    """Where entries come from: another book or an archive. Both may be walked more than once."""

    def records(self) -> Iterable[Record]: ...
    def file_digests(self) -> list[str]: ...
    def file(self, digest: str) -> SealedFile: ...
    def sent(self) -> list[tuple[str, str]]: ...


class _Coming(NamedTuple):
    record: Record
    env: Envelope
    depth: int


def merge(writer: Writer, source: Source, *, salvage: bool = False) -> MergeReport:
    """Add what ``source`` holds and this book lacks.

    Damaged entries make the whole merge fail (LeadoffError with one problem each, nothing written); with
    ``salvage`` they are left out and reported instead.
    """
    here = _here(writer)
    new, healing, already, faults = _sort_out(source, here)
    new, missing = _order(writer, new, here, faults)
    if faults and not salvage:
        raise LeadoffError(
            *(Problem(code="damaged_entry", text=f.text, where=f.entry, do=_DO) for f in faults)
        )
    covered, spare_files = _coverage(writer, new, healing)
    dropped = [c.record.id for c in new if c.record.id in covered and c.record.body is not None]
    writer.store.many(writer.conn, INSERT, [_row(c, c.record.id in covered) for c in new])
    healed = [r for r in healing if r.id not in covered]
    writer.store.many(
        writer.conn,
        "UPDATE entries SET salt = ?, body = ? WHERE id = ?",
        [(r.salt, r.body.decode(), r.id) for r in healed if r.body is not None],
    )
    dropped += drop_covered(writer)
    files = _files(writer, source, spare_files)
    writer.store.many(
        writer.conn,
        "INSERT INTO sent (once, entry) VALUES (?, ?) ON CONFLICT (once, entry) DO NOTHING",
        source.sent(),
    )
    if new:
        _heads(writer, new)
    if missing or _gaps(writer):
        derive(writer)
        writer.store.keep(writer.conn, GAPS, "1")
    return MergeReport(
        added=tuple(c.record.id for c in new),
        already=already,
        healed=tuple(r.id for r in healed),
        dropped=tuple(sorted(dropped)),
        files=files,
        forks=tuple(forks_at(writer, [(c.env.pen, c.env.seq) for c in new])),
        newer=tuple(c.record.id for c in new if c.env.kind not in KINDS or c.env.v > LINE_VERSION),
        refused=tuple(faults),
    )


_DO = "run `leadoff book verify` on the book it comes from; merge with --salvage to take what is whole"


def forks_at(reader: Reader, places: Iterable[tuple[str, int]]) -> list[Fork]:
    """Those of the places (pen, seq) where a pen wrote more than one entry."""
    sql = (
        "SELECT id FROM entries WHERE here AND pen = ? AND seq = ? UNION ALL "
        "SELECT id FROM entries WHERE NOT here AND pen = ? AND seq = ?"
    )
    found = []
    for pen, seq in sorted(set(places)):
        ids = sorted(r[0] for r in reader.store.rows(reader.conn, sql, (pen, seq, pen, seq)))
        if len(ids) > 1:
            found.append(Fork(pen, seq, tuple(ids)))
    return found


def check_record(record: Record) -> tuple[Envelope | None, Fault | None]:
    """The envelope, or what is wrong with line and body. A missing body is not judged here."""
    if entry_id(record.line) != record.id:
        return None, Fault(record.id, "line_changed", f"entry {record.id[:12]}: its line was changed")
    try:
        env = decode_line(record.line)
        at_key(env.at)
    except (*UNREADABLE, LeadoffError) as why:
        return None, Fault(
            record.id, "line_unreadable", f"entry {record.id[:12]}: its line cannot be read: {why}"
        )
    if record.body is not None and body_digest(record.salt or b"", record.body) != env.body:
        return env, Fault(record.id, "body_changed", f"{env.kind} {record.id[:12]}: its body was changed")
    return env, None


def _here(writer: Writer) -> dict[str, tuple[int, bool]]:
    rows = writer.store.rows(writer.conn, "SELECT id, depth, body IS NOT NULL FROM entries")
    return {i: (depth, bool(whole)) for i, depth, whole in rows}


def _sort_out(
    source: Source, here: Mapping[str, tuple[int, bool]]
) -> tuple[list[_Coming], list[Record], int, list[Fault]]:
    new: dict[str, _Coming] = {}
    healing: list[Record] = []
    faults: list[Fault] = []
    already = 0
    for record in source.records():
        env, fault = check_record(record)
        if fault is not None or env is None:
            faults.append(fault or Fault(record.id, "line_changed", record.id))
        elif record.id not in here:
            new[record.id] = _Coming(record, env, 0)
        else:
            already += 1
            if not here[record.id][1] and record.body is not None:
                healing.append(record)
    return list(new.values()), healing, already, faults


def _order(
    writer: Writer,
    new: list[_Coming],
    here: Mapping[str, tuple[int, bool]],
    faults: list[Fault],
) -> tuple[list[_Coming], bool]:
    """Give each new entry its depth and sort ancestors first; note missing ancestors and unexplained gaps."""
    waiting = {c.record.id: c for c in new}
    named = {f.entry for f in faults}
    depths: dict[str, int] = {}
    missing = False
    for start in waiting:
        todo = [start]
        while todo:
            i = todo[-1]
            if i in depths:
                todo.pop()
                continue
            env = waiting[i].env
            parents = [p for p in (env.prev, *env.seen) if p]
            open_ones = [p for p in parents if p in waiting and p not in depths]
            if open_ones:
                todo += open_ones
                continue
            lost = [p for p in parents if p not in waiting and p not in here]
            missing = missing or bool(lost)
            for p in lost:
                if p in named:
                    continue
                faults.append(
                    Fault(p, "missing", f"entry {p[:12]} is missing; {env.kind} {i[:12]} follows it")
                )
            known = [depths[p] if p in depths else here[p][0] for p in parents if p not in lost]
            depths[i] = 1 + max(known, default=0)
            todo.pop()
    placed = [c._replace(depth=depths[c.record.id]) for c in new]
    bare = [c for c in placed if c.record.body is None]
    if bare:
        covered, _ = _coverage(writer, placed, [])
        faults += [
            Fault(
                c.record.id,
                "body_missing",
                f"{c.env.kind} {c.record.id[:12]}: its body is missing, not redacted",
            )
            for c in bare
            if c.record.id not in covered
        ]
    return sorted(placed, key=lambda c: (c.depth, c.record.id)), missing


def _coverage(writer: Writer, new: list[_Coming], healing: list[Record]) -> tuple[frozenset[str], set[str]]:
    """Ids whose bodies must be absent in the union, and files that only such bodies cite."""
    rows = {row.id: row for row in writer.amend_rows()}
    coming = {c.record.id: c for c in new}
    for c in new:
        if c.env.kind == AMEND:
            rows[c.record.id] = AmendRow(c.record.id, c.depth, c.env.seen, c.record.body)
    for record in healing:
        if record.id in rows:
            rows[record.id] = rows[record.id]._replace(body=record.body)
    of = targets(rows.values())
    kinds = writer.kinds_of(of) | {i: coming[i].env.kind for i in of if i in coming}
    known = standing(rows.values(), kinds)
    gone = {f for c in new if c.record.id in known.covered for f in cited_files(c.record.body)}
    gone |= {f for r in healing if r.id in known.covered for f in cited_files(r.body)}
    kept = {f for c in new if c.record.id not in known.covered for f in cited_files(c.record.body)}
    return known.covered, set(known.dropped_files) | {f for f in gone - kept if not writer.cites_file(f)}


def _row(c: _Coming, covered: bool) -> tuple[Any, ...]:
    r, env = c.record, c.env
    salt, body = (None, None) if covered or r.body is None else (r.salt, r.body.decode())
    return (r.id, env.pen, env.seq, env.kind, at_key(env.at), c.depth, False, r.line.decode(), salt, body)


def _heads(writer: Writer, new: list[_Coming]) -> None:
    parents = {p for c in new for p in (c.env.prev, *c.env.seen)}
    kept = {(i, pen, seq, depth) for i, pen, seq, depth in writer.heads() if i not in parents}
    kept |= {(c.record.id, c.env.pen, c.env.seq, c.depth) for c in new if c.record.id not in parents}
    writer.store.run(writer.conn, "DELETE FROM heads")
    sql = "INSERT INTO heads (id, pen, seq, depth) VALUES (?, ?, ?, ?)"
    writer.store.many(writer.conn, sql, sorted(kept))


def _files(writer: Writer, source: Source, spare: set[str]) -> int:
    there = {f for (f,) in writer.store.rows(writer.conn, "SELECT digest FROM files")}
    wanted = [d for d in source.file_digests() if d not in there and d not in spare]
    for digest in wanted:
        file = source.file(digest)
        if sha256(file.salt + file.data).hexdigest() != digest:
            raise LeadoffError.one("damaged_file", f"file {digest[:12]} was changed", where=digest, do=_DO)
        writer.add_file(file)
    return len(wanted)


def _gaps(writer: Writer) -> bool:
    return writer.store.kept(writer.conn, GAPS) is not None
