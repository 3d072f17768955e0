"""The record of one workload on one board over its runs: a step line with the runs that did not hold."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from leadoff.record.pictures import RunPoint
from leadoff.show.charts.look import COPPER, INK, VERDIGRIS, framed


def record_line(points: Sequence[RunPoint], *, title: str, unit: str, width: int = 920) -> dict[str, Any]:
    """A Vega-Lite spec; failures stand on the floor as crosses."""
    scores = [p.score for p in points if p.score is not None]
    lo, hi = (min(scores), max(scores)) if scores else (0.0, 1.0)
    floor = lo - 0.08 * (hi - lo or 1.0)
    values = [
        {
            "order": p.order,
            "score": p.score,
            "record": p.record,
            "floor": floor if p.score is None else None,
            "said": f"run {p.number}: "
            + (f"{p.score:.4g} {unit}" if p.score is not None else p.outcome.replace("_", " ")),
        }
        for p in points
    ]
    x = {
        "field": "order",
        "type": "quantitative",
        "title": "runs in order",
        "axis": {"values": _whole([p.order for p in points]), "grid": False, "format": "d"},
    }

    def y(field: str) -> dict[str, Any]:
        return {"field": field, "type": "quantitative", "title": unit, "scale": {"zero": False}}

    said = {"field": "said", "type": "nominal"}
    layers: list[dict[str, Any]] = [
        {
            "mark": {"type": "line", "interpolate": "step-after", "color": COPPER, "strokeWidth": 3},
            "encoding": {"x": x, "y": y("record"), "description": {"value": "the record so far"}},
        },
        {
            "transform": [{"filter": "datum.score != null"}],
            "mark": {"type": "point", "filled": True, "size": 70, "color": VERDIGRIS, "opacity": 1},
            "encoding": {"x": x, "y": y("score"), "description": said},
        },
        {
            "transform": [{"filter": "datum.floor != null"}],
            "mark": {
                "type": "point",
                "shape": "cross",
                "angle": 45,
                "size": 80,
                "color": INK,
                "filled": True,
            },
            "encoding": {"x": x, "y": y("floor"), "description": said},
        },
    ]
    return framed(layers, values, title=title, width=width)


MOST_TICKS = 10
"""More numbers than this below the line run into one another on a phone."""


def _whole(orders: Sequence[int]) -> list[int]:
    """Ticks at runs only: a renderer left alone puts some between two runs and rounds their labels."""
    if not orders:
        return []
    step = -(-len(orders) // MOST_TICKS)
    return list(range(min(orders), max(orders) + 1, step))
