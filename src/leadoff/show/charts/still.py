"""A chart as a still for film: PNG of exactly 1920 x 1080, ink on paper."""

from __future__ import annotations

import json
from typing import Any

from leadoff.show.charts.render import VEGA_LITE, child

WIDTH, HEIGHT, PAPER = 1920, 1080, "#fbfaf6"


def still(spec: dict[str, Any]) -> bytes:
    """The picture with large type."""
    return child().submit(_draw, json.dumps(large(spec), sort_keys=True)).result()


def large(spec: dict[str, Any]) -> dict[str, Any]:
    """The same chart for a film frame."""
    config = {**spec["config"], "axis": {**spec["config"]["axis"], "labelFontSize": 26, "titleFontSize": 26}}
    title = {**spec["title"], "fontSize": 42}
    size = {"width": WIDTH, "height": HEIGHT, "background": PAPER, "padding": 40}
    return {**spec, **size, "title": title, "config": config}


def _draw(text: str) -> bytes:
    import vl_convert

    made: bytes = vl_convert.vegalite_to_png(text, vl_version=VEGA_LITE, allowed_base_urls=[])
    return made
