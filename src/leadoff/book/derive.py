"""The columns that follow from the lines alone, worked out anew: kind, time, depth, heads."""

from __future__ import annotations

from collections.abc import Mapping

from leadoff.book.envelope import Envelope, decode_line
from leadoff.book.reader import Reader
from leadoff.book.when import at_key


def depths_of(envelopes: Mapping[str, Envelope]) -> dict[str, int]:
    """Longest way back to a first entry, for each id; missing ancestors count as the beginning."""
    depths: dict[str, int] = {}
    for start in envelopes:
        todo = [start]
        while todo:
            i = todo[-1]
            if i in depths:
                todo.pop()
                continue
            env = envelopes[i]
            parents = [p for p in (env.prev, *env.seen) if p in envelopes]
            open_ones = [p for p in parents if p not in depths]
            if open_ones:
                todo += open_ones
            else:
                depths[i] = 1 + max((depths[p] for p in parents), default=0)
                todo.pop()
    return depths


def derive(reader: Reader) -> int:
    """Set the derived columns and the heads right; returns how many rows differed. Needs the writer lock."""
    store, conn = reader.store, reader.conn
    sql = f"SELECT id, pen, seq, kind, at_seconds, depth, {store.as_bytes('line')} FROM entries"
    stored, envelopes = {}, {}
    for i, pen, seq, kind, at_seconds, depth, line in store.rows(conn, sql):
        stored[i] = (pen, seq, kind, at_seconds, depth)
        envelopes[i] = decode_line(line)
    depths = depths_of(envelopes)
    right = {i: (env.pen, env.seq, env.kind, at_key(env.at), depths[i]) for i, env in envelopes.items()}
    wrong = [(*right[i], i) for i in right if right[i] != stored[i]]
    store.many(
        conn, "UPDATE entries SET pen = ?, seq = ?, kind = ?, at_seconds = ?, depth = ? WHERE id = ?", wrong
    )
    parents = {p for env in envelopes.values() for p in (env.prev, *env.seen)}
    heads = sorted((i, env.pen, env.seq, depths[i]) for i, env in envelopes.items() if i not in parents)
    if heads != reader.heads():
        store.run(conn, "DELETE FROM heads")
        store.many(conn, "INSERT INTO heads (id, pen, seq, depth) VALUES (?, ?, ?, ?)", heads)
        return len(wrong) + 1
    return len(wrong)
