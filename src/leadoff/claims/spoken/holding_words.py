"""What findings on holding have in common: the finding itself, what is denied, and the opposite."""

from __future__ import annotations

import re
from collections.abc import Sequence

from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.standings import state_words
from leadoff.claims.values import Trial

V = Verdict
DENY = r"\b(?:not|never|no|without (?:a|1|any)|nothing|hardly ever|none|neither)\b"


def about(ask: Ask, verdict: Verdict, why: str, refs: Sequence[str], true: str = "") -> Finding:
    used = frozenset({*ask.wants, *ask.said.signs("gr"), *_counted_words(ask)})
    return Finding(
        verdict=verdict,
        why=why,
        refs=tuple(dict.fromkeys(refs)),
        boards=tuple(ask.boards),
        true=true or why,
        used=used,
    )


def denied_before(ask: Ask, pattern: str) -> bool:
    m = re.search(pattern, ask.low)
    return (
        m is not None
        and re.search(rf"{DENY}(?: [\w{{}}]+){{0,4}} ?$", ask.low[: m.start()].rstrip()) is not None
    )


def turned(verdict: Verdict, denied: bool) -> Verdict:
    """The verdict of the opposite claim."""
    if not denied:
        return verdict
    return {V.SUPPORTED: V.CONTRADICTED, V.CONTRADICTED: V.SUPPORTED}.get(verdict, verdict)


def _counted_words(ask: Ask) -> list[str]:
    """Numbers that the rules on starts read themselves: how often it beeped."""
    return [s for s in ask.said.signs("n") if ask.said.num(s).kind == "beeps"]


def event(t: Trial) -> str:
    """A run and how it ended."""
    return f"run {t.number} ({t.board}, {state_words(t)}): {t.run.place or t.run.outcome.value}".replace(
        "_", " "
    )
