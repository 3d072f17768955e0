"""Which of two readings counts: the one by rules of speech, or the one by search over the book.

A sentence is held against its speaker only when no likely reading of it holds, and called supported only when no
likely reading fails.
"""

from __future__ import annotations

from collections.abc import Callable

from leadoff.claims.search.effects import effects
from leadoff.claims.search.scores import scores
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.search.trials import trials
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict
SEARCHES: tuple[Callable[[Talk], Reading | None], ...] = (effects, scores, trials)
"""Differences and their causes; single figures, ranges, ranks; soaks, copies, starts, failures, symptoms, counts.
Each says ``None`` where a sentence is not of its kind."""


def settled(talk: Talk, by_rules: Finding) -> Finding:
    """The finding that counts."""
    found = [r for search in SEARCHES if (r := search(talk)) is not None and r.sure]
    if not found:
        return by_rules
    verdicts = {r.finding.verdict for r in found}
    if len(verdicts) > 1:
        return by_rules
    best = found[0].finding
    if best.verdict is by_rules.verdict:
        return by_rules
    return best
