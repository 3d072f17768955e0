"""Records and superlatives: who is first, at which grade, and against whom that can be said."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.grade import Grade
from leadoff.claims.spoken.bounds import THAT
from leadoff.claims.spoken.compared import best_pair
from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.relation import EXTREME
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.spoken.weigh import said as in_figures
from leadoff.claims.spoken.weigh import weigh, wording
from leadoff.claims.standings import Cell, state_words
from leadoff.record.runs import Direction

V = Verdict
RECORD = (
    r"\b(?:records?|champion|champ|crown|title|holds the|record-holder|record holder|"
    r"number 1|first place|personal best)\b"
)
FASTEST = (
    r"\b(?:fastest|quickest|leads|leader|leading|in front|unbeaten|unmatched|nobody "
    r"beats(?! \{n)|nothing beats(?! \{n)|tops the|top of|winner)\b"
)
SLOWEST = r"\b(?:slowest|last place|brings up the rear|comes last|worst|at the bottom|bottom of)\b"
BEST = r"\b(?:best|highest|lowest|shortest|top)\b"


def firsts(ask: Ask) -> list[Finding]:
    """The superlatives of a sentence."""
    record, slowest = ask.has(RECORD), ask.has(SLOWEST)
    fastest, best = ask.has(FASTEST), ask.has(BEST)
    compares = len(set(ask.boards)) > 1 and (
        _times(ask)
        or ask.has(
            r"\b(?:than|as (?:fast|quick|slow|good)|beats?|beat|outruns?|loses to)\b|"
            r"\{n\d+\} the \{b"
        )
    )
    if (compares or (ask.scene.boards and (ask.has(THAT) or _times(ask)))) and EXTREME.search(ask.low):
        return []
    if not (record or slowest or fastest or best) or ask.has(
        r"\bbest of\b|\brecord(?:ed|ing)?s? (?:that|it|the|in the book)\b|\brecorded\b"
    ):
        return []
    if not ask.workloads:
        if ask.said.signs("w") or (not fastest and not slowest):
            return [Finding(verdict=V.NOT_PLACED, why="best at what: no workload was named")]
        workloads = [w for w in ask.evidence.ledger.workloads if ask.evidence.ledger.of(w)]
    else:
        workloads = ask.workloads
    denied = ask.has(r"\b(?:not|never|neither|nor|no longer)\b")
    out = [
        _one(ask, w, record=record, slowest=slowest, figure_only=best and not record and not fastest)
        for w in workloads
    ]
    return [deny_first(f) for f in out] if denied else out


def deny_first(f: Finding) -> Finding:
    """``is not the record``: a tie stays a tie."""
    turned = {V.SUPPORTED: V.CONTRADICTED, V.CONTRADICTED: V.SUPPORTED}
    return msgspec.structs.replace(f, verdict=turned.get(f.verdict, f.verdict))


def _times(ask: Ask) -> bool:
    """Whether so many times another score is said."""
    return any(ask.said.num(s).kind in ("factor", "part") for s in ask.said.signs("n"))


def _own(ask: Ask) -> bool:
    """Whether the record is a board's own: ``a record for the Alder``, ``its best``."""
    return (
        len(ask.boards) == 1
        and not ask.all_boards
        and (
            ask.has(
                r"\b(?:record|best|fastest|quickest|slowest|highest|lowest|peak)\b(?: \w+){0,2} "
                r"(?:for|of|on|from) (?:the |my )?\{b\d+\}"
            )
            or ask.has(
                r"\{b\d+\}(?:'s|s')(?: own)?(?: \w+| \{w\d+\})? (?:record|best|fastest|quickest|"
                r"slowest|highest|lowest)"
            )
            or re.search(
                r"\b(?:its|own) (?:\w+ ){0,2}(?:record|best|fastest|quickest|slowest|highest|lowest)\b",
                ask.said.plain.low,
            )
            is not None
            or ask.has(r"\b(?:its own|own|personal|its) (?:\{w\d+\} )?(?:record|best)\b")
            or (
                ask.has(r"\b(?:setting|state|on (?:the |that |this )?\{b\d+\}|for \{b\d+\})")
                and not ask.has(r"\{b\d+\} (?:\w+ )?(?:holds?|has|takes?|took|owns?|keeps?|is|leads?)\b")
            )
            or (not ask.named_boards and bool(ask.wants) and not ask.has(r"\b(?:holds?|house)\b"))
        )
    )


