"""The house record of a workload over the years: a step line, with marks where it was tied or vanished."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from leadoff.show.charts.look import COPPER, INK, VERDIGRIS, framed

SHAPES = {"set": "circle", "beaten": "circle", "tied": "diamond", "vanished": "cross"}


def record_steps(
    steps: Sequence[Mapping[str, Any]], *, title: str, unit: str, width: int = 920
) -> dict[str, Any]:
    """A Vega-Lite spec from the steps that the standings give; a gap where nobody held the record."""
    values = [
        {
            "when": s["when"],
            "score": s["score"],
            "event": s["event"],
            "said": f"{s['when'][:10]}, run {s['run']}, {s['event']}: {s['because']}",
        }
        for s in steps
    ]
    x = {"field": "when", "type": "temporal", "title": None, "axis": {"grid": False}}
    y = {"field": "score", "type": "quantitative", "title": unit, "scale": {"zero": False}}
    shape = {
        "field": "event",
        "type": "nominal",
        "scale": {"domain": list(SHAPES), "range": list(SHAPES.values())},
        "legend": {"title": None, "orient": "bottom"},
    }
    layers: list[dict[str, Any]] = [
        {
            "mark": {"type": "line", "interpolate": "step-after", "color": COPPER, "strokeWidth": 3},
            "encoding": {"x": x, "y": y, "description": {"value": "the record over time"}},
        },
        {
            "mark": {
                "type": "point",
                "filled": True,
                "size": 90,
                "color": VERDIGRIS,
                "stroke": INK,
                "opacity": 1,
            },
            "encoding": {
                "x": x,
                "y": y,
                "shape": shape,
                "description": {"field": "said", "type": "nominal"},
            },
        },
    ]
    return framed(layers, values, title=title, width=width)
