"""Sealed forecasts against what came of them: bands as bars, outcomes as points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from leadoff.record.pictures import SealedBand
from leadoff.show.charts.look import COPPER, INK, VERDIGRIS, framed


def forecast_outcome(rows: Sequence[SealedBand], *, title: str, width: int = 920) -> dict[str, Any]:
    """A Vega-Lite spec in percent of each median, so that different workloads share one axis."""
    values = [
        {
            "label": r.label,
            "lo90": _pct(r.band90[0], r),
            "hi90": _pct(r.band90[1], r),
            "lo50": _pct(r.band50[0], r),
            "hi50": _pct(r.band50[1], r),
            "outcome": None if r.outcome is None else _pct(r.outcome, r),
            "said": f"{r.label}: forecast {r.median:.4g}, 9 of 10 {r.band90[0]:.4g} to {r.band90[1]:.4g}"
            + ("" if r.outcome is None else f", measured {r.outcome:.4g}")
            + f" {r.unit}",
        }
        for r in rows
    ]
    y = {"field": "label", "type": "nominal", "title": None, "sort": None, "axis": {"labelLimit": 240}}
    said = {"field": "said", "type": "nominal"}

    def bar(lo: str, hi: str, thick: int, opacity: float) -> dict[str, Any]:
        return {
            "mark": {
                "type": "bar",
                "height": thick,
                "color": VERDIGRIS,
                "opacity": opacity,
                "cornerRadius": 3,
            },
            "encoding": {
                "y": y,
                "x": {
                    "field": lo,
                    "type": "quantitative",
                    "title": "percent of the forecast's median",
                    "scale": {"zero": False},
                },
                "x2": {"field": hi},
                "description": said,
            },
        }

    layers = [
        bar("lo90", "hi90", 12, 0.35),
        bar("lo50", "hi50", 12, 0.75),
        {
            "transform": [{"filter": "datum.outcome != null"}],
            "mark": {
                "type": "point",
                "shape": "diamond",
                "filled": True,
                "size": 140,
                "color": COPPER,
                "stroke": INK,
            },
            "encoding": {"y": y, "x": {"field": "outcome", "type": "quantitative"}, "description": said},
        },
    ]
    made = framed(layers, values, title=title, width=width)
    made["height"] = 70 + 40 * len(values)
    return made


def _pct(value: float, row: SealedBand) -> float:
    return 100.0 * value / row.median
