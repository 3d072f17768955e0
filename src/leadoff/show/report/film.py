"""Chapter marks and captions for a film: from film marks, runs and forecasts by their time of day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

import msgspec

from leadoff.record.public import PublicBoard, PublicRun
from leadoff.show.report.view import run_row

PAUSE_H = 4
"""Hours without a mark after which another film begins."""
READ_S = 6.0
"""Seconds that a caption stays."""
TAIL_S = 60.0


class Cue(msgspec.Struct, frozen=True, kw_only=True):
    """Words over seconds of a film."""

    start_s: float
    end_s: float
    text: str


def films(public: PublicBoard) -> list[tuple[list[Cue], list[Cue]]]:
    """For each film its chapters and its captions; the first mark is second 0."""
    marks = sorted((_when(m.at), m.text) for m in public.film)
    groups: list[list[tuple[datetime, str]]] = []
    for at, text in marks:
        if not groups or at - groups[-1][-1][0] > timedelta(hours=PAUSE_H):
            groups.append([])
        groups[-1].append((at, text))
    said = [(_when(r.when), _told(r)) for r in public.runs]
    said += [(_when(f.when), f"forecast {f.number} is sealed") for f in public.forecasts]
    out = []
    for group in groups:
        start, end = group[0][0], group[-1][0] + timedelta(seconds=TAIL_S)
        inside = sorted((at, text) for at, text in said if start <= at <= end + timedelta(hours=1))
        last = max([end, *(at + timedelta(seconds=READ_S) for at, _ in inside)])
        seconds = (last - start).total_seconds()
        out.append((_cues(start, group, seconds), _cues(start, inside, seconds, stay=READ_S)))
    return out


def _told(r: PublicRun) -> str:
    return " ".join(f"run {r.number}: {r.workload or ''} {run_row(r)['said']}".split())


def _cues(
    start: datetime, said: Sequence[tuple[datetime, str]], end_s: float, stay: float = 0.0
) -> list[Cue]:
    """Each until the next one, or ``stay`` seconds; what falls on one second is one cue."""
    at: dict[float, list[str]] = {}
    for when, text in said:
        at.setdefault((when - start).total_seconds(), []).append(text or "mark")
    times = [*at, end_s]
    out = []
    for n, (time, texts) in enumerate(at.items()):
        end = max(times[n + 1], time + 1.0)
        out.append(Cue(start_s=time, end_s=min(end, time + stay) if stay else end, text="; ".join(texts)))
    return out


def vtt(cues: Sequence[Cue], title: str) -> str:
    """WebVTT (W3C Candidate Recommendation, 4 April 2019)."""
    lines = [f"WEBVTT - {_line(title)}", ""]
    for n, c in enumerate(cues, start=1):
        lines += [str(n), f"{stamp(c.start_s)} --> {stamp(c.end_s)}", _line(c.text), ""]
    return "\n".join(lines)


def plain(cues: Sequence[Cue]) -> str:
    """One chapter a line: time, then words."""
    return "".join(f"{short(c.start_s)} {' '.join(c.text.split())}\n" for c in cues)


def stamp(seconds: float) -> str:
    """``01:02:03.004``."""
    ms = round(seconds * 1000)
    return f"{ms // 3_600_000:02d}:{ms // 60_000 % 60:02d}:{ms // 1000 % 60:02d}.{ms % 1000:03d}"


def short(seconds: float) -> str:
    """``2:03`` or ``1:02:03``."""
    s = int(seconds)
    hours, rest = divmod(s, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"


def _line(text: str) -> str:
    """Words that cannot be taken for a tag, an arrow or an end of a cue."""
    flat = " ".join(text.split())
    return flat.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _when(text: str) -> datetime:
    made = datetime.fromisoformat(text.replace("Z", "+00:00"))
    return made.replace(tzinfo=None) - (made.utcoffset() or timedelta())
