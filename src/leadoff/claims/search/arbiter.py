"""Which of two readings counts: the one by rules of speech, or the one by search over the book.

A sentence is held against its speaker only when no likely reading of it holds, and called supported only when no
likely reading fails.
"""

from __future__ import annotations

from collections.abc import Callable

from leadoff.claims.search.effects import effects
from leadoff.claims.search.parts import parts
from leadoff.claims.search.scores import scores
from leadoff.claims.search.seals import seals
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.search.trials import trials
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict
SEARCHES: tuple[Callable[[Talk], Reading | None], ...] = (effects, scores, trials, seals)
"""Differences and their causes; single figures, ranges, ranks; soaks, copies, starts, failures, symptoms, counts;
sealed forecasts. Each says ``None`` where a sentence is not of its kind."""


def settled(talk: Talk, by_rules: Finding) -> Finding:
    """The finding that counts."""
    found = _sure(talk)
    if not found and (several := parts(talk, agreed)) is not None and several.sure:
        found = [several.finding]
    if len({f.verdict for f in found}) != 1 or found[0].verdict is by_rules.verdict:
        return by_rules
    return found[0]


def _sure(talk: Talk) -> list[Finding]:
    """Every sure reading of a sentence."""
    return [r.finding for search in SEARCHES if (r := search(talk)) is not None and r.sure]


def agreed(talk: Talk) -> Finding | None:
    """What the sure readings of a sentence agree on."""
    found = _sure(talk)
    return found[0] if len({f.verdict for f in found}) == 1 else None
