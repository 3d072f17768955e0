"""One board's states: two that were named, what one setting is worth, why a score moved."""

from __future__ import annotations

import re
from itertools import product

from leadoff.claims.spoken.changes import (
    cause_of_act,
    cause_of_figures,
    differing,
    family,
    meets_bare,
    several,
    two_effects,
    unsplit,
)
from leadoff.claims.spoken.cues import CAUSE, EFFECT
from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.relation import finish, no_figure, sizes_of
from leadoff.claims.spoken.scene import Act, Ask, family_names
from leadoff.claims.spoken.settings import meets
from leadoff.claims.spoken.values import Finding, Num, Verdict, Want
from leadoff.claims.spoken.weigh import judge, said_fits, weigh
from leadoff.claims.standings import Cell
from leadoff.claims.values import number_of
from leadoff.record.runs import Direction

V = Verdict


def states(ask: Ask, relation: str | None, flipped: bool, causal: bool) -> list[Finding]:
    """One board's states: two that were named, or a named setting against the same state without it."""
    said, ev = ask.said, ask.evidence
    if not ask.boards and not ask.workloads:
        return [Finding(verdict=V.NOT_PLACED, why="on which board and in what was not said")]
    sizes, used = sizes_of(ask)
    wants = [said.want(s) for s in ask.wants] or ([ask.scene.effect] if ask.scene.effect else [])
    act = ask.scene.act
    if act is not None and (not ask.wants or _chooses(ask, wants, act)):
        target, other, extra = _acted(ask, act)
        causal = causal or (
            bool(ask.wants) and ask.has(r"\b(?:made|makes|gave|gives|brought|brings|bought|buys)\b")
        )
    elif act is not None and act.other is not None and len(wants) == 1 and _one_of(wants[0], act):
        first = wants[0].tests == act.target.tests
        target, other, extra = wants[0], act.other if first else act.target, list(act.base)
    else:
        target, other, extra = _against_scene(ask, wants) or _targets(ask, wants)
        extra = [*extra, *(w for w in ask.base(wants) if w not in extra)]
    figures = ask.figures()
    if found := two_effects(ask):
        return found
    relation = relation or "differs"
    found = []
    if causal and act is not None and act.other is not None and ask.wants and act.target not in wants:
        named = [w for w in wants if w.names]
        cause = family(frozenset(n for w in named for n in w.names))
        if not figures and cause:
            found = cause_of_act(ask, act, cause, relation, sizes)
            if found:
                return finish(ask, found, flipped, used)
    scope = ask.boards or list(ev.ledger.boards)
    workloads = ask.workloads or list(ev.ledger.workloads)
    for board in scope:
        for w in workloads:
            cells = ev.cells(w, [board], extra, ask.rigs)
            found += _state_pairs(ask, cells, target, other, w, relation, sizes, figures, causal)
    if not found:
        names = ", ".join(scope) if ask.boards else "any board"
        found = [
            Finding(
                verdict=V.UNTESTED,
                why=f"{names}: no two runs differ in that and in nothing else",
                boards=tuple(ask.boards),
                true=f"{names}: what that setting alone does has not been measured",
            )
        ]
    return finish(ask, found, flipped, used | frozenset(figures))


def _against_scene(ask: Ask, wants: list[Want]) -> tuple[Want, Want | None, list[Want]] | None:
    """``it beats 40 times 3``: the state just spoken of against the one named."""
    form = (
        r"\b(?:than|beats?|against|versus|ahead of|behind|over|loses to|as fast as|level with|equal to|"
        r"same as) (?:at |with |"
        r"the )*\{(s\d+)\}"
    )
    m = re.search(form, ask.low)
    if m is None or not ask.same_boards:
        return None
    named = ask.said.want(m[1])
    rest = [w for w in wants if w is not named]
    clocks = family_names(named.names)
    if any(family_names(w.names) & clocks for w in rest):
        return None
    mine = [w for w in ask.scene.wants if family_names(w.names) & clocks and w.tests != named.tests]
    if len(mine) != 1:
        return None
    held = {n for w in rest for n in w.names}
    return mine[0], named, [*rest, *(w for w in ask.scene.wants if w is not mine[0] and not w.names & held)]


def _one_of(want: Want, act: Act) -> bool:
    """One of two states that were just named is named again."""
    return want.tests in (act.target.tests, act.other.tests if act.other else ())


def _chooses(ask: Ask, wants: list[Want], act: Act) -> bool:
    """``the faster bus`` of two states that were just named."""
    return (
        len(wants) == 1
        and wants[0].bare
        and act.other is not None
        and bool(wants[0].names & act.target.names)
    )


