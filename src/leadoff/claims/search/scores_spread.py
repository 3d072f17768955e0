"""Both ends of what was read, each by its name: 84.1 at the worst and 88.4 at the best."""

from __future__ import annotations

import re

from leadoff.claims.search.scores_figures import agreed, readings_of
from leadoff.claims.search.scores_place import boards_of, clocks_said, places, shared_out
from leadoff.claims.search.scores_repeats import repeats_in
from leadoff.claims.search.scores_unknown import SCORES
from leadoff.claims.search.scores_words import excepts, hears, hears_raw, tried
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import Evidence, as_figure
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.record.runs import Direction

V = Verdict
_GOOD = r"best|fastest|quickest|fast|quick|good"
_BAD = r"worst|slowest|poorest|weakest|slow|bad"
_HIGH = r"highest|high|top|upper|most|maximum|max|peak|ceiling|largest"
_LOW = r"lowest|low|bottom|lower|least|minimum|min|floor|smallest"
_END = re.compile(
    rf"\b(?:(?P<good>{_GOOD})|(?P<bad>{_BAD})|(?P<high>{_HIGH})|(?P<low>{_LOW}))\b"
    r"(?! (?:and|or|to) the\b)"
)


def spread(talk: Talk) -> Reading | None:
    """What the book says to two ends, each with its figure; ``None`` where not two are said."""
    said, ev = talk.said, talk.evidence
    if talk.asks or said.strangers or said.gone or said.seals or said.oddities or said.dates or said.runs:
        return None
    if tried(talk) or excepts(talk) or hears(talk, "causes", "denials", "record"):
        return None
    if hears_raw(talk, "causes", "seals", "supposes", "reported", "denials") or len(boards_of(said)) > 1:
        return None
    sure, _ = clocks_said(said, ev, boards_of(said))
    again = repeats_in(talk)
    signs = [s for s in said.signs("n") if s not in sure and s not in again]
    if len(signs) != 2 or any(said.num(s).kind not in SCORES for s in signs):
        return None
    ends = _ends(said, signs)
    heres = shared_out(talk, sure, 1)
    if ends is None or heres is None:
        return None
    found = []
    for p in places(talk, heres[0], [said.num(s) for s in signs]):
        cells = p.cells(ev)
        if p.workload is None or not cells:
            continue
        values = [r.value for c in cells for t in c.trials for r in t.readings]
        means = [c.mean.value for c in cells]
        good = all(
            any(as_figure(v, n) for v in (pick(values), pick(means)))
            for n, pick in ((n, max if _up(ev, p.workload, end) else min) for n, end in ends)
        )
        text = readings_of(p.workload, cells)
        refs = tuple(dict.fromkeys(r for c in cells for r in c.mean.runs))
        verdict = V.SUPPORTED if good else V.CONTRADICTED
        boards = tuple(dict.fromkeys(c.board for c in cells))
        found.append((p, Finding(verdict=verdict, why=text, refs=refs, boards=boards, true=text)))
    return agreed(talk, found, exact=True) if found else None


def _up(ev: Evidence, workload: str, end: str) -> bool:
    higher = ev.ledger.workloads[workload].direction is Direction.HIGHER
    return {"high": True, "low": False, "good": higher, "bad": not higher}[end]


def _ends(said: Said, signs: list[str]) -> list[tuple[Num, str]] | None:
    """Each figure with the end that is named beside it, on the same side of both."""
    a, b = (said.at(s) for s in signs)
    heads = (said.low[:a], said.low[a + len(signs[0]) + 2 : b])
    tails = (said.low[a + len(signs[0]) + 2 : b], said.low[b + len(signs[1]) + 2 :])
    for texts in (heads, tails):
        named = [[m.lastgroup or "" for m in _END.finditer(t)] for t in texts]
        if [len(n) for n in named] == [1, 1] and named[0] != named[1]:
            return [(said.num(s), n[0]) for s, n in zip(signs, named, strict=True)]
    return None
