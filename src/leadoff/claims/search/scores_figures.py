"""A figure, a range or a bound said of a state, a board or the whole book, held against every score it may mean."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.scores_bounds import Asked, asked_in, over_all
from leadoff.claims.search.scores_only import only_figures
from leadoff.claims.search.scores_place import Here, Place, boards_of, clocks_said, places, shared_out
from leadoff.claims.search.scores_repeats import came_so_often, repeats_in
from leadoff.claims.search.scores_unknown import SCORES, unknown_workload
from leadoff.claims.search.scores_words import (
    excepts,
    hears,
    hears_raw,
    strange,
    supposed,
)
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.dates import on_date
from leadoff.claims.spoken.evidence import Evidence, as_figure, reads
from leadoff.claims.spoken.values import Finding, Verdict, Want, weakest
from leadoff.claims.standings import Cell, state_words

V = Verdict
_COUNT = re.compile(
    r"^ ?(?:of\b|out of\b|boards?\b|machines?\b|states?\b|runs?\b|times\b|cards?\b|settings?\b|tests?\b|"
    r"readings?\b|"
    r"sessions?\b|evenings?\b|sheets?\b|486s?\b|\{k\d+\})"
)


_THEM_ALL = re.compile(r"\b(?:scores|readings|figures|results|numbers|times|rates)\b")


def figures(talk: Talk) -> Reading | None:
    """What the book says to the figures of a sentence; ``None`` where it says more than figures."""
    said, ev = talk.said, talk.evidence
    if not only_figures(talk):
        return None
    again = repeats_in(talk)
    numbers = [
        s for s in said.signs("n") if s not in again and not _those(talk, s) and not everybody(talk, s)
    ]
    if len(numbers) > 1 and re.search(r"\bwithout(?= ,| ?$| (?:it|them)\b)", said.low):
        return None  # one figure with what was named and one without it
    if _two_subjects(talk) or not numbers or any(said.num(s).kind not in SCORES for s in numbers):
        return None
    if any(_COUNT.search(said.low[said.at(s) + len(s) + 2 :]) or _counts(talk, s) for s in numbers):
        return None
    if len(said.runs) > 1:
        return None
    if not said.workloads and hears_raw(talk, "tests"):
        return _no_such_work(talk)
    boards = boards_of(said)
    sure, may = clocks_said(said, ev, boards)
    found: list[tuple[Place, Finding]] = []
    for clocks in ({**sure, **may}, sure) if may else (sure,):
        found += _in_one_way(talk, [s for s in numbers if s not in clocks], clocks, tuple(again.values()))
    if not found:
        return None
    found_one = agreed(talk, found, exact=_exact(talk, numbers))
    return found_one if found_one.finding.verdict is V.SUPPORTED else _no_such_work(talk) or found_one


def _no_such_work(talk: Talk) -> Reading | None:
    name = unknown_workload(talk)
    why = f"no workload {name} in the book"
    return Reading(finding=Finding(verdict=V.NOT_FOUND, why=why), sure=True) if name else None


def _counts(talk: Talk, sign: str) -> bool:
    """A small whole number that nothing in the book reads: it counts something."""
    n = talk.said.num(sign)
    small = n.kind == "bare" and not n.unit and not n.places and n.value <= constant("counted_most")
    works = talk.said.workloads or list(talk.evidence.ledger.workloads)
    read = [r.value for w in works for t in talk.evidence.ledger.of(w) for r in t.readings]
    return small and not any(as_figure(v, n) for v in read)


def _on_day(talk: Talk, found: Sequence[Place]) -> list[Place]:
    """The places cut down to what was run on the day that is named; none where nothing was."""
    if not talk.said.dates:
        return list(found)
    pick = min if _EARLIEST.search(talk.said.low) else max if _LATEST.search(talk.said.low) else None
    out = []
    for p in found:
        trials = [t for c in p.cells(talk.evidence) for t in c.trials if p.boards and t.board in p.boards]
        if pick and trials:
            trials = [pick(trials, key=lambda t: t.observed.when)]
        runs = [t.number for t in trials if on_date(t.observed.when, talk.said.dates[0])]
        out += [msgspec.structs.replace(p, runs=tuple(runs))] if runs else []
    return out


_EARLIEST = re.compile(r"\b(?:first|earliest|very first|initial)\b")
_LATEST = re.compile(r"\b(?:last|latest|final|most recent)\b")


def everybody(talk: Talk, sign: str) -> bool:
    """``my five boards``, where the book has five."""
    n, at = talk.said.num(sign), talk.said.at(sign)
    tail = talk.said.low[at + len(sign) + 2 :]
    many = n.kind in ("bare", "count", "all") and n.value == len(talk.evidence.ledger.boards)
    mine = re.search(r"\b(?:my|the|our|these|those|all|your) $", talk.said.low[:at]) is not None
    return many and mine and re.match(r" (?:boards|machines|systems)\b", tail) is not None


def _those(talk: Talk, sign: str) -> bool:
    """``those two`` counts boards or states."""
    n, head = talk.said.num(sign), talk.said.low[: talk.said.at(sign)]
    few = n.kind == "bare" and n.value <= constant("counted_most")
    return few and re.search(r"\b(?:those|these|them|both) $", head) is not None


_OTHER_SUBJECT = re.compile(
    r"\b(?:where|while|whereas|whilst|when|but|and) (?:the|that|this|my) (?:\w+ )?(?:one|old|other|former|latter|"
    r"rest|boy|fellow)\b"
)


def _two_subjects(talk: Talk) -> bool:
    """Whether a figure may belong to somebody who is spoken of without a name: ``where the little one has``."""
    return len(talk.said.signs("n")) > 1 and _OTHER_SUBJECT.search(talk.said.low) is not None


def _in_one_way(
    talk: Talk, signs: Sequence[str], clocks: Mapping[str, Want], again: Sequence[int]
) -> list[tuple[Place, Finding]]:
    """Findings at every likely place, with some bare numbers taken as clocks."""
    asked = asked_in(talk.said, signs) if signs else []
    if not asked:
        return []
    together = 1 < len(boards_of(talk.said)) != len(asked) and over_all(talk)
    groups = [asked] if len(asked) == 1 or together else [[a] for a in asked]
    heres = shared_out(talk, clocks, len(groups))
    moved = hears(talk, "moves") and (len(groups) > 1 or any(a.way == "between" for a in asked))
    if heres is None or moved:
        return []
    each: list[list[tuple[Place, Finding]]] = []
    for group, here in zip(groups, heres, strict=True):
        nums = [a.num for a in group]
        found = [
            (p, f)
            for p in _of_runs(talk, here) or _on_day(talk, places(talk, here, nums))
            if (f := judge(talk, p, group, again)) is not None
        ]
        if not found:
            return []
        each.append(found)
    if len(each) == 1:
        return each[0]
    one = [max(found, key=lambda x: x[1].verdict is V.SUPPORTED) for found in each]
    whole = weakest([f for _, f in one])
    if whole.verdict is V.NOT_FOUND:
        return []
    return [(one[0][0], whole)]


def _of_runs(talk: Talk, here: Here) -> list[Place]:
    """The run that was named by its number."""
    trials = [talk.evidence.by_number[r] for r in talk.said.runs if r in talk.evidence.by_number]
    if len(trials) != 1 or not trials[0].readings:
        return []
    t = trials[0]
    wants = tuple(talk.evidence.settle(w, (t.board,)) for w in here.wants)
    return [
        Place(
            boards=here.boards or (t.board,),
            workload=t.workload,
            wants=wants,
            rigs=here.rigs,
            runs=(t.number,),
        )
    ]


def _exact(talk: Talk, numbers: Sequence[str]) -> bool:
    """Whether a figure was said that can hardly fit by chance."""
    return any(
        (n := talk.said.num(s)).mod in ("", "about") and (n.places > 0 or n.value >= 100 or n.unit != "")
        for s in numbers
    )


_ONCE = re.compile(r"\b(?:before|earlier|previously|formerly|used to)\b")
"""One of the figures was read in a state that is not this one."""


def agreed(talk: Talk, found: Sequence[tuple[Place, Finding]], *, exact: bool) -> Reading:
    """The likeliest finding. It is sure where all agree; a place where a figure holds was meant."""
    verdicts = {f.verdict for _, f in found}
    first = found[0][1]
    one_board = len({p.boards for p, _ in found}) == 1
    if len(verdicts) == 1:
        sure = first.verdict is not V.NOT_PLACED and (one_board or first.verdict is not V.SUPPORTED)
    elif exact and one_board and V.SUPPORTED in verdicts and not hears(talk, "denials"):
        first = next(f for _, f in found if f.verdict is V.SUPPORTED)
        sure = True
    else:
        sure = False
    if first.verdict is not V.UNTESTED and supposed(talk):
        sure = False
    if first.verdict is not V.SUPPORTED and len(talk.said.signs("n")) > 1 and _ONCE.search(talk.said.low):
        sure = False
    if first.verdict not in (V.SUPPORTED, V.UNTESTED) and hears(talk, "moves"):
        sure = False
    unknown = strange(talk)
    if unknown and (first.verdict is V.SUPPORTED or not talk.said.workloads):
        sure = False
    return Reading(finding=first, sure=sure)


def judge(talk: Talk, place: Place, asked: Sequence[Asked], again: Sequence[int]) -> Finding | None:
    """The figures against one place; ``None`` where nothing can be said of it."""
    ev, w = talk.evidence, place.workload
    if w is None:
        return None
    cells = place.cells(ev)
    boards = place.boards or tuple(ev.ledger.boards)
    if not cells:
        return _nothing(ev, place)
    if len(place.boards) > 1 and not over_all(talk) and any(a.way != "between" for a in asked):
        return None
    if excepts(talk):
        return None
    if not place.runs and any(_difference(talk, ev, w, boards, a) for a in asked):
        return None
    verdict = V.SUPPORTED
    for a in asked:
        verdict = max(verdict, _of_one(talk, place, cells, a), key=_ORDER.index)
    exact = [a.num for a in asked if a.way == "is"]
    if again and verdict is V.SUPPORTED and not came_so_often(talk, cells, exact, max(again)):
        return None
    text = readings_of(w, cells)
    refs = tuple(dict.fromkeys(r for c in cells for r in c.mean.runs))
    return Finding(
        verdict=verdict,
        why=text,
        refs=refs,
        boards=tuple(b for b in boards if any(c.board == b for c in cells)),
        true=text,
    )


def _difference(talk: Talk, ev: Evidence, workload: str, boards: Sequence[str], a: Asked) -> bool:
    """Whether a figure is far below all that these boards ever read, so that it tells a difference."""
    if a.way != "is" or a.num.kind != "value" or talk.said.signs("w"):
        return False
    every = [r.value for c in ev.cells(workload, boards) for t in c.trials for r in t.readings]
    return bool(every) and a.num.value < constant("difference_most") * min(every)


_SPANS = re.compile(r"\b(?:begins?|starts?|opens?|started|began) (?:at|with|from) \{n")
_ORDER = (V.SUPPORTED, V.UNTESTED, V.CONTRADICTED, V.NOT_FOUND, V.NOT_PLACED)
"""The weakest figure decides; not placed: it cannot be told."""


def _of_one(talk: Talk, place: Place, cells: Sequence[Cell], a: Asked) -> Verdict:
    boards = place.boards or tuple(dict.fromkeys(c.board for c in cells))
    if len(boards) > 1 and not a.denied and over_all(talk) and a.way != "between":
        each = [_of_board(talk, place, [c for c in cells if c.board == b], a, some=True) for b in boards]
        return max(each, key=_ORDER.index)
    return _of_board(talk, place, cells, a, some=False)


def _of_board(talk: Talk, place: Place, cells: Sequence[Cell], a: Asked, *, some: bool) -> Verdict:
    """One figure against these scores. ``some``: one that fits is enough."""
    if not cells:
        return V.UNTESTED
    every = (over_all(talk) and not some) or len(cells) == 1
    values = [r.value for c in cells for t in c.trials for r in t.readings]
    if a.way == "is":
        return _is(talk, place, cells, a, every=every)
    good = [a.holds(v) for v in values]
    if a.denied:
        return V.SUPPORTED if not any(good) else V.CONTRADICTED
    if a.way == "between" and a.tight and len(cells) > 1:
        good = [a.holds_loosely(v) for v in values]
        ends = [
            any(abs(v - n.value) <= _end(n.places) or (n.mod and as_figure(v, n)) for v in values)
            for n in (a.num, a.hi)
            if n is not None
        ]
        if (
            all(good)
            and not all(ends)
            and a.hi is not None
            and (hears(talk, "spans") or _SPANS.search(talk.said.low))
        ):
            near = (min(values) - a.num.value, a.hi.value - max(values))
            far = any(
                x > constant("end_just_over") * n.value for x, n in zip(near, (a.num, a.hi), strict=True)
            )
            return V.CONTRADICTED if far else V.NOT_PLACED
        return V.SUPPORTED if all(good) and all(ends) else V.CONTRADICTED if not all(good) else V.NOT_PLACED
    if all(good) or (some and any(good)):
        return V.SUPPORTED
    if not any(good):
        return V.CONTRADICTED if a.way != "reach" or place.stated or over_all(talk) else V.NOT_PLACED
    if a.way == "between" and len(cells) == 1:
        mean = cells[0].mean.value
        return V.SUPPORTED if a.holds(mean) else V.CONTRADICTED
    every = every or (a.way == "between" and _THEM_ALL.search(talk.said.low) is not None)
    return V.CONTRADICTED if every else V.NOT_PLACED


def _is(talk: Talk, place: Place, cells: Sequence[Cell], a: Asked, *, every: bool) -> Verdict:
    values = [r.value for c in cells for t in c.trials for r in t.readings]
    if a.way == "is" and a.denied and a.only:
        return V.SUPPORTED if all(a.holds(v) for v in values) else V.CONTRADICTED
    if a.denied:
        return V.NOT_PLACED
    hit = [c for c in cells if any(reads(c, n) for n in (a.num, *a.others))]
    if hit and (len(hit) == len(cells) or not every):
        return V.SUPPORTED
    if hit:
        return V.CONTRADICTED
    if place.stated:
        return V.CONTRADICTED
    elsewhere = any(reads(t, a.num) for t in talk.evidence.ledger.of(place.workload or ""))
    return V.CONTRADICTED if place.boards and (elsewhere or over_all(talk)) else V.NOT_FOUND


def _end(places: int) -> float:
    return 0.5 * 10.0**-places + 1e-9


def _nothing(ev: Evidence, place: Place) -> Finding | None:
    """No score there: never run, unless it failed there or cannot run at all."""
    boards = place.boards or tuple(ev.ledger.boards)
    w = place.workload
    if len(boards) != 1 or w is None or ev.undefined(w, boards[0]) or place.runs:
        return None
    there = [t for t in ev.trials(boards, place.wants) if t.workload == w]
    if there:
        return None
    state = " ".join(x.text for x in place.wants)
    why = f"{boards[0]}: {w} was never run{f' at {state}' if state else ''}"
    return Finding(verdict=V.UNTESTED, why=why, boards=boards, true=why)


def readings_of(workload: str, cells: Sequence[Cell]) -> str:
    """What was read, state by state."""
    said = [f"{c.board} ({state_words(c.trials[0])}) {c.mean.value:.4g}" for c in cells[:5]]
    more = f" and {len(cells) - 5} more" if len(cells) > 5 else ""
    return f"{workload}: {', '.join(said)}{more}"
