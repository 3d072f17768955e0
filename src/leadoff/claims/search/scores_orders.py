"""A list of boards in the order of their scores, however the list is made, with ties and figures in it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise, product

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.scores_firsts import Rank, contest, placed
from leadoff.claims.search.scores_place import Here, Place, workload_choices
from leadoff.claims.search.scores_unknown import SCORES
from leadoff.claims.search.scores_words import (
    OUTDONE,
    alone,
    classes,
    excepts,
    hears,
    hears_raw,
    strange,
    tried,
    words,
)
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import Evidence, reads
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.spoken.weigh import Weighed, judge, weigh
from leadoff.claims.standings import Cell
from leadoff.record.runs import Direction

V = Verdict
_ORDER = re.compile(
    r"\b(?:order|list|standings|hierarchy|rank(?:ing|ings|ed|s)?|sequence|table|league|podium|ladder|descending|ascending|downwards?|"
    r"upwards?|followed|back to front|front to back|from the (?:back|rear|tail|bottom|top|front|head)|"
    r"follow|top (?:to bottom|three|four|five)|from first to last|"
    r"(?:best|fastest|quickest) to (?:worst|slowest)|(?:worst|slowest) to (?:best|fastest|quickest)|"
    r"pecking|then|in turn|(?:line|sort) (?:them|these|those)(?: up)?|line-?up|"
    r"(?:fastest|slowest|best|worst|quickest) first)\b|\bfrom the (?:\w+est)\b|\btop \{n\d+\}"
)
_FROM_LAST = re.compile(
    r"\b(?:from|starting (?:with|at)) the (?:slowest|worst|bottom|last|tail|back|rear)|back to front|slowest to "
    r"(?:fastest|quickest)|worst to best|slow(?:est)? to (?:fast|quick)|ascending|"
    r"(?:slowest|worst|last|least|lowest|smallest|poorest|weakest|longest) first|before (?:it|that|him|"
    r"them)\b|bottom to top|upwards?\b|bottom up"
)
_TIE = re.compile(
    r"there is nothing between them|\b(?:level|tied|tie|ties|equal|equals|joint|jointly|share|shared|shares|"
    r"sharing|alike|neck-and-neck|"
    r"neck and neck|side by side|the same|even|together|abreast|inseparable|dead heat)\b|="
)
_LAST = re.compile(
    r"\b(?:last|slowest|rear|back|trails?|trailing|bottom|worst|lowest|tail|longest|laggard|slow end|least|"
    r"fewest)\b"
)
_FIRST = re.compile(
    r"\b(?:first|fastest|quickest|leads?|leading|wins?|winner|top|best|highest|ahead of them all|shortest|most|"
    r"done first|front|head|best of all|king|at the top)\b"
)
_PLACES = {"second": 2, "2nd": 2, "third": 3, "3rd": 3, "fourth": 4, "4th": 4, "fifth": 5, "5th": 5}
_PLACES |= {"gold": 1, "silver": 2, "bronze": 3}
_NTH = re.compile(rf"\b(?P<nth>{'|'.join(_PLACES)})(?! (?:last|slowest|worst|from))\b")
_REST = re.compile(r"\b(?:rest|remaining|others|middle|between)\b")
_STILL = re.compile(r"\b(?:better|faster|quicker|more|higher)\b")
_BEHIND = re.compile(r"\b(?:behind|after|without|below|under)\b(?! (?:it|them|him|that|those)\b)")
LEAST = int(constant("order_boards"))
"""Two boards are a comparison; three and more make an order."""
_END = 99
"""Stands for the last place, whatever its number."""


class Item(msgspec.Struct, frozen=True, kw_only=True):
    """One board, or several said to be level, with what is said of its place and its figure."""

    boards: tuple[str, ...]
    around: str
    figures: tuple[Num, ...] = ()

    @property
    def place(self) -> int | None:
        around = _TIE.sub(" ", self.around)
        if m := _NTH.search(around):
            return _PLACES[m["nth"]]
        if _REST.search(around):
            return _END - 1
        if _LAST.search(around):
            return _END
        return 1 if _FIRST.search(around) else None


def orders(talk: Talk) -> Reading | None:
    """What the book says to an order of boards; ``None`` where none is said."""
    said, ev = talk.said, talk.evidence
    items = _items(said)
    boards = [b for i in items for b in i.boards]
    if (chained := _chain(talk) or _amid(talk)) is not None:
        return chained
    numbered = all(i.place is not None and i.place != _END - 1 for i in items)
    if len(boards) < (2 if numbered else LEAST) or len(set(boards)) != len(boards) or len(items) < 2:
        return None
    if talk.asks or said.strangers or said.gone or said.seals or said.signs("gsrdfo"):
        return None
    if tried(talk) or alone(talk) or excepts(talk) or hears(talk, "causes") or hears_raw(talk, "reported"):
        return None
    low = _TIE.sub(" ", said.low)
    if any(w in classes()["denials"] for w in words(low)) or _BEHIND.search(low) or OUTDONE.search(low):
        return None
    told = [n for i in items for n in i.figures]
    works = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), told)
    row = _in_order(talk, items)
    if len(works) != 1 or row is None or not _figures_fit(said, items):
        return None
    best = {b: ev.best(c) if (c := ev.cells(works[0], [b])) else None for b in boards}
    if any(c is None for c in best.values()):
        return None
    cells = {b: c for b, c in best.items() if c is not None}
    if all(i.figures for i in row) and not _WHICH_END.search(f"{said.low} {said.plain.low}"):
        if not all(reads(cells[b], n) for i in row for n in i.figures for b in i.boards):
            return None
        row = sorted(items, key=lambda i: i.figures[0].value, reverse=_more_is_better(ev, works[0]))
    found = _judged(ev, works[0], row, cells)
    if numbered:
        found += [f for i in items for b in i.boards if (f := _at_place(ev, works[0], b, i)) is not None]
    if not all(
        any(reads(c, n) for b in i.boards for c in ev.cells(works[0], [b])) for i in row for n in i.figures
    ):
        text = "; ".join(f"{b} {c.mean.value:.4g}" for b, c in cells.items())
        found.append(
            Finding(verdict=V.CONTRADICTED, why=f"{works[0]}: {text}", boards=tuple(boards), true=text)
        )
    worst = max(found, key=lambda f: _RANK.index(f.verdict))
    refs = tuple(dict.fromkeys(r for f in found for r in f.refs))
    worst = msgspec.structs.replace(worst, refs=refs, boards=tuple(boards))
    return Reading(finding=worst, sure=worst.verdict is not V.SUPPORTED or len(strange(talk)) == 0)


_BEATS = re.compile(
    r"\{(b\d+)\} (?:clearly |easily |still )?(?:beats?|beat|outruns?|outran|leads?|is (?:ahead of|in front of|"
    r"(?:faster|quicker) than)|"
    r"comes? before|before|ahead of) (?:the |my )?\{(b\d+)\}"
)


def _bests(talk: Talk, mentions: int) -> tuple[str, dict[str, Cell]] | None:
    """The one workload of a sentence that mentions so many boards and nothing else, and each one's best in it."""
    said, ev = talk.said, talk.evidence
    works = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), ())
    if len(works) != 1 or talk.asks or said.signs("nkgsrdfou") or len(said.signs("b")) != mentions:
        return None
    if tried(talk) or excepts(talk) or any(w in classes()["denials"] for w in words(said.low)):
        return None
    best = {b: ev.best(c) for b in set(said.boards) if (c := ev.cells(works[0], [b]))}
    return None if set(said.boards) - set(best) else (works[0], best)


