"""What a sentence says of one forecast, against its band and the runs that answered it."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.seals_tally import mean
from leadoff.claims.search.seals_which import clock, counted, figure, of_run, own_figure
from leadoff.claims.search.seals_words import Outcome, pattern, timing
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Num, Verdict
from leadoff.claims.values import Sealed
from leadoff.record.runs import Direction

V = Verdict
_WHEN = re.compile(
    r"\b(?:seal\w*|envelope|made|written|wrote|put|set|dated|shut|closed|signed|locked|stamped|filed|"
    r"told|said|call\w*|predict\w*|forecast\w*|older|younger|hindsight|beforehand|in advance)\b"
)
_RAN = re.compile(
    r"\b(?:run|runs|ran|measured|tried|test\w*|touched|reading|result|it|thing|fact|event|hindsight|beforehand|"
    r"pressed (?:go|start|return|enter|the)|hit (?:go|start|return|enter|the)|started|start|powered|"
    r"switched|launched|began|kicked off|"
    r"set (?:it )?going|first frame|button|"
    r"advance)\b|\{r\d+\}"
)
_PUT = re.compile(r"\b(?:at|on|with) (?:the |a )?$")
"""What stands before a clock rather than a score."""
_NOT = re.compile(r"\bnot (?:by |even |quite |about |as much as )*\{n\d+\}")
_EITHER = re.compile(r"\b(?:either way|either side|plus or minus|give or take|each way|both ways|wide)\b")
_BY = re.compile(r"(?:\w+ ){1,3}?(?:by|of) (?:(?!the\b)\w+ ){0,3}?\{n\d+\}")
"""``off by a tenth`` is how far, and may be inside."""
_OFF = re.compile(r"\{n\d+\} (?:\w+ )?$")
"""``a tenth off``."""
_BIT = re.compile(
    r"\b(?:out|off|wrong|missed?|short|over|under|wide|within) (?:by )?(?:only |just )?(?:(?:the|"
    r"its) \w+ )*\{n\d+\}|\bby \{n\d+\}|"
    r"\{n\d+\} (?:\w+ )?(?:off|out|short|over|under|wide|too)\b"
)
_SLACK = constant("distance_slack")
"""A distance may be off by this share of it, as distances are spoken."""

_NEAR = constant("distance_share")
"""A number this small beside the forecast is a distance, for nothing reads so little."""


class Judged(msgspec.Struct, frozen=True, kw_only=True):
    """``clear``: every number and word that could turn the claim was read one way."""

    verdict: Verdict
    clear: bool


def judged(said: Said, says: Sequence[Outcome], s: Sealed, ev: Evidence) -> Judged | None:
    """The claims of a sentence on this forecast; ``None`` where it makes none."""
    low = said.low
    clear = True
    oks: list[bool] = []
    of_result = own = unread = False
    late = bool(s.late_for) and not s.answered_by
    means = [mean(ev, r) for r in s.answered_by]
    when = timing(low) if _WHEN.search(low) else ""
    distances: list[Num] = []
    for sign in said.signs("n"):
        n = said.num(sign)
        if counted(low, sign) or n.kind == "hours":
            clear = clear and bool(when)
        elif n.kind in ("difference", "pct", "either", "part"):
            distances.append(n)
        elif not figure(n):
            clear = False
        elif own_figure(s, n):
            oks.append(True)
            own = True
        elif of_run(s, n, ev):
            oks.append(True)
            of_result = True
        elif clock(s, n):
            pass
        elif n.kind == "loose" or n.value <= _NEAR * s.median:
            distances.append(n)
        else:
            oks.append(False)
            unread = True
            clear = clear and not _PUT.search(low[: said.at(sign)])
    clear = clear and not (unread and not own)
    told = [
        o
        for o in says
        if o.held is not None
        and not (o.kind == "missed" and (_BY.match(low, o.at) or _OFF.search(low[: o.at])))
    ]
    sided = [o for o in says if o.kind in ("low", "high") and not o.denied]
    if when and not s.answered_by and not s.late_for:
        clear = False
    if when and (told or sided or distances):
        clear = clear and when == "early"
    if when and (_RAN.search(low) or "too late" in low):
        oks.append((when == "late") == late)
    untried = any(o.kind == "untried" for o in says)
    if untried and re.search(r"\bneither\b.*\bnor\b", low):
        told = []  # neither true nor false
    of_result = of_result or bool(told or sided or distances)
    if untried:
        if of_result:
            return None
        return Judged(verdict=V.CONTRADICTED if s.answered_by or s.late_for else V.SUPPORTED, clear=not oks)
    if not (oks or of_result):
        return None
    if of_result and not s.answered_by:
        if not late:
            return Judged(verdict=V.UNTESTED, clear=clear and bool(told or sided))
        if told and any(o.held for o in told):
            return Judged(verdict=V.CONTRADICTED, clear=clear and not distances)
        if told or sided or distances:
            return Judged(verdict=V.CONTRADICTED if not all(oks) else V.UNTESTED, clear=False)
    if s.answered_by:
        value = sum(means) / len(means)
        inside = all(s.lo <= m <= s.hi for m in means)
        ups = ev.ledger.workloads[s.workload].direction is Direction.HIGHER
        oks += [o.held == inside for o in told]
        for o in told:
            if not o.denied and o.kind in ("worse", "better"):
                oks.append((value < s.median) == ((o.kind == "worse") == ups))
        sides, plain = _sides(low, sided, s, value, inside=inside, told=bool(told), near=bool(distances))
        oks += sides
        clear = clear and plain
        for n in distances:
            fits = _distance(low, n, s, value)
            oks.append(fits)
            clear = clear and not _NOT.search(low) and (fits or n.kind == "difference" or bool(n.unit))
    if not oks:
        return None
    return Judged(verdict=V.SUPPORTED if all(oks) else V.CONTRADICTED, clear=clear)


_FINALLY = re.compile(r"\b(?:in|at) the (?:very )?end\b(?! of)")


def _sides(
    low: str, sided: Sequence[Outcome], s: Sealed, value: float, *, inside: bool, told: bool, near: bool
) -> tuple[list[bool], bool]:
    """Whether the reading lay on the side that is said: of an edge, the whole band or the middle."""
    out: list[bool] = []
    plain = True
    for o in sided:
        after = _FINALLY.sub(" ", low[o.at :].partition(" , ")[0])
        up = o.kind == "high"
        if pattern("low_edge").search(after):
            out.append((value > s.lo) if up else (value < s.lo))
        elif pattern("high_edge").search(after):
            out.append((value > s.hi) if up else (value < s.hi))
        elif pattern("middle").search(after):
            out.append((value > s.median) if up else (value < s.median))
        elif pattern("edge").search(after):
            out.append((value > s.hi) if up else (value < s.lo))
        else:
            by_band = (value > s.hi) if up else (value < s.lo)
            by_middle = (value > s.median) if up else (value < s.median)
            out.append(by_middle)
            plain = plain and (by_band == by_middle or (told and by_middle) or near)
    return out, plain


def _distance(low: str, n: Num, s: Sealed, value: float) -> bool:
    """A distance between reading and forecast, or half the width of the band."""
    if n.kind == "either" or _EITHER.search(low):
        return _about((s.hi - s.lo) / 2, n) or _about(s.hi - s.lo, n)
    points = [s.median]
    if pattern("low_edge").search(low):
        points = [s.lo]
    elif pattern("high_edge").search(low):
        points = [s.hi]
    elif not pattern("middle").search(low):
        points = [s.median, s.lo if value < s.median else s.hi]
    if (
        n.kind in ("pct", "part")
        and "%" not in low
        and not re.search(r"\bpercent\b", low)
        and _BIT.search(low)
    ):
        # A tenth of a frame is no ten percent.
        n = msgspec.structs.replace(n, kind="difference", value=n.value / 100)
    gaps = [abs(value - p) * (100.0 / value if n.kind in ("pct", "part") else 1.0) for p in points]
    return any(_about(g, n) for g in gaps)


def _about(gap: float, n: Num) -> bool:
    if n.mod == "under":
        return gap < n.value + 1e-9
    if n.mod == "over":
        return gap > n.value - 1e-9
    return abs(gap - n.value) <= max(_SLACK * n.value, 0.06)
