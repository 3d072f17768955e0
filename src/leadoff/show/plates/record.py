"""The record of one workload on one board over its runs: a step line, the runs as dots, failures as crosses."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.record.pictures import RunPoint
from leadoff.show.charts.look import VERDIGRIS
from leadoff.show.plates.axis import Scale, foot_axis, left_axis, room, ticks
from leadoff.show.plates.surface import COPPER, INK, Size, Surface, cross, dot


def record(points: Sequence[RunPoint], size: Size, *, title: str, unit: str, head: str = "") -> str:
    """SVG text. ``points`` in order; at least one has a score."""
    on = Surface(size, title, head=head)
    s = size.letter
    scores = [p.score for p in points if p.score is not None]
    lo, hi = room(scores, part=0.14)
    x1, x2 = on.left + 4.2 * s, on.right - 4.6 * s
    y1, y2 = on.top + 2.4 * s, on.bottom - 3.0 * s
    across = Scale(lo=0.5, hi=max(1.5, points[-1].order + 0.5), a=x1, b=x2)
    up = Scale(lo=lo, hi=hi, a=y2, b=y1)
    left_axis(on, up, x1, x2, unit)
    marks = sorted({max(1, round(t)) for t in ticks(1, max(2, points[-1].order), 8)})
    foot_axis(on, across, y1, y2, "runs in order", marks, grid=False)
    steps: list[tuple[float, float]] = []
    last: float | None = None
    for p in points:
        if p.record is None:
            continue
        x = across(p.order)
        if last is not None:
            steps.append((x, up(last)))
        if last != p.record:
            steps.append((x, up(p.record)))
        last = p.record
    if last is not None:
        steps.append((x2, up(last)))
        on.path(steps, width=s / 6)
    r = max(2.0, min(s / 3.2, (x2 - x1) / len(points) * 0.42))
    for p in points:
        if p.score is None:
            said = f"run {p.number}: {p.outcome.replace('_', ' ')}"
            on.mark(said, cross(across(p.order), y2 - 0.5 * s, r, INK))
        else:
            on.mark(f"run {p.number}: {p.score:.4g} {unit}", dot(across(p.order), up(p.score), r, VERDIGRIS))
    if last is not None:
        on.text(x2 + 0.5 * s, up(last) + 0.35 * s, f"{last:.4g}", letter=1.25, fill=COPPER, weight=700)
    return on.svg()
