"""The slack of each cache cycle in this state: a ladder, the rungs below zero are late by the data sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from leadoff.show.charts.look import COPPER, INK, VERDIGRIS, framed


def slack_ladder(patterns: Sequence[Mapping[str, Any]], *, title: str, width: int = 920) -> dict[str, Any]:
    """A Vega-Lite spec: a bar from the worst to the best slack in nanoseconds, a dot at the middle."""
    values = [
        {
            "rung": f"{p['kind']} {p['pattern']}",
            "lo": p["slack_ns"].lo if p["slack_ns"].lo is not None else p["slack_ns"].value,
            "hi": p["slack_ns"].hi if p["slack_ns"].hi is not None else p["slack_ns"].value,
            "mid": p["slack_ns"].value,
            "late": (p["slack_ns"].value or 0.0) < 0,
            "said": f"{p['kind']} {p['pattern']}: slack {p['slack_ns'].value:.3g} ns, "
            f"{'inside' if p['inside_max'] else 'beyond'} the maximum delays",
        }
        for p in patterns
        if p["slack_ns"].value is not None
    ]
    y = {"field": "rung", "type": "nominal", "title": None, "sort": None, "axis": {"labelLimit": 260}}
    color = {"condition": {"test": "datum.late", "value": COPPER}, "value": VERDIGRIS}
    said = {"field": "said", "type": "nominal"}

    def x(field: str) -> dict[str, Any]:
        return {
            "field": field,
            "type": "quantitative",
            "title": "slack, ns (below 0: late by the data sheet)",
        }

    layers: list[dict[str, Any]] = [
        {
            "mark": {"type": "rule", "color": INK, "strokeWidth": 2},
            "encoding": {"x": {"datum": 0}, "description": {"value": "no slack"}},
        },
        {
            "mark": {"type": "bar", "height": 14, "opacity": 0.5, "cornerRadius": 3},
            "encoding": {"y": y, "x": x("lo"), "x2": {"field": "hi"}, "color": color, "description": said},
        },
        {
            "mark": {"type": "point", "filled": True, "shape": "diamond", "size": 120, "opacity": 1},
            "encoding": {"y": y, "x": x("mid"), "color": color, "description": said},
        },
    ]
    made = framed(layers, values, title=title, width=width)
    made["height"] = 90 + 30 * max(1, len(values))
    return made