def _chain(talk: Talk) -> Reading | None:
    """``A beats B, B beats C``: every pair by itself."""
    said, ev = talk.said, talk.evidence
    pairs = _BEATS.findall(said.low)
    if len(pairs) < 2 or (bests := _bests(talk, 2 * len(pairs))) is None:
        return None
    workload, best = bests
    named = [(said.boards[int(a[1:])], said.boards[int(b[1:])]) for a, b in pairs]
    found = [judge(weigh(ev, best[a], best[b], workload), ev, "better", []) for a, b in named]
    worst = max(found, key=lambda f: _RANK.index(f.verdict))
    return Reading(finding=worst, sure=worst.verdict is not V.SUPPORTED or not strange(talk))


_AMID = re.compile(
    r"\{(?P<x>b\d+)\} (?:\w+ ){0,3}?(?:between|in between|sandwiched between) (?:the |my "
    r")?\{(?P<a>b\d+)\} and (?:the |my )?\{(?P<b>b\d+)\}"
)


def _amid(talk: Talk) -> Reading | None:
    """``the one sits between these two``: after one of them and before the other."""
    said, ev = talk.said, talk.evidence
    m = _AMID.search(said.low)
    if m is None or (bests := _bests(talk, 3)) is None:
        return None
    workload, best = bests
    x, a, b = (said.boards[int(m[g][1:])] for g in ("x", "a", "b"))
    if len(best) != 3:
        return None
    ways = [
        max(
            (judge(weigh(ev, best[p], best[q], workload), ev, "better", []) for p, q in ((one, x), (x, two))),
            key=lambda f: _RANK.index(f.verdict),
        )
        for one, two in ((a, b), (b, a))
    ]
    found = min(ways, key=lambda f: _RANK.index(f.verdict))
    return Reading(finding=found, sure=found.verdict is not V.SUPPORTED or not strange(talk))


