"""Where the time of one unit of work goes: one bar cut by shares, each with its name."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.record.public import TimeShare
from leadoff.show.charts.look import COPPER, STRAW, VERDIGRIS
from leadoff.show.plates.surface import FAINT, INK, QUIET, Size, Surface

COLORS = (VERDIGRIS, COPPER, STRAW, "#4b6b8a", "#7a5c86", FAINT, INK)


def split(shares: Sequence[TimeShare], size: Size, *, title: str, head: str = "") -> str:
    """SVG text. Shares add up to one; the largest first."""
    order = sorted(shares, key=lambda t: -t.share)
    on = Surface(
        size, title, head=head, under="by the score model fitted to the runs: computed, not measured"
    )
    s = size.letter
    y1 = on.top + 0.6 * s
    thick = min(4.2 * s, (on.bottom - on.top) * 0.28)
    x = on.left
    wide = on.right - on.left
    for n, t in enumerate(order):
        w = wide * t.share
        said = f"{t.name}: {100 * t.share:.0f} % of the time"
        shape = (
            f'<rect x="{x:.1f}" y="{y1:.1f}" width="{max(1.0, w - 2):.1f}" height="{thick:.1f}" '
            f'fill="{COLORS[n % len(COLORS)]}"/>'
        )
        on.mark(said, shape)
        x += w
    y = y1 + thick + 2.2 * s
    high = min(2.4 * s, (on.bottom - y) / max(1, len(order)))
    for n, t in enumerate(order):
        color = COLORS[n % len(COLORS)]
        at = y + n * high
        box = f'x="{on.left:.1f}" y="{at - 0.8 * s:.1f}" width="{s:.1f}" height="{s:.1f}"'
        on.parts.append(f'<rect {box} fill="{color}"/>')
        on.text(on.left + 1.8 * s, at, f"{t.name}", weight=700)
        time = f"{t.ms:.3g} ms" if t.ms is not None else ""
        on.text(on.left + 14 * s, at, f"{100 * t.share:.0f} %", anchor="end")
        on.text(on.left + 15.5 * s, at, time, fill=QUIET)
    return on.svg()
