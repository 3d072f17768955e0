"""The record of a workload over time: set, beaten, tied, vanished, each with the run that did it."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.claims.grade import Grade, grade
from leadoff.claims.pairs import mean_of
from leadoff.claims.standings import Cell, Field, Fields, state_words
from leadoff.claims.values import Ledger, StateKey, Trial
from leadoff.record.runs import Direction

Place = tuple[str, StateKey, StateKey, str]


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """What one run did to the record. ``event``: set (the first), beaten, tied, vanished. ``score`` is the record
    after it, as under the rig of the line; ``None`` when nobody holds it. ``run`` is the run that changed it."""

    when: str
    run: str
    event: str
    board: str | None
    state: str
    score: float | None
    because: str


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """The history of one group of rigs that bridges connect; ``rig`` is the one the scores are given for."""

    workload: str
    unit: str
    rig: str
    rigs: tuple[str, ...]
    steps: tuple[Step, ...]


def record_lines(
    ledger: Ledger, *, workload: str | None = None, least: str = "finishes", fields: Fields | None = None
) -> tuple[Line, ...]:
    """The record of every workload, or of one, among states that had at least this grade at the time. Bridges
    are those of today: a bridge run later makes older scores comparable."""
    out = []
    kept = fields or Fields(ledger)
    for w in sorted(ledger.workloads.values(), key=lambda w: w.name):
        if workload in (None, w.name) and ledger.of(w.name):
            field = kept.of(w.name)
            out += [_line(ledger, field, rigs, least) for rigs in field.rigs.groups]
    return tuple(out)


def _line(ledger: Ledger, field: Field, rigs: tuple[str, ...], least: str) -> Line:
    name = field.workload.name
    counts = {r: sum(t.rig == r for t in ledger.of(name)) for r in rigs}
    rig = max(rigs, key=lambda r: (counts[r], r))
    boards = {t.board for t in ledger.of(name) if t.rig in rigs}
    trials = sorted((t for t in ledger.trials if t.board in boards), key=lambda t: t.observed.when)
    keeper = _Keeper(field, rigs, rig, least)
    for t in trials:
        keeper.take(t)
    return Line(
        workload=name, unit=field.workload.unit, rig=rig, rigs=rigs, steps=tuple(_merged(keeper.steps))
    )


def _merged(steps: Sequence[Step]) -> list[Step]:
    """A tie that is told again by a further run of the same state is one tie."""
    out: list[Step] = []
    for s in steps:
        if not (
            out
            and s.event == out[-1].event == "tied"
            and (s.board, s.state) == (out[-1].board, out[-1].state)
        ):
            out.append(s)
    return out


class _Keeper:
    """Takes runs in their order and keeps the cell that holds the record."""

    def __init__(self, field: Field, rigs: tuple[str, ...], rig: str, least: str) -> None:
        self.field, self.rigs, self.rig, self.least = field, rigs, rig, least
        self.scored: dict[Place, list[Trial]] = {}
        self.held: dict[tuple[str, StateKey], list[Trial]] = {}
        self.cells: dict[Place, Cell] = {}
        self.holder: Place | None = None
        self.steps: list[Step] = []

    def take(self, t: Trial) -> None:
        hold = (t.board, t.hold_key)
        self.held.setdefault(hold, []).append(t)
        place = (t.board, t.key, t.hold_key, t.rig)
        if t.workload == self.field.workload.name and t.readings and t.rig in self.rigs:
            self.scored.setdefault(place, []).append(t)
        made = grade(self.held[hold])
        for other in [p for p in self.scored if (p[0], p[2]) == hold]:
            self.cells[other] = self._cell(other, made)
        self._after(t)

    def _cell(self, place: Place, made: Grade) -> Cell:
        trials = tuple(self.scored[place])
        return Cell(trials=trials, mean=mean_of(trials, self.field.house), grade=made)

    def _after(self, t: Trial) -> None:
        if self.holder is not None and not self.cells[self.holder].grade.at_least(self.least):
            lost = self.cells[self.holder]
            self.holder = self._best()
            why = ", ".join(lost.grade.void_by).replace("_", " ") or f"grade {lost.grade.name}"
            self._step(t, "vanished", f"{lost.board} ({state_words(lost.trials[0])}): {why}")
            return
        here = [p for p in self.cells if (p[0], p[2]) == (t.board, t.hold_key)]
        fit = [p for p in here if self.cells[p].grade.at_least(self.least)]
        for p in fit:
            if self.holder is None:
                self.holder = p
                self._step(t, "set", "the first score of this grade")
            elif p != self.holder:
                self._challenge(t, p)

    def _challenge(self, t: Trial, place: Place) -> None:
        assert self.holder is not None
        holder, other = self.cells[self.holder], self.cells[place]
        pair = self.field.compared(holder, other)
        if pair is None:
            return
        text = f"{pair.pct:+.2f} % ({pair.lo_pct:+.2f} to {pair.hi_pct:+.2f})"
        if pair.shown and pair.faster > 0:
            self.holder = place
            self._step(t, "beaten", f"{text} against {holder.board}")
        elif not pair.shown and (pair.tied or pair.faster >= 0):
            who = f"{other.board} ({state_words(other.trials[0])})"
            self._step(t, "tied", f"{who}: {text}, not told apart")

    def _best(self) -> Place | None:
        fit = [p for p, c in self.cells.items() if c.grade.at_least(self.least)]
        up = self.field.workload.direction is Direction.HIGHER
        return (max if up else min)(fit, key=self._score, default=None)

    def _score(self, place: Place) -> float:
        cell = self.cells[place]
        return self.field.adjusted(cell, self.rig)[0]

    def _step(self, t: Trial, event: str, because: str) -> None:
        cell = self.cells[self.holder] if self.holder is not None else None
        self.steps.append(
            Step(
                when=t.observed.when,
                run=t.number,
                event=event,
                board=cell.board if cell is not None else None,
                state=state_words(cell.trials[0]) if cell is not None else "",
                score=self._score(self.holder) if self.holder is not None else None,
                because=because,
            )
        )