def _items(said: Said) -> list[Item]:
    """Boards in the order of the sentence, those that are said to be level together."""
    low = said.low.replace(" per second", "")
    spots = [(m.start(), m.end(), m[1]) for m in re.finditer(r"\{([bk]\d+)\}", low)]
    heads, tails = [low[: spots[0][0]]] if spots else [], []
    for a, b in pairwise(spots):
        tail, head = _cut(low[a[1] : b[0]])
        tails.append(tail)
        heads.append(head)
    tails += [low[spots[-1][1] :]] if spots else []
    out: list[Item] = []
    row = _row_of_figures(said, spots)
    for i, (_, _, sign) in enumerate(spots):
        at = int(sign[1:])
        own = (said.boards[at],) if sign[0] == "b" else said.groups[at]
        head = (
            re.sub(r"\b(?:from|starting (?:with|at)|back to|front to|in) [^,]*$", " ", heads[i])
            if i == 0
            else heads[i]
        )
        around = f"{head} {tails[i]}"
        around = _TOP_SO_MANY.sub(" ", around)
        figures = tuple(said.num(s) for s in re.findall(r"\{(n\d+)\}", around) if said.num(s).kind in SCORES)
        figures = (row[i],) if row else figures
        tied = (
            sign[0] == "b"
            and i > 0
            and re.fullmatch(r" (?:, )?(?:and|&|/) (?:the |my )?", f"{tails[i - 1]}{heads[i]}") is not None
        )
        after = tails[i]
        if tied and out and (_TIE.search(after) or _TIE.search(out[-1].around) or _REST.search(after)):
            last = out.pop()
            out.append(
                Item(
                    boards=(*last.boards, *own),
                    around=f"{last.around} {after}",
                    figures=(*last.figures, *figures),
                )
            )
        else:
            out.append(Item(boards=own, around=around, figures=figures))
    return out


_TOP_SO_MANY = re.compile(r"\b(?:top|first|best|leading|last|bottom|fastest|quickest|slowest) \{n\d+\}")
_WHICH_END = re.compile(
    r"\b(?:from|top|bottom|best|worst|fastest|slowest|first|last|ascending|"
    r"descending|upwards?|downwards?|then)\b"
)


