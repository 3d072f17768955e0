"""What a sentence mentions, and what is found of each thing it claims."""

from __future__ import annotations

from enum import StrEnum

import msgspec


class Verdict(StrEnum):
    """What the book says of a claim. The order is that of :data:`WEIGHT`."""

    SUPPORTED = "supported"
    WITHIN_NOISE = "within_noise"
    NOT_COMPARABLE = "not_comparable"
    UNTESTED = "untested"
    CONTRADICTED = "contradicted"
    NOT_FOUND = "not_found"
    NOT_PLACED = "not_placed"


WEIGHT = (
    Verdict.SUPPORTED,
    Verdict.WITHIN_NOISE,
    Verdict.UNTESTED,
    Verdict.NOT_COMPARABLE,
    Verdict.CONTRADICTED,
    Verdict.NOT_FOUND,
    Verdict.NOT_PLACED,
)
"""A sentence that claims several things is as good as its weakest part."""


class Want(msgspec.Struct, frozen=True):
    """One thing said of a state. ``tests`` are (setting, op, value); ops: ``is``, ``any``, ``over`` (more than),
    ``clock`` (bus or core, by what the board ran), ``waits`` (every wait state), ``lead`` (first clock of a pattern),
    ``unknown``."""

    text: str
    tests: tuple[tuple[str, str, str], ...]

    @property
    def names(self) -> frozenset[str]:
        return frozenset(t[0] for t in self.tests)

    @property
    def bare(self) -> bool:
        """Names a setting without a value."""
        return all(op == "any" for _, op, _ in self.tests)


class Num(msgspec.Struct, frozen=True):
    """A number of a sentence. ``kind``: bare, value, pct, part (percent that is left of something), factor,
    difference, hours, count. ``mod``: about, nearly, just (a little over), over, under, or nothing.
    ``places`` are its printed decimals, ``of`` the second number of a count,
    ``hi`` the upper end where a range of sizes was said, ``tol`` what ``give or take`` allows."""

    kind: str
    value: float
    unit: str = ""
    mod: str = ""
    places: int = 0
    of: float | None = None
    text: str = ""
    spoken: bool = False
    hi: float | None = None
    tol: float = 0.0


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """One claim of a sentence, judged. ``used`` are the mentions it rests on, such as ``n0``
    or ``s1``, words that its rule has understood, such as ``longest``, and
    ``?n0`` for a figure that is right only if one of ``refs`` reads it. ``absent``: it names a board, run or workload
    that the book does not have."""

    verdict: Verdict
    why: str
    refs: tuple[str, ...] = ()
    boards: tuple[str, ...] = ()
    true: str = ""
    used: frozenset[str] = frozenset()
    absent: bool = False


def weakest(found: list[Finding]) -> Finding:
    """The finding that decides, with the references of all."""
    decides = max(found, key=lambda f: WEIGHT.index(f.verdict))
    refs = tuple(dict.fromkeys(r for f in found for r in f.refs))
    boards = tuple(dict.fromkeys(b for f in found for b in f.boards))
    used = frozenset(u for f in found for u in f.used)
    same = [f for f in found if f.verdict is decides.verdict]
    return Finding(
        verdict=decides.verdict,
        why="; ".join(dict.fromkeys(f.why for f in same if f.why)),
        refs=refs,
        boards=boards,
        true=". ".join(dict.fromkeys(f.true for f in same if f.true)),
        used=used,
        absent=any(f.absent for f in same),
    )
