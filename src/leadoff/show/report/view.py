"""A public file as words and rows, for page and paper alike; computes nothing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from leadoff.record.public import PublicBoard, PublicForecast, PublicRun, ShowPiece, Value
from leadoff.record.quantity import Source
from leadoff.record.settings import SETTINGS, in_words
from leadoff.record.state import Status
from leadoff.show.text import number

BETTER = {"higher": "more is better", "lower": "less is better"}
BASIS = {
    "runs": "from this board's runs",
    "family": "no run here: physics and family",
    "clocks": "two clocks",
}
GRADES = {
    "soaked_copy_clean": "soaked, copies clean",
    "copy_clean": "copies clean",
    "soaked": "soaked",
    "repeats": "repeated",
    "finishes": "finished once",
    "void": "void",
    "none": "no grade",
}


def view(public: PublicBoard) -> dict[str, Any]:
    """Everything a template prints, as plain words."""
    return {
        "board": public.board.id,
        "class": public.board.board_class,
        "made": public.made_at[:10],
        "version": public.version,
        "head": public.head,
        "digest": public.digest,
        "score": score(public),
        "limits": [{"kind": v.kind, "text": sentence(v.text)} for v in public.limits],
        "limits_said": limits_said(len(public.limits)),
        "settings": settings(public),
        "unknown": unknown(public),
        "forecasts": [_forecast(f) for f in reversed(public.forecasts)],
        "runs": [run_row(r) for r in reversed(public.runs)],
        "standings": [_rank(r) for r in public.standings],
        "pieces": [_piece(p) for p in public.show_pieces],
        "repairs": list(public.repairs),
        "counts": {
            "runs": len(public.runs),
            "failed": sum(not r.outcome.held for r in public.runs),
            "forecasts": len(public.forecasts),
            "answered": sum(bool(f.answers) for f in public.forecasts),
            "lines": len(public.chain),
            "withheld": sum(bool(s.withheld) for s in public.sealed),
        },
        "asked_for": dict(public.asked_for),
        "private": private(public),
    }


def score(public: PublicBoard) -> dict[str, Any] | None:
    """The score as it stands on the first screen."""
    s = public.shown
    if s is None:
        return None
    band = "" if s.score.lo is None else f"{number(s.score.lo)} to {number(s.score.hi)}"
    rank = ""
    if s.rank_lo is not None and s.boards:
        place = f"{s.rank_lo}" if s.rank_lo == s.rank_hi else f"{s.rank_lo} to {s.rank_hi}"
        rank = f"rank {place} of {s.boards}" if s.boards > 1 else "the only board with this workload"
    return {
        "value": number(s.score.value),
        "unit": s.unit,
        "workload": s.workload,
        "better": BETTER.get(s.better, ""),
        "band": band,
        "words": s.words,
        "grade": GRADES.get(s.grade, s.grade),
        "rank": rank if s.clean else "stands in no ranking",
        "clean": s.clean,
        "runs": ", ".join(s.runs[:6]) + (" ..." if len(s.runs) > 6 else ""),
        "count": len(s.runs),
    }


def private(public: PublicBoard) -> str:
    """What of the private things is in it, as a sentence."""
    if not public.asked_for:
        return "Prices, places and sellers are not in this report."
    return "Put in on request: " + "; ".join(f"{k}: {v}" for k, v in public.asked_for.items()) + "."


def limits_said(count: int) -> str:
    """The heading beside the number of limits."""
    if count == 0:
        return "nothing is recorded against it, which is no proof"
    return "thing this score does not say" if count == 1 else "things this score does not say"


def settings(public: PublicBoard) -> list[dict[str, str]]:
    """Settings of the state shown that have a value, as people name them."""
    at = _state(public)
    return [
        {"name": in_words(n), "value": shown(n, v), "status": v.status.value, "source": v.source.value}
        for n, v in at.items()
        if v.value is not None
    ]


def unknown(public: PublicBoard) -> list[str]:
    """Names of the settings of the state shown that nobody knows."""
    return [in_words(n) for n, v in _state(public).items() if v.status is Status.UNKNOWN]


def shown(name: str, value: Value) -> str:
    """A setting's value with its unit; fractions as decimals."""
    text = value.value or "?"
    known = SETTINGS.get(name)
    if "/" in text and known is not None and known.unit:
        top, _, foot = text.partition("/")
        text = f"{int(top) / int(foot):.5g}"
    return f"{text} {known.unit}".strip() if known is not None else text


def _state(public: PublicBoard) -> Mapping[str, Value]:
    return public.states[public.shown.state if public.shown is not None else public.state_now]


def _forecast(f: PublicForecast) -> dict[str, str]:
    came = {a.workload: a for a in f.answers}
    said = [
        f"{e.workload} {number(e.median)} ({number(e.band90[0])} to {number(e.band90[1])})"
        for e in f.expected
        if e.median is not None and e.band90 is not None and (not came or e.workload in came)
    ]
    result = ", ".join(f"{a.workload} {number(a.score)} (run {a.run})" for a in f.answers)
    hold = f.chance.hold
    return {
        "number": f.number,
        "when": f.when[:16].replace("T", " "),
        "said": "; ".join(said[:4]) + (f" and {len(said) - 4} more" if len(said) > 4 else "") or "no score",
        "hold": "" if hold is None else f"{round(100 * hold)} %",
        "came": result or "open",
        "entry": f.entry[:12],
        "seen": "made with the result seen" if f.seen_result else "",
    }


def run_row(r: PublicRun) -> dict[str, str]:
    """A run in a table."""
    said = ", ".join(x.text for x in r.readings)
    if said and r.unit and not said.endswith(r.unit):
        said += f" {r.unit}"
    if not r.readings:
        said = r.outcome.value.replace("_", " ") + (f": {r.place}" if r.place else "")
        if r.of is not None:
            said += f", {r.count} of {r.of}"
    return {
        "number": r.number,
        "when": r.when[:16].replace("T", " "),
        "workload": r.workload or "",
        "said": said,
        "rig": r.rig,
        "flags": ", ".join(f.replace("_", " ") for f in r.flags),
        "entry": r.entry[:12],
    }


def _rank(r: Any) -> dict[str, str]:
    rank = f"{r.rank_lo}" if r.rank_lo == r.rank_hi else f"{r.rank_lo} to {r.rank_hi}"
    band = "" if r.score.lo is None else f"{number(r.score.lo)} to {number(r.score.hi)}"
    return {
        "rank": rank,
        "board": r.board,
        "score": number(r.score.value),
        "band": band,
        "first": f"{round(100 * r.p_first)} %",
        "grade": GRADES.get(r.grade, r.grade),
        "state": r.state,
    }


def _piece(p: ShowPiece) -> dict[str, str]:
    measured = p.score.source is Source.MEASURED
    foretold = "" if p.foretold is None else number(p.foretold)
    unsure = f"not known whether it has {', '.join(p.not_known)}" if p.not_known else ""
    return {
        "workload": p.workload,
        "needs": ", ".join(p.needs) or "nothing special",
        "unsure": unsure,
        "measured": f"{number(p.score.value)} {p.unit}" if measured else "",
        "foretold": f"{foretold} {p.unit}".strip() if foretold else (p.undefined or p.silent),
        "band": "" if p.band90 is None else f"{number(p.band90[0])} to {number(p.band90[1])}",
        "basis": BASIS.get(p.basis, p.basis),
        "minutes": "" if p.minutes is None else f"{p.minutes:g} min",
    }


def sentence(text: str) -> str:
    """The first letter large."""
    return text[:1].upper() + text[1:]