def _acted(ask: Ask, act: Act) -> tuple[Want, Want | None, list[Want]]:
    """The change just spoken of; where the sentence says faster or slower setting, the one it means first."""
    target, other = act.target, act.other
    if ask.wants and other is not None:
        name = min(ask.said.want(ask.wants[0]).names & target.names)
        one, two = (next(number_of(v) for n, _, v in w.tests if n == name) for w in (target, other))
        low = re.search(r"\b(?:slower|lower)\b", ask.said.want(ask.wants[0]).text) is not None
        if one is not None and two is not None and (one > two) == low:
            target, other = other, target
    return target, other, list(act.base)


def _targets(ask: Ask, wants: list[Want]) -> tuple[Want, Want | None, list[Want]]:
    """The state that is judged, the one it is held against, and what holds for both."""
    low = ask.low
    signs = ask.wants
    m = re.search(r"\bfrom \{(s\d+)\}.{0,30}? (?:up |down |over )?to (?:at )?\{(s\d+)\}", low) or re.search(
        r"\bbetween (?:the )?\{(s\d+)\} and (?:the )?\{(s\d+)\}", low
    )
    if m:
        rest = [ask.said.want(s) for s in signs if s not in m.groups()]
        return ask.said.want(m[2]), ask.said.want(m[1]), rest
    m = re.search(r"(?<!compared )(?<!close )\{(s\d+)\} to (?:at )?\{(s\d+)\}", low)
    if m and ask.said.want(m[1]).names & ask.said.want(m[2]).names:
        rest = [ask.said.want(s) for s in signs if s not in m.groups()]
        return ask.said.want(m[2]), ask.said.want(m[1]), rest
    m = re.search(
        r"\{(s\d+)\}[^{]*(?:\{[nw]\d+\}[^{]*)*\b(?:than|against|versus|vs|over|or|and|"
        r"instead of|rather than|compared (?:to|with)|to|beats?|beat|ahead of|behind|loses to|outruns)"
        r" (?:at |with |on |the )*\{(s\d+)\}",
        low,
    )
    if (
        m
        and ask.said.want(m[1]).names & ask.said.want(m[2]).names
        and ask.said.want(m[1]) != ask.said.want(m[2])
    ):
        rest = [ask.said.want(s) for s in signs if s not in m.groups()]
        return ask.said.want(m[1]), ask.said.want(m[2]), rest
    if len(wants) == 1:
        return (
            wants[0],
            None,
            list(ask.scene.wants if not ask.own_wants and wants[0] not in ask.scene.wants else ()),
        )
    lead = _leading(ask)
    rest = [w for w in wants if w is not lead]
    clash = next((w for w in rest if w.names & lead.names and w.tests != lead.tests), None)
    return lead, clash, [w for w in rest if w is not clash]


def _leading(ask: Ask) -> Want:
    """Of several settings the one that is said to act: after ``because of``, ``from``, or before the verb."""
    low = ask.low
    m = re.search(rf"(?:{CAUSE[2:]}|\bfrom\b)(?: \w+){{0,3}}? \{{(s\d+)\}}", low)
    if m:
        return ask.said.want(m[1])
    placed = re.findall(r"\b(?:at|on) (?:an? |the )?\{(s\d+)\}", low)
    for m in re.finditer(rf"\{{(s\d+)\}}(?: (?:at|on) \{{s\d+\}}| \w+){{0,3}}? (?:{EFFECT[2:]})", low):
        if m[1] not in placed:
            return ask.said.want(m[1])
    acting = [s for s in ask.wants if s not in placed]
    return ask.said.want((acting or ask.wants)[0])


