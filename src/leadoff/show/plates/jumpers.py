"""The jumpers as they stand for a score: blocks of pins, a cap where a position joins two of them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from leadoff.show.charts.look import VERDIGRIS
from leadoff.show.plates.surface import FAINT, INK, QUIET, Size, Surface

_PINS = re.compile(r"^(\d+)-(\d+)$")
BLOCK, TALL = 15.0, 5.8
"""Room for one block of pins with its words, across and down, in letters."""
GROWN = (3.0, 2.5, 2.0, 1.5, 1.25, 1.0, 0.85, 0.7, 0.6, 0.5)
"""A film frame is filled: the largest of these at which all blocks fit."""


def height(count: int, size: Size) -> int:
    """Pixels that so many jumpers need at this width."""
    on = Surface(size, "")
    across = max(1, int((on.right - on.left) / (BLOCK * size.letter)))
    return round(size.letter * (2 + TALL * -(-count // across)))


def jumpers(rows: Sequence[Mapping[str, Any]], size: Size, *, title: str, head: str = "") -> str:
    """SVG text, in the order of the sheet. A position that no pins name is written and not drawn."""
    on = Surface(size, title, head=head, under="in the order of the sheet, not of the board")
    for grow in GROWN if size.film else (1.0,):
        s = size.letter * grow
        across = max(1, int((on.right - on.left) / (BLOCK * s)))
        down = -(-len(rows) // across)
        if down * TALL * s <= on.bottom - on.top:
            break
    wide = (on.right - on.left) / across
    high = min((on.bottom - on.top) / down, 1.6 * TALL * s)
    for n, row in enumerate(rows):
        x, y = on.left + (n % across) * wide, on.top + (n // across) * high + 1.2 * s
        _block(on, row, x, y, min(s, high / 5.4))
    return on.svg()


def _block(on: Surface, row: Mapping[str, Any], x: float, y: float, s: float) -> None:
    now = row["now"]
    words = str(now) if now is not None else "not known"
    said = f"{row['id']}: {words}" + (", leave it as found" if row["leave"] else "")
    scale = s / on.size.letter
    on.text(x, y, str(row["id"]), weight=700, letter=scale)
    groups = max((len(str(p).split()) for p in row["positions"]), default=1)
    pins = max([2, *(int(d) for p in row["positions"] for d in re.findall(r"\d+", str(p)))])
    pins = min(pins, 6)
    pitch = 1.35 * s
    shape, wanted = "", (str(now).split() if now is not None else [])
    for g in range(groups):
        gx, gy = x + 0.7 * s + g * (pins * pitch + 0.8 * s), y + 1.6 * s
        shape += (
            f'<rect x="{gx - 0.7 * s:.1f}" y="{gy - 0.8 * s:.1f}" width="{(pins - 1) * pitch + 1.4 * s:.1f}" '
            f'height="{1.6 * s:.1f}" rx="{0.3 * s:.1f}" fill="none" stroke="{FAINT}" stroke-width="1.5"/>'
        )
        shape += _cap(wanted[g] if g < len(wanted) else "", gx, gy, pitch, s)
        for p in range(pins):
            shape += f'<circle cx="{gx + p * pitch:.1f}" cy="{gy:.1f}" r="{0.32 * s:.1f}" fill="{INK}"/>'
    on.mark(said, shape)
    on.text(x, y + 3.7 * s, words, fill=QUIET if now is None else INK, letter=scale * 0.95)


def _cap(word: str, x: float, y: float, pitch: float, s: float) -> str:
    found = _PINS.match(word)
    if found is not None:
        a, b = int(found[1]) - 1, int(found[2]) - 1
    elif word == "closed":
        a, b = 0, 1
    else:
        return ""
    left, right = x + min(a, b) * pitch - 0.52 * s, x + max(a, b) * pitch + 0.52 * s
    return (
        f'<rect x="{left:.1f}" y="{y - 0.58 * s:.1f}" width="{right - left:.1f}" height="{1.16 * s:.1f}" '
        f'rx="{0.25 * s:.1f}" fill="{VERDIGRIS}" fill-opacity=".45" stroke="{VERDIGRIS}" stroke-width="2"/>'
    )
