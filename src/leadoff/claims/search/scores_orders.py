"""A list of boards in the order of their scores, however the list is made."""

from __future__ import annotations

import re
from itertools import pairwise

from leadoff.claims.rows import constant
from leadoff.claims.search.scores_place import Here, workload_choices
from leadoff.claims.search.scores_words import alone, classes, excepts, hears, hears_raw, tried, words
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.spoken.weigh import Weighed, weigh, wording
from leadoff.claims.spoken.weigh import said as in_figures

V = Verdict
_ORDER = re.compile(
    r"\b(?:order|ranking|ranked|ranks|sequence|table|league|podium|ladder|descending|ascending|downwards?|"
    r"upwards?|followed|back to front|front to back|from the (?:back|rear|tail|bottom|top|front|head)|"
    r"follow|top to bottom|in that order|from first to last|best to worst|pecking)\b|\bfrom the (?:\w+est)\b"
)
_FROM_LAST = re.compile(
    r"\b(?:from|starting (?:with|at)) the (?:slowest|worst|bottom|last|tail|back|rear)|back to front|slowest to "
    r"(?:fastest|quickest)|worst to best|"
    r"(?:slowest|worst|last) first|bottom to top|upwards?\b|bottom up"
)
LEAST = int(constant("order_boards"))
"""Two boards are a comparison; three and more make an order."""


def orders(talk: Talk) -> Reading | None:
    """What the book says to an order of boards; ``None`` where none is said."""
    said, ev = talk.said, talk.evidence
    boards = [said.boards[int(s[1:])] for s in said.signs("b")]
    if len(boards) < LEAST or len(set(boards)) != len(boards) or not _ORDER.search(said.low):
        return None
    if talk.asks or said.strangers or said.gone or said.seals or said.signs("gnsrdfok"):
        return None
    if tried(talk) or alone(talk) or excepts(talk) or hears(talk, "causes") or hears_raw(talk, "reported"):
        return None
    if any(w in classes()["denials"] for w in words(said.low)) or re.search(
        r"\bbehind\b|\bafter\b|\bwithout\b", said.low
    ):
        return None
    workloads = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), ())
    if len(workloads) != 1:
        return None
    w = workloads[0]
    best = [ev.best(c) if (c := ev.cells(w, [b])) else None for b in boards]
    cells = [c for c in best if c is not None]
    if len(cells) < len(boards):
        return None
    if _FROM_LAST.search(f"{said.low} {said.plain.low}"):
        cells.reverse()
    pairs = [weigh(ev, a, b, w) for a, b in pairwise(cells)]
    worst = max(pairs, key=lambda p: _RANK.index(_verdict(p)))
    refs = tuple(dict.fromkeys(r for p in pairs for r in p.refs))
    finding = Finding(
        verdict=_verdict(worst),
        why=in_figures(worst, ev),
        refs=refs,
        boards=tuple(boards),
        true=wording(worst, ev),
    )
    return Reading(finding=finding, sure=True)


_RANK = (V.SUPPORTED, V.WITHIN_NOISE, V.NOT_COMPARABLE, V.CONTRADICTED)
"""One pair in the wrong order makes the whole order wrong."""


def _verdict(p: Weighed) -> Verdict:
    if p.pair is None:
        return V.NOT_COMPARABLE
    if not p.pair.shown or p.pair.tied:
        return V.WITHIN_NOISE
    return V.SUPPORTED if p.pair.faster > 0 else V.CONTRADICTED
