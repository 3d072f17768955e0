"""Forms of a base word of ordinary talk: plural, -s, -ed, -ing, -er, -ly. Irregular forms stand in the data."""

from __future__ import annotations

import re

_SIBILANT = re.compile(r"(?:s|x|z|ch|sh)$")
_SHORT = re.compile(r"^[^aeiou]*(?:qu)?[aeiou][^aeiouwxy]$")
"""One syllable that ends in a vowel and a consonant, which doubles: ``jot``, ``knit``."""


def plural(noun: str) -> frozenset[str]:
    """A noun and its plural; one that ends in ``o`` has both."""
    if noun.endswith("man"):
        return frozenset({noun, f"{noun[:-3]}men"})
    if noun.endswith("o"):
        return frozenset({noun, f"{noun}s", f"{noun}es"})
    return frozenset({noun, _with_s(noun)})


def verb(base: str) -> frozenset[str]:
    """A regular verb with its third person, past and participle."""
    return frozenset(
        {base, _with_s(base)} | {f"{s}ed" for s in _past(base)} | {f"{s}ing" for s in _ing(base)}
    )


def doer(base: str) -> frozenset[str]:
    """Who does it, one and many."""
    return frozenset(f"{s}er{end}" for s in _past(base) for end in ("", "s"))


def adjective(base: str) -> frozenset[str]:
    """An adjective and its adverb; never its comparative, which would be a claim."""
    if base.endswith("ly"):
        return frozenset({base})
    if re.search(r"[^aeiou]le$", base):
        return frozenset({base, f"{base[:-1]}y"})
    if re.search(r"[^aeiou]y$", base):
        return frozenset({base, f"{base[:-1]}ily"})
    if base.endswith("ic"):
        return frozenset({base, f"{base}ally"})
    return frozenset({base, f"{base}y" if base.endswith("ll") else f"{base}ly"})


def _with_s(base: str) -> str:
    if _SIBILANT.search(base):
        return f"{base}es"
    return f"{base[:-1]}ies" if re.search(r"[^aeiou]y$", base) else f"{base}s"


def _past(base: str) -> set[str]:
    """What -ed and -er are put to."""
    if base.endswith("e"):
        return {base[:-1]}
    if re.search(r"[^aeiou]y$", base):
        return {f"{base[:-1]}i"}
    return _doubled(base)


def _ing(base: str) -> set[str]:
    if base.endswith("ie"):
        return {f"{base[:-2]}y"}
    if re.search(r"[^eoy]e$", base):
        return {base[:-1]}
    return _doubled(base)


def _doubled(base: str) -> set[str]:
    """``jotted``; of longer words that end in ``l`` both spellings (``travelled``, ``traveled``)."""
    if _SHORT.search(base):
        return {f"{base}{base[-1]}"}
    return {base, f"{base}l"} if re.search(r"[^aeiou][aeiou]l$", base) else {base}