def _group(ask: Ask) -> list[str]:
    """Boards among which someone is first: a named kind, else all."""
    kinds = [ask.said.groups[int(s[1:])] for s in ask.said.signs("k")]
    if not kinds and ask.scene.group and not ask.all_boards and set(ask.boards) <= set(ask.scene.group):
        return list(ask.scene.group)
    return list(kinds[0]) if kinds else list(ask.evidence.ledger.boards)


def _one(ask: Ask, w: str, *, record: bool, slowest: bool, figure_only: bool) -> Finding:
    ev = ask.evidence
    up = ev.ledger.workloads[w].direction is Direction.HIGHER
    nums = [ask.said.num(f) for f in ask.figures()]
    used = frozenset({*ask.figures(), *ask.wants, *ask.said.signs("grb")})
    subjects = [ask.said.boards[int(s[1:])] for s in ask.said.signs("b")] or (
        ask.boards if not ask.said.signs("k") and not ask.all_boards else []
    )
    group = [subjects[0]] if _own(ask) and subjects else _group(ask)
    wants, rigs = ask.want_list(), ask.rigs
    if ask.said.signs("g") and not wants:
        field = [c for c in ev.cells(w, group) if c.rig in rigs]
    else:
        field = ev.cells(w, group)
    mine = [c for c in ev.cells(w, subjects[:1] or group, wants, rigs)]
    if ask.said.runs:
        mine = [c for c in mine if set(ask.said.runs) & set(c.mean.runs)]
    gone = [b for b in subjects if ev.undefined(w, b)]
    if gone:
        return Finding(
            verdict=V.NOT_COMPARABLE, why=f"{w} cannot run on {gone[0]}", boards=tuple(gone), used=used
        )
    if not mine:
        if subjects and not ev.cells(w, subjects):
            return Finding(
                verdict=V.UNTESTED,
                why=f"{w} was never run on {subjects[0]}",
                boards=tuple(subjects),
                used=used,
            )
        return Finding(
            verdict=V.UNTESTED, why=f"{w}: no run in such a state", boards=tuple(subjects), used=used
        )
    if nums:
        hit = [c for c in mine if any(reads(c, n) for n in nums)]
        if not hit:
            return _wrong_figure(ask, w, mine, nums[0], used)
        mine = hit
    if slowest:
        return _last(ask, w, subjects or [ev.best(mine).board], group, used)
    target = ev.best(mine)
    wrong_way = not figure_only and ask.has(r"\blowest\b") and up
    rivals = [c for c in field if c is not target]
    if not record:
        # The other states of the same board are no rivals of a board, only of a state or a figure.
        if not (wants or nums or _own(ask) or ask.said.runs):
            rivals = [c for c in rivals if c.board != target.board]
        return _plain_first(ask, w, target, rivals, figure_only=figure_only, wrong_way=wrong_way, used=used)
    return _record(ask, w, target, rivals, state_named=bool(wants or nums), used=used)


def _wrong_figure(ask: Ask, w: str, mine: list[Cell], n: Num, used: frozenset[str]) -> Finding:
    best = ask.evidence.best(mine)
    text = f"{w}: run {best.mean.runs[0]} of {best.board} reads {best.mean.value:.4g}, not {n.value:g}"
    return Finding(
        verdict=V.CONTRADICTED if ask.want_list() or ask.has(RECORD) else V.NOT_FOUND,
        why=text,
        refs=best.mean.runs,
        boards=(best.board,),
        used=used,
        true=text,
    )


def _plain_first(
    ask: Ask,
    w: str,
    target: Cell,
    rivals: list[Cell],
    *,
    figure_only: bool,
    wrong_way: bool,
    used: frozenset[str],
) -> Finding:
    ev = ask.evidence
    if figure_only:
        up = ev.ledger.workloads[w].direction is Direction.HIGHER
        if ask.has(r"\b(?:lowest|shortest|smallest)\b"):
            up = False
        elif ask.has(r"\b(?:highest|longest|biggest)\b"):
            up = True
        values = [(r.value, c) for c in (target, *rivals) for t in c.trials for r in t.readings]
        top, who = (max if up else min)(values, key=lambda v: v[0])
        mine = [r.value for t in target.trials for r in t.readings]
        ok = (max(mine) if up else min(mine)) == top
        text = f"{w}: the {'highest' if up else 'lowest'} reading is {top:g} ({who.board}, run {who.mean.runs[0]})"
        tie = not ok and (p := weigh(ev, target, who, w).pair) is not None and not p.shown
        if ok and not ask.figures():
            others = [x.pair for c in rivals if c.board != target.board and (x := weigh(ev, target, c, w))]
            tie = any(p is not None and not p.shown for p in others)
            ok = not tie
        return Finding(
            verdict=V.SUPPORTED if ok else V.WITHIN_NOISE if tie else V.CONTRADICTED,
            why=text,
            refs=(*target.mean.runs, *who.mean.runs),
            boards=(target.board,),
            true=text,
            used=used,
        )
    return _against(ask, w, target, rivals, used)


