"""When a thing happened, and what a question just before it asks of runs."""

from __future__ import annotations

import msgspec

from leadoff.claims.search.runs_scene import Claimed, Scene, pool_of
from leadoff.claims.search.runs_select import Asked, asked, select
from leadoff.claims.search.runs_words import says
from leadoff.claims.search.talk import Talk
from leadoff.claims.search.trials_book import heard_in
from leadoff.claims.search.trials_words import words_of

_EVENTS = ("hang", "reboot", "no start", "failed")


def asked_when(talk: Talk) -> bool:
    """Whether the sentence before asked when."""
    asks = talk.before[-1] if talk.before else None
    return (
        asks is not None
        and asks.plain.text.rstrip().endswith("?")
        and says("asks_when").search(asks.low) is not None
    )


def asked_many(talk: Talk) -> Asked | None:
    """What runs the question just before counts: ``how often was it sent through the corridor?``"""
    asks = talk.before[-1] if talk.before else None
    if asks is None or not asks.plain.text.rstrip().endswith("?"):
        return None
    said, _ = heard_in(asks.plain.text, talk.evidence)
    if not says("asks_many").search(said.low) or not (
        says("done").search(said.low) or says("noun").search(said.low)
    ):
        return None
    return asked(words_of(said.low), said, talk.evidence)


def when(whole: Asked, low: str, scene: Scene) -> Claimed | None:
    """When a thing happened that is named here, or was asked after just before."""
    talk, subject = scene.talk, msgspec.structs.replace(whole, whens=())
    pool = scene.every
    if scene.last is not None and subject.empty:
        pool = scene.last
    elif subject.kind not in _EVENTS:
        if not asked_when(talk) or not subject.empty:
            return None
        said, _ = heard_in(talk.before[-1].plain.text, talk.evidence)
        question = asked(words_of(said.low), said, talk.evidence)
        ends = [says(x).search(said.low) is not None for x in ("first", "last")]
        if says("noun").search(said.low) and any(ends) and not all(ends):
            one = sorted(select(pool, question), key=lambda t: t.observed.when)
            one = one[:1] if ends[0] else one[-1:]
            why = "; ".join(f"run {t.number} on {t.observed.when[:10]}" for t in one)
            return (
                Claimed(ok=bool(select(one, Asked(whens=whole.whens))), why=why, runs=tuple(one))
                if one
                else None
            )
        pool = select(pool, question)
        if question.kind not in _EVENTS:
            return None
    else:
        pool = select(pool_of(whole, low, scene)[0], subject)
    if not pool:
        return None
    why = "; ".join(f"run {t.number} ({t.board}): {t.run.place}, {t.observed.when[:10]}" for t in pool[:4])
    return Claimed(ok=bool(select(pool, Asked(whens=whole.whens))), why=why, runs=pool)
