"""Slips of the pen: two neighbouring letters of a word changed over, or one left out."""

from __future__ import annotations

import re
from functools import lru_cache

from leadoff.claims.rows import table

_ENDINGS = ("s", "es", "d", "ed", "r", "er", "ers", "ing", "ly")


@lru_cache(maxsize=1)
def _words() -> frozenset[str]:
    """Words that the rules know: those without a claim of their own and those of the phrases."""
    rows = table("phrases").values()
    spoken = {w for group in rows for said, _ in group for w in re.findall(r"(?<!\\)[a-z]{5,}", said)}
    plain = {
        w
        for part in ("harmless", "remarks")
        for row in table("spoken")[part].values()
        for w in str(row).split()
    }
    return frozenset(plain | spoken)


@lru_cache(maxsize=1)
def _meant() -> frozenset[str]:
    """Words that a search knows: they are no slips, and no slip is put right to one of them."""
    rows = table("trials")
    return frozenset(
        w
        for part in ("classes", "small")
        for row in rows[part].values()
        for w in re.split(r"[\s_]+", str(row))
    )


def corrected(low: str) -> str:
    """The sentence with ``numebr`` as ``number``; a word that is known, or could be several, is left alone."""
    return re.sub(r"\b[a-z]{5,}\b", lambda m: _corrected(m[0]), low)


@lru_cache(maxsize=4096)
def _corrected(word: str) -> str:
    known = _words()
    if (
        word in known
        or word in _meant()
        or any(word.endswith(e) and word.removesuffix(e) in known for e in _ENDINGS)
    ):
        return word
    near = {f"{word[:i]}{word[i + 1]}{word[i]}{word[i + 2 :]}" for i in range(len(word) - 1)} - {word}
    fits = near & known
    if not fits and len(word) >= 6:
        letters = "abcdefghijklmnopqrstuvwxyz"
        fits = {f"{word[:i]}{c}{word[i:]}" for i in range(1, len(word)) for c in letters} & known
    return next(iter(fits)) if len(fits) == 1 else word
