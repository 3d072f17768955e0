"""A book that stays open: what a long-running door shares between its calls, from threads too.

The history is folded once and then only what came last is added; answers that only read are kept for as long
as the book's heads stay the same.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from concurrent.futures import Future
from pathlib import Path
from threading import Lock, RLock
from typing import TYPE_CHECKING, Any, TypeVar

import msgspec

from leadoff.loop.history import READ, History, HistoryReader
from leadoff.loop.session import Session, highest, kind_of
from leadoff.record.entries import Body

if TYPE_CHECKING:
    from leadoff.book import Entry
    from leadoff.book.reader import Placed

KEPT_ANSWERS = 64
KEPT_MOMENTS = 4096

Heads = tuple[str, ...]
T = TypeVar("T")


class Desk:
    """One open book for many calls. Writes go one at a time; the book itself keeps other programs apart."""

    def __init__(
        self, *, book: str | None = None, config: Path | None = None, cache: Path | None = None
    ) -> None:
        self.base = Session(book=book, config=config, cache=cache)
        self.book = self.base.book
        self.writing = Lock()
        self._reading = RLock()
        self._reader: HistoryReader | None = None
        self._history: History | None = None
        self._last: Placed | None = None
        self._amends: object = None
        self._highest = 0
        self._rows: dict[str, str] | None = None
        self._n = -1
        self._heads: Heads | None = None
        self._moments: OrderedDict[Heads, int] = OrderedDict()
        self._answers: OrderedDict[Hashable, Future[Any]] = OrderedDict()

    def session(
        self,
        *,
        at: str | None = None,
        once: str = "",
        seen: Heads | None = None,
        dry: bool = False,
    ) -> DeskSession:
        """A session for one call.

        ``once``: the client's own id of an input, written once however often it is sent. ``seen``: the heads
        the person had before them. ``dry``: everything is worked out and nothing is stored.
        """
        return DeskSession(self, at=at, once=once, seen=seen, dry=dry)

    def heads(self) -> Heads:
        """The book's heads now, whoever wrote last."""
        return tuple(sorted(self.book.heads()))

    def history(self) -> History:
        """The folded book, kept up to date."""
        with self._reading:
            heads = self.heads()
            if self._history is None or heads != self._heads:
                self._history = self._grown() or self._anew()
                self._heads = heads
                self._moments[heads] = self._n
                while len(self._moments) > KEPT_MOMENTS:
                    self._moments.popitem(last=False)
            return self._history

    def highest_number(self) -> int:
        """The highest run number so far, of the same moment as the history."""
        self.history()
        return self._highest

    def arrived(self, heads: Heads) -> int | None:
        """How far the book had been written when these were all its heads; ``None`` when nobody remembers."""
        return self._moments.get(heads)

    def answer(self, key: Hashable, make: Callable[[], T]) -> T:
        """What ``make`` answers, worked out once for each moment of the book, however many ask at once."""
        full = (self.heads(), key)
        with self._reading:
            found = self._answers.get(full)
            mine = found is None
            if found is None:
                found = self._answers[full] = Future()
                while len(self._answers) > KEPT_ANSWERS:
                    self._answers.popitem(last=False)
        if mine:
            try:
                found.set_result(make())
            except BaseException as error:
                with self._reading:
                    self._answers.pop(full, None)
                found.set_exception(error)
        made: T = found.result()
        return made

    def close(self) -> None:
        """Let go of the book."""
        self.base.close()

    def _grown(self) -> History | None:
        """Add what came last; ``None`` when the order before it changed, or something was amended."""
        if self._reader is None:
            return None
        with self.book.reading() as reader:
            n, amends = reader.last_n(), reader.standing()
            new = reader.live_placed(READ, self._n)
        own_rows = any(p.entry.kind == "row" for p in new)
        late = self._last is not None and new and new[0] < self._last
        if amends != self._amends or own_rows or late:
            return None
        self._n, self._last = n, new[-1] if new else self._last
        self._highest = max(self._highest, highest(p.entry.body for p in new if p.entry.kind == "run"))
        return self._reader.read(p.entry for p in new)

    def _anew(self) -> History:
        fresh = Session(book=self.base.place, config=self.base.config, cache=self.base.cache)
        fresh.__dict__["book"] = self.book  # rows of the user's own may be new: the catalogue is read again
        if self._reader is not None and not self._rows_changed(fresh):
            fresh.__dict__["catalogue"] = self.base.catalogue
        self.base = fresh
        with self.book.reading() as reader:
            self._n, self._amends = reader.last_n(), reader.standing()
            placed = reader.live_placed(READ)
            self._highest = highest(e.body for e in reader.entries({"run"}))
        self._last = placed[-1] if placed else None
        self._reader = HistoryReader(self.base)
        return self._reader.read(p.entry for p in placed)

    def _rows_changed(self, fresh: Session) -> bool:
        from leadoff.loop.own_rows import kept_files

        kept = kept_files(fresh.book)
        changed = kept != self._rows
        self._rows = kept
        return changed


class DeskSession(Session):
    """One call at a desk."""

    def __init__(
        self,
        desk: Desk,
        *,
        at: str | None,
        once: str,
        seen: Heads | None,
        dry: bool,
    ) -> None:
        super().__init__(book=desk.base.place, at=at, config=desk.base.config, cache=desk.base.cache)
        self.desk = desk
        self.once, self.seen, self.dry = once, seen, dry
        self._written = 0  # an input that takes several writes counts through all of them
        self.__dict__["book"] = desk.book
        self.__dict__["catalogue"] = desk.base.catalogue
        self.described = desk.base.described

    def kept_history(self) -> History | None:
        return self.desk.history()

    def highest_number(self) -> int:
        return self.desk.highest_number()

    def write(self, *bodies: Body, at: str | None = None) -> list[Entry]:
        """Append; an input that waited elsewhere stays before what it had not seen (see ``Draft.seen``)."""
        from leadoff.book import Draft, Entry

        when = at or self.at
        if self.dry:
            return [Entry("", "", 0, when, kind_of(b), msgspec.json.encode(b)) for b in bodies]
        done: list[Entry] = []
        with self.book.writing() as writer:
            for file in self.files:
                writer.add_file(file)
            waited = self.seen is not None and self._overtaken(writer.live_placed, self.seen)
            for n, body in enumerate(bodies, start=self._written):
                seen = (*(self.seen or ()), *(e.id for e in done)) if waited else None
                once = f"{self.once}.{n}" if self.once else ""
                draft = Draft(kind_of(body), msgspec.json.encode(body), when, seen, once)
                done.append(writer.append(draft))
        self._written += len(bodies)
        return done

    def _overtaken(self, live: Callable[[set[str], int], Sequence[object]], seen: Heads) -> bool:
        """Whether a forecast was sealed that the person had not seen: only then does "before" depend on it."""
        n = self.desk.arrived(tuple(sorted(seen)))
        return n is None or len(live({"forecast"}, n)) > 0

    def close(self) -> None:
        """The desk keeps the book open."""
