"""Whether a sentence counts or dates runs, or says what others judge."""

from __future__ import annotations

import re
from collections.abc import Sequence

from leadoff.claims.search import trials_symptoms
from leadoff.claims.search.runs_when import asked_many, asked_when
from leadoff.claims.search.runs_words import counts, says
from leadoff.claims.search.talk import Talk
from leadoff.claims.search.trials_heard import Part
from leadoff.claims.spoken.reading import Said


def of_more_than_runs(said: Said, parts: Sequence[Part]) -> bool:
    """Whether runs are said to have come through, which a run alone does not show; or it is denied that the first or
    the last was before or after a day."""
    if said.signs("w") and any(p.has("through") for p in parts):
        return True
    ends = re.search(r"\b(?:first|last)\b", said.low) and re.search(
        r"\b(?:before|after|until|till)\b", said.low
    )
    return bool(ends) and any(p.has("deny") for p in parts)


def lists_runs(said: Said, parts: Sequence[Part]) -> bool:
    """Whether it may be a list of counted runs, and not of tests."""
    if any(
        p.hours or p.clocks or p.states or _tests(p) or any("beep" in w.text for w in p.words) for p in parts
    ):
        return False
    return says("lists").search(said.low) is not None


def of_runs(talk: Talk, said: Said, parts: Sequence[Part]) -> bool:
    """Whether it counts or dates runs, and says nothing that others judge."""
    if any(w.of("fpu") for p in parts for w in p.words):
        return False
    if says("unnoted").search(said.low) and (said.runs or says("noun").search(said.low)):
        return True
    if said.runs and says("noted").search(said.low) and says("settings").search(said.low):
        return True
    if says("turn").search(said.low) and said.signs("d"):
        return True
    if says("unable").search(said.low) or says("bounded").search(said.low):
        return False
    sick = trials_symptoms.named(said.plain.low, talk.evidence.ledger.oddities)
    if says("untried").search(said.low) and not sick and not any(_tests(p) or p.hours for p in parts):
        return True
    if all(says(x).search(said.low) for x in ("span", "first", "last")):
        return True
    if (said.signs("d") or says("span").search(said.low)) and says("book").search(said.low):
        return True
    if asked_many(talk) is not None and not any(p.topics or p.states for p in parts):
        return bool(said.signs("n") or says("many").search(said.low))
    counted = any(n.of != n.value for p in parts for n in p.counts) and not says("noun").search(said.low)
    if counted or any(p.hours or p.clocks or p.states or _tests(p) for p in parts):
        return False
    if any(i.kind in _EVENTS_SAID for p in parts for i in p.outcomes):
        return bool(said.signs("d") or says("noun").search(said.low))
    if said.signs("d") and asked_when(talk):
        return True
    if any(i.kind in ("repair", "fixed", "anymore") for p in parts for i in p.health):
        return False
    if any(w.of("judge") and not w.of("extent") for p in parts for w in p.words):
        return False
    if any(not counts(n := said.num(s)) and n.kind not in ("part", "pct", "count") for s in said.signs("n")):
        return False
    counted = bool(said.signs("n")) or says("many").search(said.low) is not None
    ends = says("first").search(said.low) or says("last").search(said.low)
    compared = any(says(x).search(said.low) for x in ("more", "fewer", "as_many", "more_than"))
    tells = bool(counted or compared or ends or said.signs("d"))
    named = any(says(x).search(said.low) for x in ("noun", "done"))
    dated = bool(said.signs("d")) and re.search(r"\b(?:did|took|had)\b", said.low) is not None
    undone = says("undone").search(said.low) is not None and not sick and not any(p.topics for p in parts)
    return undone or says("has").search(said.low) is not None or (tells and (named or dated))


def _tests(p: Part) -> bool:
    """Whether it speaks of soaks, copies or starts."""
    if "soak" in p.topics or any("compare" in w.text for w in p.words if w.of("copy")):
        return True
    return any(t != "start" or not any(w.of("dark") for w in p.words) for t in p.topics) and not says(
        "has"
    ).search(" ".join(w.text for w in p.words))


_EVENTS_SAID = ("hang", "reboot", "crash", "dark")
