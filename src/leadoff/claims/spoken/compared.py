"""Comparisons: board against board, run against run, rig against rig, figure against figure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import product

from leadoff.claims.spoken.cues import BETTER, CAUSE, EFFECT, REST, TIE, WORSE
from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.relation import finish, no_figure, relation_of, sizes_of
from leadoff.claims.spoken.run_pairs import two_runs
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.states import states
from leadoff.claims.spoken.values import Finding, Num, Verdict, Want
from leadoff.claims.spoken.weigh import Weighed, judge, weigh
from leadoff.claims.standings import Cell

V = Verdict


def compared(ask: Ask) -> list[Finding]:
    """Every comparison the sentence makes; none when it makes none."""
    relation, flipped = relation_of(ask)
    causal = ask.has(CAUSE)
    if relation is not None and _two_scales(ask):
        text = f"{' and '.join(ask.workloads[:2])} have no common scale"
        used = frozenset(ask.said.signs("nswgr"))
        return [Finding(verdict=V.NOT_COMPARABLE, why=text, boards=tuple(ask.boards), true=text, used=used)]
    if relation is None and not causal:
        return []
    if len(ask.said.runs) == 2 or (len(ask.said.runs) == 1 and len(ask.scene.runs) == 1):
        return two_runs(ask, relation or "differs", flipped)
    left, right = _board_sides(ask)
    if left and right and not causal:
        return _boards(ask, left, right, relation or "differs", flipped)
    if len(set(ask.rigs)) == 2 and len({*ask.said.signs("g")}) >= 2 and not ask.wants:
        ask.rigs = _rig_order(ask)
        return _rigs(ask, relation or "differs", flipped)
    if len(ask.said.signs("g")) == 1 and not ask.wants and ask.has(EFFECT) and len(left) <= 1:
        return _rig_effect(ask, relation or "differs", flipped)
    if ask.wants or ((ask.scene.effect is not None or ask.scene.act is not None) and ask.has(EFFECT)):
        return states(ask, relation, flipped, causal)
    if len(ask.figures()) == 2 and relation in ("better", "worse") and not causal:
        return _by_figures(ask, relation, flipped)
    return []


def _two_scales(ask: Ask) -> bool:
    """One workload held against another: ``better at the one than at the other``."""
    if len(ask.workloads) != 2 or ask.wants:
        return False
    if ask.has(r"\{w\d+\}[^{]* (?:than|as) (?:\w+ ){0,2}\{w\d+\}"):
        return True
    figures = [ask.said.num(f) for f in ask.figures()]
    sizes = [n for s in ask.said.signs("n") if (n := ask.said.num(s)).kind in ("factor", "pct")]
    return len(figures) == 2 and bool(sizes) and len(ask.boards) == 1


def _rig_order(ask: Ask) -> list[str]:
    """The rig that is judged, then the other: after ``from`` comes the other one, before the verb the judged."""
    names = list(dict.fromkeys(ask.rigs))
    swapped = (
        r"\b(?:from|swap\w*|replac\w*|exchang\w*) (?:the )?\{g\d+\}.{0,30}? (?:to|for|by|"
        r"with) (?:the )?\{g\d+\}"
    )
    if re.search(swapped, ask.low):
        return names[::-1]
    signs = ask.said.signs("g")
    if len(signs) > 2:
        last = ask.said.rigs[int(signs[-1][1:])]
        return [last, *(n for n in names if n != last)]
    return names


def _board_sides(ask: Ask) -> tuple[list[str], list[str]]:
    """Boards before and after the word that compares."""
    said = ask.said
    order: list[tuple[int, list[str]]] = []
    for s in said.signs("bk"):
        members = [said.boards[int(s[1:])]] if s[0] == "b" else list(said.groups[int(s[1:])])
        order.append((said.at(s), members))
    rest = re.search(REST, ask.low)
    named = [b for _, bs in order for b in bs]
    everyone = list(ask.evidence.ledger.boards)
    if len(set(named)) == 1 and ask.has(r"\bno board\b|\bnobody\b"):
        return [b for b in everyone if b not in named], named[:1]
    if not order and len(ask.scene.boards) == 2 and ask.has(r"\b(?:between|of) them\b|\bapart\b"):
        return [ask.scene.boards[0]], [ask.scene.boards[1]]
    alone = [said.boards[int(s[1:])] for s in said.signs("b")]
    if len(set(alone)) == 1 and said.signs("k") and len(set(named)) > 1:
        return alone[:1], [b for b in dict.fromkeys(named) if b != alone[0]]
    if rest and named:
        return named[:1], [b for b in ask.evidence.ledger.boards if b not in named]
    if (
        not order
        and len(ask.scene.boards) == 2
        and re.search(r"\b(?:ties?|tied|level|same|nothing between|neck)\b", ask.low)
    ):
        return [ask.scene.boards[0]], [ask.scene.boards[1]]
    one = next(iter(named), None)
    if one in ask.scene.boards and len(ask.scene.boards) == 2 and len(set(named)) == 1 and not ask.wants:
        other = [b for b in ask.scene.boards if b != one]
        last = re.search(r"\b(?:than|against|versus|vs|to|beats?|beat|behind|as) (?:the )?\{b\d+\}", ask.low)
        return (other, [str(one)]) if last else ([str(one)], other)
    if (
        one is not None
        and len(set(named)) == 1
        and one not in ask.scene.boards
        and len(ask.scene.boards) == 1
        and not ask.wants
    ):
        against = r"\b(?:than|of|against|versus|to|as fast as|beats?|loses to|behind) (?:the |my )?\{b\d+\}"
        if re.search(against, ask.low):
            return [ask.scene.boards[0]], [one]
        if ask.has(
            r"\b(?:faster|quicker|slower|ahead|behind|better|worse|in front|level|wins?|won|loses|"
            r"as fast|as quick)\b"
        ):
            return [one], [ask.scene.boards[0]]
    if len(set(named)) < 2:
        return [], []
    m = re.search(
        rf"(?:{BETTER[2:]})|(?:{WORSE[2:]})|(?:{TIE[2:]})|\bthan\b|\{{n\d+\}} (?:as fast as )?(?:the )?\{{b",
        ask.low,
    )
    cut = m.start() if m else 0
    left = [b for at, bs in order if at < cut for b in bs]
    right = [b for at, bs in order if at >= cut for b in bs if b not in left]
    if not left or not right:
        first = order[0][1]
        left, right = (
            first[:1] if len(order) == 1 else first,
            [b for b in named if b not in (first[:1] if len(order) == 1 else first)],
        )
    return left, right


def _sided_wants(ask: Ask, board_sign: dict[str, int]) -> dict[str, list[Want]]:
    """State words by the board they follow; those before any board are of all."""
    out: dict[str, list[Want]] = {b: [] for b in board_sign}
    first = min(board_sign.values())
    last = max(board_sign.values())
    for s in ask.wants:
        at = ask.said.at(s)
        owners = [b for b, p in board_sign.items() if p < at]
        want = ask.said.want(s)
        shared = len(ask.wants) == 1 and at > last and all(_has_state(ask, b, want) for b in out)
        if at < first or shared:
            for b in out:
                out[b].append(want)
        else:
            out[max(owners, key=lambda b: board_sign[b])].append(want)
    return out


def _rigs_of(ask: Ask, board: str, where: dict[str, int]) -> list[str]:
    """The rigs that were named for a board: ``the one with its own card, the other with the ISA card``."""
    own: dict[str, list[str]] = {}
    for m in re.finditer(
        r"\{(b\d+)\}[^{]{0,12}\b(?:with|under|behind|using|has|on) (?:the |its |an? )?\{(g\d+)\}", ask.low
    ):
        own.setdefault(ask.said.boards[int(m[1][1:])], []).append(ask.said.rigs[int(m[2][1:])])
    if not own or set(where) <= own.keys():
        return own.get(board, ask.rigs)
    last = len(own) == 1 and next(iter(own)) == max(where, key=lambda b: where[b])
    return ask.rigs if last and " own card" not in ask.said.plain.low else own.get(board, [])


def _has_state(ask: Ask, board: str, want: Want) -> bool:
    return any(ask.evidence.as_said(t, [want]) for t in ask.evidence.trials([board]))


def _boards(ask: Ask, left: list[str], right: list[str], relation: str, flipped: bool) -> list[Finding]:
    ev = ask.evidence
    sizes, used = sizes_of(ask)
    where: dict[str, int] = {}
    for s in ask.said.signs("b"):
        where.setdefault(ask.said.boards[int(s[1:])], ask.said.at(s))
    wants = _sided_wants(ask, where) if where else {}
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
            picked = _figure_sides(ask, a, b, figures, w, where)
            rig_a, rig_b = _rigs_of(ask, a, where), _rigs_of(ask, b, where)
            cells_a = ev.cells(w, [a], wants.get(a, fallback), rig_a)
            cells_b = ev.cells(w, [b], wants.get(b, fallback), rig_b) or (
                ev.cells(w, [b], wants.get(b, fallback)) if rig_b else []
            )
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
            elif len(figures) == 1 and (one := _owner(ask, figures[0], where) or "") in (a, b):
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


def _owner(ask: Ask, figure: str, where: dict[str, int]) -> str | None:
    """The board a figure belongs to: the last one named before it, else the first after."""
    at = ask.said.at(figure)
    before = [b for b, p in where.items() if p < at]
    return max(before, key=lambda b: where[b]) if before else min(where, key=lambda b: where[b], default=None)


def _figure_sides(
    ask: Ask, a: str, b: str, figures: list[str], workload: str, where: dict[str, int]
) -> tuple[Num, Num] | None:
    """Two scores that belong to the two boards: by who reads them, else in their order."""
    if len(figures) != 2:
        return None
    one, two = (ask.said.num(f) for f in figures)
    for x, y in ((one, two), (two, one)):
        if _reads(ask, a, workload, x) and _reads(ask, b, workload, y):
            return x, y
    return one, two


def _reads(ask: Ask, board: str, workload: str, n: Num) -> bool:
    return any(reads(c, n) for c in ask.evidence.cells(workload, [board]))


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
        found = [Finding(verdict=V.NOT_COMPARABLE, why=text, boards=tuple(ask.boards), true=text)]
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
