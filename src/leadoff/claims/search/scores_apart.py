"""How many, or which, are before a board: only the one is quicker than the other; it beats everybody but these."""

from __future__ import annotations

import re
from collections.abc import Sequence

from leadoff.claims.search.scores_place import Here, Place, workload_choices
from leadoff.claims.search.scores_words import classes, hears, hears_raw, strange, tried, words
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.spoken.evidence import Evidence, reads
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.spoken.weigh import Weighed, weigh
from leadoff.claims.spoken.weigh import said as in_figures

V = Verdict
_THE = r"(?:the |my |that |this )?"
_LIST = rf"{_THE}\{{b\d+\}}(?:(?: ,| and| or| ,? and)+ {_THE}\{{b\d+\}})*"
_BAR = (
    r"(?:but|except(?:ing| for)?|save(?: for)?|bar(?:ring)?|other than|besides|apart from|aside from|leaving out|"
    r"leaving aside|with the exception of)"
)
_NOBODY = r"(?:nobody|no one|none|nothing|no (?:other )?board)"
_ALL = (
    r"(?:everybody|everyone|everything|every (?:other )?board|all(?: the)? (?:others|rest|boards)|the rest|"
    r"the others|any(?: other)? board|anybody|anyone)"
)
_OUT = re.compile(
    rf"\b(?:only|just|{_NOBODY}[^{{}},]{{0,12}} {_BAR}) (?P<a>{_LIST})|\b{_BAR} (?P<b>{_LIST}) ,? ?{_NOBODY}\b|"
    rf"(?P<c>{_LIST}) (?:apart|aside|excepted) ,? ?{_NOBODY}\b|\b{_NOBODY}\b.* {_BAR} (?P<d>{_LIST}) $|"
    rf"\b{_ALL} {_BAR} (?P<e>{_LIST})|\b{_BAR} (?P<f>{_LIST}) ,? ?.*\b{_ALL}\b"
)
_BEFORE = (
    r"(?:faster|quicker|swifter|speedier|better)\b[^{}]*(?:\{w\d+\}[^{}]*)?than|beats?|beat|ahead of|"
    r"in front of|outruns?|before|above|leaves? behind|left behind|keeps? behind|outpaces?|outdoes|"
    r"can beat|overtakes?"
)
_AFTER = r"(?:slower|worse|weaker)\b[^{}]*(?:\{w\d+\}[^{}]*)?than|behind"
_RELATION = re.compile(rf"\b(?:(?P<before>{_BEFORE})|(?P<after>{_AFTER})) (?P<whom>{_THE}\{{b\d+\}}|{_ALL})")
_BEATEN = re.compile(
    rf"(?P<t>\{{b\d+\}}) (?:only |just )?(?:loses (?:only |just )?to|is (?:only |just )?(?:beaten|outdone|"
    rf"outrun|bettered|topped) "
    rf"(?:only |just )?by) (?:(?:only|just) (?P<x>)|(?=[^{{}}]*\b(?:only|alone|"
    rf"one board)\b))(?:one board )?(?:only |alone )?"
    rf"(?:(?:in |at |over )?(?:the )?\{{w\d+\}} )?,? ?(?P<who>{_LIST})"
)
_BEFORE_IT = re.compile(
    rf"(?P<t>\{{b\d+\}}) has (?:only|just|nobody but|none but|no board but) (?P<who>{_LIST}) (?:in front of|"
    rf"ahead of|before|above) it\b"
)
_ONLY_THAT = re.compile(
    rf"\bonly (?:other )?(?:board|machine|one|rival|thing)s? (?:that |which )?{_THE}\{{(?P<t>b\d+)\}} "
    rf"(?:ever |really |actually )?"
    rf"(?:(?P<before>{_BEFORE}|is (?:faster|quicker) than)|(?P<after>loses to|lost to|trails|is "
    rf"(?:slower than|behind|beaten by)|"
    rf"has to let pass|cannot beat|can not beat))\b"
)
"""``the only board that this one leaves behind``."""
_PAST_SO_MANY = re.compile(
    rf"\{{(?P<t>b\d+)\}} (?:is |was |stays |comes |finishes )?(?:only |just |exactly "
    rf")?(?:(?P<before>{_BEFORE})|(?P<after>{_AFTER}))"
    r" (?:than )?(?:only |just |exactly )?(?:(?P<w>one|a single)|\{(?P<n>n\d+)\}|(?P<few>two|three|four)) "
    r"(?:of (?:the |my |them |its )*(?:other )?)?(?:boards?|machines?|others)?(?= |$)"
)
"""``slower than two boards``."""
_FEW = {"two": 2, "three": 3, "four": 4}
_COUNT = re.compile(
    r"\b(?P<w>one|a single|\{(?P<n>n\d+)\}) (?:of (?:the |my |these |them )*(?:lot|boards|machines|others)?|"
    r"(?:other )?"
    r"(?:boards?|machines?))\b"
)


