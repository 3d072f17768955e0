"""A bandwidth sweep as a staircase: what was measured as points, the levels as steps, a knee where one ends."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from leadoff.show.charts.look import COPPER, INK, VERDIGRIS, framed


def staircase(
    points: Sequence[Mapping[str, Any]], levels: Sequence[Mapping[str, Any]], *, title: str, width: int = 920
) -> dict[str, Any]:
    """A Vega-Lite spec. Sizes in KB of 1024 bytes on a log axis, microseconds per KB upwards."""
    values: list[dict[str, Any]] = [
        {
            "kb": p["size_kb"],
            "us": p["us_per_kb"],
            "said": f"{p['size_kb']:g} KB: {p['us_per_kb']:.4g} us a KB",
        }
        for p in points
    ]
    sizes = [p["size_kb"] for p in points]
    start, last = min(sizes), max(sizes)
    for n, level in enumerate(levels, start=1):
        end = level["size_kb"].value or last
        us = level["us_per_kb"].value
        knee = end if n < len(levels) else None
        said = f"level {n}: {us:.4g} us a KB, up to {end:g} KB" if us is not None else f"level {n}"
        values.append({"from": start, "to": end, "step": us, "knee": knee, "said": said})
        start = end
    x = {
        "field": "kb",
        "type": "quantitative",
        "title": "block size, KB",
        "scale": {"type": "log", "base": 2, "nice": False},
        "axis": {"grid": False, "format": "d"},
    }
    words = {"field": "said", "type": "nominal"}

    def y(field: str) -> dict[str, Any]:
        return {"field": field, "type": "quantitative", "title": "microseconds a KB", "scale": {"zero": True}}

    layers: list[dict[str, Any]] = [
        {
            "transform": [{"filter": "datum.step != null"}],
            "mark": {
                "type": "rule",
                "color": VERDIGRIS,
                "strokeWidth": 7,
                "strokeCap": "round",
                "opacity": 0.7,
            },
            "encoding": {
                "x": {**x, "field": "from"},
                "x2": {"field": "to"},
                "y": y("step"),
                "description": words,
            },
        },
        {
            "transform": [{"filter": "datum.knee != null"}],
            "mark": {"type": "rule", "color": COPPER, "strokeWidth": 2, "strokeDash": [6, 4]},
            "encoding": {"x": {**x, "field": "knee"}, "description": words},
        },
        {
            "transform": [{"filter": "datum.us != null"}],
            "mark": {"type": "point", "filled": True, "size": 70, "color": INK, "opacity": 1},
            "encoding": {"x": x, "y": y("us"), "description": words},
        },
    ]
    return framed(layers, values, title=title, width=width)
