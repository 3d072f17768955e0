"""Forecasts counted by what became of them: sealed at all, tried, not tried yet, sealed too late, for a board."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.search.seals_tally import held
from leadoff.claims.search.seals_words import outcomes, pattern, speaks
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.settings import meets
from leadoff.claims.spoken.values import Num, Want
from leadoff.claims.values import Sealed

_FORECASTS = r"(?:forecasts?|predictions?|seals?|envelopes?|prophec(?:y|ies)|bands?)"
_COUNTED = re.compile(
    r"\{n\d+\}|(?<!that )(?<!this )(?<!the other )(?<!which )\b(?:one|1|single)\b|"
    rf"\b(?:none|neither|(?<!of )all|both)\b|\bno(?= (?:\w+ )?{_FORECASTS})"
)
_OF = re.compile(r"\b(?:of|from|among|out of) (?:the |my |these |those |all )*\{(n\d+)\}")
_TRIGGER = re.compile(
    rf"\{{n\d+\}} (?:was|were|is|are|has|have|still) |(?:\{{n\d+\}}|\bone|\b1|\bsingle|\bno|\bneither|\bnone|\ball|"
    rf"\bboth|"
    rf"\bof them|\bthe others?|\bthe rest) (?:\w+ ){{0,3}}?{_FORECASTS}\b"
    rf"|(?:\{{n\d+\}}|\bone|\b1|\bnone) (?:\w+ )?of (?:the |my |all |these |those )*(?:\{{n\d+\}}|{_FORECASTS}|them)"
)
_LATE = re.compile(
    r"\b(?:seal\w*|made|written|wrote|put down|set down|dated|came|come|was|were) (?:\w+ ){0,4}?(?:too late|after|"
    r"late|afterwards|with hindsight)\b"
    r"|\btoo late\b|(?:\{n\d+\}|\b(?:one|1)) (?:of them )?late\b|\bwith hindsight\b|\bafter the (?:run|fact|event|"
    r"reading)\b|\b(?:does|do|did) not count\b|"
    r"\b(?:when|once|after) the (?:run|result|reading|figure) (?:was|were|had been|lay|stood) "
    r"(?:already |long )?(?:done|over|made|"
    r"finished|there|known|in|read|on the table)\b|\bwith the (?:run|result|reading|figure) "
    r"(?:already )?(?:done|known|in hand|"
    r"on the table|before me)\b"
)
_OF_THESE = re.compile(r"\bof (?:these|those) (?P<n>\{n\d+\})(?= \w)")
_PLAINLY = re.compile(r"(?:\{n\d+\}|\b(?:one|1)) (?:of them )?(good|fine|bad)\s*$")
"""``five good, one bad``."""
_NOT = re.compile(r"\b(?:did|was|were|has|had|have|is|are) not\s*$")
_APART = re.compile(
    r"\b(?:but|except|bar|save) (?:for )?(?:one|1|\{n\d+\}|the)\b|\beach\b|\bapiece\b"
    r"|\b(?:in time|in advance|before|beforehand|leave|leaving|left out|apart from|aside|without|ignoring|"
    r"excluding)\b"
)
_TRIED = re.compile(
    r"\b(?:counts?(?! on)|counted|valid|tried|run|ran|answered|tested|put to the test|settled|decided|judged)\b"
)


class Sorted(msgspec.Struct, frozen=True, kw_only=True):
    """``fits``: whether every count is so; ``pool``: the forecasts counted last."""

    fits: bool
    clear: bool
    pool: tuple[Sealed, ...]
    why: str


def sorts(said: Said, ev: Evidence, told_of: Sequence[str] = ()) -> Sorted | None:
    """The counts of a sentence; ``None`` where it says nothing of late, untried or named ones. ``told_of``: the
    boards whose forecasts were spoken of just before."""
    low = said.low
    if (not told_of and not _TRIGGER.search(low)) or _APART.search(low):
        return None
    if any(said.num(n).places or said.num(n).value > len(ev.ledger.sealed) for n in said.signs("n")):
        return None
    base = tuple(s for s in ev.ledger.sealed if not told_of or s.board in told_of)
    last: tuple[Sealed, ...] | None = None
    checks: list[bool] = []
    told: list[str] = []
    special = bool(told_of)
    before = ""
    clear = True
    spent: set[str] = set()
    for clause in re.split(r" , | and (?!\{n)| but (?!one\b|\{n|the\b|1\b)| while | whereas ", low):
        named = _named(said, clause, base)
        number = _COUNTED.search(_OF.sub(lambda m: f"of {m[1]}", clause)) or _OF_THESE.search(clause)
        kind = _kind(clause, denied=number is not None and number[0] in ("none", "neither", "no"))
        if number is None and (alone := _OF.search(clause)) is not None and not kind:
            spent.add(alone[1])
            checks.append(said.num(alone[1]).value == len(named))
            continue
        if number is None:
            clear = clear and not (kind and kind != "held") and not re.search(r"\{n\d+\}", clause)
            continue
        whole = _OF.search(clause)
        if re.search(r"\bof (?:these|those) \{n\d+\}", clause) and len(re.findall(r"\{n\d+\}", clause)) == 1:
            whole = None
        of_them = last if re.search(r"\bof (?:them|those|these)\b|\bthe (?:others?|rest)\b", clause) else None
        pool = tuple(s for s in (of_them or base) if s in named)
        if not kind and _NOT.search(clause):
            kind = {"held": "missed", "missed": "held"}.get(before, "")
            if not kind:
                return None
        before = kind
        hits = tuple(s for s in pool if _is(s, kind, ev))
        of = (of_them or base) if named != base and whole else pool
        tried = [s for s in of if s.answered_by]
        special = (
            special
            or number[0] in ("both", "neither")
            or kind in ("late", "untried", "tried")
            or (bool(kind) is False and last is not None)
        )
        word = number["n"] if number.re is _OF_THESE else number[0]
        if whole is not None:
            spent.add(whole[1])
            checks.append(
                said.num(whole[1]).value in (len(of), *([len(tried)] if kind in ("held", "missed") else []))
            )
        if word in ("all", "both"):
            checks.append(len(hits) == len(pool) and (word != "both" or len(pool) == 2))
        elif word in ("none", "neither", "no"):
            checks.append(not hits)
        else:
            sign = word[1:-1] if word.startswith("{") else ""
            spent.add(sign)
            n = said.num(sign) if sign else Num("bare", 1.0)
            checks.append(len(hits) == n.value)
            if n.of is not None:
                checks.append(n.of == len(of) or (kind in ("held", "missed") and n.of == len(tried)))
        told.append(
            f"{len(hits)} of {len(pool)}{' ' + kind if kind else ''}: {', '.join(s.number for s in hits) or 'none'}"
        )
        last = hits
    if not checks or not special or last is None:
        return None
    clear = clear and not set(said.signs("n")) - spent and not said.signs("sgrdo")
    return Sorted(fits=all(checks), clear=clear, pool=last, why="; ".join(told))


_MISS = re.compile(
    r"\b(?:my|the|our) (?:one|only|1|single|sole) (?:\w+ )?"
    r"(?:miss|failure|flop|dud|blunder|wrong (?:forecast|one|prediction)|(?:forecast|prediction) (?:that|which|"
    r"to) (?:miss\w*|fail\w*|go wrong|went wrong))\b"
)


_ONLY_MISS = re.compile(
    r"\b(?:only|just|nobody but|none but|nothing but|no one but|all but|all except|all held (?:but|except)) (?:for )?"
    r"(?:(?:the|my|that|one|ones) )*(?:(?:for|of|on|with|about) (?:the |my )?)?\{b\d+\}"
)


_SINGLE_MISS = re.compile(
    r"(?:\b(?:one|1|single)\b|\{(?P<n>n\d+)\}) of (?:(?:my|the|all|these|those|our|them) )+.*(?: ,| and| namely|:).*"
    r"\b(?:it|that|this|which|namely)\b.*\{b\d+\}"
)
"""``a single one of my forecasts failed, and it was this board's``."""