def apart(talk: Talk) -> Reading | None:
    """What the book says to who is before or behind a board and who is not; ``None`` where nobody is set apart."""
    said = talk.said
    if talk.asks or said.strangers or said.gone or said.seals or said.signs("kgsrdfou"):
        return None
    if tried(talk) or hears(talk, "record") or hears_raw(talk, "causes", "seals", "supposes", "reported"):
        return None
    if (r := _next(talk)) is not None:
        return r
    if beaten := _BEATEN.search(said.low) or _BEFORE_IT.search(said.low):
        who, works = _named(said, beaten["who"]), list(dict.fromkeys(said.workloads))
        works = workload_choices(talk, Here(workloads=tuple(works)), ())
        whole = {*who, *_named(said, beaten["t"])} == set(said.boards)
        sole = len(who) == 1 or not re.search(r"\bone board\b", said.low)
        if not (whole and sole and len(works) == 1) or said.signs("n"):
            return None
        return _judged(talk, works[0], _named(said, beaten["t"])[0], ahead=True, who=who, count=None)
    if (r := _only_that(talk) or _past_so_many(talk)) is not None:
        return r
    relation = _RELATION.search(said.low)
    works = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), ())
    if relation is None or len(works) != 1 or re.search(r"\bnot\b", said.low):
        return None
    out, counted = _OUT.search(said.low), _COUNT.search(said.low)
    named = _named(said, next((g for g in out.groups() if g), "")) if out else ()
    whom = _named(said, relation["whom"])
    target = whom or tuple(b for b in dict.fromkeys(said.boards) if b not in named)
    if len(target) != 1 or target[0] in named:
        return None
    ahead = relation["before"] is not None
    spare = [s for s in said.signs("n") if counted is None or s != counted["n"]]
    number: Num | None = said.num(counted["n"]) if counted and counted["n"] else None
    if spare or (number is not None and (number.mod or number.unit)) or set(said.boards) - {*target, *named}:
        return None
    if out and not counted:
        return _judged(talk, works[0], target[0], ahead, who=named, count=None)
    if counted and not out and whom:
        return _judged(talk, works[0], target[0], ahead, who=(), count=int(number.value) if number else 1)
    return None


def _only_that(talk: Talk) -> Reading | None:
    said = talk.said
    m = _ONLY_THAT.search(said.low)
    works = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), ())
    boards = tuple(dict.fromkeys(said.boards))
    if m is None or len(works) != 1 or len(boards) != 2 or said.signs("n") or re.search(r"\bnot\b", said.low):
        return None
    target = said.boards[int(m["t"][1:])]
    who = tuple(b for b in boards if b != target)
    return _judged(talk, works[0], target, m["after"] is not None, who=who, count=None)


def _past_so_many(talk: Talk) -> Reading | None:
    said = talk.said
    m = _PAST_SO_MANY.search(said.low)
    works = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), ())
    if m is None or len(works) != 1 or len(set(said.boards)) != 1 or re.search(r"\bnot\b", said.low):
        return None
    n = said.num(m["n"]) if m["n"] else None
    if set(said.signs("n")) - {m["n"]} or (
        n is not None and (n.mod or n.unit or n.places or n.kind not in ("bare", "count"))
    ):
        return None
    count = int(n.value) if n else _FEW[m["few"]] if m["few"] else 1
    if count > len(talk.evidence.ledger.boards):
        return None
    return _judged(talk, works[0], said.boards[0], m["after"] is not None, who=(), count=count)


_AFTER_IT = re.compile(
    rf"(?:\b(?:next |right |straight |directly |just |immediately )?(?:after|"
    rf"behind) {_THE}\{{(?P<a>b\d+)\}}(?:[^{{}}]|\{{[nw]\d+\}})*\b"
    rf"(?:comes?|came|follows?|is next|is|you (?:will )?find|we find|sits|stands|"
    rf"there is) {_THE}\{{(?P<b>b\d+)\}}|\{{(?P<d>b\d+)\}}(?:[^{{}}]|"
    rf"\{{[nw]\d+\}})* (?:next|right|straight|directly|"
    rf"immediately) (?:after|behind|below) {_THE}\{{(?P<c>b\d+)\}}|\{{(?P<e>b\d+)\}}(?:[^{{}}]|"
    rf"\{{[nw]\d+\}})*\bfollowed "
    rf"(?:[\w-]+ ){{0,5}}by {_THE}\{{(?P<f>b\d+)\}})"
)


_NONE_BETWEEN = re.compile(
    rf"\b(?:nobody|no one|no board|nothing|"
    rf"none)\b[^{{}}]*\bbetween {_THE}\{{(?P<a>b\d+)\}} and {_THE}\{{(?P<b>b\d+)\}}"
    r"(?P<c>)(?P<d>)(?P<e>)(?P<f>)"
)