def _state_pairs(
    ask: Ask,
    cells: list[Cell],
    target: Want,
    other: Want | None,
    w: str,
    relation: str,
    sizes: list[Num],
    figures: list[str],
    causal: bool,
) -> list[Finding]:
    ev = ask.evidence
    nums = [ask.said.num(f) for f in figures] or (list(ask.scene.figures) if causal else [])
    if causal and nums:
        return cause_of_figures(ask, cells, target, w, relation, nums)
    first = [c for c in cells if meets(target, c.trials[0].settings, c.trials[0].core_mhz)]
    second = [
        c
        for c in cells
        if (
            meets(other, c.trials[0].settings, c.trials[0].core_mhz)
            if other is not None
            else not meets_bare(target, c) and _known(target, c)
        )
    ]
    if target.bare:
        first = second = cells
    if (moved := _moved(ask, first, second, w, target)) is not None:
        return moved
    if len(nums) == 2 and other is not None:
        picked = [[c for c in cs if reads(c, n)] for cs, n in zip((first, second), nums, strict=True)]
        if not all(picked):
            picked = [
                [c for c in cs if reads(c, n)] for cs, n in zip((first, second), reversed(nums), strict=True)
            ]
        if not all(picked):
            return [no_figure(ask, ", ".join(ask.boards), w)] if first and second else []
        first, second = picked
    if len(nums) == 1 and first and second and not any(reads(c, nums[0]) for c in (*first, *second)):
        pairs_ = [weigh(ev, a, b, w) for a, b in product(first, second) if a is not b and a.rig == b.rig]
        if not any(said_fits(x, nums[0]) for x in pairs_):
            return [no_figure(ask, ", ".join(ask.boards), w)]
    two_read = len(nums) == 2 and other is None
    allowed = family(target.names | (other.names if other is not None else frozenset()))
    pairs = [(a, b) for a, b in product(first, second) if a is not b and a.rig == b.rig]
    strict = [(a, b) for a, b in pairs if differing(a, b) and differing(a, b) <= allowed]
    if two_read and strict:
        strict = [x for x in strict if _reads_both(x, nums)]
        if not strict:
            return (
                [several(*pairs[0], w)]
                if any(_reads_both(x, nums) for x in pairs)
                else [no_figure(ask, ", ".join(ask.boards), w)]
            )
    if target.bare:
        strict = [(a, b) for a, b in strict if (p := weigh(ev, a, b, w).pair) is not None and p.faster >= 0]
        relation = relation if relation in ("tie", "differs") else "better"
    if strict:
        two = causal or other is None
        if two and target.names | (other.names if other else frozenset()) <= {
            "clock",
            "bus_mhz",
            "ratio",
            "core_mhz",
        }:
            strict = [(a, b) for a, b in strict if len(differing(a, b)) == 1] or (
                [] if causal or _attributes(ask) else strict
            )
        if not strict:
            return unsplit(ask, pairs, other, w, relation)
        return [judge(weigh(ev, a, b, w), ev, relation, sizes) for a, b in strict]
    if other is not None and pairs and not causal and not _attributes(ask):
        least = min(len(differing(a, b) - allowed) for a, b in pairs)
        near = [(a, b) for a, b in pairs if len(differing(a, b) - allowed) == least]
        return [judge(weigh(ev, a, b, w), ev, relation, sizes) for a, b in near]
    return unsplit(ask, pairs, other, w, relation) if pairs and (causal or other is not None) else []


def _reads_both(pair: tuple[Cell, Cell], nums: list[Num]) -> bool:
    """Whether two scores are those of these two states."""
    return any(reads(pair[0], x) and reads(pair[1], y) for x, y in (nums, nums[::-1]))


_FROM_TO = re.compile(r"(?:\bfrom|\{s\d+\} ,) \{(n\d+)\}[^{]{0,20} to \{(n\d+)\}")


def _moved(ask: Ask, first: list[Cell], second: list[Cell], w: str, target: Want) -> list[Finding] | None:
    """``it took the score from 11.2 to 12.4``: a pair that differs in the setting alone and has these scores."""
    m = _FROM_TO.search(ask.low)
    if m is None or not {*m.groups()} <= set(ask.figures()):
        return None
    left, to = ask.said.num(m[1]), ask.said.num(m[2])
    either = target.bare or any(op == "over" for _, op, _ in target.tests)
    pairs = [*product(first, second), *(product(second, first) if either else ())]
    allowed = family(target.names)
    fits = [(a, b) for a, b in pairs if a is not b and a.rig == b.rig and reads(a, to) and reads(b, left)]
    clean = [(a, b) for a, b in fits if differing(a, b) and differing(a, b) <= allowed]
    cells = (*first, *second)
    if not all(any(reads(c, n) for c in cells) for n in (left, to)) and cells:
        return [no_figure(ask, ", ".join(ask.boards), w)]
    up = (to.value > left.value) == (ask.evidence.ledger.workloads[w].direction is Direction.HIGHER)
    if not clean:
        return [several(*fits[0], w)] if fits and _attributes(ask) else None
    return [
        judge(weigh(ask.evidence, a, b, w), ask.evidence, "better" if up else "worse", sizes_of(ask)[0])
        for a, b in clean
    ]


def _attributes(ask: Ask) -> bool:
    return ask.has(r"\b(?:gave|gives|worth|costs?|brought|brings|bought|buys|helps?|helped|because|thanks)\b")


def _known(target: Want, c: Cell) -> bool:
    names = family(target.names) & c.trials[0].settings.keys()
    return bool(names) and all(c.trials[0].settings[n] is not None for n in names)
