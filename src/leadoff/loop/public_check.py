"""A public file held against itself: every hash, every body, which forecast came before which result, and whether
what is shown follows from what was sealed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import msgspec

from leadoff.book.outside import body_is, envelopes, line_is, reaches
from leadoff.forecast.scores import score_of
from leadoff.loop.public_board import digest_of
from leadoff.loop.public_limits import owed
from leadoff.loop.public_pictures import run_of
from leadoff.record.entries import ForecastBody, RunBody
from leadoff.record.public import PublicBoard, PublicForecast, PublicRun, Sealed
from leadoff.record.quantity import Source


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
    known = envelopes([*public.chain, *(s.line for s in public.sealed)])
    for s in public.sealed:
        faults += _sealed(s)
    for run in public.runs:
        faults += _run(run, sealed.get(run.entry), public, known)
    shown: list[str] = []
    for f in public.forecasts:
        faults += _forecast(f, sealed.get(f.entry), public, known)
        for a in f.answers:
            if reaches(a.entry, f.entry, known):
                shown.append(f"{f.number} before run {a.run}")
            else:
                faults.append(f"nothing shows that forecast {f.number} is older than run {a.run}")
    faults += _chain(public, known) + _shown(public)
    by_hash = tuple(s.entry for s in public.sealed if s.withheld)
    return Checked(faults=tuple(faults), shown=tuple(shown), by_hash=by_hash)


def _sealed(s: Sealed) -> list[str]:
    name = f"entry {s.entry[:12]}"
    if not line_is(s.entry, s.line):
        return [f"{name}: its line has another hash"]
    if bool(s.body) == bool(s.withheld):
        return [f"{name}: it has neither a body nor a reason why not, or both"]
    if s.body and not body_is(s.line, s.salt, s.body):
        return [f"{name}: its body is not the one that was sealed"]
    return []


def _chain(public: PublicBoard, known: dict[str, Any]) -> list[str]:
    """Lines of the chain that lead from an answer to its forecast and nowhere else."""
    wanted = {a.entry for f in public.forecasts for a in f.answers}
    todo = list(wanted)
    for i in todo:
        env = known.get(i)
        for parent in (env.prev, *env.seen) if env is not None else ():
            if parent not in wanted:
                wanted.add(parent)
                todo.append(parent)
    odd = sum(1 for line in public.chain if not set(envelopes([line])) & wanted)
    return [f"{odd} lines of the chain lead nowhere"] if odd else []


def _run(run: PublicRun, s: Sealed | None, public: PublicBoard, known: dict[str, Any]) -> list[str]:
    if s is None:
        return [f"run {run.number}: its entry is not in the file"]
    if run.entry in known and known[run.entry].at != run.when:
        return [f"run {run.number}: its time is not that of its entry"]
    if not 0 <= run.state < len(public.states):
        return [f"run {run.number}: its state is not in the file"]
    if not s.body:
        return []
    try:
        kept = msgspec.json.decode(s.body, type=RunBody).run
    except msgspec.MsgspecError as error:
        return [f"run {run.number}: its entry cannot be read: {error}"]
    # A number gets a letter where two books that gave it were merged, and a dropped reading is not published.
    here = run_of(run, kept.board)
    there = msgspec.structs.replace(kept, dropped=())
    same = msgspec.structs.replace(here, number="") == msgspec.structs.replace(there, number="")
    number = re.sub(r"[a-z]+$", "", run.number) == re.sub(r"[a-z]+$", "", kept.number)
    return [] if same and number else [f"run {run.number}: what is shown is not what its entry says"]


def _forecast(f: PublicForecast, s: Sealed | None, public: PublicBoard, known: dict[str, Any]) -> list[str]:
    if s is None:
        return [f"forecast {f.number}: its entry is not in the file"]
    faults = []
    if f.entry in known and known[f.entry].at != f.when:
        faults.append(f"forecast {f.number}: its time is not that of its entry")
    if not 0 <= f.state < len(public.states):
        return [*faults, f"forecast {f.number}: its state is not in the file"]
    if s.body:
        try:
            kept = msgspec.json.decode(s.body, type=ForecastBody)
        except msgspec.MsgspecError as error:
            return [*faults, f"forecast {f.number}: its entry cannot be read: {error}"]
        settings = _known({n: v.value for n, v in kept.state.settings.items()})
        told = (f.number, f.basis, f.model, f.catalogue, f.expected, f.chance, f.seen_result)
        sealed = (
            *(kept.number, kept.basis, kept.model, kept.catalogue, kept.expected),
            *(kept.chance, kept.seen_result),
        )
        if told != sealed or settings != _values(public, f.state):
            faults.append(f"forecast {f.number}: what is shown is not what was sealed")
    return faults + _answers(f, public)


def _answers(f: PublicForecast, public: PublicBoard) -> list[str]:
    """An answer is a run of the file, of that workload, in the state that was foretold."""
    runs = {r.number: r for r in public.runs}
    out = []
    for a in f.answers:
        r = runs.get(a.run)
        fits = (
            r is not None
            and (r.entry, r.workload) == (a.entry, a.workload)
            and _values(public, r.state) == _values(public, f.state)
            and score_of(run_of(r, public.board.id)).value == a.score
        )
        if not fits:
            out.append(f"forecast {f.number}: run {a.run} is not its answer")
    return out


def _values(public: PublicBoard, state: int) -> dict[str, str | None]:
    """Known settings of a state. A run's circumstances, such as its temperature, are no setting."""
    if not 0 <= state < len(public.states):
        return {"": str(state)}
    return _known({n: v.value for n, v in public.states[state].items()})


def _known(settings: Mapping[str, str | None]) -> dict[str, str | None]:
    return {n: v for n, v in settings.items() if v is not None and n != "temp_c"}


def _shown(public: PublicBoard) -> list[str]:
    """The score of the first screen comes from runs of the file, and no limit that follows from it is missing."""
    out = []
    s = public.shown
    if not 0 <= public.state_now < len(public.states):
        out.append("the present state is not in the file")
    if s is not None and 0 <= s.state < len(public.states):
        runs = [r for r in public.runs if r.number in s.runs]
        values = [x.value for r in runs for x in r.readings]
        adjusted = s.score.source is Source.COMPUTED  # over bridging runs to another rig, which it says
        right = (
            len(runs) == len(set(s.runs))
            and bool(values)
            and all(r.workload == s.workload for r in runs)
            and next(r.state for r in runs if r.number == s.runs[0]) == s.state
            and s.score.value is not None
            and (adjusted or min(values) * 0.999 <= s.score.value <= max(values) * 1.001)
        )
        if not right:
            out.append("the score shown does not come from the runs that it names")
    elif s is not None:
        out.append("the state of the score shown is not in the file")
    have, must = [v.kind for v in public.limits], owed(public)
    return out + [
        f"a limit is missing: {kind}" for kind in dict.fromkeys(must) if have.count(kind) < must.count(kind)
    ]
