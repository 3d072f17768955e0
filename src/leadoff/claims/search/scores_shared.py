"""A record or a place that several boards share, or are said not to."""

from __future__ import annotations

import re
from itertools import combinations

from leadoff.claims.search.scores_place import Here, boards_of, workload_choices
from leadoff.claims.search.scores_words import hears, hears_raw, strange, tried
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.firsts import ready
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.spoken.weigh import Weighed, weigh, wording
from leadoff.claims.spoken.weigh import said as in_figures
from leadoff.claims.standings import Cell

V = Verdict
_SHARE = re.compile(r"\b(?:shared?|shares|sharing|jointly|joint)\b")
_FIRST = re.compile(
    r"\b(?:records?|first place|top (?:spot|place)|title|crown|lead|best (?:time|"
    r"figure|score)|throne)\b"
)
_ALL = re.compile(r"\b(?:they|them|both|two of them|all three|between them|each other)\b")


def shared(talk: Talk) -> Reading | None:
    """What the book says to a first place that is shared; ``None`` where none is said to be."""
    said, ev = talk.said, talk.evidence
    if not _SHARE.search(said.low) or not _FIRST.search(said.low) or talk.asks:
        return None
    if said.strangers or said.gone or said.seals or said.signs("ngsrdfou") or tried(talk):
        return None
    if hears(talk, "causes", "denials") or hears_raw(
        talk, "causes", "denials", "seals", "reported", "supposes", "alone"
    ):
        return None
    boards = boards_of(said)
    if not boards and _ALL.search(said.low):
        boards = next((b for s in reversed(talk.before) if len(b := boards_of(s)) > 1), ())
    works = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), ())
    if len(works) != 1 or len(boards) < 2:
        return None
    record = re.search(r"\b(?:records?|title|crown)\b", said.low) is not None
    best = {b: c for b in ev.ledger.boards if (c := _best(ev, works[0], b, record=record)) is not None}
    if not set(boards) <= set(best):
        return None
    among = _group(talk) or tuple(best)
    pairs = [weigh(ev, best[a], best[b], works[0]) for a, b in combinations(boards, 2)]
    rest = [
        weigh(ev, best[b], best[x], works[0]) for b in boards for x in among if x in best and x not in boards
    ]
    if any(_clear(p) for p in pairs) or any(_clear(p) < 0 for p in rest):
        verdict = V.CONTRADICTED
    elif any(p.pair is None for p in (*pairs, *rest)):
        verdict = V.NOT_COMPARABLE
    elif record and any(ready(best[b].grade, best[b]) is not V.SUPPORTED for b in boards):
        verdict = V.UNTESTED
    else:
        verdict = V.SUPPORTED
    shown = next((p for p in (*pairs, *rest) if _clear(p)), pairs[0])
    finding = Finding(
        verdict=verdict,
        why=in_figures(shown, ev),
        refs=shown.refs,
        boards=tuple(boards),
        true=wording(shown, ev),
    )
    return Reading(finding=finding, sure=verdict is not V.SUPPORTED or not strange(talk))


def _best(ev: Evidence, workload: str, board: str, *, record: bool) -> Cell | None:
    """The best state of a board; of a record the best that holds, where one does."""
    cells = ev.cells(workload, [board])
    fit = [c for c in cells if ready(c.grade, c) is V.SUPPORTED] if record else []
    return ev.best(fit or cells) if cells else None


def _group(talk: Talk) -> tuple[str, ...]:
    """The kind of boards that was spoken of just before as the only ones: ``486s only``."""
    heard = talk.before[-1] if talk.before else None
    if heard is None or not re.search(r"\bonly\b|\bamong\b", heard.low) or not heard.groups:
        return ()
    return tuple(b for g in heard.groups for b in g)


def _clear(p: Weighed) -> int:
    return 0 if p.pair is None or not p.pair.shown or p.pair.tied else 1 if p.pair.faster > 0 else -1
