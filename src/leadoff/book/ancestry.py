"""Which entry came before which: by ``prev`` and ``seen``, never by a clock."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence

from sqlalchemy import Connection

from leadoff.book.envelope import decode_line
from leadoff.book.store import Store


class Ancestry:
    """Answers "is a an ancestor of b" for all entries of a book at one moment.

    Entries are laid on lanes: each lane is a run of entries linked by ``prev``. What an entry reaches is then
    one position per lane, so a question costs the number of ``seen`` links on the way, not the number of
    entries.
    """

    def __init__(self, parents: Iterable[tuple[str, str, Sequence[str]]]) -> None:
        """``parents``: (id, prev, seen) of every entry, each after its ancestors."""
        self._place: dict[str, tuple[int, int]] = {}
        # per lane: positions that have links to other lanes, in order, and the links
        self._at: list[list[int]] = []
        self._links: list[list[list[tuple[int, int]]]] = []
        ends: list[int] = []
        for entry, prev, seen in parents:
            before = self._place.get(prev)
            if before is not None and ends[before[0]] == before[1]:
                lane, position, links = before[0], before[1] + 1, []
                ends[lane] = position
            else:
                lane, position, links = len(ends), 0, [before] if before is not None else []
                ends.append(0)
                self._at.append([])
                self._links.append([])
            for cited in seen:
                there = self._place.get(cited)
                if there is not None and there[0] != lane:
                    links.append(there)
            self._place[entry] = lane, position
            if links:
                self._at[lane].append(position)
                self._links[lane].append(links)

    @classmethod
    def of(cls, store: Store, conn: Connection) -> Ancestry:
        sql = f"SELECT id, {store.as_bytes('line')} FROM entries ORDER BY depth"
        lines = ((i, decode_line(line)) for i, line in store.rows(conn, sql))
        return cls((i, env.prev, env.seen) for i, env in lines)

    def is_before(self, a: str, b: str) -> bool:
        """True when ``a`` is an ancestor of ``b``; an entry is not before itself, unknown ids are before
        nothing.
        """
        return a != b and self.reached(a, (b,))

    def reached(self, a: str, froms: Iterable[str]) -> bool:
        """True when ``a`` is one of ``froms`` or an ancestor of one."""
        goal = self._place.get(a)
        if goal is None:
            return False
        reach: dict[int, int] = {}
        todo = [place for i in froms if (place := self._place.get(i)) is not None]
        while todo:
            lane, position = todo.pop()
            known = reach.get(lane, -1)
            if position <= known:
                continue
            if lane == goal[0] and position >= goal[1]:
                return True
            reach[lane] = position
            first, last = bisect_right(self._at[lane], known), bisect_right(self._at[lane], position)
            for links in self._links[lane][first:last]:
                todo.extend(links)
        return False
