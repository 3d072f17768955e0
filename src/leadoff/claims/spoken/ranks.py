"""Places below the first: ``the second fastest``, ``takes fourth place``, ``the runner-up``."""

from __future__ import annotations

import re

from leadoff.claims.spoken.compared import best_pair
from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict
_PLACES = {
    "second": 2,
    "third": 3,
    "fourth": 4,
    "fifth": 5,
    "sixth": 6,
    "2nd": 2,
    "3rd": 3,
    "4th": 4,
    "5th": 5,
}
_WHICH = "|".join(_PLACES)
_RANK = re.compile(
    rf"\b(?P<a>{_WHICH})[ -](?:fastest|quickest|best|highest|place|rank|spot|position|(?P<slow>slowest|"
    rf"worst|lowest))\b|"
    rf"\b(?:is|was|ranks?|ranked|finish(?:es|ed)?|placed|comes? in|came in|comes?|came) (?P<b>{_WHICH})\b|"
    rf"\b(?P<c>runner-up|runner up|next[ -](?:best|fastest|quickest))\b"
)


def ranks(ask: Ask) -> list[Finding]:
    """The place of one board in one workload, by the best of each."""
    m = _RANK.search(ask.low)
    if m is None or len(ask.workloads) != 1 or ask.wants:
        return []
    said, ev, w = ask.said, ask.evidence, ask.workloads[0]
    me = ask.boards[0] if len(ask.boards) == 1 else None
    if not said.signs("bk") and ask.scene.boards and re.search(r"\b(?:it|this|that)\b", said.plain.low):
        me = ask.scene.boards[0]
    if me is None:
        return []
    place = _PLACES.get(m["a"] or m["b"] or "second", 2)
    mine = ev.cells(w, [me])
    used = frozenset({*said.signs("nswgrbk"), m["a"] or m["b"] or ""})
    if not mine:
        why = f"{me}: {w} was never run there"
        return [
            Finding(
                verdict=V.NOT_COMPARABLE if ev.undefined(w, me) else V.UNTESTED,
                why=why,
                boards=(me,),
                used=used,
            )
        ]
    kinds = [b for s in said.signs("k") for b in said.groups[int(s[1:])]]
    above, refs, open_ = 0, [*mine[0].mean.runs], None
    pair_ = (
        ask.scene.boards
        if len(ask.scene.boards) == 2 and me in ask.scene.boards and not ask.all_boards
        else ()
    )
    for b in kinds or pair_ or ev.ledger.boards:
        cells = ev.cells(w, [b])
        if b == me or not cells:
            continue
        pair = best_pair(ask, mine, cells, w)
        refs += pair.second.mean.runs
        if pair.pair is None:
            open_ = V.NOT_COMPARABLE
        elif not pair.pair.shown:
            open_ = open_ or V.WITHIN_NOISE
        elif (pair.pair.faster < 0) != bool(m["slow"]):
            above += 1
    figures = [said.num(f) for f in ask.figures()]
    ok = above + 1 == place and all(any(reads(c, n) for c in mine) for n in figures)
    text = f"{w}: {above} of the other boards come before {me}" + (f"; {open_.value}" if open_ else "")
    verdict = open_ or (V.SUPPORTED if ok else V.CONTRADICTED)
    return [
        Finding(
            verdict=verdict, why=text, refs=tuple(dict.fromkeys(refs)), boards=(me,), true=text, used=used
        )
    ]
