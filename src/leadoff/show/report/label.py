"""A label for the bag of a board: what it is, what is open, and a square code that says the same to a phone."""

from __future__ import annotations

import io
from xml.sax.saxutils import escape, quoteattr

from leadoff.record.public import PublicBoard
from leadoff.show.charts.look import FONT
from leadoff.show.report.view import score

WIDTH_MM, HEIGHT_MM = 70, 37


def words(public: PublicBoard) -> str:
    """What the square code holds: plain words, readable without leadoff and without a network."""
    s = score(public)
    best = "no score" if s is None else f"{s['workload']} {s['value']} {s['unit']}"
    limits = f"{len(public.limits)} limits"
    return " | ".join((public.board.id, public.board.board_class, best, limits, f"head {public.head}"))


def label(public: PublicBoard) -> str:
    """SVG text of 70 x 37 mm, black on white. The code keeps its quiet zone of 4 modules."""
    import segno

    code = segno.make(words(public), error="m")
    out = io.BytesIO()
    code.save(out, kind="svg", border=4, xmldecl=False, svgns=True, omitsize=True)
    square = out.getvalue().decode().replace("<svg ", '<svg x="38" y="2.5" width="32" height="32" ', 1)
    s = score(public)
    best = "no score yet" if s is None else f"{s['workload']} {s['value']} {s['unit']}"
    name = public.board.id
    size = min(6.2, 38 / (0.58 * max(1, len(name))))
    rows = [
        best,
        f"{len(public.limits)} limits, {len(public.symptoms)} open",
        f"made {public.made_at[:10]}",
        public.head[:19],
        public.head[20:],
    ]
    text = f'<text x="3" y="9.5" font-size="{size:.2f}" font-weight="700">{escape(name)}</text>'
    text += f'<text x="3" y="14" font-size="3">{escape(public.board.board_class)}</text>'
    for n, row in enumerate(rows):
        text += f'<text x="3" y="{19 + n * 3.8:.1f}" font-size="{2.9 if n < 3 else 2.3}">{escape(row)}</text>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM}mm" height="{HEIGHT_MM}mm" '
        f'viewBox="0 0 {WIDTH_MM} {HEIGHT_MM}" role="img" aria-label={quoteattr(words(public))} '
        f'font-family={quoteattr(FONT)}><rect width="{WIDTH_MM}" height="{HEIGHT_MM}" fill="#fff"/>'
        f"{text}{square}</svg>"
    )
