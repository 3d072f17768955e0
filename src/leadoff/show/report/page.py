"""The report as one self-contained HTML page: no script, no outside request, wide and phone forms."""

from __future__ import annotations

import msgspec

from leadoff.record.public import PublicBoard
from leadoff.show.plates import jumpers
from leadoff.show.plates.surface import NARROW, WIDE, Size
from leadoff.show.report.plates import Plates
from leadoff.show.report.view import view

LATEST = 24
"""Runs that stand open on the page; the older ones are folded away and counted."""


def page(public: PublicBoard, plates: Plates, *, data_file: str, data_digest: str) -> str:
    """The page's text. The same file gives the same bytes."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    env = Environment(
        loader=PackageLoader("leadoff.show", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    figures = [
        {
            "name": name,
            "label": plates.title(name),
            "wide": plates.draw(name, fitted(plates, name, WIDE)),
            "narrow": plates.draw(name, fitted(plates, name, NARROW)),
        }
        for name in plates.names()
    ]
    said = view(public)
    runs = said["runs"]
    made: str = env.get_template("report.html.jinja").render(
        v=said,
        figures=figures,
        latest=runs[:LATEST],
        older=runs[LATEST:],
        data_file=data_file,
        data_digest=data_digest,
    )
    return made


def fitted(plates: Plates, name: str, size: Size) -> Size:
    """A picture that has rows is as high as they need; one that has none keeps its shape."""
    rows = plates.rows(name, size)
    if name == "time":
        return msgspec.structs.replace(size, height=round(size.letter * (8 + 2.4 * rows)))
    if name == "jumpers":
        return msgspec.structs.replace(size, height=jumpers.height(len(plates.positions), size))
    if not rows:
        return size
    return msgspec.structs.replace(size, height=round(size.letter * (5.5 + 2.6 * rows)))
