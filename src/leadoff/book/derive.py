"""The columns that follow from the lines alone, worked out anew: kind, time, depth, heads."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from leadoff.book.envelope import Envelope, decode_line
from leadoff.book.reader import Reader
from leadoff.book.when import at_key


def depths_of(envelopes: Mapping[str, Envelope], depths: dict[str, int]) -> None:
    """Add to ``depths`` the longest way back to a first entry; missing ancestors count as the beginning."""
    for start in envelopes:
        todo = [start]
        while todo:
            i = todo[-1]
            if i in depths:
                todo.pop()
                continue
            env = envelopes[i]
            parents = [p for p in (env.prev, *env.seen) if p in envelopes or p in depths]
            open_ones = [p for p in parents if p not in depths]
            if open_ones:
                todo += open_ones
            else:
                depths[i] = 1 + max((depths[p] for p in parents), default=0)
                todo.pop()


def derive(reader: Reader) -> int:
    """Set the derived columns and the heads right; returns how many rows differed. Needs the writer lock."""
    store, conn = reader.store, reader.conn
    sql = f"SELECT id, pen, seq, kind, at_seconds, depth, {store.as_bytes('line')} FROM entries ORDER BY n"
    depths: dict[str, int] = {}
    late: dict[str, Envelope] = {}
    wrong: list[tuple[Any, ...]] = []
    leaves: dict[str, tuple[str, int]] = {}
    cited: set[str] = set()
    for i, pen, seq, kind, at_seconds, depth, line in store.cursor(conn, sql):
        env = decode_line(line)
        if leaves.pop(env.prev, None) is None and env.prev:
            cited.add(env.prev)
        leaves[i] = (env.pen, env.seq)
        before = depths.get(env.prev) if env.prev else 0
        for other in env.seen:
            cited.add(other)
            there = depths.get(other)
            before = None if before is None or there is None else max(before, there)
        if before is None:
            late[i] = env
            continue
        depths[i] = before + 1
        right = (env.pen, env.seq, env.kind, at_key(env.at), before + 1)
        if right != (pen, seq, kind, at_seconds, depth):
            wrong.append((*right, i))
    if late:  # an ancestor arrived after its descendant, or never: only after a salvage or damage
        depths_of(late, depths)
        wrong += [(e.pen, e.seq, e.kind, at_key(e.at), depths[i], i) for i, e in late.items()]
    store.many(
        conn, "UPDATE entries SET pen = ?, seq = ?, kind = ?, at_seconds = ?, depth = ? WHERE id = ?", wrong
    )
    heads = sorted((i, pen, seq, depths[i]) for i, (pen, seq) in leaves.items() if i not in cited)
    if heads != reader.heads():
        store.run(conn, "DELETE FROM heads")
        store.many(conn, "INSERT INTO heads (id, pen, seq, depth) VALUES (?, ?, ?, ?)", heads)
        return len(wrong) + 1
    return len(wrong)
