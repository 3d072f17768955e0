"""Who gets past a figure and who does not: only one board, every board but one, so many of them."""

from __future__ import annotations

import re
from collections.abc import Callable

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.scores_bounds import Asked, asked_in
from leadoff.claims.search.scores_place import Here, boards_of, clocks_said, fits_unit, workload_choices
from leadoff.claims.search.scores_unknown import SCORES
from leadoff.claims.search.scores_words import hears, hears_raw, strange, tried
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.record.runs import Direction

V = Verdict
_BUT = r"(?:but|except(?:ing| for)?|save(?: for)?|bar(?:ring)?|other than|besides|apart from|aside from)"
_NO = r"(?:nobody|no one|none|nothing|neither|no (?:other )?\w+)"
_ALL = r"(?:everybody|everyone|everything|every|each|all)"
_NAME = r"(?:the |my |that )?\{b\d+\}"
_ONLY = re.compile(
    rf"\b(?:only|just) {_NAME}|{_NAME} (?:alone|only)\b|{_NAME}[^{{}},]{{0,20}} the (?:only|sole|single|lone)\b|"
    rf"\bthe (?:only|sole|single|lone|one)(?: (?!\w*est\b)\w+){{0,2}} [^,]*\b(?:is|was) {_NAME}|"
    rf"\bno(?: other)? \w+[^{{}},]{{0,12}}(?:is|was)? ?{_BUT} {_NAME}|\b{_NO}[^{{}}]{{0,24}} {_BUT} {_NAME}|"
    rf"\b{_BUT} {_NAME} ,? ?{_NO}\b|"
    rf"\b(?:one|a single) (?:board|machine)(?: alone| only)?\b(?:[^{{}}]|\{{[nw]\d+\}})*(?:is|was|,|:) {_NAME}"
)
_ALL_BUT = re.compile(rf"\b{_ALL}[^{{}}]{{0,24}} {_BUT} {_NAME}|\b{_BUT} {_NAME} ,? ?(?:they )?{_ALL}\b")
_COUNTED = re.compile(
    r"\{(?P<n>n\d+)\} (?:of (?:the |my |these |those |all )*(?:lot|boards?|machines?|five|them|\{n\d+\})|"
    r"(?:different )?(?:boards?|machines?))\b|\b(?P<w>two|three|four) (?:boards|machines|of (?:the|my|them))\b|"
    r"\b(?:only|just|exactly|no more than|at most|at least|not more than|no fewer than|more than) "
    r"(?P<one>one|a single) "
    r"(?:board|machine|of (?:the|my|them))\b|\b(?P<lone>one|a single) (?:board|machine) (?:only|alone)\b"
)
_AT_LEAST = re.compile(r"\b(?:at least|no fewer than|no less than|not fewer than|not less than)\b")
_AT_MOST = re.compile(r"\b(?:at (?:the )?most|no more than|not more than|up to)\b")
_STAYS = re.compile(
    r"\b(?:stays?|stayed|remain\w*|keeps?|kept|always|consistently|whatever|throughout|every time)\b"
)
"""Every reading is spoken of. Else a board is past a good figure with its best, and short of one with all."""
MOST = int(constant("boards_counted"))
"""More boards than this are not counted in a sentence; a larger number is something else."""
_SMALL = {"two": 2, "three": 3, "four": 4}
_HARMLESS = re.compile(r"\bnot (?:only|even|just)\b")


class Split(msgspec.Struct, frozen=True, kw_only=True):
    """What is claimed: ``way`` is ``only`` (these and no other), ``all_but`` (every other and not these), ``count``
    (so many), ``least`` or ``most`` (so many or more, or fewer)."""

    way: str
    boards: tuple[str, ...] = ()
    count: int = 0


def lone(talk: Talk) -> Reading | None:
    """What the book says to a bound that divides the boards; ``None`` where none does."""
    said, ev = talk.said, talk.evidence
    if talk.asks or said.strangers or said.gone or said.seals or said.oddities:
        return None
    if said.dates or said.runs or said.signs("kgs") or tried(talk):
        return None
    if hears_raw(talk, "causes", "seals", "reported", "supposes") or hears(talk, "record"):
        return None
    split, spare = _split(talk)
    if split is None:
        return None
    signs = [s for s in said.signs("n") if s != spare]
    if len(signs) != 1 or said.num(signs[0]).kind not in SCORES:
        return None
    if any(clocks_said(said, ev, split.boards)):
        return None
    asked = asked_in(said, signs)
    if len(asked) != 1 or asked[0].way not in ("above", "below", "reach"):
        return None
    works = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), [asked[0].num])
    if len(works) != 1 or not fits_unit(ev, works[0], asked[0].num):
        return None
    none = re.search(rf"\b{_NO}\b", _AT_MOST.sub(" ", said.low)) is not None
    denied = asked[0].denied and not none and not _AT_MOST.search(said.low)
    good = (asked[0].way != "below") == (ev.ledger.workloads[works[0]].direction is Direction.HIGHER)
    some = good and not _STAYS.search(said.low)
    found = [_judged(ev, works[0], asked[0], split, some=s, denied=denied) for s in (some, not some)]
    first, second = found
    if first is None or second is None:
        return None
    same = first.verdict is second.verdict or good or bool(_STAYS.search(said.low))
    return Reading(finding=first, sure=same and (first.verdict is not V.SUPPORTED or not strange(talk)))


