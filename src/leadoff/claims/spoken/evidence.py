"""What the book holds on a state, a workload or a board, found by what was said of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property

from leadoff.claims.grade import Grade, grade, undefined
from leadoff.claims.pairs import mean_of
from leadoff.claims.spoken.settings import meets, settle
from leadoff.claims.spoken.values import Num, Want
from leadoff.claims.standings import Cell, Field, field_of
from leadoff.claims.values import Ledger, StateKey, Trial
from leadoff.forecast.needs import undefined_because
from leadoff.record.runs import Direction


class Evidence:
    """The ledger with its fields worked out when asked for."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self._fields: dict[str, Field] = {}

    def field(self, workload: str) -> Field:
        """All cells of a workload."""
        if workload not in self._fields:
            self._fields[workload] = field_of(self.ledger, self.ledger.workloads[workload])
        return self._fields[workload]

    @cached_property
    def by_number(self) -> dict[str, Trial]:
        return {t.number: t for t in self.ledger.trials}

    def trials(self, boards: Iterable[str], wants: Sequence[Want] = ()) -> list[Trial]:
        """Every run, failure and protocol of these boards in states as said."""
        boards = set(boards)
        return [t for t in self.ledger.trials if t.board in boards and self.as_said(t, wants)]

    def as_said(self, t: Trial, wants: Sequence[Want]) -> bool:
        return all(meets(w, t.settings, t.core_mhz) for w in wants if not w.bare)

    def settle(self, want: Want, boards: Iterable[str]) -> Want:
        """A bare clock as bus or core clock, by what these boards ran."""
        boards = set(boards) or set(self.ledger.boards)
        return settle(want, [(t.settings, t.core_mhz) for t in self.ledger.trials if t.board in boards])

    def cells(
        self, workload: str, boards: Iterable[str], wants: Sequence[Want] = (), rigs: Sequence[str] = ()
    ) -> list[Cell]:
        """States of these boards with a score in this workload."""
        boards = set(boards)
        return [
            c
            for c in self.field(workload).cells
            if c.board in boards and (not rigs or c.rig in rigs) and self.as_said(c.trials[0], wants)
        ]

    def of_runs(self, numbers: Sequence[str]) -> Cell | None:
        """Some runs of one workload and state as a cell of their own."""
        trials = [self.by_number[n] for n in numbers if n in self.by_number]
        if not trials or not trials[0].readings or trials[0].workload is None:
            return None
        field = self.field(trials[0].workload)
        return Cell(trials=tuple(trials), mean=mean_of(trials, field.house), grade=self.grade_of(trials[0]))

    def grade_of(self, t: Trial) -> Grade:
        """The grade of the state of a run."""
        same = [o for o in self.ledger.trials if o.board == t.board and o.hold_key == t.hold_key]
        return grade(same)

    def undefined(self, workload: str, board: str) -> list[Trial]:
        """Runs which show that the workload cannot run on this board, while none did run: it was tried, or no
        state that the board ever had has what the workload needs."""
        own = [t for t in self.ledger.trials if t.board == board]
        tried = [t for t in own if t.workload == workload]
        if any(t.readings for t in tried):
            return []
        if shown := [t for t in tried if undefined(t)]:
            return shown
        needs = self.ledger.workloads[workload]
        return own[-1:] if all(undefined_because(needs, t.observed.setup) for t in own) else []

    def states(self, trials: Iterable[Trial]) -> dict[tuple[str, StateKey], list[Trial]]:
        """Runs by board and the state they were made in, everything that may decide whether it holds."""
        out: dict[tuple[str, StateKey], list[Trial]] = {}
        for t in trials:
            out.setdefault((t.board, t.hold_key), []).append(t)
        return out

    def best(self, cells: Sequence[Cell]) -> Cell:
        """The best mean of cells of one workload."""
        workload = cells[0].trials[0].workload
        assert workload is not None
        up = self.ledger.workloads[workload].direction is Direction.HIGHER
        return (max if up else min)(cells, key=lambda c: c.mean.value)

    def usual(self, cells: Sequence[Cell], wants: Sequence[Want]) -> list[Cell]:
        """Of several states as said, those whose settings that nobody named are the board's usual ones."""
        return [c for c in cells if c.trials[0] in self.usual_trials([c.trials[0] for c in cells], wants)]

    def usual_trials(self, trials: Sequence[Trial], wants: Sequence[Want]) -> list[Trial]:
        """The same for runs. A setting narrows only where one of them has the usual value."""
        named = {n for w in wants for n in w.names}
        if "waits" in named:
            named |= {"dram_read_ws", "dram_write_ws"}
        if "core_mhz" in named:
            named |= {"bus_mhz", "ratio"}
        kept = list(trials)
        for name in sorted({n for t in trials for n in t.settings} - named):
            for board in {t.board for t in kept}:
                own = self.states(t for t in self.ledger.trials if t.board == board)
                values = [ts[0].settings.get(name) for ts in own.values()]
                usual = max(sorted({v for v in values if v is not None}), key=values.count, default=None)
                if any(t.board == board and t.settings.get(name) == usual for t in kept):
                    kept = [t for t in kept if t.board != board or t.settings.get(name) == usual]
        return kept


def reads(cell_or_trial: Cell | Trial, n: Num) -> bool:
    """Whether one of its readings, or the mean of several, is the figure as it was said."""
    if isinstance(cell_or_trial, Cell):
        values = [r.value for t in cell_or_trial.trials for r in t.readings]
    else:
        values = [r.value for r in cell_or_trial.readings]
    if len(values) > 1:
        values.append(sum(values) / len(values))
    return any(as_figure(v, n) for v in values)


def as_figure(value: float, n: Num) -> bool:
    """A reading against a spoken figure: whole numbers and ``about`` are read as people mean them."""
    if n.hi is not None:
        return n.value - 0.5 * 10.0**-n.places <= value <= n.hi + 0.05
    if n.spoken:
        return abs(value - n.value) <= 0.05 * n.value
    step = 10.0**-n.places
    if n.tol:
        return abs(value - n.value) <= n.tol + 1e-9
    if n.mod == "about":
        return abs(value - n.value) <= max(0.55 * step, 0.02 * n.value)
    if n.mod == "nearly":
        return 0.95 * n.value <= value < n.value
    if n.mod == "just":
        return n.value - 1e-9 < value <= 1.06 * n.value + 0.5 * step
    if n.mod == "over":
        return value > n.value - 1e-9
    if n.mod == "under":
        return value < n.value + 1e-9
    # A whole number may stand for a reading with decimals, but 10 is no 9.6.
    slack = 0.5 * step if n.places else min(0.5, max(0.035 * n.value, 0.05))
    return abs(value - n.value) <= slack + 1e-9
