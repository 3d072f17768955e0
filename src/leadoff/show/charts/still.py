"""A chart as a still for film: PNG of exactly 1920 x 1080, ink on paper."""

from __future__ import annotations

import json
from typing import Any

from leadoff.show.charts.look import INK
from leadoff.show.charts.render import VEGA_LITE, child

WIDTH, HEIGHT, PAPER = 1920, 1080, "#fbfaf6"


def still(spec: dict[str, Any], head: str) -> bytes:
    """The picture with large type and the head's fingerprint, which thereby leaves the house."""
    return child().submit(_draw, json.dumps(large(spec, head), sort_keys=True)).result()


def large(spec: dict[str, Any], head: str) -> dict[str, Any]:
    """The same chart for a film frame."""
    config = {**spec["config"], "axis": {**spec["config"]["axis"], "labelFontSize": 26, "titleFontSize": 26}}
    under = (
        {"subtitle": f"head of the book {head}", "subtitleFontSize": 22, "subtitleColor": INK} if head else {}
    )
    title = {**spec["title"], "fontSize": 42, **under}
    size = {"width": WIDTH, "height": HEIGHT, "background": PAPER, "padding": 40}
    return {**spec, **size, "title": title, "config": config}


def _draw(text: str) -> bytes:
    import vl_convert

    made: bytes = vl_convert.vegalite_to_png(text, vl_version=VEGA_LITE, allowed_base_urls=[])
    return made
