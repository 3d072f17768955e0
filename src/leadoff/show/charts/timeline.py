"""A board's history on one axis of time: a lane for each kind of thing that happened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from leadoff.show.charts.look import COPPER, FAINT, INK, STRAW, VERDIGRIS, framed

LANES = (
    ("run", "runs", COPPER, "circle"),
    ("forecast", "forecasts", VERDIGRIS, "diamond"),
    ("moved", "moves", INK, "triangle-right"),
    ("finding", "symptoms", STRAW, "triangle-up"),
    ("fact", "readings", VERDIGRIS, "square"),
    ("mark", "photos, film", FAINT, "square"),
    ("board", "sheet", FAINT, "cross"),
)


BY_KIND = {"state": "moved", "did": "moved"}
SAID = 4
"""So many things of one day are named in a mark's sentence; the rest is counted."""


def timeline(rows: Sequence[Mapping[str, Any]], *, title: str, width: int = 920) -> dict[str, Any]:
    """A Vega-Lite spec; ``rows`` as the story tells them, newest first. One mark for each kind and day, with how
    many there were; a shape and a lane of its own as well as a colour.
    """
    days: dict[tuple[str, str], list[str]] = {}
    for r in reversed(rows):
        kind = BY_KIND.get(r["kind"], r["kind"])
        said = f"{r['at'][11:16]} {r['what']} {r['text']}".strip()
        days.setdefault((r["at"][:10], kind), []).append(said[:80])
    told = {kind: (lane, color, shape) for kind, lane, color, shape in LANES}
    values = []
    for (day, kind), things in sorted(days.items()):
        lane, color, shape = told[kind]
        more = f"; and {len(things) - SAID} more" if len(things) > SAID else ""
        said = f"{day}, {len(things)} {lane}: {'; '.join(things[:SAID])}{more}"
        number = str(len(things)) if len(things) > 1 else ""
        values.append({"day": day, "lane": lane, "color": color, "shape": shape, "n": number, "said": said})
    there = [lane for _, lane, _, _ in LANES if any(v["lane"] == lane for v in values)]
    plain = {"scale": None, "type": "nominal", "legend": None}
    one_day = {"format": "%Y-%m-%d"} if len({v["day"] for v in values}) == 1 else {}
    x = {
        "field": "day",
        "type": "temporal",
        "title": None,
        "scale": {"padding": 40},
        "axis": {"grid": True, "tickCount": 5, "labelOverlap": True} | one_day,
    }
    y = {"field": "lane", "type": "nominal", "title": None, "sort": there, "axis": {"labelPadding": 8}}
    words = {"field": "said", "type": "nominal"}
    layers: list[dict[str, Any]] = [
        {
            "mark": {"type": "point", "filled": True, "size": 190, "opacity": 1},
            "encoding": {
                "x": x,
                "y": y,
                "color": {"field": "color", **plain},
                "shape": {"field": "shape", **plain},
                "description": words,
            },
        },
        {
            "mark": {"type": "text", "dx": 20, "color": INK, "fontSize": 12 if width < 600 else 14},
            "encoding": {"x": x, "y": y, "text": {"field": "n", "type": "nominal"}, "description": words},
        },
    ]
    if width < 600:
        layers = layers[:1]  # days lie too close there for their numbers
    made = framed(layers, values, title=title, width=width)
    made["height"] = 80 + 44 * max(1, len(there))
    return made
