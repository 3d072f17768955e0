"""What a verdict does not hang on: a number, a setting or a denial that may be changed at will was not understood."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import msgspec

from leadoff.claims.spoken.plain import Plain
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Num, Verdict, Want

Change = Callable[[Said], None]
_NOT = re.compile(r"\b(?:not|never) (?!quite|even|(?:only|just) (?!\d|one\b))")
_BOUNDS = re.compile(
    r"\b(?:between|somewhere|anywhere|ranges?)\b[^{]{0,20}\{(n\d+)\} ?(?:and|to|or|-) ?\{(n\d+)\}"
)
_TIMES = re.compile(r"(?<![\d:])\d{1,2}:[0-5]\d(?![\d:])")
_HIDDEN = r"\b(?:knows?|known|unknown|noted|recorded|written|question mark)\b"
"""Where it is said that a setting is not known, its value says nothing."""
_FACTORS = (7.3, 0.11)
"""A number is made this many times as large and as small: one of the two must overturn what rests on it."""


@dataclass(frozen=True)
class Rests:
    """What a verdict rests on: on runs (``measured``), or on nothing that is in the book (``absent``); ``told`` are
    numbers that are known to be right."""

    told: frozenset[str]
    measured: bool
    absent: bool


def ignored(part: Plain, said: Said, judge: Callable[[Plain, Change], Verdict], rests: Rests) -> str:
    """The first thing said that the verdict "supported" does not hang on; empty where each of them matters. ``judge``
    gives the verdict on a sentence with its mentions changed."""
    both = [m.groups() for m in _BOUNDS.finditer(said.low)]
    for sign in [s for s in said.signs("n") if s not in rests.told]:
        n = said.num(sign)
        signs = next((pair for pair in both if sign in pair), (sign,))
        if n.kind == "beeps" or (n.spoken and not rests.measured):
            continue
        if all(_stands(part, judge, _other_nums(signs, f)) for f in _FACTORS):
            return n.text
    for sign in () if rests.absent else said.signs("s"):
        want = said.want(sign)
        others = [Want(want.text, (("no such setting", "is", "98765"),))]
        if re.search(_HIDDEN, part.low) is None:
            others.append(Want(want.text, tuple((n, "is", "98765") for n, _, _ in want.tests if n != "*")))
        if not want.bare and any(_stands(part, judge, _other_want(sign, w)) for w in others if w.tests):
            return want.text
    for m in _TIMES.finditer(part.low):
        if _stands(
            Plain(part.text, f"{part.low[: m.start()]}9:59{part.low[m.end() :]}"), judge, lambda s: None
        ):
            return m[0]
    for low in _without_denials(part.low) if rests.measured else ():
        if _stands(Plain(part.text, low), judge, lambda s: None):
            return "what is denied"
    return ""


def _stands(part: Plain, judge: Callable[[Plain, Change], Verdict], change: Change) -> bool:
    return judge(part, change) is Verdict.SUPPORTED


def _other_nums(signs: tuple[str, ...], factor: float) -> Change:
    def change(said: Said) -> None:
        for i in (int(sign[1:]) for sign in signs):
            if i < len(said.nums):
                said.nums[i] = _scaled(said.nums[i], factor)

    return change


def _scaled(n: Num, factor: float) -> Num:
    value = n.value * factor
    value = value if n.places or n.value < 2 else float(round(value))
    hi = None if n.hi is None else n.hi * factor
    return msgspec.structs.replace(n, value=value + (0.0 if n.value else 7.0), hi=hi, tol=n.tol)


def _other_want(sign: str, other: Want) -> Change:
    def change(said: Said) -> None:
        i = int(sign[1:])
        if i < len(said.wants):
            said.wants[i] = other

    return change


def _without_denials(low: str) -> Iterator[str]:
    if re.match(r"(?:\w+ , )?neither\b.*\bnor\b", low):
        yield re.sub(r"\bnor\b", "and", re.sub(r"\bneither\b", "both", low))
    for m in _NOT.finditer(low):
        yield re.sub(r" (?:any ?more|any longer)\b", "", f"{low[: m.start()]}{low[m.end() :]}")
