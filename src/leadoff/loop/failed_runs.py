"""Failed runs of an ailing board as findings: what was logged since it last held was seen already."""

from __future__ import annotations

from collections.abc import Iterable

from leadoff.faults import Finding, Knowledge, read_findings
from leadoff.forecast.paths import loads
from leadoff.forecast.rows import values
from leadoff.loop.history import BoardView, RunView
from leadoff.record.marks import Mark
from leadoff.record.results import note


def of_runs(
    kb: Knowledge, board: BoardView, known: Iterable[Finding], family: str | None
) -> tuple[list[Finding], list[Finding], list[Mark]]:
    """Findings of the runs that failed since the board last held, those before the last repair and those after it,
    which a repair does not set aside; and marks that say which were taken and which not.

    What was said to the verb ``sick`` itself goes before. A failure beyond a rating tells of a limit and no fault; a
    count of starts, or words that no test hears, are told as not used.
    """
    settled = {f.observation for f in known}
    before: list[Finding] = []
    after: list[Finding] = []
    taken: list[str] = []
    left: list[str] = []
    for place, view in _since_it_held(board):
        heard = () if _no_fault(view) else read_findings(kb, view.said, family=family).findings
        fresh = [f for f in heard if f.observation not in settled]
        found = before if place < board.mended_after else after
        found += [f for f in fresh if f not in found]
        if not heard:
            left.append(_named(view))
        elif fresh:
            taken.append(_named(view))
    marks = []
    if taken:
        marks.append(note("faults.from_runs", f"taken from what was logged: {'; '.join(taken)}"))
    if left:
        say = f'say what was seen: `leadoff sick {board.id} "no picture, 3 beeps"`'
        marks.append(note("faults.runs_not_used", f"logged and not used here: {'; '.join(left)}; {say}"))
    return before, after, marks


def _since_it_held(board: BoardView) -> list[tuple[int, RunView]]:
    """The runs after the last that held, each with its place among all."""
    runs = list(enumerate(board.runs))
    first = max((n + 1 for n, view in runs if view.run.outcome.held), default=0)
    return runs[first:]


def _beyond(view: RunView) -> bool:
    return any(p.log_load > values("hold")["typed"] for p in loads(view.setup))


def _no_fault(view: RunView) -> bool:
    return view.run.of is not None or _beyond(view)


def _named(view: RunView) -> str:
    limit = ", beyond a rating: a limit, no fault" if _beyond(view) else ""
    return f"run {view.run.number} ({view.said}{limit})"
