"""The fastest cache pattern for every chip grade and bus clock, as a field of words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from leadoff.show.charts.look import COPPER, INK, framed
from leadoff.show.text import chance

SHADES = ["#1f6b64", "#33766f", "#7fb3ad", "#b3d2ce", "#dfe9e6"]
"""Verdigris from few clocks to many; the words in a cell say the same."""


def ladder(
    cells: Sequence[Mapping[str, Any]], *, now: Mapping[str, Any], title: str, width: int = 920
) -> dict[str, Any]:
    """A Vega-Lite spec: upper word inside the maximum delays with its slack, lower word likely to hold."""
    small = width < 600
    values = [_value(c, now) for c in cells]
    clocks = sorted({v["clocks"] for v in values if v["clocks"] is not None})
    x = {
        "field": "mhz",
        "type": "ordinal",
        "title": "bus clock, MHz",
        "sort": None,
        "axis": {"labelAngle": 0, "orient": "top", "ticks": False, "domain": False, "format": ".4~g"},
    }
    y = {"field": "grade", "type": "ordinal", "title": "chip grade", "sort": None, "axis": {"ticks": False}}
    said = {"field": "said", "type": "nominal"}
    dark = {"condition": {"test": "datum.rank < 2", "value": "#ffffff"}, "value": INK}
    layers: list[dict[str, Any]] = [
        {
            "mark": {"type": "rect", "cornerRadius": 4, "stroke": "#fbfaf6", "strokeWidth": 3},
            "encoding": {
                "x": x,
                "y": y,
                "color": {
                    "field": "rank",
                    "type": "ordinal",
                    "legend": None,
                    "scale": {"domain": list(range(len(SHADES) + 1)), "range": [*SHADES, "#f3e3d6"]},
                },
                "description": said,
            },
        },
        {
            "transform": [{"filter": "datum.here"}],
            "mark": {"type": "rect", "filled": False, "stroke": COPPER, "strokeWidth": 4, "cornerRadius": 4},
            "encoding": {"x": x, "y": y, "description": said},
        },
        *(
            {
                "mark": {"type": "text", "dy": dy, "fontSize": size, "fontWeight": weight},
                "encoding": {
                    "x": x,
                    "y": y,
                    "text": {"field": field, "type": "nominal"},
                    "color": dark,
                    "description": said,
                },
            }
            for field, dy, size, weight in (
                ("first", -15, 11 if small else 16, "bold"),
                ("slack", 1, 10 if small else 13, "normal"),
                ("second", 16, 10 if small else 13, "normal"),
            )
        ),
    ]
    for v in values:
        v["rank"] = len(SHADES) if v["clocks"] is None else min(clocks.index(v["clocks"]), len(SHADES) - 1)
    made = framed(layers, values, title=title, width=width)
    made["height"] = 90 + 64 * len({c["sram_ns"] for c in cells})
    return made


def _value(c: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
    slack = c["slack_ns"]["value"] if c["slack_ns"] is not None else None
    inside = c["inside"] or "none"
    likely = f"{c['likely']} {chance(c['chance_hold'])}" if c["likely"] else "none likely"
    return {
        "mhz": c["bus_mhz"],
        "grade": f"{c['sram_ns']:g} ns",
        "first": inside,
        "slack": f"{slack:+.1f} ns" if slack is not None else "",
        "second": f"({c['likely']})" if c["likely"] else "(none)",
        "clocks": c["inside_clocks"],
        "here": c["sram_ns"] == now["sram_ns"] and c["bus_mhz"] == now["bus_mhz"],
        "said": f"{c['sram_ns']:g} ns chips at {c['bus_mhz']:.4g} MHz: inside the maximum delays {inside}"
        + (f" with {slack:+.1f} ns" if slack is not None else "")
        + f"; likely to hold {likely}",
    }
