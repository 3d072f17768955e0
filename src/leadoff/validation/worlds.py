"""Worlds with known truth: boards, workloads and a history of runs, generated from a seed.

The generator is the referee of everything that forecasts, explains or plans. It is written from data-sheet
rules (queues, bank states, refresh, synchronisation), is richer than the forecast model and imports nothing
of the house but the record floor. All boards, scores and dates are invented.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from leadoff.record.board import BoardSheet
from leadoff.record.entries import BoardBody, Body, DidBody, RowBody, workload_row
from leadoff.record.moves import Change
from leadoff.record.runs import Run, Workload
from leadoff.validation.hidden import draw
from leadoff.validation.history import PATTERNS, RISING, Logged, Teller, settled, stamp
from leadoff.validation.keyed import generator
from leadoff.validation.limits import chance, margins
from leadoff.validation.rows import ClassRow, rows
from leadoff.validation.sheet_files import file_text, sheet_of
from leadoff.validation.sheets import Draft, Made, make
from leadoff.validation.truth import Bench, Rig, Truth, workload_rows
from leadoff.validation.words import workload_of

Array = NDArray[np.float64]
USUAL = ("386dx", "486vlb", "486vlb", "486pci", "socket7", "socket5", "386sx", "slot1")
UNKNOWN_SHARE, WRONG_SHARE = 0.28, 0.04
_IMAGES = ("image-1", "image-2")


class World:
    """A generated world. The same arguments give the same world on any day.

    ``boards``: how many. ``runs``: attempts logged per board, failures among them. ``classes``: ids of board
    classes to go round (default a usual mix). ``physics``: "plain", or "other" (memory clocks drift with the
    bus clock, noise with four degrees of freedom, part of the stores hidden, a board x workload effect of 0.8 %).
    ``workloads``: names to use. ``years``: how long the history takes. ``rigs``: how many rigs follow each
    other (display cards in turn; the disk image changes once without effect). ``unknown``, ``wrong``: share
    of boards with a setting nobody knows, share of runs with one declared pattern wrong.
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
        self._rigs = _rig_list(rigs)
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

    # what can be seen

    @property
    def boards(self) -> tuple[BoardSheet, ...]:
        """The boards' sheets."""
        return tuple(m.sheet for m in self._made.values())

    @property
    def workloads(self) -> tuple[Workload, ...]:
        """The workloads as the book would describe them."""
        return tuple(workload_of(w) for w in self._bench.workloads)

    def events(self) -> list[tuple[str, Body]]:
        """Effective time and entry body, in order of time (ties in order of telling)."""
        return list(self._events)

    # what nobody sees

    @property
    def log(self) -> tuple[Logged, ...]:
        """Ground truth of every logged run, in order of time."""
        found = [x for t in self._tellers.values() for x in t.log]
        return tuple(sorted(found, key=lambda x: int(x.number)))

    @property
    def rigs(self) -> tuple[Rig, ...]:
        """The rigs in the order they were used."""
        return self._rigs

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

    def reach(self, board_id: str) -> dict[str, tuple[str, ...]]:
        """Setting to the values that jumpers, set-up and cans at hand can give it."""
        return dict(self._made[board_id].reach)

    def truth(self, board_id: str, settings: Mapping[str, str], rig: str = "") -> Truth:
        """The truth about a state; settings left out are those of the true state at the end."""
        return self._bench.truth(board_id, settings, rig)

    def truths(self, board_id: str, states: Sequence[Mapping[str, str]], rig: str = "") -> list[Truth]:
        """The truth about many states of one board at once."""
        return self._bench.truths(board_id, states, rig)

    def scores(self, board_id: str, states: Sequence[Mapping[str, str]], rig: str = "") -> Array:
        """True log scores, shape (states, workloads), ``nan`` where undefined."""
        return self._bench.log_scores(board_id, states, rig=rig)

    def shares(self, board_id: str, settings: Mapping[str, str]) -> dict[str, dict[str, float]]:
        """True shares of the time by part for every workload."""
        return self._bench.shares(board_id, settings)

    def measure(
        self,
        board_id: str,
        settings: Mapping[str, str],
        workload: str,
        *,
        boot: int = 0,
        take: int = 0,
        repeats: int = 1,
        rig: str = "",
        number: str = "",
    ) -> Run:
        """One more attempt, the same for the same arguments: placement is by ``boot``, noise by ``take``."""
        return self._bench.measure(
            board_id,
            settings,
            workload,
            boot=1_000_000 + boot,
            take=take,
            repeats=repeats,
            rig=rig or self._rigs[-1].name,
            number=number,
        )

    def attempts(self, board_id: str, settings: Mapping[str, str], of: int, boot: int = 0) -> int:
        """How many of ``of`` attempts hold; near a limit some do and some do not."""
        return self._bench.attempts(board_id, settings, of, boot)

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

    def reachable(self, board_id: str, limit: int = 100_000) -> Iterator[dict[str, str]]:
        """States within reach of jumpers, set-up and cans, the board's own first, up to ``limit``."""
        made = self._made[board_id]
        names = list(made.reach)
        base = dict(self._tellers[board_id].held)
        radices = [len(made.reach[n]) for n in names]
        total = min(limit, int(np.prod([float(r) for r in radices])))
        order = {n: (base[n], *(v for v in made.reach[n] if v != base[n])) for n in names}
        for k in range(total):
            state, rest = dict(base), k
            for n, r in zip(names, radices, strict=True):
                rest, digit = divmod(rest, r)
                state[n] = order[n][digit]
            yield settled(state)

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
        draft = make(self.seed, board_id, cls, video=rig.display, rig=_rig_words(rig))
        self._bench.boards[board_id] = draw(self.seed, board_id, cls, draft.chipset, other=self._bench.other)
        rng = generator(self.seed, "history", board_id)
        draft = _holding(self._bench, draft, rng)
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
            out.append((at, RowBody(table="rig", id=r.name, row=_rig_words(r))))
        return out

    def _sessions(self, runs: int) -> list[tuple[datetime, str, int]]:
        """Evening, board and how many runs, in order of time."""
        out: list[tuple[datetime, str, int]] = []
        taken: set[int] = set()
        for i, board_id in enumerate(self._tellers):
            rng = generator(self.seed, "evenings", board_id)
            day = int(self._days * (i + 0.3 * rng.random()) / max(1, len(self._tellers)))
            left = runs
            while left > 0:
                while day in taken:
                    day += 1
                taken.add(day)
                n = min(left, int(rng.integers(3, 8)))
                out.append((self._start + timedelta(days=day), board_id, n))
                left -= n
                day += int(rng.integers(1, 6)) if rng.random() < 0.8 else int(rng.integers(20, 200))
        return sorted(out)

    def _rig_at(self, day: datetime) -> Rig:
        passed = (day - self._start).days / max(1.0, self._days)
        return self._rigs[min(len(self._rigs) - 1, int(passed * len(self._rigs)))]

    def _tell(self, runs: int) -> None:
        number = 1
        using: dict[str, str] = {b: self._rigs[0].name for b in self._tellers}
        for evening, board_id, count in self._sessions(runs):
            teller, made, at = self._tellers[board_id], self._made[board_id], evening
            told = len(teller.events)
            first = not teller.log
            if first:
                teller.say(at, BoardBody(sheet=made.sheet, file_text=file_text(made.sheet)))
                teller.begin(at)
            rig = self._rig_at(evening)
            bridge = using[board_id] != rig.name
            if bridge or (first and teller.true["video"] != rig.display):
                at = _change_rig(teller, at, rig)
                using[board_id] = rig.name
            for k in range(count):
                state = self._next_state(teller, first=first and k == 0, bridge=bridge and k == 0, runs=runs)
                minute = (at - evening).total_seconds() / 60.0
                at = teller.run(at, str(number), rig.name, stamp(evening)[:10], minute, state)
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


