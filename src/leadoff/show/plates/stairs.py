"""A bandwidth sweep as a staircase: measured points, fitted steps, a dashed knee where one ends."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.record.public import SweepLevel, SweepPoint
from leadoff.show.charts.look import VERDIGRIS
from leadoff.show.plates.axis import Scale, foot_axis, left_axis, room
from leadoff.show.plates.surface import COPPER, INK, Size, Surface, dot


def stairs(
    points: Sequence[SweepPoint], levels: Sequence[SweepLevel], size: Size, *, title: str, head: str = ""
) -> str:
    """SVG text. Sizes in KB of 1024 bytes on a log axis, microseconds for each KB upwards."""
    on = Surface(size, title, head=head)
    s = size.letter
    x1, x2 = on.left + 4.0 * s, on.right - 1.0 * s
    y1, y2 = on.top + 2.4 * s, on.bottom - 3.0 * s
    sizes = [p.size_kb for p in points]
    lo, hi = room([p.us_per_kb for p in points], part=0.12, zero=True)
    start, end = min(sizes) * 0.8, max(sizes) * 1.25
    across = Scale(lo=start, hi=end, a=x1, b=x2, log=True)
    up = Scale(lo=lo, hi=hi, a=y2, b=y1)
    left_axis(on, up, x1, x2, "microseconds a KB")
    foot_axis(
        on, across, y1, y2, "block size, KB", _doublings(start, end, 9 if size.width > 600 else 5), grid=False
    )
    at = start
    for n, level in enumerate(levels, start=1):
        if level.us_per_kb is None:
            continue
        last = n == len(levels)
        to = end if last or level.size_kb is None else min(level.size_kb, end)
        y = up(level.us_per_kb)
        rate = f", {level.mb_per_s:.3g} MB/s" if level.mb_per_s else ""
        said = f"level {n}: {level.us_per_kb:.4g} microseconds a KB{rate}" + (
            "" if last else f", up to {to:g} KB"
        )
        on.mark(
            said,
            f'<line x1="{across(at):.1f}" y1="{y:.1f}" x2="{across(to):.1f}" y2="{y:.1f}" stroke="{VERDIGRIS}" '
            f'stroke-width="{s / 2.4:.1f}" stroke-linecap="round" stroke-opacity=".55"/>',
        )
        label = f"{level.us_per_kb:.3g}" + (f" · {level.mb_per_s:.3g} MB/s" if level.mb_per_s else "")
        middle = (across(at) + across(to)) / 2
        on.text(
            middle,
            y - 0.7 * s,
            label,
            fill=VERDIGRIS,
            weight=700,
            anchor="middle",
            most=max(4 * s, across(to) - across(at) + 3 * s),
        )
        if not last:
            on.line(
                across(to), y1, across(to), y2, stroke=COPPER, width=s / 12, dash=f"{s / 2:.0f} {s / 3:.0f}"
            )
            on.text(across(to) + 0.3 * s, y1 + 0.4 * s, f"{to:g} KB", fill=COPPER, letter=0.9)
        at = to
    for p in points:
        on.mark(
            f"{p.size_kb:g} KB: {p.us_per_kb:.4g} microseconds a KB",
            dot(across(p.size_kb), up(p.us_per_kb), s / 4, INK),
        )
    return on.svg()


def _doublings(lo: float, hi: float, most: int) -> list[float]:
    """Powers of two in a range, every second or fourth one where there are too many."""
    found = [2.0**n for n in range(-2, 24) if lo <= 2.0**n <= hi]
    while len(found) > most:
        found = found[::2]
    return found
