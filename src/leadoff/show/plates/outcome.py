"""Sealed forecasts against what came of them: bands as bars in percent of the median, outcomes as diamonds."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.record.pictures import SealedBand
from leadoff.show.charts.look import VERDIGRIS
from leadoff.show.plates.axis import Scale, foot_axis, room, ticks
from leadoff.show.plates.surface import COPPER, FAINT, QUIET, Size, Surface, bar, diamond


def fitting(rows: Sequence[SealedBand], size: Size) -> list[SealedBand]:
    """The newest that have room, answered ones before open ones."""
    most = 12 if size.film else 9
    answered = [r for r in rows if r.outcome is not None][-most:]
    still_open = [r for r in rows if r.outcome is None]
    kept = {id(r) for r in [*answered, *still_open[-(most - len(answered)) or len(rows) :]][:most]}
    return [r for r in rows if id(r) in kept]


def outcome(rows: Sequence[SealedBand], size: Size, *, title: str, head: str = "") -> str:
    """SVG text; at least one row."""
    shown = fitting(rows, size)
    left_out = len(rows) - len(shown)
    on = Surface(size, title, head=head, under=f"the newest {len(shown)} of {len(rows)}" if left_out else "")
    s = size.letter
    name = min(max(len(r.label) for r in shown) * s * 0.56 + s, (on.right - on.left) * 0.3)
    x1, x2 = on.left + name, on.right - (6.5 * s)
    y1, y2 = on.top + 0.4 * s, on.bottom - 3.0 * s
    ends = [_pct(v, r) for r in shown for v in (*r.band90, r.outcome) if v is not None]
    lo, hi = room([*ends, 99.0, 101.0])
    across = Scale(lo=lo, hi=hi, a=x1, b=x2)
    foot_axis(
        on, across, y1, y2, "percent of the forecast's median", ticks(lo, hi, 6 if size.width > 600 else 4)
    )
    on.line(across(100.0), y1, across(100.0), y2, stroke=FAINT, width=s / 10)
    high = (y2 - y1) / len(shown)
    for n, r in enumerate(shown):
        y = y1 + (n + 0.5) * high
        thick = min(high * 0.5, 1.3 * s)
        said = f"{r.label}: forecast {r.median:.4g}, 9 of 10 {r.band90[0]:.4g} to {r.band90[1]:.4g} {r.unit}"
        said += f", measured {r.outcome:.4g}" if r.outcome is not None else ", not measured"
        shape = bar(across(_pct(r.band90[0], r)), across(_pct(r.band90[1], r)), y, thick, VERDIGRIS, 0.3)
        shape += bar(across(_pct(r.band50[0], r)), across(_pct(r.band50[1], r)), y, thick, VERDIGRIS, 0.75)
        if r.outcome is not None:
            shape += diamond(across(_pct(r.outcome, r)), y, thick * 0.55, COPPER)
        on.text(x1 - 0.6 * s, y + 0.35 * s, r.label, anchor="end", most=name - s)
        on.mark(said, shape)
        came = f"{r.outcome:.4g}" if r.outcome is not None else "open"
        on.text(x2 + 0.6 * s, y + 0.35 * s, came, fill=COPPER if r.outcome is not None else QUIET, weight=700)
    return on.svg()


def _pct(value: float, row: SealedBand) -> float:
    return 100.0 * value / row.median
