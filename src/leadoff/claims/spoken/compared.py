"""Comparisons: board against board, run against run, rig against rig, figure against figure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import product

from leadoff.claims.spoken.cues import CAUSE, COMPARES, EFFECT, TIE
from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.relation import SIZES, finish, no_figure, relation_of, sizes_of
from leadoff.claims.spoken.run_pairs import two_runs, what_changed
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.sides import (
    board_sides,
    extreme,
    figure_sides,
    owner,
    rig_order,
    rigs_of,
    sided_wants,
)
from leadoff.claims.spoken.states import states
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.spoken.weigh import Weighed, judge, weigh
from leadoff.claims.standings import Cell

V = Verdict
_NOT_BY = rf"\b(?:not|never) (?:\w+ ){{0,2}}?(?:{CAUSE[2:]})"
"""A cause that is denied: ``is not due to the bus``."""


_OF_A_PLACE = (
    r"\b(?:by|to) (?:only |just )?one board\b|"
    r"\bwith (?:the |my )?\{b\d+\} (?:second|third|fourth|last|behind)\b"
)
"""Says who else is before or behind, which a pair does not bear out."""


def compared(ask: Ask) -> list[Finding]:
    """Every comparison the sentence makes; none when it makes none."""
    if changed := what_changed(ask):
        return changed
    if ask.has(_OF_A_PLACE):
        return []
    if len(ask.said.runs) < 2 and _only_scores(ask):
        return []
    relation, flipped = relation_of(ask)
    causal = ask.has(CAUSE)
    flipped = flipped or (causal and ask.has(_NOT_BY))
    if relation is not None and _two_scales(ask):
        text = f"{' and '.join(ask.workloads[:2])} have no common scale"
        used = frozenset(ask.said.signs("nswgr"))
        return [Finding(verdict=V.NOT_COMPARABLE, why=text, boards=tuple(ask.boards), true=text, used=used)]
    if relation is None and not causal:
        return []
    if len(ask.said.runs) == 2 or (len(ask.said.runs) == 1 and len(ask.scene.runs) == 1):
        return two_runs(ask, relation or "differs", flipped)
    if _both_runs(ask):
        ask.said.runs += ask.scene.pair
        return two_runs(ask, relation or "differs", flipped)
    left, right = board_sides(ask)
    if left and right and not causal:
        return _boards(ask, left, right, relation or "differs", flipped)
    swapped = ask.has(r"\b(?:cards?|swap\w*)\b") and not (ask.wants or ask.said.signs("g") or right)
    if swapped and len(ask.scene.rig_swap) == 2:
        ask.rigs = list(ask.scene.rig_swap)
        return _rigs(ask, relation or "differs", flipped)
    if len(set(ask.rigs)) == 2 and len({*ask.said.signs("g")}) >= 2 and not _clash(ask):
        ask.rigs = rig_order(ask)
        return _rigs(ask, relation or "differs", flipped)
    if len(ask.said.signs("g")) == 1 and not ask.wants and ask.has(EFFECT) and len(left) <= 1:
        return _rig_effect(ask, relation or "differs", flipped)
    if ask.has(r"\bbecause of the card\b") and not ask.wants and len(ask.rigs) == 1:
        return _rig_effect(ask, relation or "differs", flipped)
    if ask.wants or ((ask.scene.effect is not None or ask.scene.act is not None) and ask.has(EFFECT)):
        return states(ask, relation, flipped, causal)
    if len(ask.figures()) == 2 and relation in ("better", "worse") and not causal:
        return _by_figures(ask, relation, flipped)
    return []


def _both_runs(ask: Ask) -> bool:
    """``the two of those`` after two runs were named one after the other."""
    pair = ask.scene.pair
    if ask.by_name or ask.said.runs or len(pair) != 2 or pair[0] != ask.scene.runs[0]:
        return False
    return ask.has(
        r"\{n\d+\} of (?:those|these|them)\b|\b(?:both|between) (?:of )?(?:them|those)\b|\b(?:those|these) runs\b"
    )


def _only_scores(ask: Ask) -> bool:
    """``50 times 2 gave it 26 to 27 frames``: a score of a state, and no comparison."""
    gave = r"\b(?:gave|gives|give|got|gets|brought|brings|earned|earns|made|makes)\b"
    m = re.search(
        rf"{gave} (?:it |me |us |the board |(?:the )?\{{b\d+\}} )?(?:\w+ ){{0,2}}\{{(n\d+)\}}", ask.low
    )
    if (
        m is None
        or m[1] not in ask.figures()
        or any(ask.said.num(s).kind in SIZES for s in ask.said.signs("n"))
    ):
        return False
    rest = re.sub(gave, " ", ask.low)
    return re.search(rf"{COMPARES}|{TIE}|{CAUSE}|\bfrom \{{n|\binstead\b|\bthan\b", rest) is None


def _clash(ask: Ask) -> bool:
    """Whether two of the settings named exclude each other."""
    wants = [ask.said.want(s) for s in ask.wants]
    return any(a.names & b.names and a.tests != b.tests for a in wants for b in wants)


def _two_scales(ask: Ask) -> bool:
    """One workload held against another: ``better at the one than at the other``."""
    if len(ask.workloads) != 2 or ask.wants:
        return False
    if ask.has(r"\{w\d+\}[^{]* (?:than|as) (?:\w+ ){0,2}\{w\d+\}"):
        return True
    figures = [ask.said.num(f) for f in ask.figures()]
    sizes = [n for s in ask.said.signs("n") if (n := ask.said.num(s)).kind in ("factor", "pct")]
    return len(figures) == 2 and bool(sizes) and len(ask.boards) == 1


def _boards(ask: Ask, left: list[str], right: list[str], relation: str, flipped: bool) -> list[Finding]:
    ev = ask.evidence
    sizes, used = sizes_of(ask)
    where: dict[str, int] = {}
    for s in ask.said.signs("b"):
        where.setdefault(ask.said.boards[int(s[1:])], ask.said.at(s))
    wants = sided_wants(ask, where) if where else {}
    fallback = ask.want_list() if not wants else []
    if not ask.wants:
        wants = {
            b: [w for w in ask.scene.wants_of.get(b, ()) if any(ev.as_said(t, [w]) for t in ev.trials([b]))]
            for b in (*left, *right)
        }
    figures = ask.figures()
    found: list[Finding] = []
    for a, b in product(left, right):
        workloads = ask.workloads or _shared(ask, a, b)
        if not workloads:
            found.append(_missing(a, b, "no workload was run on both"))
        for w in workloads:
            picked = figure_sides(ask, a, b, figures, w, where)
            rig_a, rig_b = rigs_of(ask, a, where), rigs_of(ask, b, where)
            cells_a = ev.cells(w, [a], wants.get(a, fallback), rig_a)
            if not cells_a and rig_a and not ev.cells(w, [a], rigs=rig_a):
                cells_a = ev.cells(w, [a], wants.get(a, fallback))  # the rig was said of the other board
            cells_b = ev.cells(w, [b], wants.get(b, fallback), rig_b) or (
                ev.cells(w, [b], wants.get(b, fallback)) if rig_b else []
            )
            cells_a, cells_b = extreme(ask, a, cells_a, where), extreme(ask, b, cells_b, where)
            gone = [x for x in (a, b) if ev.undefined(w, x)]
            if gone:
                refs = tuple(t.number for x in gone for t in ev.undefined(w, x))
                found.append(
                    Finding(
                        verdict=V.NOT_COMPARABLE,
                        why=f"{w} cannot run on {gone[0]}",
                        refs=refs,
                        boards=(a, b),
                        true=f"{w} is undefined on {gone[0]}, so there is nothing to compare",
                    )
                )
                continue
            if picked is not None:
                cells_a, cells_b = (
                    [c for c in cs if reads(c, n)] or []
                    for cs, n in zip((cells_a, cells_b), picked, strict=True)
                )
                if not cells_a or not cells_b:
                    found.append(no_figure(ask, a if not cells_a else b, w))
                    continue
            elif len(figures) == 1 and (one := owner(ask, figures[0], where) or "") in (a, b):
                n = ask.said.num(figures[0])
                if one == a:
                    cells_a = [c for c in cells_a if reads(c, n)]
                else:
                    cells_b = [c for c in cells_b if reads(c, n)]
                if not cells_a or not cells_b:
                    found.append(no_figure(ask, one or a, w))
                    continue
            if not cells_a or not cells_b:
                found.append(_missing(a if not cells_a else b, b, f"{w} was not run there"))
                continue
            found.append(judge(best_pair(ask, cells_a, cells_b, w), ev, relation, sizes))
    return finish(ask, found, flipped, used | frozenset(figures))


def best_pair(ask: Ask, first: Sequence[Cell], second: Sequence[Cell], w: str) -> Weighed:
    """Best against best under one rig where both ran one, else over bridges, else whatever cannot be compared."""
    ev = ask.evidence
    common = {c.rig for c in first} & {c.rig for c in second}
    if common:
        first, second = ([c for c in cs if c.rig in common] for cs in (first, second))
        pairs = [
            weigh(
                ev, ev.best([c for c in first if c.rig == r]), ev.best([c for c in second if c.rig == r]), w
            )
            for r in sorted(common)
        ]
        return (
            max(pairs, key=lambda p: len(p.first.mean.readings) + len(p.second.mean.readings))
            if len(pairs) > 1
            else pairs[0]
        )
    linked = [x for a, b in product(first, second) if (x := weigh(ev, a, b, w)).pair is not None]
    if not linked:
        return weigh(ev, ev.best(first), ev.best(second), w)
    a = ev.best([x.first for x in linked])
    b = ev.best([x.second for x in linked if x.first is a])
    return weigh(ev, a, b, w)


def _shared(ask: Ask, a: str, b: str) -> list[str]:
    ev = ask.evidence
    return [w for w in ev.ledger.workloads if ev.cells(w, [a]) and ev.cells(w, [b])]


def _missing(board: str, other: str, why: str) -> Finding:
    return Finding(
        verdict=V.UNTESTED,
        why=why,
        boards=tuple(dict.fromkeys((board, other))),
        true=f"{board}: {why}; nothing can be said of it yet",
    )


def _rigs(ask: Ask, relation: str, flipped: bool) -> list[Finding]:
    """One rig against another: one state under both is like for like; two boards need a bridge."""
    ev = ask.evidence
    sizes, used = sizes_of(ask)
    figures = ask.figures()
    found: list[Finding] = []
    for w in ask.workloads or list(ev.ledger.workloads):
        one, two = (ev.cells(w, ask.scope, ask.want_list(), [r]) for r in ask.rigs)
        if len(figures) == 2:
            nums = [ask.said.num(f) for f in figures]
            fits = [
                ([c for c in one if reads(c, a)], [c for c in two if reads(c, b)])
                for a, b in (nums, nums[::-1])
            ]
            one, two = fits[0] if all(fits[0]) else fits[1]
        if not one or not two:
            continue
        same = [
            (a, b) for a, b in product(one, two) if a.board == b.board and a.trials[0].key == b.trials[0].key
        ]
        if same:
            found += [_one_state(ask, a, b, w, relation, sizes) for a, b in same]
        else:
            found.append(judge(best_pair(ask, one, two, w), ev, relation, sizes))
    if not found:
        found = [
            Finding(
                verdict=V.NOT_COMPARABLE,
                why="no workload was run with both",
                true="nothing was run with both rigs",
            )
        ]
    return finish(ask, found, flipped, used | frozenset(figures))


def _rig_effect(ask: Ask, relation: str, flipped: bool) -> list[Finding]:
    """One rig against whatever else the same state ran under."""
    ev = ask.evidence
    sizes, used = sizes_of(ask)
    found = []
    for w in ask.workloads or list(ev.ledger.workloads):
        cells = ev.cells(w, ask.scope, ask.want_list())
        mine, rest = [c for c in cells if c.rig in ask.rigs], [c for c in cells if c.rig not in ask.rigs]
        found += [
            _one_state(ask, a, b, w, relation, sizes)
            for a, b in product(mine, rest)
            if a.board == b.board and a.trials[0].key == b.trials[0].key
        ]
    if not found:
        text = "no state was run with that rig and with another one"
        tried = any(
            t.rig in ask.rigs
            for w in ask.workloads or ev.ledger.workloads
            for t in ev.ledger.of(w)
            if t.board in ask.scope
        )
        tried = tried or ask.has(r"\b(?:than|any|every)\b")
        found = [
            Finding(
                verdict=V.NOT_COMPARABLE if tried else V.UNTESTED,
                why=text,
                boards=tuple(ask.boards),
                true=text,
            )
        ]
    return finish(ask, found, flipped, used)


def _one_state(ask: Ask, a: Cell, b: Cell, w: str, relation: str, sizes: list[Num]) -> Finding:
    """The same state under two rigs: the rig is the only thing that differs."""
    from leadoff.claims.pairs import pair

    field = ask.evidence.field(w)
    made = Weighed(first=a, second=b, workload=w, pair=pair(b.mean, a.mean, field.workload, field.house))
    return judge(made, ask.evidence, relation, sizes)


def _by_figures(ask: Ask, relation: str, flipped: bool) -> list[Finding]:
    """Two scores of one board or of the house, in the order in which they were said."""
    ev, said = ask.evidence, ask.said
    sizes, used = sizes_of(ask)
    figures = ask.figures()
    found = []
    for w in ask.workloads:
        cells = ev.cells(w, ask.scope, ask.want_list(), ask.rigs)
        one, two = ([c for c in cells if reads(c, said.num(f))] for f in figures)
        if re.search(r"\bfrom \{n\d+\}[^{]* to \{n\d+\}", ask.low):
            one, two = two, one
        if not one or not two:
            found.append(no_figure(ask, ", ".join(ask.boards) or "any board", w))
        else:
            found.append(judge(best_pair(ask, one, two, w), ev, relation, sizes))
    return finish(ask, found, flipped, used | frozenset(figures))
