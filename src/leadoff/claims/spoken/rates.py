"""Failure rates, held against the exact limits of what was counted: ``fewer than one start in 100 fails``."""

from __future__ import annotations

import re

from leadoff.claims import binomial
from leadoff.claims.grade import is_copy, is_start
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict
_UNDER = r"\b(?:fewer than|less than|not even|no more than|at most|under|below)"
_ONE_IN = re.compile(rf"{_UNDER} (?:one|1|a|a single) (?:[a-z-]+ ){{0,3}}(?:in|out of|of|per) \{{(n\d+)\}}")
_FAILS = (
    r"\b(?:fail(?:s|ed|ure|ures)?|spoil(?:s|ed)?|wrong|bad|corrupt(?:s|ed)?|refuse[sd]?|"
    r"miss(?:es|ed)?|error rate|lost)\b"
)
_EACH = re.compile(r"\b(?:one|1|every) (?:cold |warm )?(?:start|boot|copy)s? (?:in|out of) \{(n\d+)\}")
_SURE = re.compile(r"\b(?:at|with) \{(n\d+)\} (?:confidence|certainty|sure)")


def rate(ask: Ask) -> Finding | None:
    """A claimed upper limit of a failure rate; ``None`` for other sentences."""
    sure = _SURE.search(ask.low)
    said = _said(ask, sure[1] if sure else "")
    if said is None or not ask.boards:
        return None
    sign, p = said
    kind = (
        is_copy
        if ask.has(r"\bcop(?:y|ies|y-compares?)\b") or "memory copy" in ask.said.plain.low
        else is_start
    )
    if (
        not ask.has(r"\b(?:starts?|boots?)\b")
        and not ask.has(r"\bcop(?:y|ies|y-compares?)\b")
        and not ask.said.signs("w")
    ):
        kind = is_copy if ask.scene.topic == "copy" else is_start
    trials = [t for t in ask.trials() if kind(t)]
    of = sum(t.run.of or 0 for t in trials)
    good = sum((t.run.of or 0) - (t.run.count or 0) if is_copy(t) else t.run.count or 0 for t in trials)
    used = frozenset({sign, *ask.wants, *ask.said.signs("wn")[:2], "confidence", "certainty"})
    if not of:
        why = f"{', '.join(ask.boards)}: nothing was counted in such a state"
        return Finding(verdict=V.UNTESTED, why=why, boards=tuple(ask.boards), true=why, used=used)
    level = ask.said.num(sure[1]).value / 100 if sure else 0.95
    high, low = binomial.upper(of - good, of, level), binomial.lower(of - good, of, level)
    verdict = V.SUPPORTED if high <= p else V.CONTRADICTED if low > p else V.UNTESTED
    if p < 0:  # a rate as it was counted, no limit
        verdict = V.SUPPORTED if abs((of - good) / of + p) < 0.03 else V.CONTRADICTED
    why = binomial.said(of - good, of)
    return Finding(
        verdict=verdict,
        why=why,
        refs=tuple(t.number for t in trials),
        boards=tuple(ask.boards),
        true=why,
        used=used,
    )


def _said(ask: Ask, level: str) -> tuple[str, float] | None:
    """The number that carries the limit, and the limit as a share."""
    if m := _ONE_IN.search(ask.low):
        n = ask.said.num(m[1]).value
        return (m[1], 1.0 / n) if n > 1 and ask.has(_FAILS) else None
    if (m := _EACH.search(ask.low)) and ask.has(_FAILS) and not ask.said.num(m[1]).places:
        return m[1], -1.0 / max(ask.said.num(m[1]).value, 1.0)
    for sign in ask.said.signs("n"):
        n_ = ask.said.num(sign)
        if (
            sign != level
            and n_.kind == "pct"
            and n_.mod == "under"
            and ask.has(_FAILS)
            and ask.has(r"\b(?:starts?|boots?|cop(?:y|ies|y-compares?)|failure rate|error rate)\b")
        ):
            return sign, n_.value / 100
    return None