def _row_of_figures(said: Said, spots: Sequence[tuple[int, int, str]]) -> list[Num]:
    """All the figures in a row and all the boards in a row: one for each, in their order."""
    signs = [s for s in said.signs("n") if said.num(s).kind in SCORES]
    if len(signs) != len(spots) or len(spots) < LEAST or len(signs) != len(said.signs("n")):
        return []
    at = [said.at(s) for s in signs]
    apart = max(at) < said.at(spots[0][2]) or min(at) > said.at(spots[-1][2])
    return [said.num(s) for s in signs] if apart else []


def _cut(gap: str) -> tuple[str, str]:
    """What belongs to the board before and to the board behind: they part at a comma or at a word for next."""
    m = re.search(r" ,", gap) or re.search(r" (?:then|followed|before|ahead|next|and|over|in front)\b", gap)
    return (gap[: m.start()], gap[m.start() :]) if m else (gap, "")


def _in_order(talk: Talk, items: Sequence[Item]) -> list[Item] | None:
    """The list with the best first, if the words tell which end is which."""
    low = f"{talk.said.low} {talk.said.plain.low}"
    places = [i.place for i in items]
    numbered = [p for p in places if p is not None]
    if len(numbered) == len(items) and len(set(numbered)) == len(numbered):
        return [i for _, i in sorted(zip(numbered, items, strict=True), key=lambda x: x[0])]
    if any(p not in (None, 1, _END) for p in places) or any(p is not None for p in places[1:-1]):
        return None
    down = [p == 1 for p in places[:1] if p is not None] + [p == _END for p in places[-1:] if p is not None]
    if _FROM_LAST.search(low):
        down.append(False)
    elif not down and _STILL.search(items[-1].around):
        down = [False]
    asked = " ".join(s.low for s in talk.before[-1:])
    cue = _ORDER.search(low) or _ORDER.search(asked) or re.search(r"\bbefore\b.*\bbefore\b", low)
    if len(set(down)) > 1 or (not down and not cue) or (not cue and len(down) < 2 and len(items) < LEAST):
        return None
    if not down and _FROM_LAST.search(asked):
        down.append(False)
    return list(items) if down in ([], [True], [True, True]) else list(reversed(items))


def _more_is_better(ev: Evidence, workload: str) -> bool:
    return ev.ledger.workloads[workload].direction is Direction.HIGHER


def _figures_fit(said: Said, items: Sequence[Item]) -> bool:
    """No number is left that belongs to no board, beside the one that says how many are in the list."""
    own = [n for i in items for n in i.figures]
    rest = [s for s in said.signs("n") if said.num(s) not in own]
    count = sum(len(i.boards) for i in items)
    return all(said.num(s).value == count and not said.num(s).unit for s in rest) and (
        not own or all(len(i.figures) <= 1 for i in items)
    )


def _at_place(ev: Evidence, w: str, board: str, item: Item) -> Finding | None:
    """A board at the place that its number says, counted over all."""
    place = item.place or 1
    rank = Rank(end="worst") if place == _END else Rank(end="best", nth=place)
    c = contest(ev, Place(boards=(board,), workload=w), [], False, (), among=True)
    return None if c is None or len(item.boards) > 1 else placed(ev, rank, c)


_RANK = (V.SUPPORTED, V.WITHIN_NOISE, V.NOT_COMPARABLE, V.CONTRADICTED)
"""One pair in the wrong order makes the whole order wrong."""


def _judged(ev: Evidence, w: str, row: Sequence[Item], cells: dict[str, Cell]) -> list[Finding]:
    """Every pair of neighbours, and every pair that is said to be level."""
    found = [
        judge(weigh(ev, cells[a], cells[b], w), ev, "tie", []) for i in row for a, b in pairwise(i.boards)
    ]
    steps: list[Weighed] = [
        weigh(ev, cells[a], cells[b], w) for i, j in pairwise(row) for a, b in product(i.boards, j.boards)
    ]
    found += [judge(p, ev, "better", []) for p in steps]
    return found