def _against(ask: Ask, w: str, target: Cell, rivals: list[Cell], used: frozenset[str]) -> Finding:
    """First over all rivals: beaten by any is contradicted, a missing bridge is not comparable, a tie is noise."""
    ev = ask.evidence
    by_board: dict[str, list[Cell]] = {}
    for c in rivals:
        by_board.setdefault(
            c.board if c.board != target.board else f"{c.board} {c.trials[0].key}", []
        ).append(c)
    own = [target] if ask.want_list() or ask.figures() else [c for c in ev.cells(w, [target.board])]
    worst, text, true = V.SUPPORTED, "", ""
    order = (V.SUPPORTED, V.WITHIN_NOISE, V.NOT_COMPARABLE, V.CONTRADICTED)
    refs: list[str] = [*target.mean.runs]
    for key, cells in by_board.items():
        pair = best_pair(ask, own if not key.startswith(target.board + " ") else [target], cells, w)
        p = pair.pair
        verdict = (
            V.NOT_COMPARABLE
            if p is None
            else V.WITHIN_NOISE
            if not p.shown or p.tied
            else V.SUPPORTED
            if p.faster > 0
            else V.CONTRADICTED
        )
        refs += pair.second.mean.runs
        if order.index(verdict) > order.index(worst) or not text:
            worst, text, true = verdict, in_figures(pair, ev), wording(pair, ev)
    return Finding(
        verdict=worst,
        why=text or f"{w}: nobody else ran it",
        refs=tuple(dict.fromkeys(refs)),
        boards=tuple(dict.fromkeys((target.board, *(c.board for c in rivals)))),
        true=true,
        used=used,
    )


def ready(g: Grade, cell: Cell) -> Verdict:
    """Whether a state may carry a record: soaked, with write-back clean copies, and nothing against it."""
    if g.void_by:
        return V.CONTRADICTED
    write_back = cell.trials[0].settings.get("l1_policy") == "wb"
    soaked = g.at_least("soaked") and g.name != "copy_clean"
    if not soaked or (write_back and g.name != "soaked_copy_clean"):
        return V.UNTESTED
    return V.SUPPORTED


def _record(
    ask: Ask, w: str, target: Cell, rivals: list[Cell], *, state_named: bool, used: frozenset[str]
) -> Finding:
    ev = ask.evidence
    if not state_named:
        fit = [c for c in ev.cells(w, [target.board]) if ready(c.grade, c) is V.SUPPORTED]
        target = ev.best(fit) if fit else target
        rivals = [c for c in rivals if c.board != target.board]
    grade = ready(target.grade, target)
    fit_rivals = [c for c in rivals if ready(c.grade, c) is V.SUPPORTED]
    against = _against(ask, w, target, [c for c in fit_rivals if c is not target], used)
    unfit = [c for c in rivals if c not in fit_rivals and ready(c.grade, c) is V.UNTESTED]
    name = f"{target.board} ({state_words(target.trials[0])})"
    if grade is V.CONTRADICTED:
        why = f"{name}: {target.grade.said}"
        return Finding(
            verdict=V.CONTRADICTED,
            why=why,
            refs=(*target.mean.runs, *target.grade.failures),
            boards=(target.board,),
            true=f"{why}; no record can rest on it",
            used=used,
        )
    if against.verdict is V.CONTRADICTED:
        return against
    if grade is V.UNTESTED:
        why = f"{name}: {target.grade.said or 'not soaked'}"
        return Finding(
            verdict=V.UNTESTED,
            why=why,
            refs=target.mean.runs,
            boards=(target.board,),
            true=f"{name} read {target.mean.value:.4g} in {w}; a record needs a soak"
            + (" and clean copies" if target.trials[0].settings.get("l1_policy") == "wb" else ""),
            used=used,
        )
    if against.verdict is V.SUPPORTED and not against.true:
        return against
    if against.verdict is V.SUPPORTED and unfit:
        better = [
            c
            for c in unfit
            if c.board != target.board
            and (p := weigh(ev, c, target, w).pair) is not None
            and p.shown
            and p.faster > 0
        ]
        if better:
            why = f"{better[0].board} read {better[0].mean.value:.4g} in a state that has not been soaked"
            return Finding(
                verdict=V.UNTESTED,
                why=why,
                refs=(*target.mean.runs, *better[0].mean.runs),
                boards=(target.board,),
                used=used,
                true=why,
            )
    return against


