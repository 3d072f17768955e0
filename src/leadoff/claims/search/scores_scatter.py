"""How far readings of one board or state lie apart: all within two tenths, never more than half a frame."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.search.scores_figures import agreed, readings_of
from leadoff.claims.search.scores_place import boards_of, clocks_said, places, shared_out
from leadoff.claims.search.scores_words import excepts, hears, hears_raw, is_in, tried, words
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import as_figure
from leadoff.claims.spoken.values import Finding, Num, Verdict

V = Verdict
_N = (
    r"(?:(?:a |an |the |just |only |about |less than |not even )*)\{(n\d+)\}"
    r"(?: (?:frames?|fps|seconds?|lines?|s|mb/s))?"
)
_APART = re.compile(
    rf"\bwithin {_N}(?: of)? (?:each other|one another|themselves)|"
    rf"\b(?:differ|differs|differed|vary|varies|varied|scatter|scatters|scattered|wander|wanders|spread|disagree\w*) "
    rf"(?:by |over |among themselves by )?(?:at (?:the )?most |no more than |never more than |only |just )*{_N}|"
    rf"\b(?:spread|scatter|range|span|difference between them|variation)(?: (?:of|in|between|among) "
    rf"(?:[^{{}}]|\{{[bws]\d+\}}){{0,60}}?)? (?:is |was |of |comes to |amounts to |stays |remains "
    rf")+{_N}|"
    rf"\b(?:no|never|nowhere|not) (?:more|further|farther) than {_N} apart|"
    rf"\b(?:lie|lay|are|were|stay|stayed|stand|is|keep|kept) (?:at most |never more than |no more than "
    rf"|only |just |all )*{_N} "
    r"apart\b(?! from)"
)
_MOST = re.compile(r"\b(?:within|at (?:the )?most|no more|never|not more|nowhere|less than|not even|under)\b")


def scatter(talk: Talk) -> Reading | None:
    """What the book says to how far readings lie apart; ``None`` where nothing of the kind is said."""
    said, ev = talk.said, talk.evidence
    m = _APART.search(said.low)
    if m is None or talk.asks or said.strangers or said.gone or said.seals or said.signs("rdfou"):
        return None
    if tried(talk) or excepts(talk) or hears(talk, "causes", "record") or len(set(boards_of(said))) > 1:
        return None
    if hears_raw(talk, "causes", "seals", "supposes", "reported"):
        return None
    sign = next(g for g in m.groups() if g)
    n = said.num(sign)
    clocks, _ = clocks_said(said, ev, boards_of(said))
    if [s for s in said.signs("n") if s != sign and s not in clocks] or n.kind == "pct":
        return None
    heres = shared_out(talk, clocks, 1)
    if heres is None:
        return None
    denied = [w for w in words(said.low) if is_in(w, "denials")]
    most = n.mod == "under" or (n.mod == "over" and len(denied) == 1)
    most = most or (not n.mod and bool(_MOST.search(m[0])))
    if len(denied) > 1 or (denied and not most):
        return None
    found = []
    for p in places(talk, heres[0], ()):
        cells = p.cells(ev)
        if p.workload is None or not cells or len(p.boards) != 1:
            continue
        values = [r.value for c in cells for t in c.trials for r in t.readings]
        text = readings_of(p.workload, cells)
        refs = tuple(dict.fromkeys(r for c in cells for r in c.mean.runs))
        good = _fits(max(values) - min(values), n, most=most)
        verdict = V.SUPPORTED if good else V.CONTRADICTED
        found.append((p, Finding(verdict=verdict, why=text, refs=refs, boards=p.boards, true=text)))
    return agreed(talk, found, exact=False) if found else None


def _fits(gap: float, n: Num, *, most: bool) -> bool:
    if most:
        return gap <= n.value + 1e-9
    if n.mod == "over":
        return gap > n.value
    return as_figure(gap, msgspec.structs.replace(n, spoken=False))
