"""How often a score was read: ``only once``, ``a single reading``, ``read three times``, ``never repeated``."""

from __future__ import annotations

import re

from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict
_ONCE = (
    r"\b(?:only|just|exactly|but) (?:once|one (?:reading|run|figure|score|go)|(?:a |"
    r"1 )(?:single )?(?:reading|run|figure|score|go))\b|"
    r"^ ?(?:\w+ , )?one reading\b|\{d\d+\} , one reading\b|"
    r"\b(?:a|1|one) single (?:reading|run|figure|score|go)\b"
)
_TIMES = re.compile(
    r"\b(?:read|measured|timed|clocked|run|ran|repeated|"
    r"taken)(?: \w+){0,2}? \{(n\d+)\}(?: times)?(?= |$)|\{(n\d+)\} (?:readings|runs)\b"
)
_AGAIN = r"\b(?:repeated|confirmed|reproduced|run again|read again|measured again)\b"


def repeats(ask: Ask) -> Finding | None:
    """A sentence on how often something was read; ``None`` for others."""
    once, again, times = ask.has(_ONCE), ask.has(_AGAIN), _TIMES.search(ask.low)
    if not (once or again or times) or not ask.boards:
        return None
    figures = [f for f in ask.figures() if times is None or f not in times.groups()]
    if not (figures or ask.want_list() or ask.said.runs):
        return None
    wants = ask.want_list()
    pool = [
        t
        for t in ask.evidence.trials(ask.boards, wants)
        if t.readings
        and (not ask.workloads or t.workload in ask.workloads)
        and (not ask.said.runs or t.number in ask.said.runs)
    ]
    named = [t for t in pool if all(reads(t, ask.said.num(f)) for f in figures)]
    if figures and pool and not named:
        return None
    if not pool:
        return None
    count, runs = sum(len(t.readings) for t in named), len(named)
    denied = ask.has(r"\b(?:not|never|no)\b")
    if times is not None:
        n = ask.said.num(times[1] or times[2])
        if n.unit or n.places or n.kind not in ("value", "loose", "goes", "factor", "bare"):
            return None
        ok = n.value in (count, runs)
        used = {*figures, times[1] or times[2]}
    else:
        ok = (count == 1) if once else (count > 1) != denied
        used = set(figures)
    text = "; ".join(
        f"run {t.number} ({t.board}) reads {' '.join(r.text for r in t.readings)}" for t in named[:4]
    )
    return Finding(
        verdict=V.SUPPORTED if ok else V.CONTRADICTED,
        why=text,
        refs=tuple(t.number for t in named),
        boards=tuple(ask.boards),
        true=text,
        used=frozenset({*used, *ask.wants, *ask.said.signs("gr"), "reading", "readings", "repeated"}),
    )