def one_miss(said: Said, ev: Evidence, boards: Sequence[str], wants: Sequence[Want]) -> Sorted | None:
    """``my one miss was the Birch at 40``: the only forecast that did not hold, and whose it was."""
    only = _ONLY_MISS.search(said.low)
    kinds = {o.held for o in outcomes(said.low) if o.held is not None}
    single = _SINGLE_MISS.search(said.low)
    named = single is not None and kinds == {False} and (not single["n"] or said.num(single["n"]).value == 1)
    turned = only is not None and "all " in only[0]
    alone = only is not None and kinds == {turned} and speaks(said.low, strictly=True)
    if (
        not (_MISS.search(said.low) or alone or named)
        or not boards
        or re.search(r"\b(?:not|never|neither|nor)\b", said.low)
    ):
        return None
    missed = tuple(s for s in ev.ledger.sealed if s.answered_by and not held(s, ev))
    ok = len(missed) == 1 and all(
        s.board in boards and all(meets(ev.settle(w, (s.board,)), s.settings, None) for w in wants)
        for s in missed
    )
    clear = named or not said.signs("n") or all(s.board not in boards for s in missed)
    return Sorted(fits=ok, clear=clear, pool=missed, why="missed: " + ", ".join(s.number for s in missed))


def _named(said: Said, clause: str, every: tuple[Sealed, ...]) -> tuple[Sealed, ...]:
    boards = {said.boards[int(i)] for i in re.findall(r"\{b(\d+)\}", clause)}
    boards |= {b for i in re.findall(r"\{k(\d+)\}", clause) for b in said.groups[int(i)]}
    works = {said.workloads[int(i)] for i in re.findall(r"\{w(\d+)\}", clause)}
    found = (s for s in every if (not boards or s.board in boards) and (not works or s.workload in works))
    return tuple(found)


def _kind(clause: str, *, denied: bool) -> str:
    """What became of them: untried, late, tried, missed, held; empty where nothing is said of it. ``denied``: it is
    denied of all of them."""
    low = f" {clause} "
    found = outcomes(low)
    if any(o.kind == "untried" for o in found) or pattern("untried").search(low):
        return "untried"
    if _LATE.search(low):
        return "late"
    if m := _PLAINLY.search(low):
        return "held" if m[1] in ("good", "fine") else "missed"
    told: Sequence[bool | None] = [
        o.kind == "held" if denied else o.held for o in found if o.held is not None
    ]
    if told:
        return "held" if all(told) else "missed"
    return "tried" if _TRIED.search(low) else ""


def _is(s: Sealed, kind: str, ev: Evidence) -> bool:
    if not kind:
        return True
    late = bool(s.late_for) and not s.answered_by
    if kind in ("late", "untried"):
        return late if kind == "late" else not s.late_for and not s.answered_by
    return bool(s.answered_by) and (kind == "tried" or held(s, ev) == (kind == "held"))