def _own_last(ask: Ask, w: str, me: str, used: frozenset[str]) -> Finding:
    """The slowest state of a board: every other state of it beats this one."""
    ev = ask.evidence
    mine = [c for c in ev.cells(w, [me], ask.want_list(), ask.rigs)]
    rest = [c for c in ev.cells(w, [me]) if c not in mine]
    if not mine or not rest:
        return Finding(verdict=V.NOT_PLACED, why="slowest against what was not said", boards=(me,), used=used)
    pairs = [weigh(ev, a, b, w) for a in mine for b in rest]
    faster = [x.pair is not None and x.pair.shown and x.pair.faster < 0 for x in pairs]
    verdict = V.SUPPORTED if all(faster) else V.CONTRADICTED
    text = in_figures(pairs[0], ev)
    refs = tuple(dict.fromkeys(r for x in pairs for r in x.refs))
    return Finding(verdict=verdict, why=text, refs=refs, boards=(me,), true=wording(pairs[0], ev), used=used)


def _last(ask: Ask, w: str, subjects: list[str], group: list[str], used: frozenset[str]) -> Finding:
    """Slowest: every other board's best beats this one's best."""
    ev = ask.evidence
    me = subjects[0]
    if list(group) == [me]:
        return _own_last(ask, w, me, used)
    mine = ev.cells(w, [me])
    order = (V.SUPPORTED, V.WITHIN_NOISE, V.NOT_COMPARABLE, V.CONTRADICTED)
    worst, text, true, refs = V.SUPPORTED, "", "", []
    if set(group) == {me} or ask.said.runs:
        return _last_of_own(ask, w, me, used)
    for b in group:
        cells = ev.cells(w, [b])
        if b == me or not cells:
            continue
        pair = best_pair(ask, mine, cells, w)
        p = pair.pair
        verdict = (
            V.NOT_COMPARABLE
            if p is None
            else V.WITHIN_NOISE
            if not p.shown
            else V.SUPPORTED
            if p.faster < 0
            else V.CONTRADICTED
        )
        refs += [*pair.refs]
        if order.index(verdict) > order.index(worst) or not text:
            worst, text, true = verdict, in_figures(pair, ev), wording(pair, ev)
    return Finding(
        verdict=worst, why=text, refs=tuple(dict.fromkeys(refs)), boards=(me,), true=true, used=used
    )


def _last_of_own(ask: Ask, w: str, me: str, used: frozenset[str]) -> Finding:
    """The slowest state of one board, or the slowest run of all that is named by its number."""
    ev, runs = ask.evidence, set(ask.said.runs)
    cells = ev.cells(w, [me] if not runs or _own(ask) else list(ev.ledger.boards))
    wants = ask.want_list()
    nums = [ask.said.num(f) for f in ask.figures()]
    mine = [c for c in cells if (runs & set(c.mean.runs) if runs else ev.as_said(c.trials[0], wants))]
    mine = [c for c in mine if not nums or any(reads(c, n) for n in nums)]
    up = ev.ledger.workloads[w].direction is Direction.HIGHER
    last = (min if up else max)((c.mean.value for c in cells), default=0.0)
    ok = any(c.mean.value == last for c in mine)
    text = f"{w}: the slowest of these reads {last:.4g}"
    verdict = V.UNTESTED if not mine else V.SUPPORTED if ok else V.CONTRADICTED
    refs = tuple(dict.fromkeys(r for c in mine for r in c.mean.runs))
    return Finding(verdict=verdict, why=text, refs=refs, boards=(me,), true=text, used=used)


def shared(ask: Ask) -> bool:
    """``the record is shared``, ``joint record``."""
    return re.search(r"\b(?:shared?|shares|joint|jointly|together|tied)\b", ask.low) is not None
