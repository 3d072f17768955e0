"""Which of the two sides a sentence speaks of: the subject, against which the other is held."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache

import msgspec

from leadoff.claims.rows import constant, table
from leadoff.claims.search.effects_claim import Claim
from leadoff.claims.search.effects_mentions import Heard, Need
from leadoff.claims.search.effects_words import moves
from leadoff.claims.spoken.settings_said import taken_out
from leadoff.claims.spoken.values import Want
from leadoff.claims.values import Trial, number_of


class Turn(msgspec.Struct, frozen=True, kw_only=True):
    """How a mention speaks for the side it fits being the subject."""

    need: Need
    weight: float


_FADE = constant("order_fade")
"""How much less each sentence back says of which side is meant."""
_SIDE_BY_SIDE = re.compile(r"(?<!from )\{n\d+\} (?:\w+ )?(?:vs|versus|against|and|,|/) (?:\w+ )?\{n\d+\}")
"""Two figures held up beside each other: either may be the one that is spoken of."""


def turns_of(said: list[Heard], claim: Claim, tells: Callable[[Need], bool]) -> list[Turn]:
    """What speaks for a side being the subject: the last thing named before the word that tells the way, the new over
    the old; what stands after ``than`` or ``from`` is the other side. ``tells``: whether something is so of one side
    only; all else was said of both."""
    h = said[0]
    out: list[Turn] = []
    here = [n.name for n in h.of("board")]
    subject = re.search(
        r"\b(?:it|this|that one|this one|the other|newcomer|second|former|latter|first)\b", h.low[: claim.at]
    )
    for kind in ("board", "want", "rig", "figure", "run", "date"):
        needs = [n for n in h.of(kind) if (kind != "want" or n.valued) and (kind == "board" or tells(n))]
        free = [n for n in needs if n.role != "ref"]
        before = [n for n in free if n.at < claim.at]
        lead = before[-1] if before else (free[0] if free else None)
        listed = kind != "board" and not before and len(free) > 1 and len(free) == len(needs)
        for n in needs:
            if (listed and claim.at) or (kind == "figure" and claim.sizes and _SIDE_BY_SIDE.search(h.low)):
                weight = 0.0  # both stand behind the claim, and neither is held against the other
            elif n.role == "ref" and lead is not None and n.name and lead.name == n.name and lead.at > n.at:
                weight = 0.0  # named again, as the one that is spoken of
            elif n.role == "ref":
                weight = -1.0
            elif n.role == "new":
                weight = 1.0
            elif n is lead and not (kind == "board" and n.at > claim.at and subject):
                weight = 0.8
            else:
                weight = -0.6
            if (
                kind == "figure"
                and n.num is not None
                and claim.way in ("up", "down", "better", "worse")
                and len(needs) == 1
            ):
                weight *= 0.5
            out.append(Turn(need=n, weight=weight))
    out += [
        Turn(need=n, weight=4.0)
        for x in h.hits
        if x.kind == "favour"
        for n in [m for m in h.of("board") if m.at >= x.end][:1]
    ]
    out += _named_by_order(said, claim)
    out += [Turn(need=n, weight=2.0) for n in taken(said)]
    for one in said[1:]:
        for kind in ("board", "want", "rig", "figure"):
            needs = [n for n in one.of(kind) if kind != "want" or n.valued]
            for n in needs:
                alike = [o for o in needs if kind != "want" or o.dims == n.dims]
                fade = _FADE**n.back
                if n.role == "ref":
                    weight = -0.7
                elif n.role == "new":
                    weight = 0.8
                elif n is alike[-1]:
                    weight = 0.5
                else:
                    weight = -0.3
                if here and (kind == "board" or n.owner not in ("", *here)):
                    continue  # whom this sentence names counts, not what was said of another board
                out.append(Turn(need=n, weight=weight * fade))
    return out


def moved(said: list[Heard], a: Trial, b: Trial, differ: frozenset[str]) -> float:
    """What a setting that is named without a value speaks for, as the numbers of the two states stand: its being
    raised or lowered, or else its presence."""
    total = 0.0
    for n in (x for one in said[:2] for x in one.of("want") if not x.valued and not x.place):
        one = said[n.back]
        for d in sorted(n.dims & differ):
            step = _number(a.settings.get(d)) - _number(b.settings.get(d))
            sign = _moved(one.low, n.at, d) or (1.0 if n.back == 0 and d in _listed("present") else 0.0)
            weight = (-1.0 if n.role == "ref" else 1.0) * _FADE**n.back
            total += weight * sign * ((step > 0) - (step < 0))
    return total


def _moved(low: str, at: int, d: str) -> float:
    """More, less or neither, by the words around a setting."""
    near = " ".join(low[:at].split()[-4:]) + " ~ " + " ".join(low[at:].split()[1:3])
    clock = 1.0 if d in _listed("clocks") else -1.0
    signs = {"more": 1.0, "less": -1.0, "quick": clock, "slow": -clock}
    found = {sign for kind, sign in signs.items() if moves(kind).search(near)}
    return found.pop() if len(found) == 1 else 0.0


def _number(value: str | None) -> float:
    """The number of a setting; what is switched on has more of it than what is off."""
    if value in ("on", "wb"):
        return 1.0
    return number_of(value) or 0.0


@lru_cache(maxsize=4)
def _listed(name: str) -> frozenset[str]:
    return frozenset(str(table("effects")["moves"][name]).split())


_GONE = re.compile(
    r"\b(?:(?:switch|turn|tak|took|pull|cut|disabl|remov|knock|leav|left)\w* (?:it|that|this|them) (?:off|out|away)|"
    r"(?:without|disabling|removing|dropping|losing) (?:it|that|this|them)(?! \w+ \{)|"
    r"with (?:it|that|this) (?:off|out|gone|removed|disabled))\b"
)


def taken(said: list[Heard]) -> list[Need]:
    """``without it``, ``switching it off``: the state without what was spoken of last."""
    if not _GONE.search(said[0].low):
        return []
    every = ([d for n in reversed(one.of("want")) for d in n.dims if _there(n, d)] for one in said)
    dims = next((x for x in every if x), [])
    return [
        Need(kind="want", back=0, at=0, want=Want("without", ((d, "is", taken_out()[d]),)), role="new")
        for d in dims[:1]
    ]


def _there(n: Need, d: str) -> bool:
    """Whether something that can be taken out was said to be in."""
    return d in taken_out() and not any(
        t[0] == d and t[2] == taken_out()[d] for t in (n.want.tests if n.want else ())
    )


def _named_by_order(said: list[Heard], claim: Claim) -> list[Turn]:
    """``the first one``, ``the other``, ``this one`` of two things named before."""
    h = said[0]
    past = [n for one in said[:0:-1] for n in one.needs if n.kind == "board"]
    names = list(dict.fromkeys(n.name for n in past))
    kind = "board"
    if len(names) < 2:
        kind = "want"
        past = [n for one in said[:0:-1] for n in one.needs if n.valued]
        past = [n for n in past if any(o is not n and o.dims & n.dims for o in past)]
        if len(past) != 2:
            past = [n for one in said[:0:-1] for n in one.needs if n.kind == "run"]
            if len(past) != 2:
                return []
    two = [next(n for n in past if n.name == x) for x in names[-2:]] if kind == "board" else past
    out: list[Turn] = []
    for x in h.hits:
        if x.kind not in ("ordinal_first", "ordinal_second", "other"):
            continue
        which = two[0] if x.kind == "ordinal_first" else two[1]
        if x.kind == "other":
            which = two[0]
            named = kind == "board" and any(n.name == two[0].name for n in h.of("board"))
            at_hand = not re.search(r"(?:it|this|that)", h.low[: x.start]) and _same_breath(two)
            if named or at_hand:
                which = two[1]
        left = h.low[: x.start]
        ref = (
            x.start > claim.at
            or re.search(r"\b(?:than|then|of|as|against|over|to|next to) (?:the )?$", left) is not None
        )
        out.append(Turn(need=which, weight=-2.0 if ref else 2.0))
    return out[:2]


_LEVEL = re.compile(r"\{b\d+\} (?:, )?(?:and|or) (?:the |my )?\{b\d+\}")


def undecided(said: list[Heard]) -> bool:
    """``it`` against ``the other one`` where the two were named on one level: either may be meant; so may anything
    that was taken out where nothing was said to be in."""
    h = said[0]
    if _GONE.search(h.low) and not taken(said):
        return True
    if h.of("board") or not any(x.kind == "other" for x in h.hits):
        return False
    named = next((one for one in said[1:] if one.of("board")), None)
    return named is not None and _LEVEL.search(named.low) is not None


def _same_breath(two: list[Need]) -> bool:
    """Both named in one sentence, ``here is the one, and over there the other``: the first is the one at hand."""
    return two[0].back == two[1].back
