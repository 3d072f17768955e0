"""Corrections: ``a fifth, not a half``, ``it is not the bus, it is the read wait``: what is put right stays."""

from __future__ import annotations

import re

from leadoff.claims.spoken.cues import CAUSE
from leadoff.claims.spoken.reading import Said

_FIRST = r"\b(?:records?|champion|crown|title|fastest|quickest|slowest|best|highest|lowest|leads|wins?|won|first)\b"
_WORDS = r"(?:(?!not |but |than |if |when )[\w']+ ){0,4}?"
_KIND = r"\{(?P<k>[bnsgw])\d+\}"
_TAIL = re.compile(
    rf" , (?:and |but |so )?(?:certainly |surely |definitely )?not {_WORDS}{_KIND}(?: of (?:them|it|"
    rf"that))?(?= ,| $)"
)
_CLEFT = re.compile(
    rf"\b(?:it|that) (?:is|was) not {_WORDS}{_KIND} (?:that|which|who) (?P<what>[^,]*) , "
    rf"(?:it|that) (?:is|was) (?P<b>{_WORDS}\{{(?P=k)\d+\}})"
)
_AGAIN = r"(?:(?:it|that|this|they|he|she|the \w+) (?:is|was|are|were|did|does|has|had) )"
_IS = re.compile(
    rf"\b(?P<verb>is|was|are|were|do|does|did|has|had) not (?:\w+ )?{_WORDS}{_KIND}(?: \w+){{0,2}} , "
    rf"(?:and |but |rather )?{_AGAIN}(?P<b>{_WORDS}\{{(?P=k)\d+\}})"
)
_CLOCK = re.compile(
    r"\bnot (?:at|after|until) \d{1,2}:\d\d , (?:but |it was |that was |rather )*(?=(?:at |after )?\d{1,2}:\d\d)"
)


def corrected(said: Said) -> str:
    """The skeleton without what is denied and put right in the same breath, where both can not be true at once."""
    low = _CLOCK.sub("", said.low)
    low = _CLEFT.sub(
        lambda m: f"because of {m['b']} {m['what']}" if m["k"] == "s" else f"{m['b']} {m['what']}", low
    )
    low = _IS.sub(lambda m: f"{m['verb']} {m['b']}", low)
    m = _TAIL.search(low)
    if m is not None and _excludes(said, low, m):
        low = low[: m.start()] + low[m.end() :]
    return f" {' '.join(low.split())} "


def _excludes(said: Said, low: str, m: re.Match[str]) -> bool:
    """Whether what stands before a trailing ``not`` leaves no room for what follows it."""
    kind, before = m["k"], low[: m.start()]
    rivals = re.findall(rf"\{{({kind}\d+)\}}", before)
    if not rivals:
        return False
    if kind == "b":
        return re.search(_FIRST, before) is not None
    if kind == "s":
        return re.search(CAUSE, before) is not None or bool(said.runs)
    if kind == "n":
        mine = said.num(re.findall(r"\{(n\d+)\}", m[0])[0])
        same = [r for r in rivals if said.num(r).kind == mine.kind]
        return bool(same) and (mine.kind not in ("bare", "value") or "{s" in before or "{r" in before)
    return False
