"""Values for the pictures of a public file, from the file alone: anybody who has it can draw them again."""

from __future__ import annotations

from typing import Any

import msgspec

from leadoff.forecast.record_line import record_points
from leadoff.record.pictures import RunPoint, SealedBand
from leadoff.record.public import PublicBoard, PublicRun
from leadoff.record.runs import Run


class Pictures(msgspec.Struct, frozen=True, kw_only=True):
    """What can be drawn; empty where there is nothing to draw."""

    points: tuple[RunPoint, ...]
    bands: tuple[SealedBand, ...]
    jumpers: tuple[dict[str, Any], ...]


def pictures_of_public(public: PublicBoard) -> Pictures:
    """Points, bands and jumpers."""
    return Pictures(points=_points(public), bands=_bands(public), jumpers=_jumpers(public))


def run_of(run: PublicRun, board: str) -> Run:
    """A published run as a run of the house."""
    return Run(
        number=run.number,
        board=board,
        workload=run.workload,
        outcome=run.outcome,
        unit=run.unit,
        readings=run.readings,
        place=run.place,
        after_s=run.after_s,
        count=run.count,
        of=run.of,
        rig=run.rig,
        flags=run.flags,
    )


def _points(public: PublicBoard) -> tuple[RunPoint, ...]:
    if public.shown is None:
        return ()
    workload = next(w for w in public.workloads if w.name == public.shown.workload)
    return record_points((run_of(r, public.board.id) for r in public.runs), workload)


def _bands(public: PublicBoard) -> tuple[SealedBand, ...]:
    out = []
    for f in public.forecasts:
        came = {a.workload: a.score for a in f.answers}
        for e in f.expected:
            if e.median is None or e.band50 is None or e.band90 is None:
                continue
            if f.answers and e.workload not in came:
                continue
            out.append(
                SealedBand(
                    label=f"{f.number} {e.workload}",
                    median=e.median,
                    band50=e.band50,
                    band90=e.band90,
                    outcome=came.get(e.workload),
                    unit=e.unit,
                )
            )
    return tuple(out)


def _jumpers(public: PublicBoard) -> tuple[dict[str, Any], ...]:
    at = public.states[public.shown.state if public.shown is not None else public.state_now]
    return tuple(
        {
            "id": j.id,
            "positions": j.positions,
            "now": at[j.id].value if j.id in at else None,
            "after": at[j.id].value if j.id in at else None,
            "at_mm": j.at_mm,
            "leave": j.leave,
        }
        for j in public.board.jumpers
    )
