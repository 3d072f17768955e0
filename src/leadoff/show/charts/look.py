"""One look for all pictures: ink on paper, copper and verdigris, shapes as well as colours."""

from __future__ import annotations

from typing import Any

INK = "#22303a"
FAINT = "#9aa7ad"
COPPER = "#a8501f"
VERDIGRIS = "#23766e"
STRAW = "#c49a2a"
PAPER = "#fbfaf6"
FONT = "Liberation Sans, Arial, Helvetica, sans-serif"


def framed(
    layers: list[dict[str, Any]], values: list[dict[str, Any]], *, title: str, width: int
) -> dict[str, Any]:
    """A layered spec of exactly ``width`` pixels with the house's axes. ``values`` stand inline."""
    small = width < 600
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v5.json",
        "title": {"text": title, "anchor": "start", "color": INK, "fontSize": 15 if small else 20},
        "width": width,
        "height": round(width * (0.75 if small else 0.42)),
        "autosize": {"type": "fit", "contains": "padding"},
        "background": "transparent",
        "data": {"values": values},
        "layer": layers,
        "config": {
            "font": FONT,
            "view": {"stroke": None},
            "axis": {
                "labelColor": INK,
                "titleColor": INK,
                "gridColor": "#d9dedf",
                "domainColor": FAINT,
                "tickColor": FAINT,
                "labelFontSize": 11 if small else 13,
                "titleFontSize": 11 if small else 13,
                "titleFontWeight": "normal",
            },
            "axisXQuantitative": {"tickCount": 5 if small else 9},  # more run into one another
        },
    }
