"""The standings of one workload: each board's best as a dot with its 95 % interval, ties to be seen as such."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.record.public import Rank
from leadoff.show.charts.look import VERDIGRIS
from leadoff.show.plates.axis import Scale, foot_axis, room, ticks
from leadoff.show.plates.surface import COPPER, QUIET, Size, Surface, bar, diamond, dot

MOST = 14


def ranks(rows: Sequence[Rank], size: Size, *, title: str, unit: str, mine: str, head: str = "") -> str:
    """SVG text, best first; ``mine`` is the board that the report is about."""
    shown = list(rows[:MOST])
    if all(r.board != mine for r in shown):
        shown = [*shown[: MOST - 1], *(r for r in rows if r.board == mine)]
    under = f"the first {len(shown)} of {len(rows)}" if len(shown) < len(rows) else ""
    on = Surface(size, title, head=head, under=under)
    s = size.letter
    name = min(max(len(r.board) for r in shown) * s * 0.56 + 4.0 * s, (on.right - on.left) * 0.38)
    x1, x2 = on.left + name, on.right - 5.0 * s
    y1, y2 = on.top + 0.4 * s, on.bottom - 3.0 * s
    ends = [v for r in shown for v in (r.score.lo, r.score.hi, r.score.value) if v is not None]
    lo, hi = room(ends)
    across = Scale(lo=lo, hi=hi, a=x1, b=x2)
    foot_axis(on, across, y1, y2, unit, ticks(lo, hi, 6 if size.width > 600 else 4))
    high = min((y2 - y1) / len(shown), 4.2 * s)
    for n, r in enumerate(shown):
        y = y1 + (n + 0.5) * high
        value = r.score.value or 0.0
        low, top = r.score.lo or value, r.score.hi or value
        me = r.board == mine
        color = COPPER if me else VERDIGRIS
        rank = f"{r.rank_lo}" if r.rank_lo == r.rank_hi else f"{r.rank_lo}-{r.rank_hi}"
        said = f"{r.board}: {value:.4g} {unit}, 95 % interval {low:.4g} to {top:.4g}, rank {rank}"
        radius = min(high * 0.26, 0.62 * s)
        shape = bar(across(low), across(top), y, radius * 0.9, color, 0.35)
        shape += (diamond if me else dot)(across(value), y, radius * (1.2 if me else 1.0), color)
        on.text(on.left, y + 0.35 * s, rank, fill=QUIET)
        on.text(
            x1 - 0.6 * s, y + 0.35 * s, r.board, anchor="end", weight=700 if me else 400, most=name - 3.6 * s
        )
        on.mark(said, shape)
        on.text(x2 + 0.6 * s, y + 0.35 * s, f"{value:.4g}", fill=color, weight=700)
    return on.svg()
