"""Runs, forecasts and states of one board in the form of the public file."""

from __future__ import annotations

from collections.abc import Mapping

from leadoff.forecast.scores import score_of
from leadoff.loop.history import BoardView, ForecastView, RunView
from leadoff.loop.public_private import Private
from leadoff.machine.same import same_state
from leadoff.record.public import Answer, PublicForecast, PublicRun, Value
from leadoff.record.state import State


class States:
    """States numbered as they come, each kept once."""

    def __init__(self) -> None:
        self._at: dict[tuple[tuple[str, str | None, str], ...], int] = {}
        self.kept: list[Mapping[str, Value]] = []

    def number(self, state: State) -> int:
        """The number of a state; a new one for one not seen before."""
        key = tuple((n, s.value, s.status.value) for n, s in sorted(state.settings.items()))
        if key not in self._at:
            self._at[key] = len(self.kept)
            self.kept.append(
                {
                    n: Value(value=s.value, status=s.status, source=s.source)
                    for n, s in sorted(state.settings.items())
                }
            )
        return self._at[key]


def public_run(view: RunView, states: States, private: Private) -> PublicRun:
    """A run without the words it was typed in: they may hold what is nobody's business."""
    run = view.run
    return PublicRun(
        number=run.number,
        entry=view.entry,
        when=view.when,
        workload=run.workload,
        outcome=run.outcome,
        state=states.number(view.setup.state),
        unit=run.unit,
        readings=run.readings,
        place=private.clean(run.place),
        after_s=run.after_s,
        count=run.count,
        of=run.of,
        rig=private.clean(run.rig),
        flags=run.flags,
    )


def public_forecast(board: BoardView, view: ForecastView, states: States) -> PublicForecast:
    """A sealed forecast with the first answer to each of its workloads."""
    body = view.body
    return PublicForecast(
        number=body.number,
        entry=view.entry,
        when=view.when,
        basis=body.basis,
        model=body.model,
        catalogue=body.catalogue,
        state=states.number(body.state),
        expected=body.expected,
        chance=body.chance,
        seen_result=body.seen_result,
        answers=answers_of(board, view),
    )


def answers_of(board: BoardView, view: ForecastView) -> tuple[Answer, ...]:
    """First run of each workload in the sealed state since then."""
    out: dict[str, Answer] = {}
    wanted = {e.workload for e in view.body.expected}
    for run in board.runs:
        name = run.run.workload
        if name is None or name in out or name not in wanted or run.when < view.when or not run.run.readings:
            continue
        if same_state(run.setup.state, view.body.state):
            score = score_of(run.run).value
            assert score is not None
            out[name] = Answer(workload=name, run=run.run.number, entry=run.entry, score=score)
    return tuple(out.values())
