"""Planted mistakes: what people do to a ten-year book, put into a generated one and remembered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction

from leadoff.record.entries import Body, RunBody
from leadoff.record.moves import Change
from leadoff.record.runs import Reading, Run
from leadoff.validation.keyed import generator
from leadoff.validation.telling import Logged, stamp

KINDS = ("duplicate", "clock", "unit")
FRAMES = 2134.0  # invented length of the timed flight, for seconds typed where a rate belongs


@dataclass(frozen=True)
class Planted:
    """One planted mistake: its kind, the number of the run that is wrong, and the run it came from."""

    kind: str
    number: str
    original: str


def plant(
    events: Sequence[tuple[str, Body]], log: Sequence[Logged], seed: int, kinds: Sequence[str] = KINDS
) -> tuple[list[tuple[str, Body]], list[Planted]]:
    """The events with one mistake of every kind in ``kinds``, in order of time, and what was planted.

    ``duplicate``: a run entered twice, a minute later, under a new number. ``clock``: the run's own words
    name a measured core clock that is not bus x ratio. ``unit``: seconds entered where a rate belongs.
    """
    unknown = set(kinds) - set(KINDS)
    if unknown:
        raise ValueError(f"kinds {sorted(unknown)}: known are {', '.join(KINDS)}")
    out = list(events)
    rng = generator(seed, "plant", len(out))
    scored = [x for x in log if x.run.readings and x.wrong == ""]
    rates = [x for x in scored if x.run.unit == "frames/s"]
    used: set[str] = set()
    planted: list[Planted] = []
    number = max(int(x.number) for x in log)
    for kind in kinds:
        pool = [x for x in (rates if kind == "unit" else scored) if x.number not in used]
        if not pool:
            raise ValueError(f"no run left to plant {kind!r} on")
        x = pool[int(rng.integers(len(pool)))]
        used.add(x.number)
        i = next(k for k, (_, b) in enumerate(out) if isinstance(b, RunBody) and b.run.number == x.number)
        at, body = out[i]
        assert isinstance(body, RunBody)
        if kind == "duplicate":
            number += 1
            later = stamp(datetime.fromisoformat(at) + timedelta(minutes=1))
            twin = RunBody(run=_copy(body.run, str(number), body.run.readings), said=body.said)
            out.insert(_place(out, later), (later, twin))
            planted.append(Planted(kind, str(number), x.number))
        elif kind == "clock":
            core = str(Fraction(x.true["bus_mhz"]) * (Fraction(x.true["ratio"]) + Fraction(1, 2)))
            change = Change(name="core_mhz", before=None, after=core, said=f"core {core} meas", measured=True)
            out[i] = (at, RunBody(run=body.run, said=f"core {core} meas, {body.said}", unlike=(change,)))
            planted.append(Planted(kind, x.number, x.number))
        else:
            readings = tuple(_seconds(r) for r in body.run.readings)
            said = " ".join((x.workload, *(r.text for r in readings)))
            out[i] = (at, RunBody(run=_copy(body.run, x.number, readings), said=said))
            planted.append(Planted(kind, x.number, x.number))
    return out, planted


def _place(events: Sequence[tuple[str, Body]], at: str) -> int:
    return next((k for k, (t, _) in enumerate(events) if t > at), len(events))


def _seconds(reading: Reading) -> Reading:
    shown = round(FRAMES / reading.value, 1)
    return Reading(text=str(shown), value=shown, lo=shown - 0.05, hi=shown + 0.05)


def _copy(run: Run, number: str, readings: tuple[Reading, ...]) -> Run:
    return Run(
        number=number,
        board=run.board,
        workload=run.workload,
        outcome=run.outcome,
        unit=run.unit,
        readings=readings,
        rig=run.rig,
    )
