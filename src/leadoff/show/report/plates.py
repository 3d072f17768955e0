"""The pictures of a report, each in any size; an empty one where there is nothing to draw."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from leadoff.record.pictures import RunPoint, SealedBand
from leadoff.record.public import PublicBoard
from leadoff.show.plates.jumpers import jumpers
from leadoff.show.plates.outcome import fitting, outcome
from leadoff.show.plates.ranks import MOST, ranks
from leadoff.show.plates.record import record
from leadoff.show.plates.split import drawn, split
from leadoff.show.plates.stairs import stairs
from leadoff.show.plates.surface import Size


class Plates:
    """Draws the pictures of one public file. ``points``, ``bands`` and ``jumpers`` come from the same file."""

    def __init__(
        self,
        public: PublicBoard,
        points: Sequence[RunPoint],
        bands: Sequence[SealedBand],
        positions: Sequence[Mapping[str, Any]],
    ) -> None:
        self.public = public
        self.points, self.bands, self.positions = points, bands, positions

    def names(self) -> tuple[str, ...]:
        """The pictures there are, in the order of the report."""
        there = {
            "record": any(p.score is not None for p in self.points),
            "forecasts": bool(self.bands),
            "standings": len(self.public.standings) > 1,
            "time": bool(self.public.time_shares),
            "sweep": len(self.public.sweep) > 1,
            "jumpers": bool(self.positions),
        }
        return tuple(name for name, has in there.items() if has)

    def title(self, name: str) -> str:
        """What a picture is called."""
        board, shown = self.public.board.id, self.public.shown
        what = shown.workload if shown is not None else ""
        return {
            "record": f"The record of {what} on {board}",
            "forecasts": f"{board}: forecasts sealed before, and what came",
            "standings": f"{what}: {board} among the others",
            "time": f"Where the time of {what} goes on {board}",
            "sweep": f"Bandwidth sweep of {board}",
            "jumpers": f"Jumpers of {board} for this score",
        }[name]

    def draw(self, name: str, size: Size, *, head: str = "") -> str:
        """One picture as SVG text."""
        made: Callable[[Size, str, str], str] = {
            "record": self._record,
            "forecasts": self._forecasts,
            "standings": self._standings,
            "time": self._time,
            "sweep": self._sweep,
            "jumpers": self._jumpers,
        }[name]
        return made(size, self.title(name), head)

    def rows(self, name: str, size: Size) -> int:
        """How many rows a picture has that grows with them, 0 for one that does not."""
        if name == "forecasts":
            return len(fitting(self.bands, size))
        if name == "standings":
            return min(len(self.public.standings), MOST)
        if name == "time":
            return len(drawn(self.public.time_shares))
        return 0

    def _record(self, size: Size, title: str, head: str) -> str:
        shown = self.public.shown
        assert shown is not None
        return record(self.points, size, title=title, unit=shown.unit, head=head)

    def _forecasts(self, size: Size, title: str, head: str) -> str:
        return outcome(self.bands, size, title=title, head=head)

    def _standings(self, size: Size, title: str, head: str) -> str:
        shown = self.public.shown
        assert shown is not None
        mine = self.public.board.id
        return ranks(self.public.standings, size, title=title, unit=shown.unit, mine=mine, head=head)

    def _time(self, size: Size, title: str, head: str) -> str:
        return split(self.public.time_shares, size, title=title, head=head)

    def _sweep(self, size: Size, title: str, head: str) -> str:
        return stairs(self.public.sweep, self.public.levels, size, title=title, head=head)

    def _jumpers(self, size: Size, title: str, head: str) -> str:
        return jumpers(self.positions, size, title=title, head=head)
