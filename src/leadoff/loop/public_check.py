"""A public file held against itself: every hash, every body, and which forecast came before which result."""

from __future__ import annotations

from typing import Any

import msgspec

from leadoff.book.outside import body_is, envelopes, line_is, reaches
from leadoff.loop.public_board import digest_of
from leadoff.record.entries import ForecastBody, RunBody
from leadoff.record.public import PublicBoard, PublicForecast, PublicRun, Sealed


class Checked(msgspec.Struct, frozen=True, kw_only=True):
    """What was found. ``faults``: what does not fit, in words; ``shown``: forecasts shown to be older than
    their answers; ``by_hash``: entries that could only be checked by their line.
    """

    faults: tuple[str, ...]
    shown: tuple[str, ...]
    by_hash: tuple[str, ...]


def check(public: PublicBoard, plain: dict[str, Any]) -> Checked:
    """``plain``: the file as it was read, key by key."""
    faults = []
    if digest_of(plain) != public.digest:
        faults.append(
            "the file's own digest does not fit: something in it was changed after it was published"
        )
    sealed = {s.entry: s for s in public.sealed}
    by_hash = [s.entry for s in public.sealed if s.withheld]
    for s in public.sealed:
        if not line_is(s.entry, s.line):
            faults.append(f"entry {s.entry[:12]}: its line has another hash")
        elif s.body and not body_is(s.line, s.salt, s.body):
            faults.append(f"entry {s.entry[:12]}: its body is not the one that was sealed")
    for run in public.runs:
        faults += _run(run, sealed.get(run.entry))
    known = envelopes([*public.chain, *(s.line for s in public.sealed)])
    shown = []
    for f in public.forecasts:
        faults += _forecast(f, sealed.get(f.entry))
        for a in f.answers:
            if reaches(a.entry, f.entry, known):
                shown.append(f"{f.number} before run {a.run}")
            else:
                faults.append(f"nothing shows that forecast {f.number} is older than run {a.run}")
    return Checked(faults=tuple(faults), shown=tuple(shown), by_hash=tuple(by_hash))


def _run(run: PublicRun, s: Sealed | None) -> list[str]:
    if s is None:
        return [f"run {run.number}: its entry is not in the file"]
    if not s.body:
        return []
    try:
        kept = msgspec.json.decode(s.body, type=RunBody).run
    except msgspec.MsgspecError as error:
        return [f"run {run.number}: its entry cannot be read: {error}"]
    same = (
        kept.workload,
        kept.outcome,
        kept.readings,
        kept.unit,
        kept.rig,
        kept.flags,
        kept.count,
        kept.of,
    ) == (*(run.workload, run.outcome, run.readings, run.unit, run.rig, run.flags, run.count, run.of),)
    return [] if same else [f"run {run.number}: what is shown is not what its entry says"]


def _forecast(f: PublicForecast, s: Sealed | None) -> list[str]:
    if s is None:
        return [f"forecast {f.number}: its entry is not in the file"]
    if not s.body:
        return []
    try:
        kept = msgspec.json.decode(s.body, type=ForecastBody)
    except msgspec.MsgspecError as error:
        return [f"forecast {f.number}: its entry cannot be read: {error}"]
    return (
        [] if kept.expected == f.expected else [f"forecast {f.number}: what is shown is not what was sealed"]
    )
