"""When the runs were made: the first and the last of them, and days after or before which there is none."""

from __future__ import annotations

import re
from collections.abc import Sequence

from leadoff.claims.search.scores_place import board_choices, boards_of, shared_out
from leadoff.claims.search.scores_words import alone, excepts, hears, hears_raw, strange, tried
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.dates import on_date
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.values import Trial

V = Verdict
_RUN = r"(?:run|entry|number|reading|measurement|score|figure|result)"
_LAST = re.compile(
    rf"\b(?:last|latest|youngest|newest|final|most recent)(?: \w+){{0,2}} {_RUN}\b|\b(?:ends?|stops?|closes?)\b"
)
_FIRST = re.compile(
    rf"\b(?:first|oldest|earliest)(?: \w+){{0,2}} {_RUN}\b|\b(?:begins?|opens?|starts with)\b"
)
_NONE = re.compile(r"\b(?:nothing|no run|none|never|nobody|no board|not)\b")
_AFTER = re.compile(r"\b(?:after|later than|younger than|newer than|past|beyond|since)(?: the)? ?\{d\d+\}")
_BEFORE = re.compile(r"\b(?:before|earlier than|older than|prior to)(?: the)? ?\{d\d+\}")
_UNWRITTEN = re.compile(
    r"\b(?:not|nobody|never|no one|without|forgot\w*|un(?:known|recorded|noted)|missing|blank)\b.*"
    r"\b(?:written|wrote|write|noted?|recorded?|knows?|known|logged|down)\b|\b(?:unknown|unrecorded|"
    r"unnoted|missing|blank)\b"
)
_FULL = re.compile(r"\d{4}-(?:\d\d|\\d\\d)-(?:\d\d|\\d\\d)")


def days(talk: Talk) -> Reading | None:
    """What the book says to the day of its first or last run; ``None`` where no such thing is said."""
    said, ev = talk.said, talk.evidence
    if talk.asks or said.strangers or said.gone or said.seals or len(said.dates) != 1:
        return None
    if tried(talk) or hears(talk, "causes", "seals") or hears_raw(talk, "causes", "seals", "reported"):
        return None
    if alone(talk) or excepts(talk) or said.signs("gnk") or not _FULL.fullmatch(said.dates[0]):
        return None
    here = shared_out(talk, {}, 1)
    boards = board_choices(talk, here[0])[0] if here and boards_of(said) else ()
    workloads = {said.workloads[int(s[1:])] for s in said.signs("w")}
    runs = [
        t
        for t in ev.ledger.trials
        if t.workload is not None
        and (not boards or t.board in boards)
        and (not workloads or t.workload in workloads)
    ]
    ordered = sorted(runs, key=lambda t: t.observed.when)
    found = _judged(talk, ordered, boards) if ordered else None
    if found is None:
        return None
    return Reading(finding=found, sure=found.verdict is not V.SUPPORTED or not strange(talk))


def _judged(talk: Talk, runs: Sequence[Trial], boards: Sequence[str]) -> Finding | None:
    low, date = talk.said.low, talk.said.dates[0]
    wants = talk.said.wants
    first, last = _FIRST.search(low), _LAST.search(low)
    after, before = _AFTER.search(low), _BEFORE.search(low)
    if (after or before) and _NONE.search(low) and not wants:
        against = [t for t in runs if (_side(t, date) > 0 if after else _side(t, date) < 0)]
        verdict = V.CONTRADICTED if against else V.SUPPORTED
    elif bool(first) != bool(last) and not after and not before and not _NONE.search(low.split("{d")[0]):
        one = runs[0] if first else runs[-1]
        named = set(talk.said.runs) - {one.number}
        verdict = V.SUPPORTED if on_date(one.observed.when, date) and not named else V.CONTRADICTED
        if wants and verdict is V.SUPPORTED:
            if not all(w.bare for w in wants) or not _UNWRITTEN.search(low):
                return None
            unknown = all(one.settings.get(n, "") is None for w in wants for n in w.names)
            verdict = V.SUPPORTED if unknown else V.CONTRADICTED
    else:
        return None
    lo, hi = runs[0], runs[-1]
    text = (
        f"first run {lo.number} on {lo.observed.when[:10]}, last run {hi.number} on {hi.observed.when[:10]}"
    )
    text = f"{', '.join(boards) or 'the book'}: {text}"
    return Finding(verdict=verdict, why=text, refs=(lo.number, hi.number), boards=tuple(boards), true=text)


def _side(t: Trial, date: str) -> int:
    """After a day, month or year 1, before it -1, within it 0."""
    if on_date(t.observed.when, date):
        return 0
    known = date.split("\\")[0].rstrip("-")
    return 1 if t.observed.when[: len(known)] > known else -1
