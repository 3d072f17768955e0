"""Denials around a whole claim: ``do not tell me that``, ``it is not true that``, a question answered by no."""

from __future__ import annotations

import re
from functools import lru_cache

import msgspec

from leadoff.claims.rows import table
from leadoff.claims.spoken.cues import TIE
from leadoff.claims.spoken.values import Finding, Verdict

V = Verdict


class Denied(msgspec.Struct, frozen=True):
    """A part in plain form: ``claim`` is what is denied (claimed where not ``denied``), ``rest`` what follows."""

    claim: str
    rest: str
    denied: bool = True
    asked: bool = False


@lru_cache(maxsize=1)
def _empty() -> re.Pattern[str]:
    return re.compile(
        rf"(?:(?<= , )|^|(?<= : ))(?:and |but |so )?(?:{'|'.join(table('denials')['empty'])})"
        r"(?: that\b)?(?: ,|(?= :)|$|(?= (?:the|it|my|i|this)\b))"
    )


@lru_cache(maxsize=1)
def _opens() -> re.Pattern[str]:
    return re.compile(rf"(?:{'|'.join(table('denials')['denies'])}) (?P<claim>.+?)(?: , (?P<rest>.+))?")


@lru_cache(maxsize=1)
def _closes() -> re.Pattern[str]:
    return re.compile(rf"(?:{'|'.join(table('denials')['after'])})[.! ]*$")


def closed(sentence: str) -> str:
    """A sentence that ends by denying all that it said, without that end; empty for others."""
    m = _closes().search(sentence.lower().replace("\u2019", "'"))
    return "" if m is None else sentence[: m.start()]


def is_unreal(low: str) -> bool:
    """Wishes and what is only imagined."""
    return re.match(table("denials")["unreal"], low) is not None


@lru_cache(maxsize=1)
def _answered() -> re.Pattern[str]:
    rows = table("denials")
    return re.compile(rf"(?P<q>.+?) , (?:(?P<no>{rows['no']})|{rows['yes']})(?: , (?P<rest>.+))?")


def undressed(low: str) -> str:
    """A plain sentence without words to the listener that only look like a denial."""
    before = None
    while before != low:
        before, low = low, " ".join(_empty().sub(" ", low, count=1).split()).strip(" ,:")
    return low


def denied_in(text: str, low: str) -> Denied | None:
    """The claim that is denied as a whole, or that a question makes with its answer; ``None`` for other sentences."""
    if m := _opens().fullmatch(low):
        return Denied(m["claim"], m["rest"] or "")
    if re.search(r"\?\s+\S", text) and (m := _answered().fullmatch(low)):
        return Denied(m["q"], m["rest"] or "", denied=m["no"] is not None, asked=True)
    return None


def goes_on(rest: str) -> bool:
    """Whether what follows a denied claim is a claim of its own."""
    return (
        re.match(r"(?:it|that|this|they|he|she|the|my|i|we|you|there|nobody|all|of|only|just|no)\b", rest)
        is not None
    )


def is_answer(piece: str) -> bool:
    """Whether a sentence answers the question before it: ``No.``, ``Yes, twice.``"""
    rows = table("denials")
    return re.match(rf"(?:{rows['no']}|{rows['yes']})(?=\W|$)", piece.lower()) is not None


def turned_over(found: list[Finding], low: str) -> list[Finding]:
    """The verdicts on the denial: who denies a tie claims a difference, who denies one that is not shown is right."""
    tie = re.search(TIE, low) is not None
    noise = V.WITHIN_NOISE if tie else V.SUPPORTED
    turn = {
        V.SUPPORTED: V.WITHIN_NOISE if tie else V.CONTRADICTED,
        V.CONTRADICTED: V.SUPPORTED,
        V.WITHIN_NOISE: noise,
    }
    return [msgspec.structs.replace(f, verdict=turn.get(f.verdict, f.verdict)) for f in found]


_HOW_MANY = re.compile(
    r"(?:and |so |well , )?how many (?P<noun>[a-z-]+(?: [a-z-]+)?) (?:has|have|had|did|do|does|are|were|is|was)\b.*"
)
_NUMBER = re.compile(
    r"(?P<n>\d+|none|all of them|one|just one|only one)(?P<rest>$| ,.*| and .*| in all\b.*| of them\b.*)"
)


def reply_to(asked: str, low: str) -> Denied | None:
    """A short answer to the question just asked, as the claim that the two make together; ``None`` for others."""
    if (many := _HOW_MANY.fullmatch(asked)) and (m := _NUMBER.fullmatch(low)):
        return Denied(f"{m['n']} {many['noun']} {m['rest'].strip()}".strip(), "", denied=False)
    rows = table("denials")
    if asked and (m := re.fullmatch(rf"(?:(?P<no>{rows['no']})|{rows['yes']})(?: , (?P<rest>.+))?", low)):
        ever = " ever " in asked
        claim = asked.replace(" ever ", " never ") if m["no"] and ever else asked
        return Denied(claim, m["rest"] or "", denied=m["no"] is not None and not ever)
    return None
