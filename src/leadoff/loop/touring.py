"""The verb ``tour``: the whole loop, walked once in a demo book of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from leadoff.loop import boards, booking, moving
from leadoff.loop.carding import card
from leadoff.loop.demo import demo_session, new_folder, write_world
from leadoff.loop.forecasting import forecast, why
from leadoff.loop.history import History, read_history
from leadoff.loop.logging import log
from leadoff.loop.pictures import record_of, sealed_bands
from leadoff.loop.planning import now
from leadoff.loop.session import Session
from leadoff.loop.sicking import sick
from leadoff.record.errors import LeadoffError
from leadoff.record.pictures import RunPoint, SealedBand
from leadoff.record.results import Result, failed
from leadoff.record.settings import SETTINGS, SettingKind, kind_of
from leadoff.words import clock_text

if TYPE_CHECKING:
    from leadoff.validation.tour import TourWorld

EVENING = "2019-12-07T19:"


class TourStep(msgspec.Struct, frozen=True, kw_only=True):
    """One step: its key (what show says of it), the command as typed, the result."""

    key: str
    command: str
    result: Result


class Tour:
    """A walk through a book that was made for it. ``folder`` holds book, pen, cache and the page."""

    def __init__(self, folder: str) -> None:
        from leadoff.validation.tour import tour_world

        self.folder: Path = new_folder(folder)
        self.world: TourWorld = tour_world()
        self.steps: list[TourStep] = []
        session = self._session("00")
        self.entries = write_world(session, self.world)
        session.close()

    @property
    def title(self) -> str:
        return self.world.title

    def walk(self) -> Iterator[TourStep]:
        """Every step as it happens."""
        for step in self._walk():
            self.steps.append(step)
            yield step

    def history(self) -> History:
        """The book at the end."""
        session = self._session("59")
        try:
            return read_history(session)
        finally:
            session.close()

    def pictures(self) -> tuple[str, str, str, tuple[RunPoint, ...], tuple[SealedBand, ...]]:
        """What the page's pictures are drawn from: board, workload, unit, its record line, its forecasts."""
        history = self.history()
        board = history.board(self.world.heart)
        counts = Counter(r.run.workload for r in board.runs if r.run.readings and r.run.workload)
        workload = max(sorted(counts), key=lambda name: counts[name])
        unit = history.workloads[workload].unit
        return board.id, workload, unit, record_of(history, board, workload), sealed_bands(board)

    def _session(self, minute: str) -> Session:
        return demo_session(self.folder, f"{EVENING}{minute}")

    def _do(self, key: str, minute: str, command: str, call: Any) -> TourStep:
        session = self._session(minute)
        try:
            result: Result = call(session)
        except LeadoffError as error:
            result = failed(command.split()[0], error, head=session.head())
        finally:
            session.close()
        return TourStep(key=key, command=f"leadoff {command}", result=result)

    def _walk(self) -> Iterator[TourStep]:
        heart, dead = self.world.heart, self.world.dead
        yield self._do("boards", "01", "board list", boards.board_list)
        yield self._do("state", "02", f"state {heart}", lambda s: boards.state(s, heart))
        plan = self._do("now", "03", f"now {heart} --limit 3", lambda s: now(s, heart, limit=3))
        yield plan
        act = next((a for a in plan.result.data["acts"] if a["moves"]), None)
        if act is not None:
            yield from self._try_state(heart, act["settings"], str(act["predicted"]["workload"]))
        over = "cpu x5-133-3v45-case85"
        yield self._do("socket", "30", f'card {heart} --want "{over}"', lambda s: card(s, heart, over))
        without = "foyer-386"
        yield self._do(
            "undefined", "32", f"forecast {without} --no-seal", lambda s: forecast(s, without, seal=False)
        )
        seen = "fans spin, no video, no beeps"
        yield self._do("dead", "34", f'sick {dead} "{seen}"', lambda s: sick(s, dead, seen))
        yield self._do("verify", "36", "book verify", booking.verify)

    def _try_state(self, heart: str, settings: Mapping[str, str], workload: str) -> Iterator[TourStep]:
        want = wanted_words(settings)
        sealed = self._do(
            "forecast", "05", f'forecast {heart} --want "{want}"', lambda s: forecast(s, heart, want=want)
        )
        yield sealed
        yield self._do("move", "12", f"move {heart} {want}", lambda s: moving.move(s, heart, want))
        best = self._record_run(heart, workload)
        true = self.world.state(heart) | dict(settings)
        measured = self.world.measure(heart, true, workload, boot=900, repeats=2)
        words = " ".join(r.text for r in measured.readings)
        line = f"{workload} {words}" if words else f"hang {workload}"
        yield self._do("log", "20", f"log {heart} {line}", lambda s: log(s, heart, [line]))
        last = max((r.run for r in self.history().board(heart).runs), key=lambda r: int(r.number))
        if words and best is not None:
            number = last.number
            yield self._do("why", "25", f"why {best} {number}", lambda s: why(s, best, number))

    def _record_run(self, board_id: str, workload: str) -> str | None:
        """The number of the best run so far of a workload on a board."""
        history = self.history()
        runs = [r.run for r in history.board(board_id).runs if r.run.workload == workload and r.run.readings]
        if not runs:
            return None
        lower = history.workloads[workload].direction.value == "lower"
        best = (min if lower else max)(runs, key=lambda r: r.readings[0].value)
        return best.number


def wanted_words(settings: Mapping[str, str]) -> str:
    """Settings as words for --want: positions of jumpers are left to the tool."""
    shown = [(n, v) for n, v in settings.items() if n in SETTINGS and v is not None and n != "core_mhz"]
    clocks = (SettingKind.CLOCK,)
    return ", ".join(f"{n} {clock_text(Fraction(v)) if kind_of(n) in clocks else v}" for n, v in shown)
