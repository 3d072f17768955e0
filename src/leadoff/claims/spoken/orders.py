"""Boards in an order: ``the order is A, B, C``, ``third comes the A, fourth the B``."""

from __future__ import annotations

import re
from itertools import pairwise

from leadoff.claims.spoken.compared import best_pair
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict, weakest

V = Verdict
_LIST = re.compile(
    r"\{b\d+\}(?:(?: ,)?(?: (?:and|then|and then|followed by|before|ahead of))?(?: the| my)? \{b\d+\}){2,}"
)
_CUE = re.compile(
    r"\b(?:order|ranking|standings|(?:best|fastest|quickest|slowest|worst) (?:\w+ )?to (?:the )?(?:worst|slowest|"
    r"best|fastest|quickest)|follow(?:s|ed)?|then|followed by)\b"
)
_SLOW_FIRST = re.compile(r"\b(?:slowest|worst) (?:\w+ )?to\b")
_LEADER = re.compile(r"\bbehind (?:the |my )?\{(b\d+)\}")
_PLACES = {"first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6, "last": -1}
_COMES = re.compile(
    rf"\b(?P<place>{'|'.join(_PLACES)})(?: place)?(?: in the \{{w\d+\}})?"
    r"(?: (?:comes?|came|is|was|stands?|stood|sits?|ranks?|goes to|went to|follows?))? (?:the |my )?\{(?P<b>b\d+)\}"
)
_VERB = re.compile(r"\b(?:comes?|came|stands?|stood|sits?|ranks?|goes to|went to|follows?)\b")


def orders(ask: Ask) -> list[Finding]:
    """Several boards in the order of their best scores in one workload; none for other sentences."""
    if len(ask.workloads) != 1 or ask.figures() or ask.wants:
        return []
    return _listed(ask) or _placed(ask)


def _finding(ask: Ask, verdict: Verdict, why: str, refs: list[str]) -> Finding:
    used = frozenset({*ask.said.signs("nswgrbk"), *_PLACES})
    return Finding(verdict=verdict, why=why, refs=tuple(refs), boards=tuple(ask.boards), true=why, used=used)


def _listed(ask: Ask) -> list[Finding]:
    m = _LIST.search(ask.low)
    if m is None or not _CUE.search(ask.low):
        return []
    signs = re.findall(r"\{(b\d+)\}", m[0])
    lead = _LEADER.search(ask.low)
    if lead and lead[1] not in signs:
        signs = [lead[1], *signs]
    named = [ask.said.boards[int(s[1:])] for s in signs]
    if _SLOW_FIRST.search(ask.low):
        named.reverse()
    return [weakest([_before(ask, a, b) for a, b in pairwise(named)])]


def _before(ask: Ask, a: str, b: str) -> Finding:
    """Whether the best of the one beats the best of the other."""
    ev, w = ask.evidence, ask.workloads[0]
    one, two = ev.cells(w, [a]), ev.cells(w, [b])
    for board, cells in ((a, one), (b, two)):
        if not cells:
            gone = V.NOT_COMPARABLE if ev.undefined(w, board) else V.UNTESTED
            return _finding(ask, gone, f"{board}: {w} was never run there", [])
    pair = best_pair(ask, one, two, w)
    p = pair.pair
    if p is None:
        verdict = V.NOT_COMPARABLE
    elif not p.shown or p.tied:
        verdict = V.WITHIN_NOISE
    else:
        verdict = V.SUPPORTED if p.faster > 0 else V.CONTRADICTED
    text = f"{w}: {a} {pair.first.mean.value:.4g}, {b} {pair.second.mean.value:.4g}"
    return _finding(ask, verdict, text, [*pair.refs])


def _placed(ask: Ask) -> list[Finding]:
    found = list(_COMES.finditer(ask.low))
    if not found or not _VERB.search(ask.low):
        return []
    ev, w = ask.evidence, ask.workloads[0]
    ran = [b for b in ev.ledger.boards if ev.cells(w, [b])]
    out = []
    for m in found:
        me = ask.said.boards[int(m["b"][1:])]
        if me not in ran:
            gone = V.NOT_COMPARABLE if ev.undefined(w, me) else V.UNTESTED
            out.append(_finding(ask, gone, f"{me}: {w} was never run there", []))
            continue
        held = [_before(ask, me, b) for b in ran if b != me]
        open_ = [f for f in held if f.verdict in (V.NOT_COMPARABLE, V.WITHIN_NOISE)]
        above = sum(f.verdict is V.CONTRADICTED for f in held)
        place = _PLACES[m["place"]] if m["place"] != "last" else len(ran)
        text = f"{w}: {above} of the other boards come before {me}"
        verdict = open_[0].verdict if open_ else V.SUPPORTED if above + 1 == place else V.CONTRADICTED
        out.append(_finding(ask, verdict, text, [r for f in held for r in f.refs]))
    return [weakest(out)]
