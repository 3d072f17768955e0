"""What an input came to, in one line."""

from __future__ import annotations

from leadoff.record.counted import counted
from leadoff.record.results import Result
from leadoff.show.text import number

MOST_NAMED = 8


def what(result: Result) -> str:
    """The understood words, or what was done."""
    data = result.data
    if result.verb == "undo":
        undone = [str(u.get("what") or u["kind"]) for u in data.get("undone", ())]
        more = len(undone) - MOST_NAMED
        told = undone if more <= 0 else [*undone[:1], f"and {len(undone) - 1} more that were read in one go"]
        return "taken back: " + "; ".join(told)
    if result.verb == "forecast" and "workloads" in data:
        told = [
            f"{w['workload']} {number(w['median'])} {w['unit']}"
            for w in data["workloads"]
            if w["median"] is not None
        ]
        return f"forecast {data.get('number') or ''} sealed: {', '.join(told) or 'no score can be foretold'}"
    if result.verb == "film":
        return f"film mark, head of the book {result.head}"
    if result.verb == "photo":
        return f"photo of {number(data['bytes'] / 1000, 3)} KB, its place and time removed" if data else ""
    if result.verb == "sweep" and "levels" in data:
        return f"a sweep with {len(data['levels'])} levels"
    if result.verb == "shelf" and data.get("kept"):
        parcel = data["kept"]["parcel"]
        return f"on the shelf, {counted(len(data['kept']['entries']), 'thing')}" + (
            f", parcel {parcel}" if parcel else ""
        )
    said = str(data.get("understood") or "")
    runs = data.get("runs")
    if not isinstance(runs, list | tuple):  # a public file only counts its runs
        return said
    return said + (f" (run {', '.join(str(r['number']) for r in runs)})" if runs else "")