def _next(talk: Talk) -> Reading | None:
    """``after the first comes this one``: nobody between them."""
    said, ev = talk.said, talk.evidence
    m = _AFTER_IT.search(said.low) or _NONE_BETWEEN.search(said.low)
    free = m is not None and m.re is _NONE_BETWEEN
    works = workload_choices(talk, Here(workloads=tuple(dict.fromkeys(said.workloads))), ())
    if m is None or len(works) != 1 or len(said.signs("b")) != 2:
        return None
    first = m["a"] or m["e"]
    pair = (first, m["b"] or m["f"]) if first else (m["c"], m["d"])
    one, two = (said.boards[int(s[1:])] for s in pair)
    best = {b: ev.best(c) for b in ev.ledger.boards if (c := ev.cells(works[0], [b]))}
    signs = said.signs("n")
    if (
        not {one, two} <= set(best)
        or len(signs) > 2
        or any(said.num(s).kind not in ("bare", "value") for s in signs)
    ):
        return None
    whose = (one, two) if len(signs) == 2 and first else (two, one) if len(signs) == 2 else (two,)
    right = all(
        any(reads(c, said.num(s)) for c in ev.cells(works[0], [b]))
        for s, b in zip(signs, whose, strict=False)
    )
    step = weigh(ev, best[one], best[two], works[0])
    if free and _clear(step) < 0:
        one, two = two, one
        step = weigh(ev, best[one], best[two], works[0])
    between = [
        b
        for b, c in best.items()
        if b not in (one, two)
        and _clear(weigh(ev, best[one], c, works[0])) > 0
        and _clear(weigh(ev, c, best[two], works[0])) > 0
    ]
    if m["e"] and _asked_for_first(talk):
        between += [b for b, c in best.items() if b != one and _clear(weigh(ev, best[one], c, works[0])) < 0]
    if step.pair is None:
        verdict = V.NOT_COMPARABLE
    elif _clear(step) < 0 or between or not right:
        verdict = V.CONTRADICTED
    else:
        verdict = V.SUPPORTED if _clear(step) > 0 else V.WITHIN_NOISE
    text = f"{in_figures(step, ev)}; between them: {', '.join(between) or 'none'}"
    finding = Finding(verdict=verdict, why=text, refs=step.refs, boards=(one, two), true=text)
    return Reading(finding=finding, sure=verdict is not V.SUPPORTED or not strange(talk))


def _asked_for_first(talk: Talk) -> bool:
    """Whether the best was asked for just before."""
    asked = talk.before[-1].low if talk.before else ""
    return bool(set(words(asked)) & classes()["best"])


def _clear(p: Weighed) -> int:
    """1 where the first is clearly ahead, -1 where it is clearly behind."""
    return 0 if p.pair is None or not p.pair.shown or p.pair.tied else 1 if p.pair.faster > 0 else -1


def _named(said: Said, text: str) -> tuple[str, ...]:
    return tuple(said.boards[int(i)] for i in re.findall(r"\{b(\d+)\}", text))


def _judged(
    talk: Talk, w: str, target: str, ahead: bool, *, who: Sequence[str], count: int | None
) -> Reading | None:
    ev: Evidence = talk.evidence
    mine = Place(boards=(target,), workload=w).cells(ev)
    rest = {b: c for b in ev.ledger.boards if b != target and (c := ev.cells(w, [b]))}
    if not mine or not set(who) <= set(rest):
        return None
    pairs = {b: weigh(ev, ev.best(c), ev.best(mine), w) for b, c in rest.items()}
    there = [
        b
        for b, p in pairs.items()
        if p.pair and p.pair.shown and not p.pair.tied and (p.pair.faster > 0) == ahead
    ]
    open_ = [b for b, p in pairs.items() if p.pair is None]
    ties = [b for b, p in pairs.items() if p.pair and (not p.pair.shown or p.pair.tied)]
    if set(there) == set(who) if count is None else len(there) == count:
        verdict = V.NOT_COMPARABLE if open_ else V.SUPPORTED
    elif count is None and set(there) | set(ties) >= set(who) and set(there) <= set(who):
        verdict = V.WITHIN_NOISE
    elif set(open_) & set(who) or (count is not None and len(there) <= count <= len(there) + len(open_)):
        verdict = V.NOT_COMPARABLE
    else:
        verdict = V.CONTRADICTED
    side = "before" if ahead else "behind"
    text = f"{w}: {side} {target} {'are' if len(there) != 1 else 'is'} {', '.join(there) or 'none'}"
    shown = "; ".join(in_figures(pairs[b], ev) for b in (*there, *who)[:2])
    refs = tuple(dict.fromkeys(r for p in pairs.values() for r in p.refs))
    finding = Finding(verdict=verdict, why=f"{text}; {shown}", refs=refs, boards=(target, *who), true=text)
    return Reading(finding=finding, sure=verdict is not V.SUPPORTED or not strange(talk))