_ABLE = re.compile(
    r"\b(?:can|could|have|has|had|did|do|does|manage[sd]?|got|gets?|went|gone|been|ran|run|runs|finish(?:es|"
    r"ed)?|complete[sd]?|"
    r"handles?|handled|able|capable|know|with|scored?|through)\b"
)
_UNABLE = re.compile(r"\b(?:not|no|never|without|cannot|unable|fail(?:s|ed)?|lacks?|refuse[sd]?)\b")
_HOW_MANY = re.compile(
    r"\{(?P<n>n\d+)\} (?:of (?:the |my |these |those |all )*(?:lot|boards?|machines?|them|\{(?P<of>n\d+)\})|"
    r"(?:different )?"
    r"(?:boards?|machines?))\b|\b(?:boards?|machines?|ones) (?:[^{},]*\{w\d+\}) (?:are|is|number) \{(?P<m>n\d+)\}|"
    r"\b(?:number|count) of (?:boards?|machines?)[^{}]*\{w\d+\}[^{}]*(?:is|was) \{(?P<k>n\d+)\}|"
    r"\bof (?:my|the|these|all|all my) \{(?P<of2>n\d+)\} (?:boards|machines) ,? ?(?:only |just )?\{(?P<n2>n\d+)\}|"
    r"\bof the lot ,? ?(?:only |just )?\{(?P<n3>n\d+)\} (?=(?:have|has|had|can|could|did|do|ran|run|manage)\b)|"
    r"\b(?P<one>(?:only |just |exactly )?(?:one|a single)) (?:board|machine|of (?:the|my|them))\b"
)


def able(talk: Talk) -> Reading | None:
    """How many boards have a score in a workload, or have none; ``None`` where that is not counted."""
    said, ev = talk.said, talk.evidence
    m = _HOW_MANY.search(said.low)
    works = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), ())
    if m is None or talk.asks or len(works) != 1 or said.signs("bkgsrdfou") or said.gone or said.seals:
        return None
    if (
        _AT_LEAST.search(said.low)
        or _AT_MOST.search(said.low)
        or tried(talk)
        or hears_raw(talk, "causes", "reported", "seals", "compares")
    ):
        return None
    count = m["n"] or m["m"] or m["k"] or m["n2"] or m["n3"]
    whole = m["of"] or m["of2"]
    n = said.num(count) if count else None
    total = said.num(whole).value if whole else len(ev.ledger.boards)
    if [s for s in said.signs("n") if s not in (count, whole)] or not _ABLE.search(said.low):
        return None
    if (n is not None and (n.mod or n.unit)) or total != len(ev.ledger.boards):
        return None
    there = [b for b in ev.ledger.boards if ev.cells(works[0], [b])]
    if _UNABLE.search(said.low):
        there = [b for b in ev.ledger.boards if b not in there]
    verdict = V.SUPPORTED if len(there) == (n.value if n else 1) else V.CONTRADICTED
    text = f"{works[0]}: {len(there)} of {len(ev.ledger.boards)} boards: {', '.join(there)}"
    finding = Finding(verdict=verdict, why=text, boards=tuple(there), true=text)
    return Reading(finding=finding, sure=not strange(talk))


def _split(talk: Talk) -> tuple[Split | None, str]:
    """The division that is claimed, and the sign of the number that counts boards."""
    low = talk.said.low
    boards = boards_of(talk.said)
    if _HARMLESS.search(low):
        return None, ""
    if _ALL_BUT.search(low):
        return Split(way="all_but", boards=boards), ""
    if _ONLY.search(low):
        return Split(way="only", boards=boards), ""
    if not boards and (m := _COUNTED.search(low)):
        n = talk.said.num(m["n"]) if m["n"] else None
        if n is not None and (n.value != int(n.value) or not 1 <= n.value <= MOST):
            return None, ""
        count = 1 if m["one"] or m["lone"] else _SMALL[m["w"]] if m["w"] else int(n.value) if n else 0
        way, more = _how_many(n.text if n else low[: m.end()], n.mod if n else "")
        return Split(way=way, count=count + more), m["n"] or ""
    return None, ""


def _how_many(text: str, mod: str) -> tuple[str, int]:
    """Whether a number of boards is the least, the most or all there are; ``more than two`` is three or more."""
    if _AT_LEAST.search(text):
        return "least", 0
    if _AT_MOST.search(text):
        return "most", 0
    if mod == "over" or re.search(r"\bmore than (?:one|a single)\b", text):
        return "least", 1
    return ("most", -1) if mod == "under" else ("count", 0)


def _judged(
    ev: Evidence, workload: str, asked: Asked, split: Split, *, some: bool, denied: bool
) -> Finding | None:
    """``some``: a board is past the figure with one reading, not only with all of them."""
    ways: Callable[[list[bool]], bool] = any if some else all
    past: dict[str, bool] = {}
    for board in ev.ledger.boards:
        values = [r.value for c in ev.cells(workload, [board]) for t in c.trials for r in t.readings]
        if not values and not ev.undefined(workload, board):
            return None
        held = [asked.holds(v) for v in values]
        past[board] = bool(values) and (not any(held) if denied else ways(held))
    there = [b for b, yes in past.items() if yes]
    others = [b for b in past if b not in split.boards]
    if split.way == "only":
        good = set(there) == set(split.boards)
    elif split.way == "all_but":
        good = there == others
    elif split.way == "least":
        good = len(there) >= split.count
    elif split.way == "most":
        good = len(there) <= split.count
    else:
        good = len(there) == split.count
    verdict = V.SUPPORTED if good else V.CONTRADICTED
    side = {"above": "above", "below": "below"}.get(asked.way, "at")
    text = (
        f"{workload}: {', '.join(there) or 'no board'} {'not ' if denied else ''}{side} {asked.num.value:g}"
    )
    cells = [ev.best(c) for b in past if (c := ev.cells(workload, [b]))]
    refs = tuple(dict.fromkeys(c.mean.runs[0] for c in cells))
    return Finding(verdict=verdict, why=text, refs=refs, boards=split.boards or tuple(there), true=text)
