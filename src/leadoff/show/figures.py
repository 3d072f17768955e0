"""Pictures of the tour in two widths, as inline SVG."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.record.pictures import RunPoint, SealedBand
from leadoff.show.charts.forecast_outcome import forecast_outcome
from leadoff.show.charts.record_line import record_line
from leadoff.show.charts.render import svg

WIDE, NARROW = 920, 350


def tour_figures(
    board: str, workload: str, unit: str, points: Sequence[RunPoint], bands: Sequence[SealedBand]
) -> list[dict[str, str]]:
    """The record line and the sealed forecasts of the tour's board."""
    record = f"The record of {workload} on {board}"
    sealed = f"Sealed forecasts of {board} and what came of them"
    return [
        {"label": record}
        | {name: svg(record_line(points, title=record, unit=unit, width=w)) for name, w in _both()},
        {"label": sealed}
        | {name: svg(forecast_outcome(bands, title=sealed, width=w)) for name, w in _both()},
    ]


def _both() -> tuple[tuple[str, int], tuple[str, int]]:
    return ("wide", WIDE), ("narrow", NARROW)
