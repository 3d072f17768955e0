"""Who is first, last or in a place between, over the boards, over the states of one board, or by a figure."""

from __future__ import annotations

import msgspec

from leadoff.claims.search.scores_place import Place
from leadoff.claims.spoken.evidence import Evidence, as_figure, reads
from leadoff.claims.spoken.firsts import ready
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.spoken.weigh import Weighed, weigh, wording
from leadoff.claims.spoken.weigh import said as in_figures
from leadoff.claims.standings import Cell, state_words
from leadoff.record.runs import Direction

V = Verdict


class Rank(msgspec.Struct, frozen=True, kw_only=True):
    """What is claimed. ``end``: best, worst, highest, lowest; ``nth``: the place counted from that end; ``record``:
    a word that asks for a soaked state; ``readings``: the figure itself is spoken of, not who made it; ``among``: the
    boards that are left where some were left out."""

    end: str
    nth: int = 1
    record: bool = False
    readings: bool = False
    among: tuple[str, ...] = ()


class Contest(msgspec.Struct, frozen=True, kw_only=True):
    """Who is said to be there (``mine``) and everybody who could be."""

    workload: str
    mine: tuple[Cell, ...]
    field: tuple[Cell, ...]
    by_state: bool
    """The states stand against each other, not each board by its best."""
    figures: tuple[Num, ...] = ()


def contest(
    ev: Evidence,
    place: Place,
    figures: list[Num],
    own: bool,
    group: tuple[str, ...],
    *,
    among: bool = False,
    soaked: bool = False,
) -> Contest | None:
    """The subject's scores and those it is held against; ``None`` without a workload or a score of either.
    ``among``: the boards stand against each other, whatever figure tells which is meant; ``soaked``: only
    states that were soaked count."""
    w = place.workload
    if w is None:
        return None
    mine = [c for c in place.cells(ev) if all(reads(c, n) for n in figures)]
    boards = place.boards if own else group or tuple(ev.ledger.boards)
    field = ev.cells(w, boards, (), place.rigs)
    if soaked:
        mine, field = ([c for c in cells if c.grade.at_least("soaked")] for cells in (mine, field))
    if not mine or not field:
        return None
    return Contest(
        workload=w,
        mine=tuple(mine),
        field=tuple(field),
        by_state=own or bool(place.wants) or bool(figures and not among),
        figures=tuple(figures),
    )


def nobody_reads(ev: Evidence, rank: Rank, place: Place, own: bool, group: tuple[str, ...]) -> Finding | None:
    """A place that is given a figure which none of those that are meant ever read."""
    w = place.workload
    boards = place.boards if own or place.boards else group or tuple(ev.ledger.boards)
    if w is None or not (field := ev.cells(w, boards, place.wants, place.rigs)):
        return None
    best = [_end(ev, rank, [c for c in field if c.board == b]) for b in dict.fromkeys(c.board for c in field)]
    text = f"{w}: " + ", ".join(f"{name(c)} {c.mean.value:.4g}" for c in best)
    refs = tuple(dict.fromkeys(r for c in best for r in c.mean.runs))
    return Finding(verdict=V.CONTRADICTED, why=text, refs=refs, boards=tuple(boards), true=text)


def unread(ev: Evidence, place: Place) -> Finding | None:
    """One board that is given a place where it has no score: it cannot run there, or never was run."""
    w = place.workload
    if w is None or len(place.boards) != 1 or place.cells(ev):
        return None
    board = place.boards[0]
    shown = ev.undefined(w, board)
    state = " ".join(x.text for x in place.wants)
    if any(t.workload == w for t in ev.trials(place.boards, place.wants)) and not shown:
        return None  # it failed there
    why = (
        f"{w} cannot run on {board}"
        if shown
        else f"{board}: {w} was never run{f' at {state}' if state else ''}"
    )
    verdict = V.NOT_COMPARABLE if shown else V.UNTESTED
    return Finding(verdict=verdict, why=why, refs=tuple(t.number for t in shown), boards=(board,), true=why)


def placed(ev: Evidence, rank: Rank, c: Contest) -> Finding | None:
    """The finding on a claimed place; ``None`` where the claim makes no sense of these scores."""
    if rank.record:
        return _record(ev, c)
    if rank.readings and rank.nth == 1:
        return _reading(ev, rank, c)
    return _among(ev, rank, c)


def _up(ev: Evidence, rank: Rank, workload: str) -> bool:
    """Whether the larger score is nearer to the end that is spoken of."""
    higher = ev.ledger.workloads[workload].direction is Direction.HIGHER
    return {"best": higher, "worst": not higher, "highest": True, "lowest": False}[rank.end]


def _reading(ev: Evidence, rank: Rank, c: Contest) -> Finding:
    up = _up(ev, rank, c.workload)
    pick = max if up else min
    top = pick((r.value, x.board) for x in c.field for t in x.trials for r in t.readings)
    own = pick(r.value for x in c.mine for t in x.trials for r in t.readings)
    who = next(x for x in c.field if any(r.value == top[0] for t in x.trials for r in t.readings))
    end = "highest" if up else "lowest"
    text = f"{c.workload}: the {end} reading is {top[0]:g} ({who.board}, run {who.mean.runs[0]})"
    means = [x.mean.value for x in c.field]
    ends = (top[0], *(x.mean.value for x in c.mine if x.mean.value == pick(means)))
    told = all(any(as_figure(v, n) for v in ends) for n in c.figures)
    verdict = V.SUPPORTED if own == top[0] and told else V.CONTRADICTED
    refs = tuple(dict.fromkeys((*(r for x in c.mine for r in x.mean.runs), *who.mean.runs)))
    return Finding(verdict=verdict, why=text, refs=refs, boards=(c.mine[0].board,), true=text)


