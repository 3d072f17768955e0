"""Folds over live entries, with a cache that the journal alone can rebuild."""

from __future__ import annotations

from hashlib import sha256
from typing import Any, Final, Generic, NamedTuple, TypeVar

from leadoff.book.kinds import AMEND
from leadoff.book.reader import Placed, Reader
from leadoff.book.values import Fold
from leadoff.book.writer import Writer

S = TypeVar("S")

Key = tuple[int, int, str]
_FIRST: Final[Key] = (-(2**63), -1, "")


class Folded(NamedTuple, Generic[S]):
    """A state, the place of the last entry in it, and the heads it is true for; ``fresh`` if not from the
    cache.
    """

    state: S
    last: Key
    heads: str
    fresh: bool


def heads_digest(reader: Reader) -> str:
    """One digest for a head set: what a cached fold is true for."""
    return sha256("\n".join(i for i, *_ in reader.heads()).encode()).hexdigest()


def run_fold(reader: Reader, fold: Fold[S]) -> Folded[S]:
    """The state after all live entries, from nothing."""
    state, last = _run(fold, fold.initial(), reader.live_placed(fold.kinds), _FIRST)
    return Folded(state, last, heads_digest(reader), True)


def read_fold(reader: Reader, fold: Fold[S], catalogue: str) -> Folded[S]:
    """The same state, from the cache as far as it holds.

    A cached state is continued only when all later entries come after it in fold order and none of them
    amends: else the fold starts anew.
    """
    if fold.decode is None or fold.encode is None:
        return run_fold(reader, fold)
    row = reader.store.row(
        reader.conn,
        "SELECT heads, upto, last_at, last_depth, last_id, state FROM projections "
        "WHERE name = ? AND version = ? AND catalogue = ?",
        (fold.name, fold.version, catalogue),
    )
    if row is None:
        return run_fold(reader, fold)
    heads, upto, at_seconds, depth, i, blob = row
    last: Key = (at_seconds, depth, i)
    now = heads_digest(reader)
    if heads == now:
        return Folded(fold.decode(bytes(blob)), last, now, False)
    sql = "SELECT 1 FROM entries WHERE n > ? AND kind = ? LIMIT 1"
    if reader.store.row(reader.conn, sql, (upto, AMEND)):
        return run_fold(reader, fold)
    later = reader.live_placed(fold.kinds, upto)
    if later and _key(later[0]) <= last:
        return run_fold(reader, fold)
    state, last = _run(fold, fold.decode(bytes(blob)), later, last)
    return Folded(state, last, now, True)


def store_fold(writer: Writer, fold: Fold[Any], catalogue: str, done: Folded[Any], state: bytes) -> bool:
    """Keep an encoded state if the book still has the heads it was worked out for.

    The check is under the writer lock: else a reader that was slower than a redaction would put the redacted
    text back into the file.
    """
    if heads_digest(writer) != done.heads:
        return False
    writer.store.run(
        writer.conn,
        "DELETE FROM projections WHERE name = ? AND (version <> ? OR catalogue = ?)",
        (fold.name, fold.version, catalogue),
    )
    writer.store.run(
        writer.conn,
        "INSERT INTO projections (name, version, catalogue, heads, upto, last_at, last_depth, last_id, "
        "state) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (fold.name, fold.version, catalogue, done.heads, writer.last_n(), *done.last, state),
    )
    return True


def _run(fold: Fold[S], state: S, placed: list[Placed], last: Key) -> tuple[S, Key]:
    step = fold.step
    for p in placed:
        state = step(state, p.entry)
    return state, _key(placed[-1]) if placed else last


def _key(p: Placed) -> Key:
    return p.at_seconds, p.depth, p.id
