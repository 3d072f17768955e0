"""What somebody outside needs to check entries: their exact lines, salts and bodies, and the lines between."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from leadoff.book.envelope import decode_line
from leadoff.book.filepool import Line
from leadoff.book.store import Store
from leadoff.book.values import Record


def proof(
    store: Store, conn: Line, ids: Collection[str], pairs: Iterable[tuple[str, str]]
) -> tuple[dict[str, Record], list[bytes]]:
    """Records of ``ids`` as stored, and for each pair (earlier, later) the lines by which the later one
    reaches the earlier, ancestors first. A pair that is not connected adds nothing.
    """
    columns = f"id, depth, {store.as_bytes('line')}, salt, {store.as_bytes('body')}"
    lines: dict[str, bytes] = {}
    depths: dict[str, int] = {}
    records: dict[str, Record] = {}
    wanted = set(ids)
    for i, depth, line, salt, body in store.rows(conn, f"SELECT {columns} FROM entries ORDER BY depth, id"):
        lines[i], depths[i] = line, depth
        if i in wanted:
            records[i] = Record(i, line, None if salt is None else bytes(salt), body)
    parents: dict[str, tuple[str, ...]] = {}

    def above(i: str) -> tuple[str, ...]:
        if i not in parents:
            env = decode_line(lines[i])
            parents[i] = tuple(p for p in (env.prev, *env.seen) if p in lines)
        return parents[i]

    kept: set[str] = set()
    for first, last in pairs:
        if first in lines and last in lines:
            kept |= _path(first, last, depths, above)
    return records, [line for i, line in lines.items() if i in kept]


def _path(first: str, last: str, depths: dict[str, int], above: Callable[[str], tuple[str, ...]]) -> set[str]:
    """One way down the citations from ``last`` to ``first``, the shortest; empty when there is none."""
    came: dict[str, str] = {last: ""}
    todo = [last]
    for i in todo:
        if i == first:
            break
        for parent in above(i):
            if parent not in came and depths[parent] >= depths[first]:
                came[parent] = i
                todo.append(parent)
    if first not in came:
        return set()
    path, at = set(), first
    while at:
        path.add(at)
        at = came[at]
    return path
