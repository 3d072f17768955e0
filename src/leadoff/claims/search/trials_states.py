"""Hangs, crashes and reboots, and whether a state is stable, flawless or safe."""

from __future__ import annotations

import re
from collections.abc import Sequence

from leadoff.claims.grade import Grade, failed, grade, is_copy, is_start, unbacked
from leadoff.claims.search.trials_scope import Scope
from leadoff.claims.search.trials_tests import Held, passed, tests_of
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.holding_words import event, turned
from leadoff.claims.spoken.values import Num, Verdict
from leadoff.claims.standings import state_words
from leadoff.claims.values import Trial
from leadoff.record.runs import Outcome

V = Verdict
_ORDER = (V.SUPPORTED, V.UNTESTED, V.CONTRADICTED)
_CLOCKED = frozenset({"bus_mhz", "core_mhz", "ratio", "clock"})


def event_kind(t: Trial) -> str:
    """How a run ended badly: hang, reboot, no start, crash; empty where it did not."""
    text = f"{t.run.place} {t.said}".lower()
    if re.search(r"\b(?:hang|hung|lock|froze|freez)", text):
        return "hang"
    if re.search(r"reboot|reset", text):
        return "reboot"
    if t.run.outcome in (Outcome.NO_START, Outcome.NO_POWER):
        return "no start"
    return "crash" if failed(t) and not is_start(t) and not is_copy(t) else ""


def events(
    scope: Scope,
    kinds: Sequence[str],
    *,
    denied: bool,
    times: Num | None = None,
    clocks: Sequence[str] = (),
    workload: str | None = None,
) -> Held:
    """Whether these boards hung, rebooted or crashed (any of the three)."""
    who = ", ".join(scope.boards)
    trials = [t for t in scope.trials if workload is None or t.workload in (workload, None)]
    wanted = {"hang", "reboot", "crash"} if "crash" in kinds else set(kinds)
    hits = [t for t in trials if event_kind(t) in wanted]
    shown = "; ".join(event(t) for t in hits[:4])
    refs = tuple(t.number for t in hits)
    if denied:
        timed = [t for t in hits if not clocks or any(c in f"{t.run.place} {t.said}" for c in clocks)]
        if timed:
            # A time that is denied with a failure may be put right in the same breath.
            return Held(verdict=V.CONTRADICTED, why=shown, refs=refs, doubtful=bool(clocks))
        soaks = [t for t in tests_of("soak", scope.trials) if passed(t)]
        if not soaks:
            return Held(verdict=V.UNTESTED, why=f"{who}: {unbacked(trials)}")
        names = tuple(t.number for t in soaks)
        return Held(
            verdict=V.SUPPORTED,
            why=f"no such failure in the book; soaks passed: {', '.join(names)}",
            refs=names,
        )
    if not trials:
        return Held(verdict=V.UNTESTED, why=f"{who}: no run in such a state")
    if not hits:
        others = [t for t in trials if failed(t)]
        why = "; ".join(event(t) for t in others[:3]) or f"{who}: no such failure in the book"
        return Held(verdict=V.CONTRADICTED, why=why, refs=tuple(t.number for t in (others or trials)[:12]))
    ok = times is None or len(hits) == round(times.value)
    ok = ok and (not clocks or any(c in f"{t.run.place} {t.said}" for t in hits for c in clocks))
    return Held(verdict=V.SUPPORTED if ok else V.CONTRADICTED, why=shown, refs=refs)


def states_in(scope: Scope, evidence: Evidence, *, usual: bool) -> list[tuple[Trial, Grade]]:
    """States as said with their grades; ``usual``: where a clock was named, those whose other settings are the
    board's usual ones."""
    trials = list(scope.trials)
    if usual and any(w.names & _CLOCKED for w in scope.wants):
        trials = evidence.usual_trials(trials, scope.wants)
    keys = {(t.board, t.hold_key) for t in trials}
    every = evidence.states(t for t in evidence.ledger.trials if (t.board, t.hold_key) in keys)
    return [(ts[0], grade(ts)) for ts in every.values()]


def stable(scope: Scope, evidence: Evidence, kind: str, *, denied: bool) -> Held:
    """``kind``: stable, unstable, flawless, safe, unsafe. The states nearest to what was said decide; where all the
    states that fit say otherwise, the verdict is doubtful."""
    turn = denied != kind.startswith("un")
    judge = _safe if kind.endswith("safe") else _stable
    usual = judge(scope, states_in(scope, evidence, usual=True), evidence, kind)
    whole = judge(scope, states_in(scope, evidence, usual=False), evidence, kind)
    doubt = usual.verdict is not whole.verdict
    return Held(verdict=turned(usual.verdict, turn), why=usual.why, refs=usual.refs, doubtful=doubt)


def _stable(scope: Scope, states: list[tuple[Trial, Grade]], evidence: Evidence, kind: str) -> Held:
    who = ", ".join(scope.boards)
    if not states:
        return Held(verdict=V.UNTESTED, why=f"{who}: no run in such a state")
    refs = tuple(t.number for t in scope.trials)
    for t, g in states:
        if g.void_by:
            return Held(
                verdict=V.CONTRADICTED, why=f"{t.board} ({state_words(t)}): {g.said}", refs=g.failures
            )
    if kind == "flawless":
        for o in evidence.ledger.oddities:
            if o.board in scope.boards and o.open:
                return Held(
                    verdict=V.CONTRADICTED,
                    why=f"{o.board}: still open: {o.finding}",
                    refs=tuple(e[:12] for e in o.entries),
                )
    for t, g in states:
        if not g.soak_hours and "soaked" not in g.name:
            return Held(verdict=V.UNTESTED, why=f"{t.board} ({state_words(t)}): {g.said}", refs=refs)
    t, g = states[0]
    return Held(verdict=V.SUPPORTED, why=f"{t.board} ({state_words(t)}): {g.said}", refs=refs)


def _safe(scope: Scope, states: list[tuple[Trial, Grade]], evidence: Evidence, kind: str) -> Held:
    """Safe is what comes back unharmed: copy-compares of those states."""
    who = ", ".join(scope.boards)
    keys = {(t.board, t.hold_key) for t, _ in states}
    trials = [t for t in scope.trials if (t.board, t.hold_key) in keys]
    copies = tests_of("copy", trials)
    bad = [t for t in copies if not passed(t)] + [t for t in trials if "unsafe" in t.run.flags]
    refs = tuple(t.number for t in bad or copies)
    if bad:
        return Held(verdict=V.CONTRADICTED, why=f"{who}: {grade(bad).said}", refs=refs)
    if not copies:
        return Held(verdict=V.UNTESTED, why=f"{who}: no copy-compare in such a state")
    return Held(verdict=V.SUPPORTED, why=f"{who}: {grade(copies).said}", refs=refs)


def weakest_held(found: Sequence[Held]) -> Held:
    """The verdict on all of them together."""
    top = max(found, key=lambda h: _ORDER.index(h.verdict) if h.verdict in _ORDER else len(_ORDER))
    same = [h for h in found if h.verdict is top.verdict]
    return Held(
        verdict=top.verdict,
        why="; ".join(dict.fromkeys(h.why for h in same)),
        refs=tuple(dict.fromkeys(r for h in found for r in h.refs)),
        doubtful=any(h.doubtful for h in found)
        if top.verdict is V.SUPPORTED
        else all(h.doubtful for h in same),
    )
