"""Entries named by kind and number: ``soak-6``, ``forecast number three``, ``the second forecast``."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from leadoff.claims.grade import is_copy, is_soak, is_start
from leadoff.claims.values import Ledger

_NUMBERED = re.compile(
    r"(?:\bthe )?\b(soaks?|copy(?:-compare)?|(?:cold )?starts?|forecast|prediction|seal|symptom|oddity|run)"
    r"(?:-|(?:,? (?:number|no\.?|nr\.?) #?)| ?#)(?![2-6]86\b)(\d+)\b(?![./]\d)"
)
_COUNTED = re.compile(
    r"\b(soak|forecast|prediction|symptom) (\d{1,2})(?= (?:was|is|has|had|did|said|says|missed|held|came|"
    r"called|hit|failed|got|"
    r"went|ran|passed|finished|completed|crashed|ended|landed|predicted|nailed|overshot|undershot|"
    r"still|never|gave|put)\b|,|'s)"
)
_ORDINALS = (
    *("first", "second", "third", "fourth", "fifth", "sixth"),
    *("seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth"),
)
_ORDERED = re.compile(rf"\b(?:the|my) ({'|'.join(_ORDINALS)}) (soak|forecast|prediction|symptom)\b")
_WORDS = {"s": "soak", "c": "copy-compare", "st": "cold start", "f": "forecast", "o": "symptom", "r": "run"}


def entries_in(low: str, ledger: Ledger, put: Callable[[str, str], str], gone: Callable[[str], None]) -> str:
    """Replaces names of entries: ``put(kind, name)`` gives the sign, kind ``r`` for runs and protocols, ``f`` for
    forecasts, ``o`` for symptoms; ``gone(text)`` is told of one that the book does not have."""

    def made(kind: str, number: int, text: str) -> str:
        kind = _kind(kind)
        if kind == "r":
            return text
        name = _named(ledger, kind, number)
        if name is None:
            gone(text)
            return f" {_WORDS[kind]} "
        return f" {_WORDS[kind]} {put(kind if kind in 'fo' else 'r', name)} "

    low = _NUMBERED.sub(lambda m: made(m[1], int(m[2]), m[0].strip().removeprefix("the ")), low)
    low = _COUNTED.sub(lambda m: made(m[1], int(m[2]), m[0]), low)
    return _ORDERED.sub(lambda m: made(m[2], _ORDINALS.index(m[1]) + 1, m[0].removeprefix("the ")), low)


def _kind(word: str) -> str:
    word = word.removesuffix("s")
    if word.startswith(("forecast", "prediction", "seal")):
        return "f"
    if word.startswith(("symptom", "oddity")):
        return "o"
    return {"soak": "s", "run": "r"}.get(word, "c" if word.startswith("copy") else "st")


def _named(ledger: Ledger, kind: str, number: int) -> str | None:
    """The entry that goes by this number, else the one at this place among its kind."""
    names: Sequence[str]
    if kind == "o":
        names = [str(n) for n in range(len(ledger.oddities))]
    elif kind == "f":
        names = list(dict.fromkeys(s.number for s in ledger.sealed))
    else:
        is_kind = {"s": is_soak, "c": is_copy, "st": is_start}[kind]
        names = [t.number for t in ledger.trials if is_kind(t)]
    own = [n for n in names if kind != "o" and re.fullmatch(rf"(?:\D*\D)?0*{number}", n)]
    if own:
        return own[0]
    return names[number - 1] if 0 < number <= len(names) else None
