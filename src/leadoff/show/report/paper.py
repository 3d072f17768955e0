"""The report on paper: a tagged PDF with titles, language and words for every picture."""

from __future__ import annotations

from importlib.resources import files

import msgspec

from leadoff.record.public import PublicBoard
from leadoff.show.plates.surface import WIDE
from leadoff.show.report.page import fitted
from leadoff.show.report.plates import Plates
from leadoff.show.report.typesetting import pdf
from leadoff.show.report.view import view

LATEST = 40
"""Runs printed; the public file has them all."""


def paper(public: PublicBoard, plates: Plates, *, data_file: str, data_digest: str) -> bytes:
    """The PDF's bytes."""
    said = view(public)
    said["runs"] = said["runs"][:LATEST]
    parts: dict[str, bytes] = {}
    figures = []
    for name in plates.names():
        file = f"{name}.svg"
        parts[file] = plates.draw(name, fitted(plates, name, WIDE)).encode()
        figures.append({"label": plates.title(name), "file": file, "alt": spoken(plates, name)})
    said |= {"figures": figures, "data_file": data_file, "data_digest": data_digest}
    parts["view.json"] = msgspec.json.encode(said)
    parts["main.typ"] = files("leadoff.show").joinpath("templates", "report.typ").read_bytes()
    return pdf(parts, public.made_at)


def spoken(plates: Plates, name: str) -> str:
    """A picture in words: its title and what its marks say, as long as that stays short."""
    import re
    from html import unescape

    said = re.findall(r'graphics-symbol" aria-label="([^"]*)"', plates.draw(name, WIDE))
    more = f" and {len(said) - 8} more" if len(said) > 8 else ""
    return unescape(f"{plates.title(name)}. {'; '.join(said[-8:])}{more}")
