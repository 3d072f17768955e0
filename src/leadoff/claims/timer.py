"""A program's seconds against another clock: footage with timecode, or a wall clock."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.rows import limit
from leadoff.forecast.student import t_quantile
from leadoff.record.errors import LeadoffError
from leadoff.words import reading

_PAIR = re.compile(r"(?P<shown>\S+?)\s*s?\s+(?:vs\.?|versus|against)\s+(?P<other>.+)")
_FOOTAGE = re.compile(r"(?P<a>[\d:]+)\s*(?:-|to)\s*(?P<b>[\d:]+)\s*(?:@\s*(?P<fps>[\d.,]+))?")


class Span(msgspec.Struct, frozen=True):
    """Seconds and their standard error from what was printed or from the frames."""

    seconds: float
    sd: float


class Timer(msgspec.Struct, frozen=True, kw_only=True):
    """The other clock over the program's, less one, in percent with 95 % limits. ``verdict``: agrees, slow (the
    program counts too few seconds), fast."""

    pct: float
    lo: float
    hi: float
    pairs: int
    verdict: str


def timer(text: str) -> Timer:
    """``41.2 vs 41.9; 60.1 vs 0:12:05 to 1:13:10 @25``: pairs of the program's seconds and the other clock's.

    Raises:
        LeadoffError: a pair that is none, with what it should look like.
    """
    pairs = [_pair(p.strip()) for p in text.split(";") if p.strip()]
    if not pairs:
        raise _refused(text, "no pair of times")
    return _weighed(pairs)


def _weighed(pairs: Sequence[tuple[Span, Span]]) -> Timer:
    logs = [math.log(other.seconds / shown.seconds) for shown, other in pairs]
    told = [math.hypot(shown.sd / shown.seconds, other.sd / other.seconds) for shown, other in pairs]
    weight = [1.0 / sd**2 for sd in told]
    mean = math.fsum(w * x for w, x in zip(weight, logs, strict=True)) / math.fsum(weight)
    var, free = 1.0 / math.fsum(weight), 60.0
    if len(pairs) > 1:
        left = math.fsum(w * (x - mean) ** 2 for w, x in zip(weight, logs, strict=True)) / (len(pairs) - 1)
        # Pairs that scatter more than their digits: a hand on the stopwatch.
        var, free = (var * left, float(len(pairs) - 1)) if left > 1.0 else (var, 60.0)
    half = t_quantile(0.5 + 0.5 * limit("level"), free) * math.sqrt(var)
    verdict = "agrees" if abs(mean) <= half else ("slow" if mean > 0.0 else "fast")
    lo, mid, hi = (100.0 * math.expm1(x) for x in (mean - half, mean, mean + half))
    return Timer(pct=mid, lo=lo, hi=hi, pairs=len(pairs), verdict=verdict)


def _pair(text: str) -> tuple[Span, Span]:
    m = _PAIR.fullmatch(text)
    if m is None:
        raise _refused(text, "no pair of times")
    footage = _FOOTAGE.fullmatch(m["other"].strip())
    return _typed(m["shown"], text), _filmed(footage, text) if footage else _typed(m["other"], text)


def _typed(word: str, text: str) -> Span:
    try:
        r = reading(word.strip().removesuffix("s").strip())
    except (ValueError, LeadoffError):
        raise _refused(text, f'"{word}" is no number of seconds') from None
    if r.value <= 0.0:
        raise _refused(text, f"{r.value:g} s cannot be compared")
    return Span(r.value, (r.hi - r.lo) / math.sqrt(12.0))


def _filmed(m: re.Match[str], text: str) -> Span:
    if m["fps"] is None:
        raise _refused(text, "frames a second are missing: @25")
    fps = float(m["fps"].replace(",", "."))
    a, b = (_seconds(m[k], fps, text) for k in ("a", "b"))
    if b <= a:
        raise _refused(text, f"{m['b']} does not come after {m['a']}")
    # Each end lies anywhere in its frame: their difference is triangular over two frames.
    return Span(b - a, 1.0 / fps / math.sqrt(6.0))


def _seconds(code: str, fps: float, text: str) -> float:
    parts = code.split(":")
    if not 2 <= len(parts) <= 4 or not all(p.isdigit() for p in parts) or fps <= 0.0:
        raise _refused(text, f'"{code}" is no timecode')
    *clock, frames = (int(p) for p in parts)
    if frames >= fps or any(p > 59 for p in clock[1:]):
        raise _refused(text, f'"{code}" is no timecode at {fps:g} frames a second')
    seconds = 0
    for p in clock:
        seconds = 60 * seconds + p
    return seconds + frames / fps


def _refused(text: str, why: str) -> LeadoffError:
    return LeadoffError.one(
        "no_timer",
        f"{why} in \"{text}\": the program's seconds first, then the other clock's",
        where=text,
        do='such as "41.2 vs 41.9", or footage: "41.2 vs 0:12:05 to 0:53:10 @25" (minutes, seconds, frames)',
    )
