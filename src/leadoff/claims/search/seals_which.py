"""Which sealed forecast a sentence is about, by everything that was said here and before."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.scores_place import boards_of, own_wants
from leadoff.claims.spoken.evidence import Evidence, as_figure, reads
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.settings import meets, near_clock
from leadoff.claims.spoken.values import Num
from leadoff.claims.values import Sealed, number_of

_CLOSE = constant("seal_margin")
"""Forecasts that score within this of the best are as likely."""
_BOARD, _NAMED, _WORKLOAD, _SETTING, _FIGURE = (
    constant(f"seal_{what}") for what in ("board", "named", "workload", "setting", "figure")
)
"""What each mention counts; half of it is lost where it speaks against the forecast, a board the whole."""
_OF_RUN = constant("seal_reading")
"""A reading that was said counts for less than a number of the forecast itself."""
_FAR = constant("seal_fade")
"""A mention counts this much for every sentence it is back."""


class Likely(msgspec.Struct, frozen=True, kw_only=True):
    """A forecast, its score, and whether some setting said speaks against it."""

    sealed: Sealed
    score: float
    against: bool


def likely(said: Said, before: Sequence[Said], ev: Evidence) -> list[Likely]:
    """The forecasts that may be meant, the likeliest first; none where nothing points at one."""
    every = ev.ledger.sealed
    texts = [said, *reversed(before)]
    boards = next((b for s in texts if (b := boards_of(s))), ())
    found = []
    for s in every:
        score, against = 0.0, False
        for back, t in enumerate(texts):
            more, off = _score(s, t, ev, boards)
            score += _FAR**back * more
            against = against or (off and back < 2)
        found.append(Likely(sealed=s, score=score, against=against))
    best = max((x.score for x in found), default=0.0)
    if best < _BOARD * _FAR**3:
        return []
    found.sort(key=lambda x: -x.score)
    return [x for x in found if x.score >= best - _CLOSE]


def _score(s: Sealed, said: Said, ev: Evidence, boards: Sequence[str]) -> tuple[float, bool]:
    score, against = 0.0, False
    if said.seals:
        score += _NAMED if s.number in said.seals else -_NAMED
    if said.runs:
        score += _NAMED / 2 if {*s.answered_by, *s.late_for} & set(said.runs) else 0.0
    named = boards_of(said)
    if named:
        score += _BOARD if s.board in named else -_BOARD
    if boards and s.board not in boards:
        score -= _BOARD
    works = {said.workloads[int(w[1:])] for w in said.signs("w")}
    if works:
        score += _WORKLOAD if s.workload in works else -_WORKLOAD
    if named and s.board not in named:
        return score, against
    for want in own_wants(said):
        fits = meets(want, s.settings, core_of(s))
        score += _SETTING if fits else -_SETTING
        against = against or not fits
    for sign in said.signs("n"):
        n = said.num(sign)
        if not figure(n):
            continue
        if _as_clock(said, sign) and any(clock(x, n) for x in ev.ledger.sealed):
            score += _SETTING if clock(s, n) else -_SETTING
        elif own_figure(s, n):
            score += _FIGURE
        elif clock(s, n):
            score += _SETTING
        elif of_run(s, n, ev):
            score += _OF_RUN
    return score, against


def _as_clock(said: Said, sign: str) -> bool:
    """``at 112``: where it was tried, and no score."""
    return not said.num(sign).places and re.search(r"\bat (?:the )?$", said.low[: said.at(sign)]) is not None


def figure(n: Num) -> bool:
    """Whether a number may be a score or a number of a forecast."""
    return n.kind in ("bare", "value", "loose", "goes")


def own_figure(s: Sealed, n: Num) -> bool:
    """Whether a number is the middle or an end of the band."""
    return any(as_figure(v, msgspec.structs.replace(n, mod="")) for v in (s.median, s.lo, s.hi))


def of_run(s: Sealed, n: Num, ev: Evidence) -> bool:
    """Whether a run of that state reads it."""
    return any(reads(ev.by_number[r], n) for r in (*s.answered_by, *s.late_for))


def clock(s: Sealed, n: Num) -> bool:
    """Whether a bare number is its bus or core clock or its ratio."""
    if n.kind == "value" and n.unit:
        return False
    said = f"{n.value:g}"
    ratio = number_of(s.settings.get("ratio"))
    return (
        near_clock(number_of(s.settings.get("bus_mhz")), said)
        or near_clock(core_of(s), said)
        or (ratio is not None and ratio == n.value)
    )


def core_of(s: Sealed) -> float | None:
    """Its core clock, from its bus and ratio where it was not sealed with one."""
    if s.core_mhz is not None:
        return s.core_mhz
    bus, ratio = number_of(s.settings.get("bus_mhz")), number_of(s.settings.get("ratio"))
    return bus * ratio if bus and ratio else None


def words(s: Sealed, ev: Evidence) -> str:
    """A forecast and what came of it."""
    text = f"forecast {s.number} for {s.board}: {s.workload} {s.median:g} ({s.lo:g} to {s.hi:g})"
    runs = [ev.by_number[r] for r in (*s.answered_by, *s.late_for)]
    came = "; ".join(f"run {t.number} reads {' '.join(r.text for r in t.readings)}" for t in runs[:3])
    late = ", sealed after the run" if s.late_for and not s.answered_by else ""
    return f"{text}; {came or 'not tried yet'}{late}"


def counted(low: str, sign: str) -> bool:
    """Whether a number counts hours or minutes of time between the seal and the run."""
    return re.search(rf"\{{{sign}\}} (?:an |of an )?(?:hours?|minutes?|days?|quarters?)\b", low) is not None
