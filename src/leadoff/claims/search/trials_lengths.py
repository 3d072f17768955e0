"""How long soaks went on, one against another: ``no soak is longer``, ``never longer than twelve hours``."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.trials_claims import Claim
from leadoff.claims.search.trials_heard import Part
from leadoff.claims.search.trials_scope import Scope
from leadoff.claims.search.trials_tests import Held, tests_of, text_of
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.values import Verdict
from leadoff.claims.values import Trial

V = Verdict
_SLACK_H = constant("soak_slack_hours")
"""Soaks are set to the hour; a quarter of one more is the same soak."""
_EVERYBODY = (
    "any",
    "anybody",
    "anyone",
    "anything",
    "every",
    "everybody",
    "everyone",
    "all",
    "else",
    "other",
    "others",
    "rest",
)


def compared(
    c: Claim, claims: Sequence[Claim], boards: Sequence[str], scope: Scope, every: Sequence[Trial]
) -> Held | None:
    """The verdict on a soak whose length is set against others; ``boards`` are named with it, ``scope`` is what is
    spoken of. ``None`` where no lengths are compared."""
    words = [w for p in c.parts for w in p.words]
    way = _way(words)
    soaks = [t for t in tests_of("soak", every) if t.run.after_s]
    if not way or not soaks:
        return None
    sign, strict = way
    denied = any(w.of("deny") for w in words)
    said = [h.value for p in c.parts for h in p.hours]
    universal = denied and _of_any(words)
    against = any(w.text in _EVERYBODY for w in words)
    if not denied and not (against and "than" in {w.text for w in words}):
        return None
    mine = [t for t in soaks if t.board in boards] if boards else [t for t in scope.trials if t in soaks]
    limit = _limit(said, mine, claims, c, sign)
    if limit is None:
        return None
    if denied and not universal:
        candidates = mine if boards or mine else soaks
    else:
        candidates = [
            t for t in soaks if t not in mine or (mine and _hours(t) * sign > limit * sign + _SLACK_H)
        ]
    over = [t for t in candidates if (_hours(t) - limit) * sign > (_SLACK_H if strict else -_SLACK_H)]
    right = not over and (
        not (said and boards and universal) or any(abs(_hours(t) - limit) < _SLACK_H for t in mine)
    )
    shown = over or mine or soaks
    return Held(
        verdict=V.SUPPORTED if right else V.CONTRADICTED,
        why="; ".join(text_of(t) for t in shown[:4]),
        refs=tuple(t.number for t in shown),
    )


def with_hours(parts: Sequence[Part], topic: str) -> list[Part]:
    """Parts in which a number that is hours of a soak is read as such; ``topic``: what was spoken of before."""
    out: list[Part] = []
    timed = False
    for p in parts:
        timed = timed or bool(p.hours)
        soaks = timed or topic == "soak" or "soak" in p.topics
        if soaks and len(p.ints) == 1 and _of_hours(p, timed=timed):
            n = msgspec.structs.replace(p.ints[0][0], kind="hours")
            p = msgspec.structs.replace(p, ints=(), hours=(n,), read=p.read | {n.text})
        out.append(p)
    return out


def _of_hours(p: Part, *, timed: bool) -> bool:
    """``saw out its eight``, ``eight hours in one and twelve in the other``: hours that are only a number."""
    n, after = p.ints[0]
    at = next(i for i, w in enumerate(p.words) if w.sign == n.text)
    before = p.words[at - 1].text if at else ""
    ends = after in ("", "in", "on", "for", "without", "with", "the", "as", "to")
    if (
        n.places
        or n.value > _LONGEST_SOAK
        or any(w.of("board", "soak", "start", "copy", "state") for w in p.words)
    ):
        return False
    if before in ("at", "to", "bus", "mhz", "than", "times"):
        return False
    return ends and (before in _WHOLE or (timed and not p.topics and not p.events))


_WHOLE = frozenset({"its", "full", "entire", "whole", "his", "her"})
_LONGEST_SOAK = constant("soak_longest_hours")
"""No number larger than this is hours with nothing said of hours."""


def _way(words: Sequence[Word]) -> tuple[int, bool] | None:
    """Longer (1) or shorter (-1), and whether as long as that is allowed."""
    for a, b in zip(words, [*words[1:], Word("")], strict=True):
        if a.text in ("longer", "shorter"):
            return (1 if a.text == "longer" else -1), True
        if a.text in ("that", "so", "as") and b.text in ("long", "short"):
            return (1 if b.text == "long" else -1), False
    return None


def _of_any(words: Sequence[Word]) -> bool:
    """``no soak``, ``nobody``, ``no other board``: all of them are denied."""
    for i, w in enumerate(words):
        if w.of("deny") and (
            w.text in ("nobody", "none", "nothing")
            or any(x.of("soak", "board", "other") for x in words[i + 1 : i + 4])
        ):
            return w.text != "never" or any(x.text == "other" for x in words[i + 1 : i + 4])
    return False


def _limit(
    said: Sequence[float], mine: Sequence[Trial], claims: Sequence[Claim], c: Claim, sign: int
) -> float | None:
    """What the others are set against: hours said here or just before, else its own longest or shortest soak."""
    if said:
        return said[0]
    before = [h.value for x in claims[: claims.index(c)] for p in x.parts for h in p.hours]
    if before:
        return before[-1]
    return (max if sign > 0 else min)((_hours(t) for t in mine), default=None)


def _hours(t: Trial) -> float:
    return (t.run.after_s or 0.0) / 3600
