"""Which entry came before which: by ``prev`` and ``seen``, never by a clock."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence

from leadoff.book.envelope import decode_line
from leadoff.book.filepool import Line
from leadoff.book.store import Store
from leadoff.record.errors import LeadoffError


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
    def of(cls, store: Store, conn: Line) -> Ancestry:
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


def lines_between(store: Store, conn: Line, first: str, last: str) -> list[bytes]:
    """The exact lines of ``first``, ``last`` and all that lies between them by ancestry, ancestors first.

    With these lines anybody can follow the hashes from ``last`` back to ``first``; bodies are not among them.
    Raises LeadoffError ``not_before`` when ``first`` is no ancestor of ``last``.
    """
    sql = f"SELECT id, {store.as_bytes('line')} FROM entries ORDER BY depth, id"
    lines = dict(store.rows(conn, sql))
    parents = {i: (env.prev, *env.seen) for i, line in lines.items() for env in (decode_line(line),)}
    above: set[str] = set()
    todo = [last]
    while todo:
        i = todo.pop()
        if i in parents and i not in above:
            above.add(i)
            todo += parents[i]
    if first == last or first not in above:
        raise LeadoffError.one(
            "not_before",
            f"entry {first[:12]} does not come before {last[:12]}: no chain of entries can show that it did",
            where=first,
            do="name an entry and a later one that knew of it",
        )
    after: set[str] = {first}
    for i in lines:  # ancestors come first, so one pass is enough
        if any(p in after for p in parents[i]):
            after.add(i)
    return [line for i, line in lines.items() if i in after and i in above]