def _holding(bench: Bench, draft: Draft, rng: np.random.Generator) -> Draft:
    """The board begins in a state that holds: slower until it does."""
    board = bench.boards[draft.id]
    start = dict(draft.start)
    names = list(draft.reach)
    for step in range(80):
        if chance(margins(board, start)) > 0.97:
            return replace(draft, start=start)
        name = names[int(rng.integers(len(names)))] if step else "bus_mhz"
        values = draft.reach.get(name, (start[name],))
        start[name] = values[0] if name in RISING else values[-1]
        start = settled(start)
    raise ValueError(f"board {draft.id}: no state that holds was found from its start")


def _change_rig(teller: Teller, at: datetime, rig: Rig) -> datetime:
    before = teller.true["video"]
    teller.true["video"] = rig.display
    teller.held["video"] = rig.display
    teller.boot += 1
    change = Change(name="video", before=before, after=rig.display, said=f"video {rig.display}")
    said = f"rig {rig.name}: {rig.display}, {rig.image}, {rig.drivers}"
    changes = (change,) if before != rig.display else ()
    teller.say(at, DidBody(board=teller.board, what="rig", changes=changes, minutes=15.0, said=said))
    return at + timedelta(minutes=15)


def _rig_list(n: int) -> tuple[Rig, ...]:
    displays = list(rows().cards)
    out = []
    for i in range(max(1, n)):
        image = _IMAGES[min(1, i // 2)]
        out.append(Rig(f"rig-{i + 1}", displays[i % len(displays)], image, f"set-{1 + i // 3}"))
    return tuple(out)


def _rig_words(rig: Rig) -> dict[str, str]:
    return {"display": rig.display, "image": rig.image, "drivers": rig.drivers}
