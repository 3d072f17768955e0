"""Where the time of one unit of work goes: a bar for each part, a rule for the band of its share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from leadoff.show.charts.look import COPPER, INK, VERDIGRIS, framed
from leadoff.show.forecast_words import PART_WORDS


def time_split(parts: Sequence[Mapping[str, Any]], *, title: str, width: int = 920) -> dict[str, Any]:
    """A Vega-Lite spec of ``data["time_split"][workload]`` of a forecast; parts below half a percent are left out.

    The core's bar is copper, what waits for the board is verdigris.
    """
    values = [
        {
            "part": PART_WORDS[p["part"]],
            "pct": p["pct"],
            "lo": p["lo"],
            "hi": p["hi"],
            "core": p["part"] == "core",
            "said": f"{PART_WORDS[p['part']]}: {p['pct']:.1f} % of the time, 9 of 10 {p['lo']:.1f} to {p['hi']:.1f}",
        }
        for p in parts
        if p["pct"] >= 0.5
    ]
    y = {"field": "part", "type": "nominal", "title": None, "sort": None, "axis": {"labelLimit": 260}}
    said = {"field": "said", "type": "nominal"}

    def x(field: str) -> dict[str, Any]:
        return {
            "field": field,
            "type": "quantitative",
            "title": "percent of the time",
            "scale": {"domainMin": 0},
        }

    color = {"condition": {"test": "datum.core", "value": COPPER}, "value": VERDIGRIS}
    layers: list[dict[str, Any]] = [
        {
            "mark": {"type": "bar", "height": 16, "cornerRadius": 3, "opacity": 0.75},
            "encoding": {"y": y, "x": x("pct"), "color": color, "description": said},
        },
        {
            "mark": {"type": "rule", "color": INK, "strokeWidth": 2},
            "encoding": {"y": y, "x": x("lo"), "x2": {"field": "hi"}, "description": said},
        },
    ]
    made = framed(layers, values, title=title, width=width)
    made["height"] = 90 + 30 * max(1, len(values))
    return made
