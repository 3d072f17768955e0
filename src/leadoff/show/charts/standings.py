"""Standings of one workload: each board's best score with its interval, boards that tie marked as such."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from leadoff.show.charts.look import COPPER, INK, VERDIGRIS, framed
from leadoff.show.standing_marks import BETTER, by_ratio, ends, flags, rank


def standings(
    rows: Sequence[Mapping[str, Any]], *, title: str, unit: str, better: str, width: int = 920
) -> dict[str, Any]:
    """A Vega-Lite spec: 95 % intervals, best at the top; a hollow mark shares its rank with another board."""
    small = width < 600
    values = [_value(row, unit, small) for row in rows]
    y = {
        "field": "label",
        "type": "nominal",
        "title": None,
        "sort": None,
        "axis": {"labelLimit": 150 if small else 320, "ticks": False, "domain": False},
    }
    scale: dict[str, Any] = {"type": "log", "nice": False} if by_ratio(rows) else {"zero": False}
    tie = {"condition": {"test": "datum.tie", "value": COPPER}, "value": VERDIGRIS}
    said = {"field": "said", "type": "nominal"}

    def x(field: str) -> dict[str, Any]:
        name = f"{unit}, {BETTER[better]}" + (", by ratio" if by_ratio(rows) else "")
        axis = {"format": "~g", "labelOverlap": True}
        return {"field": field, "type": "quantitative", "title": name, "scale": scale, "axis": axis}

    layers: list[dict[str, Any]] = [
        {
            "mark": {"type": "rule", "strokeWidth": 9, "opacity": 0.45, "strokeCap": "round"},
            "encoding": {"y": y, "x": x("lo"), "x2": {"field": "hi"}, "color": tie, "description": said},
        },
        {
            "mark": {"type": "point", "size": 150, "strokeWidth": 3, "opacity": 1},
            "encoding": {
                "y": y,
                "x": x("score"),
                "color": tie,
                "fill": {"condition": {"test": "datum.tie", "value": "white"}, "value": VERDIGRIS},
                "description": said,
            },
        },
        {
            "mark": {"type": "text", "dy": -14, "color": INK, "fontSize": 11 if small else 13},
            "encoding": {
                "y": y,
                "x": x("score"),
                "text": {"field": "number", "type": "nominal"},
                "description": said,
            },
        },
    ]
    made = framed(layers, values, title=title, width=width)
    made["height"] = 80 + 46 * max(1, len(values))
    return made


def _value(row: Mapping[str, Any], unit: str, small: bool) -> dict[str, Any]:
    lo, hi = ends(row)
    score = row["score"]["value"]
    words = f"{rank(row)}  {row['board']}"
    notes = "; ".join(part for part in (row["state"], flags(row)) if part)
    return {
        "label": words[:22] if small else words,
        "lo": lo,
        "hi": hi,
        "score": score,
        "number": f"{score:.4g}",
        "tie": row["rank_lo"] != row["rank_hi"],
        "said": f"rank {rank(row)}: {row['board']} {score:.4g} {unit}, 95 of 100 {lo:.4g} to {hi:.4g}; {notes}",
    }
