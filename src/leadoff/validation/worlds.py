"""Worlds with known truth: boards, workloads and a history of runs, generated from a seed.

The generator is the referee of everything that forecasts, explains or plans. It is written from data-sheet
rules (queues, bank states, refresh, synchronisation), is richer than the forecast model and imports nothing
of the house but the record floor. All boards, scores and dates are invented.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from leadoff.record.entries import BoardBody, Body, RowBody, workload_row
from leadoff.validation.answers import Answers
from leadoff.validation.begin import change_rig, holding
from leadoff.validation.evenings import sessions, with_bridges
from leadoff.validation.fitting import make
from leadoff.validation.hidden import draw
from leadoff.validation.history import PATTERNS, Teller
from leadoff.validation.keyed import generator
from leadoff.validation.limits import chance, margins
from leadoff.validation.rigs import Rig, rig_list, rig_words
from leadoff.validation.rows import ClassRow, rows
from leadoff.validation.sheet_files import file_text, sheet_of
from leadoff.validation.sheets import Made
from leadoff.validation.telling import Logged, settled, stamp
from leadoff.validation.truth import Bench, workload_rows

Array = NDArray[np.float64]
USUAL = ("386dx", "486vlb", "486vlb", "486pci", "socket7", "socket5", "386sx", "slot1")
UNKNOWN_SHARE, WRONG_SHARE = 0.28, 0.04


class World(Answers):
    """A generated world. The same arguments give the same world on any day.

    ``boards``: how many. ``runs``: attempts logged per board, failures among them. ``classes``: ids of board
    classes to go round (default a usual mix). ``physics``: "plain", or "other" (memory clocks drift with the
    bus clock, noise with four degrees of freedom, part of the stores hidden, a board x workload effect of 0.8 %).
    ``workloads``: names to use. ``years``: how long the history takes. ``rigs``: how many rigs follow each
    other (display cards in turn; the disk image changes once without effect); ``bridges``: how many boards are
    measured once more, in the same state and workload, after each change of rig (runs on top of ``runs``).
    ``unknown``, ``wrong``: share of boards with a setting nobody knows, share of runs with one declared
    pattern wrong.
    """

    def __init__(
        self,
        seed: int,
        boards: int = 10,
        runs: int = 5,
        classes: Sequence[str] | None = None,
        physics: str = "plain",
        start: date = date(2016, 3, 1),
        *,
        workloads: Sequence[str] | None = None,
        years: float | None = None,
        rigs: int = 1,
        bridges: int = 2,
        unknown: float = UNKNOWN_SHARE,
        wrong: float = WRONG_SHARE,
        repeats: float = 0.12,
        failures: bool = True,
    ) -> None:
        if physics not in ("plain", "other"):
            raise ValueError(f"physics {physics!r}: plain or other")
        self.seed = seed
        self._bench = Bench(seed, workload_rows(workloads), other=physics == "other")
        self._made: dict[str, Made] = {}
        self._tellers: dict[str, Teller] = {}
        self._hidden_setting: dict[str, str] = {}
        self._rigs = rig_list(rigs)
        self._bridges = bridges
        self._bench.rigs = {r.name: r for r in self._rigs}
        self._start = datetime.combine(start, time(19, 0))
        self._days = 365.25 * (years if years is not None else max(0.1, boards * runs / 40.0))
        for i in range(boards):
            cls = self._class_of(i, classes)
            self._add_board(
                f"g{i + 1:02d}-{cls.id}",
                cls,
                unknown=unknown,
                wrong=wrong,
                repeats=repeats,
                failures=failures,
            )
        self._events: list[tuple[str, Body]] = self._head()
        self._tell(runs)

    # what nobody sees

    @property
    def log(self) -> tuple[Logged, ...]:
        """Ground truth of every logged run, in order of time."""
        found = [x for t in self._tellers.values() for x in t.log]
        return tuple(sorted(found, key=lambda x: int(x.number)))

    def unknown(self, board_id: str) -> str:
        """The setting nobody knows on this board, or ""."""
        return self._tellers[board_id].unknown

    def hidden_setting(self, board_id: str) -> str:
        """The setting that was unknown at first, even if it was put to a known value later; or ""."""
        return self._hidden_setting[board_id]

    def state(self, board_id: str) -> dict[str, str]:
        """The true state the board is in at the end of the history."""
        return dict(self._tellers[board_id].true)

    def declared(self, board_id: str) -> dict[str, str | None]:
        """What the book says of the state at the end; ``None`` is unknown."""
        return self._tellers[board_id].declared()

    def declare(self, board_id: str, state: Mapping[str, str]) -> dict[str, str | None]:
        """What a book could say of that state: the unknown setting stays unknown unless it was changed."""
        hidden = self._tellers[board_id].unknown
        kept = self._tellers[board_id].held.get(hidden)
        return {k: None if k == hidden and v == kept else v for k, v in state.items()}

    def held(self, board_id: str) -> dict[str, str]:
        """The last true state that held."""
        return dict(self._tellers[board_id].held)

    def untried(self, board_id: str, n: int, *, changes: tuple[int, int] = (1, 3)) -> list[dict[str, str]]:
        """``n`` states never run, each a few settings away from the last that held; all of them hold.

        An unknown setting may be put to a known value in them (see ``declare``).
        """
        made, rng = self._made[board_id], generator(self.seed, "untried", board_id)
        seen = [dict(x.true) for x in self._tellers[board_id].log]
        names = list(made.reach)
        out: list[dict[str, str]] = []
        for _ in range(400 * n):
            if len(out) == n:
                break
            state = dict(self._tellers[board_id].held)
            for i in rng.choice(
                len(names), size=min(len(names), int(rng.integers(changes[0], changes[1] + 1))), replace=False
            ):
                others = [v for v in made.reach[names[i]] if v != state.get(names[i])]
                state[names[i]] = others[int(rng.integers(len(others)))]
            state = settled(state)
            if state not in seen and state not in out and chance(self._limits(board_id, state)) > 0.9:
                out.append(state)
        return out

    # making it

    def _limits(self, board_id: str, state: Mapping[str, str]) -> dict[str, float]:
        return margins(self._bench.boards[board_id], self._bench.full(board_id, state))

    def _class_of(self, i: int, classes: Sequence[str] | None) -> ClassRow:
        table = rows().classes
        if classes is not None:
            return table[classes[i % len(classes)]]
        return table[USUAL[int(generator(self.seed, "class of", i).integers(len(USUAL)))]]

    def _add_board(
        self, board_id: str, cls: ClassRow, *, unknown: float, wrong: float, repeats: float, failures: bool
    ) -> None:
        rig = self._rigs[0]
        draft = make(self.seed, board_id, cls, video=rig.display, rig=rig_words(rig))
        self._bench.boards[board_id] = draw(self.seed, board_id, cls, draft.chipset, other=self._bench.other)
        rng = generator(self.seed, "history", board_id)
        draft = holding(self._bench, draft, rng)
        patterns = [n for n in PATTERNS if n in draft.reach]
        hide = rng.random() < unknown and bool(patterns)
        hidden_setting = patterns[int(rng.integers(len(patterns)))] if hide else ""
        made = Made(sheet_of(draft, hidden_setting), draft.start, draft.reach)
        self._made[board_id] = made
        self._hidden_setting[board_id] = hidden_setting
        self._bench.now[board_id] = dict(made.start)
        names = tuple(w.name for w in self._bench.workloads)
        no_fpu = made.start.get("fpu") == "none"
        able = tuple(n for n in names if not (no_fpu and "fpu" in rows().workloads[n].needs))
        self._tellers[board_id] = Teller(
            self._bench,
            made,
            rng,
            able or names,
            unknown=hidden_setting,
            reveal=bool(rng.random() < 0.35),
            wrong_rate=wrong,
            repeat_rate=repeats,
            failures=failures,
        )

    def _head(self) -> list[tuple[str, Body]]:
        at = stamp(self._start - timedelta(days=1))
        out: list[tuple[str, Body]] = [(at, workload_row(w)) for w in self.workloads]
        for r in self._rigs:
            out.append((at, RowBody(table="rig", id=r.name, row=rig_words(r))))
        return out

    def _rig_at(self, day: datetime) -> Rig:
        passed = (day - self._start).days / max(1.0, self._days)
        return self._rigs[min(len(self._rigs) - 1, int(passed * len(self._rigs)))]

    def _tell(self, runs: int) -> None:
        number = 1
        using: dict[str, str] = {b: self._rigs[0].name for b in self._tellers}
        plan = sessions(self.seed, list(self._tellers), runs, self._days)
        for day, board_id, count in with_bridges(plan, self._days, len(self._rigs), self._bridges):
            evening = self._start + timedelta(days=day)
            teller, made, at = self._tellers[board_id], self._made[board_id], evening
            told = len(teller.events)
            first = not teller.log
            if first:
                teller.say(at, BoardBody(sheet=made.sheet, file_text=file_text(made.sheet)))
                teller.begin(at)
            rig = self._rig_at(evening)
            bridge = using[board_id] != rig.name
            if bridge or (first and teller.true["video"] != rig.display):
                at = change_rig(teller, at, rig)
                using[board_id] = rig.name
            for k in range(count):
                state = self._next_state(teller, first=first and k == 0, bridge=bridge and k == 0, runs=runs)
                minute = (at - evening).total_seconds() / 60.0
                same = teller.last_workload if bridge and k == 0 else ""
                at = teller.run(at, str(number), rig.name, stamp(evening)[:10], minute, state, same)
                at += timedelta(minutes=float(teller.rng.integers(2, 6)))
                number += 1
            self._events.extend(teller.events[told:])
            self._bench.now[board_id] = dict(teller.held)
        for board_id, teller in self._tellers.items():
            self._bench.now[board_id] = dict(teller.true)

    def _next_state(self, teller: Teller, *, first: bool, bridge: bool, runs: int) -> dict[str, str]:
        if first or bridge or teller.rng.random() < teller.repeat_rate:
            return dict(teller.held)
        if teller.unknown and teller.reveal and len(teller.log) > 0.6 * runs:
            name = teller.unknown
            values = teller.made.reach[name]
            state = {**teller.held, name: values[int(teller.rng.integers(len(values)))]}
            if chance(self._limits(teller.board, state)) > 0.9:
                teller.revealing = name
                return state
        return teller.propose()
