"""An honest description for a sale, from the public file: what was measured, what is wrong, what is not known."""

from __future__ import annotations

from leadoff.record.public import PublicBoard
from leadoff.show.report.view import run_row, score, sentence, unknown

MOST_FAILURES = 8


def sale(public: PublicBoard) -> str:
    """Plain text. Faults and open symptoms stand before the praise."""
    b = public.board
    lines = [f"{b.id}: a board of class {b.board_class}", ""]
    lines += ["What is wrong or not known"]
    lines += [f"- {sentence(v.text)}" for v in public.limits] or [
        "- nothing is recorded, which is no proof that nothing is"
    ]
    if public.repairs:
        lines += ["", "What was repaired", *(f"- {r}" for r in public.repairs)]
    s = score(public)
    lines += ["", "What was measured"]
    if s is None:
        lines += ["- nothing: no run has finished with a score"]
    else:
        runs = f"run {s['runs']}" if s["count"] == 1 else f"runs {s['runs']}"
        lines += [
            f"- {s['workload']}: {s['value']} {s['unit']} ({runs}), {s['words']}; {s['grade']}, {s['rank']}"
        ]
    bad = [r for r in reversed(public.runs) if not r.outcome.held]
    lines += [f"- {len(public.runs)} runs in all, {len(bad)} did not end well"] if public.runs else []
    lines += [f"- run {r.number} ({r.when[:10]}): {run_row(r)['said']}" for r in bad[:MOST_FAILURES]]
    if len(bad) > MOST_FAILURES:
        lines.append(f"- and {len(bad) - MOST_FAILURES} more, all in the public file")
    names = unknown(public)
    if names:
        lines += ["", "Nobody has read: " + ", ".join(names)]
    lines += [
        "",
        "Sold as measured on one bench, with no promise for another. Old boards fail without notice;",
        "look at the capacitors and the clock's cell before power is switched on.",
        f"Record: head of the book {public.head}, file digest {public.digest[:16]}",
        "",
    ]
    return "\n".join(lines)