def _end(ev: Evidence, rank: Rank, cells: list[Cell]) -> Cell:
    up = _up(ev, rank, cells[0].trials[0].workload or "")
    return (max if up else min)(cells, key=lambda x: x.mean.value)


def _among(ev: Evidence, rank: Rank, c: Contest) -> Finding | None:
    """The place of the subject among boards, each by its best, or among states."""
    me = c.mine[0].board
    if c.by_state:
        target = _end(ev, rank, list(c.mine))
        rivals = [x for x in c.field if x not in c.mine]
    else:
        if len({x.board for x in c.mine}) > 1:
            return None
        target = ev.best(list(c.mine))
        boards = dict.fromkeys(x.board for x in c.field if x.board != me)
        rivals = [_rival(ev, target, [x for x in c.field if x.board == b]) for b in boards]
    ahead = ties = open_ = 0
    shown: Weighed | None = None
    for r in rivals:
        pair = weigh(ev, target, r, c.workload)
        if pair.pair is None:
            open_ += 1
            shown = shown or pair
        elif not pair.pair.shown or pair.pair.tied:
            ties += 1
            shown = pair
        else:
            better = pair.pair.faster > 0
            higher = _up(ev, rank, c.workload) == (
                ev.ledger.workloads[c.workload].direction is Direction.HIGHER
            )
            if better != higher:
                ahead += 1
                shown = pair if rank.nth == 1 and not ties else shown or pair
    possible = range(ahead + 1, ahead + ties + open_ + 2)
    if rank.nth not in possible:
        verdict = V.CONTRADICTED
    elif open_:
        verdict = V.NOT_COMPARABLE
    else:
        verdict = V.WITHIN_NOISE if ties else V.SUPPORTED
    text = f"{c.workload}: {ahead} come before {name(target)}" if shown is None else in_figures(shown, ev)
    true = text if shown is None else wording(shown, ev)
    refs = tuple(dict.fromkeys((*target.mean.runs, *(x for r in rivals for x in r.mean.runs))))
    return Finding(verdict=verdict, why=text, refs=refs, boards=(me,), true=true)


def _rival(ev: Evidence, target: Cell, cells: list[Cell]) -> Cell:
    """The best state of another board that can be compared, else its best."""
    fit = [x for x in cells if weigh(ev, target, x, x.trials[0].workload or "").pair is not None]
    return ev.best(fit or cells)


def _record(ev: Evidence, c: Contest) -> Finding:
    """A record: a state that holds, and nobody better who holds."""
    mine = list(c.mine)
    fit = [x for x in mine if ready(x.grade, x) is V.SUPPORTED]
    target = ev.best(mine if c.by_state else fit or mine)
    grade = ready(target.grade, target)
    rivals = [x for x in c.field if x is not target and (c.by_state or x.board != target.board)]
    pairs = [weigh(ev, target, x, c.workload) for x in rivals]
    held = [ready(x.grade, x) for x in rivals]
    beaten = [p for p, g in zip(pairs, held, strict=True) if g is V.SUPPORTED and _loses(p)]
    level = [p for p, g in zip(pairs, held, strict=True) if g is V.SUPPORTED and p.pair and not p.pair.shown]
    apart = [p for p, g in zip(pairs, held, strict=True) if g is V.SUPPORTED and p.pair is None]
    unheld = [
        p
        for p, g in zip(pairs, held, strict=True)
        if g is V.UNTESTED and p.second.board != target.board and _loses(p)
    ]
    refs = target.mean.runs
    boards = (target.board,)
    if grade is V.CONTRADICTED:
        why = f"{name(target)}: {target.grade.said}"
        true = f"{why}; no record can rest on it"
        return Finding(verdict=grade, why=why, refs=(*refs, *target.grade.failures), boards=boards, true=true)
    if beaten:
        return _of_pair(ev, V.CONTRADICTED, beaten[0])
    if grade is V.UNTESTED:
        why = f"{name(target)}: {target.grade.said or 'not soaked'}"
        true = f"{name(target)} read {target.mean.value:.4g} in {c.workload}; a record needs a soak"
        return Finding(verdict=grade, why=why, refs=refs, boards=boards, true=true)
    for verdict, found in ((V.UNTESTED, unheld), (V.WITHIN_NOISE, level), (V.NOT_COMPARABLE, apart)):
        if found:
            return _of_pair(ev, verdict, found[0])
    held_by = f"{name(target)} {target.mean.value:.4g}, {target.grade.said or 'soaked'}"
    why = f"{c.workload}: {held_by}; nobody who holds is ahead"
    return Finding(verdict=V.SUPPORTED, why=why, refs=refs, boards=boards, true=why)


def _loses(p: Weighed) -> bool:
    return p.pair is not None and p.pair.shown and p.pair.faster < 0


def _of_pair(ev: Evidence, verdict: Verdict, p: Weighed) -> Finding:
    return Finding(verdict=verdict, why=in_figures(p, ev), refs=p.refs, boards=p.boards, true=wording(p, ev))


def name(c: Cell) -> str:
    """A cell by its board and state."""
    return f"{c.board} ({state_words(c.trials[0])})"
