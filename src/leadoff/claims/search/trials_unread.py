"""Sentences on holding that are not read: ranges of states, exceptions that are no board, outcomes both ways."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from leadoff.claims.rows import constant
from leadoff.claims.search.trials_claims import Claim
from leadoff.claims.search.trials_heard import Part


def bounded(p: Part) -> bool:
    """``above 40 MHz``: a range of states, which is not read."""
    return any(a.text in _BOUNDS and b.sign[:1] == "s" for a, b in itertools.pairwise(p.words))


_BOUNDS = frozenset({"above", "over", "beyond", "below", "under", "past"})


def left_out(p: Part) -> bool:
    """``everything started except at 124``: what is left out is no board."""
    at = next((i for i, w in enumerate(p.words) if w.of("except")), None)
    if at is None:
        return False
    rest = p.words[at + 1 : at + 4]
    return (
        bool(rest)
        and rest[0].text in ("at", "with", "when", "in", "on")
        and any(w.sign[:1] in ("s", "n") for w in rest)
    )


def claims_said(p: Part) -> bool:
    return bool(p.topics or p.outcomes or p.health or p.ints or p.counts or p.hours)


def elsewhere(p: Part) -> bool:
    """``with it, sixty``: a state told of by its opposite, which is not read."""
    return (
        any(
            a.text in ("with", "without") and b.text in ("it", "them") for a, b in itertools.pairwise(p.words)
        )
        and len(p.words) <= _FEW
        and not p.signs("s")
    )


_FEW = int(constant("opposite_words"))


def opposed(claims: Sequence[Claim]) -> bool:
    """Whether one kind of thing is said to have gone well and badly, with no count to tell them apart."""
    bare = [c for c in claims if c.well is not None and not any(p.counts or p.ints for p in c.parts)]
    return any(a.topic == b.topic and a.well is not b.well and _of_same(a, b) for a in bare for b in bare)


def _of_same(a: Claim, b: Claim) -> bool:
    """Whether two claims may be of one thing: ``the first passed, the second did not`` are of two."""
    one, two = (
        {w.text for p in c.parts for w in p.words if w.sign[:1] in ("b", "s") or w.text in _ONES}
        for c in (a, b)
    )
    return not one or not two or bool(one & two)


_ONES = ("first", "second", "former", "latter")
