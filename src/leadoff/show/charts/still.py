"""A chart as a still for film: PNG of exactly 1920 x 1080, ink on paper."""

from __future__ import annotations

import json
from typing import Any

from leadoff.show.charts.look import INK, PAPER
from leadoff.show.charts.render import VEGA_LITE, in_child

WIDTH, HEIGHT = 1920, 1080


def still(spec: dict[str, Any], head: str) -> bytes:
    """The picture with large type and the head's fingerprint, which thereby leaves the house."""
    return in_child(_draw, json.dumps(large(spec, head), sort_keys=True))


def svg_still(text: str) -> bytes:
    """A picture that is drawn as SVG of 1920 x 1080 already, as PNG."""
    return in_child(_draw_svg, text)


def large(spec: dict[str, Any], head: str) -> dict[str, Any]:
    """The same chart for a film frame."""
    config = {**spec["config"], "axis": {**spec["config"]["axis"], "labelFontSize": 26, "titleFontSize": 26}}
    under = (
        {"subtitle": f"head of the book {head}", "subtitleFontSize": 22, "subtitleColor": INK} if head else {}
    )
    title = {**spec["title"], "fontSize": 42, **under}
    size = {"width": WIDTH, "height": HEIGHT, "background": PAPER, "padding": 40}
    return {
        **spec,
        **size,
        "layer": [_grown(layer) for layer in spec["layer"]],
        "title": title,
        "config": config,
    }


GROWN = {
    "fontSize": 2.0,
    "dy": 2.0,
    "dx": 2.0,
    "strokeWidth": 1.8,
    "size": 4.0,
    "height": 2.2,
    "cornerRadius": 2.0,
}
"""How much larger each measure of a mark is on film than on a page."""


def _grown(layer: dict[str, Any]) -> dict[str, Any]:
    """A layer whose marks keep their proportion to the type."""
    mark = layer["mark"]
    if not isinstance(mark, dict):
        return layer
    larger = {k: v * GROWN[k] if k in GROWN and isinstance(v, int | float) else v for k, v in mark.items()}
    return {**layer, "mark": larger}


def _draw(text: str) -> bytes:
    import vl_convert

    made: bytes = vl_convert.vegalite_to_png(text, vl_version=VEGA_LITE, allowed_base_urls=[])
    return made


def _draw_svg(text: str) -> bytes:
    import vl_convert

    made: bytes = vl_convert.svg_to_png(text, scale=1.0, ppi=72)
    return made
