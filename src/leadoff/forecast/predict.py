"""The front door of forecasts."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import msgspec

from leadoff.forecast.answer import Forecast
from leadoff.forecast.facts import Observed, Question, Setup
from leadoff.forecast.hold import belief
from leadoff.forecast.two_clock import two_clock
from leadoff.record.runs import Workload


def forecast(question: Question, *, model: str = "best", cache_dir: Path | None = None) -> Forecast:
    """Forecast every workload of the question in its setup, with the chances to start, boot and hold.

    ``model``: ``clocks`` for the two-clock arithmetic, ``best`` for the best there is.
    """
    return forecast_many(
        (question.target,), question.workloads, question.runs, model=model, cache_dir=cache_dir
    )[0]


def forecast_many(
    targets: Sequence[Setup],
    workloads: tuple[Workload, ...],
    runs: tuple[Observed, ...],
    *,
    model: str = "best",
    cache_dir: Path | None = None,
) -> tuple[Forecast, ...]:
    """The same for several setups of one board."""
    out = []
    known = belief(targets[0], runs) if targets else None
    for target in targets:
        answer = two_clock(Question(target=target, workloads=workloads, runs=runs))
        assert known is not None, "there is a first target"
        out.append(msgspec.structs.replace(answer, chance=known.hold(target).chance))
    return tuple(out)
