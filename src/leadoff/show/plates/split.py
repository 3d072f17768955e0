"""Where the time of one unit of work goes: one bar cut by shares, each with its name, its band and its time."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.record.public import TimeShare
from leadoff.show.charts.look import COPPER, STRAW, VERDIGRIS
from leadoff.show.plates.surface import FAINT, INK, QUIET, WIDE_LETTER, Size, Surface

COLORS = {
    "core": COPPER,
    "cache": VERDIGRIS,
    "memory": "#4b6b8a",
    "store": "#7a5c86",
    "victims": STRAW,
    "video": "#8fb3ab",
    "refresh": FAINT,
    "resident": INK,
}
NAMES = {
    "core": "core",
    "cache": "second-level cache",
    "memory": "memory reads",
    "store": "stores",
    "victims": "lines written back",
    "video": "display",
    "refresh": "refresh",
    "resident": "resident programs",
}
"""Short enough for a phone's column beside the figures."""
LEAST = 0.005
"""Parts below half a percent are left out."""


def drawn(shares: Sequence[TimeShare]) -> list[TimeShare]:
    """The parts that are drawn, the largest first."""
    return sorted((t for t in shares if t.share >= LEAST), key=lambda t: -t.share)


def split(shares: Sequence[TimeShare], size: Size, *, title: str, head: str = "") -> str:
    """SVG text. Columns are set from the right, so that the longest name ends before the percent."""
    order = drawn(shares)
    under = "by the score model fitted to the runs: computed, not measured"
    on = Surface(size, title, head=head, under=under)
    s = size.letter
    y1, x, wide = on.top + 0.6 * s, on.left, on.right - on.left
    thick = min((7.0 if size.film else 4.2) * s, (on.bottom - on.top) * 0.28)
    for t in order:
        w = wide * t.share
        box = f'x="{x:.1f}" y="{y1:.1f}" width="{max(1.0, w - 2):.1f}" height="{thick:.1f}"'
        on.mark(said(t), f'<rect {box} fill="{_color(t)}"/>')
        x += w
    name = on.left + 1.8 * s
    longest = max((len(_name(t)) for t in order), default=0) * s * WIDE_LETTER * 1.1
    timed = any(t.ms is not None for t in order) and size.width >= 600
    pct = min(name + longest + 5.5 * s, on.right - (15.5 if timed else 11.5) * s)
    y = y1 + thick + 2.2 * s
    high = min((3.2 if size.film else 2.4) * s, (on.bottom - y + 0.6 * s) / max(1, len(order)))
    for n, t in enumerate(order):
        at = y + n * high
        box = f'x="{on.left:.1f}" y="{at - 0.8 * s:.1f}" width="{s:.1f}" height="{s:.1f}"'
        on.parts.append(f'<rect {box} fill="{_color(t)}"/>')
        on.text(name, at, _name(t), weight=700, most=pct - 4.0 * s - name)
        on.text(pct, at, f"{100 * t.share:.0f} %", anchor="end", weight=700)
        on.text(pct + 1.2 * s, at, band(t), fill=QUIET)
        if timed and t.ms is not None:
            on.text(pct + 14.5 * s, at, f"{t.ms:.3g} ms", anchor="end", fill=QUIET)
    return on.svg()


def said(t: TimeShare) -> str:
    """One part as a sentence."""
    more = f", 9 of 10 {band(t)}" if t.lo is not None else ""
    return f"{_name(t)}: {100 * t.share:.0f} % of the time{more}"


def band(t: TimeShare) -> str:
    """The 90 % band in percent; empty without one."""
    return "" if t.lo is None or t.hi is None else f"{100 * t.lo:.0f} to {100 * t.hi:.0f} %"


def _name(t: TimeShare) -> str:
    return NAMES.get(t.name, t.name)


def _color(t: TimeShare) -> str:
    return COLORS.get(t.name, FAINT)
