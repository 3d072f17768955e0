"""Jumpers as they stand and as they will: pins drawn as posts, a cap where a position joins them.

Positions such as ``1-2 2-3`` name the pins that are joined, one word for each block; ``closed`` joins a block's
two. Where the board file gives no coordinates the blocks stand in the order of the sheet, which the picture says.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from leadoff.show.charts.look import COPPER, FAINT, FONT, INK, PAPER, VERDIGRIS

PIN, ROW, BLOCK, TALL, TOP = 34, 96, 150, 320, 60
STILL_WIDTH = 520
"""Drawn narrow and then enlarged, so that the type is large on film."""
_CAP = re.compile(r"^(\d+)-(\d+)$")


def jumper_plan(jumpers: Sequence[Mapping[str, Any]], *, title: str, width: int = 920) -> str:
    """SVG text. What moves is copper and its old place dashed; what stays is verdigris."""
    placed = all(j["at_mm"] is not None for j in jumpers)
    across = max(1, width // BLOCK // 2)
    rows: list[str] = []
    top = TOP if placed else TOP + 20  # a line more of words
    height = top
    at = _places(jumpers, width) if placed else None
    for n, j in enumerate(jumpers):
        x, y = at[n] if at else (20 + (n % across) * (width - 20) / across, top + (n // across) * ROW)
        rows.append(_block(j, x, y))
        height = max(height, int(y + ROW))
    order = "" if placed else "in the order of the sheet, not of the board"
    said = f"{title}, {order}" if order else title
    below = f'<text x="20" y="48" font-size="13" fill="{INK}">{order}</text>' if order else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="group" '
        f"aria-label={quoteattr(said)} font-family={quoteattr(FONT)}>"
        f'<text x="20" y="28" font-size="17" fill="{INK}">{escape(title)}</text>{below}{"".join(rows)}</svg>'
    )


def jumper_still(jumpers: Sequence[Mapping[str, Any]], *, title: str, head: str) -> str:
    """The same as a film frame of 1920 x 1080: as large as it fits, ink on paper, the book's head below."""
    inner = jumper_plan(jumpers, title=title, width=STILL_WIDTH)
    found = re.search(r'viewBox="0 0 (\d+) (\d+)"', inner)
    assert found is not None
    wide, high = int(found[1]), int(found[2])
    scale = min(1840 / wide, 940 / high)
    body = inner[inner.index(">") + 1 : inner.rindex("</svg>")]
    foot = f"head of the book {head}" if head else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="1920" height="1080" viewBox="0 0 1920 1080" '
        f'font-family={quoteattr(FONT)}><rect width="1920" height="1080" fill="{PAPER}"/>'
        f'<g transform="translate(40 40) scale({scale:.4f})">{body}</g>'
        f'<text x="60" y="1050" font-size="22" fill="{INK}">{escape(foot)}</text></svg>'
    )


def _places(jumpers: Sequence[Mapping[str, Any]], width: int) -> list[tuple[float, float]]:
    """The board's millimetres, moved and drawn as large as they fit."""
    xs, ys = [j["at_mm"][0] for j in jumpers], [j["at_mm"][1] for j in jumpers]
    scale = min((width - BLOCK - 20) / max(1.0, max(xs) - min(xs)), TALL / max(1.0, max(ys) - min(ys)), 4.0)
    return [(20 + (x - min(xs)) * scale, TOP + (y - min(ys)) * scale) for x, y in zip(xs, ys, strict=True)]


def _block(j: Mapping[str, Any], x: float, y: float) -> str:
    now, after = j["now"], j["after"]
    moves = after is not None and after != now
    said = (
        f"{j['id']}: {now or 'not known'}"
        + (f", to {after}" if moves else "")
        + (", leave it" if j["leave"] else "")
    )
    groups = max(len(str(p).split()) for p in j["positions"]) if j["positions"] else 1
    pins = max([2, *(int(d) for p in j["positions"] for w in str(p).split() for d in re.findall(r"\d+", w))])
    parts = [
        f'<text x="{x:.0f}" y="{y:.0f}" font-size="15" font-weight="700" fill="{COPPER if moves else INK}">'
        f"{escape(str(j['id']))}</text>"
    ]
    for g in range(groups):
        gx = x + g * (pins * PIN * 0.62 + 16)
        for p in range(pins):
            parts.append(
                f'<circle cx="{gx + 10 + p * PIN * 0.62:.1f}" cy="{y + 24:.0f}" r="5" fill="{FAINT}"/>'
            )
        if moves:
            parts.append(_cap(now, g, gx, y, FAINT, dashed=True))
        parts.append(_cap(after or now, g, gx, y, COPPER if moves else VERDIGRIS, dashed=False))
    words = f"{now or '?'}" + (f" to {after}" if moves else "")
    parts.append(f'<text x="{x:.0f}" y="{y + 54:.0f}" font-size="13" fill="{INK}">{escape(words)}</text>')
    head = f'<g role="graphics-symbol" aria-roledescription="jumper" aria-label={quoteattr(said)}>'
    return f"{head}{''.join(parts)}</g>"


def _cap(position: str | None, g: int, x: float, y: float, color: str, *, dashed: bool) -> str:
    words = (position or "").split()
    word = {"closed": "1-2"}.get(words[g], words[g]) if g < len(words) else ""
    found = _CAP.match(word)
    if found is None:
        return ""
    a, b = int(found[1]) - 1, int(found[2]) - 1
    left = x + 10 + min(a, b) * PIN * 0.62 - 9
    wide = abs(b - a) * PIN * 0.62 + 18
    style = 'fill="none" stroke-dasharray="4 3"' if dashed else 'fill-opacity=".25"'
    fill = "" if dashed else f'fill="{color}" '
    return (
        f'<rect x="{left:.1f}" y="{y + 13:.0f}" width="{wide:.1f}" height="22" rx="4" stroke="{color}" '
        f'stroke-width="2.5" {fill}{style}/>'
    )
