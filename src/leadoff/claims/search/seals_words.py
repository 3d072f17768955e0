"""Words about sealed forecasts: what they say of how a forecast came out, and where each stands."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import msgspec

from leadoff.claims.rows import table
from leadoff.claims.spoken.names import harmless, remarks
from leadoff.claims.spoken.reading import Said

_KINDS = ("untried", "worse", "better", "missed", "held", "low", "high")
_DENIED = re.compile(
    r"\b(?:not|never|neither|nor|no longer|hardly|nowhere|without|nothing|no|cannot)(?: (?!but\b)\w+){0,3} $"
)
_ELLIPSIS = re.compile(r"\b(?:did|was|were|had|has|is|would) not(?= (?:,|and|$)|$)")
_NOT_FIRST = re.compile(r"\bfirst(?= (?:of|forecast|seal|prediction))")


class Outcome(msgspec.Struct, frozen=True, kw_only=True):
    """How a forecast is said to have come out. ``kind``: held, missed, worse, better, low, high, untried."""

    kind: str
    at: int
    denied: bool = False

    @property
    def held(self) -> bool | None:
        """Held, missed, or ``None`` where it says neither by itself."""
        if self.kind == "held":
            return not self.denied
        return self.denied if self.kind in ("missed", "worse", "better") else None


@lru_cache(maxsize=16)
def row(name: str) -> frozenset[str]:
    """A class of single words."""
    return frozenset(str(table("seals_words")[name]).split())


@lru_cache(maxsize=16)
def pattern(name: str) -> re.Pattern[str]:
    """A class of sayings, as one pattern."""
    said = table("seals_words")[name]
    ways = said if isinstance(said, str) else "|".join(sorted(said, key=len, reverse=True))
    return re.compile(rf"(?<![\w{{-])(?:{ways})(?![\w}}-])")


def words_in(low: str) -> list[str]:
    """Words of a skeleton, signs left out."""
    return re.findall(r"[a-z]+(?:['-][a-z]+)*", re.sub(r"\{[a-z]\d+\}", " ", low))


def speaks(low: str, *, strictly: bool) -> bool:
    """Whether a sentence names a forecast (``strictly``: by a word that means nothing else)."""
    named = row("noun") - row("weak") if strictly else row("noun")
    return any(w.removesuffix("'s") in named for w in words_in(low)) or bool(re.search(r"\{f\d+\}", low))


def of_many(low: str) -> bool:
    """Whether it speaks of several forecasts."""
    return any(w in row("of_many") for w in words_in(low))


def outcomes(low: str) -> list[Outcome]:
    """What is said of how it came out, in the order of the sentence; a denial without its verb turns the last one."""
    out: list[Outcome] = []
    taken: list[tuple[int, int]] = []
    for kind in _KINDS:
        for m in pattern(kind).finditer(low):
            if any(a < m.end() and m.start() < b for a, b in taken):
                continue
            taken.append(m.span())
            clause = low[: m.start()].rpartition(" , ")[2]
            out.append(Outcome(kind=kind, at=m.start(), denied=_DENIED.search(clause) is not None))
    for m in _ELLIPSIS.finditer(low):
        before = [o for o in out if o.at < m.start() and o.held is not None]
        if before and not any(a <= m.start() < b for a, b in taken):
            last = max(before, key=lambda o: o.at)
            out.append(Outcome(kind="missed" if last.held else "held", at=m.start()))
    return sorted(out, key=lambda o: o.at)


def timing(low: str) -> str:
    """``early``, ``late`` or nothing: when it is said to have been sealed."""
    low = _NOT_FIRST.sub(" ", low)
    early, late = pattern("early").search(low), pattern("late").search(low)
    if bool(early) == bool(late):
        return ""
    m = early or late
    assert m is not None
    denied = _DENIED.search(low[: m.start()].rpartition(" , ")[2]) is not None
    return "early" if bool(early) != denied else "late"


@lru_cache(maxsize=1)
def _known() -> frozenset[str]:
    sayings: Sequence[object] = list(table("seals_words").values())
    texts = [x if isinstance(x, str) else " ".join(x) for x in sayings if isinstance(x, str | list)]
    own = {w for t in texts for w in re.findall(r"[a-z][a-z'-]+", t)}
    return frozenset(harmless() | remarks() | own)


def strange(said: Said) -> list[str]:
    """Words that nobody here knows."""
    return said.leftovers(_known())
