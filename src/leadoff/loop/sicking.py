"""The verb ``sick``: symptoms and test results of an ailing board, the next tests, the repair."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import msgspec

from leadoff.faults import (
    Case,
    Diagnosis,
    Finding,
    Heard,
    Knowledge,
    bench_of,
    diagnose,
    diagnose_table,
    fitted_from_sheet,
    load_knowledge,
    read_findings,
    read_table,
    read_tools,
)
from leadoff.faults.hear import Question, family_of
from leadoff.faults.values import REPAIR
from leadoff.loop.context import context_for
from leadoff.loop.failed_runs import of_runs
from leadoff.loop.history import BoardView, History, read_history
from leadoff.loop.session import Session
from leadoff.record.entries import FindingBody
from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.marks import Level, Mark
from leadoff.record.phrases import Verb
from leadoff.record.results import Result, note
from leadoff.words import parse

TEST, MODE, TABLE, HAVE, FAMILY = "test:", "mode:", "table:", "have:", "family:"
_TOOLS = re.compile(r"^\s*tools?\b[\s:,]+", re.IGNORECASE)
"""Prefixes of findings that belong to this verb; a plain finding is a symptom seen in passing."""


def sick(
    session: Session, name: str, line: str | None, *, table: str | None = None, have: str | None = None
) -> Result:
    """Keep what was found and say what it means: causes, the next tests by worth per minute, the repair. Runs that
    failed since the board last held are findings too, as far as their words are heard.

    ``have``, or a line that begins with "tools": tools and proven spares, kept for all boards of the book. Words
    beside a finding that were not understood are marked and not used.

    Raises:
        LeadoffError: nothing was understood, or a tool that no test asks for; nothing is kept then.
    """
    history = read_history(session)
    board = history.board(name)
    if table is not None:
        return _by_table(session, board, line, table)
    kb = load_knowledge(session.fault_tables())
    if line and (tools := _TOOLS.match(line)):
        have, line = line[tools.end() :], None
    heard = _heard(kb, board, history, line) if line else None
    owned = read_tools(kb, have) if have else ()
    mine = [*_owned(history), *owned]
    kept = _kept(board)
    new = list(heard.findings) if heard is not None else []
    mode = (heard.mode if heard is not None else None) or _mode_of(board) or "several"
    entries: list[str] = []
    before, after, told = of_runs(kb, board, [*kept, *new], _family_of(board))
    found = _diagnose(kb, board, history, [*before, *kept, *after, *new], mode, mine)
    bodies = [
        FindingBody(board=board.id, finding=f"{TEST}{f.observation}", detail=f.outcome, said=line or "")
        for f in new
    ]
    if heard is not None and heard.mode:
        bodies.append(FindingBody(board=board.id, finding=f"{MODE}{heard.mode}", said=line or ""))
    if line and (family := family_of(line)):
        bodies.append(FindingBody(board=board.id, finding=f"{FAMILY}{family}", said=line))
    bodies += [FindingBody(board=board.id, finding=f"{HAVE}{t}", said=have or "") for t in owned]
    if bodies:
        entries = [e.id for e in session.write(*bodies)]
    data = _view(board, found, entries, heard.echo if heard is not None else "", int(session.at[:4]))
    data["respelt"] = dict(heard.respelt) if heard is not None else {}
    data["bench"] = [kb.tools[t].words[0] for t in dict.fromkeys(mine) if t in kb.tools]
    if heard is not None:
        data["codes"] = [msgspec.to_builtins(c) for c in heard.codes]
    repaired = any(f.observation.startswith(REPAIR) for f in new)
    marks = [*_not_used(heard), *told, *_seen_in_passing(board, repaired), *found.marks]
    return session.result("sick", data, marks)


def _seen_in_passing(board: BoardView, repaired: bool) -> list[Mark]:
    """Oddities noted at the bench and not seen gone: a repair may have cured them, and only a look tells."""
    names = list(dict.fromkeys(s.finding for s in board.open_symptoms))
    if not names:
        return []
    if repaired:
        gone = f'`leadoff log {board.id} "{names[0]} gone"`'
        return [
            note(
                "test_again", f"after this repair look again for: {', '.join(names)}; when it is gone: {gone}"
            )
        ]
    return [note("open_symptoms", f"still open on this board: {', '.join(names)}")]


def _heard(kb: Knowledge, board: BoardView, history: History, line: str | None) -> Heard:
    said = parse(line or "", context_for(board, history, Verb.SICK))
    heard = read_findings(kb, line or "", said.phrases, family=_family_of(board))
    if heard.questions and not heard.findings:
        raise LeadoffError(
            *(Problem(code="ask", text=_asked(q), where=q.words, do=_nearest(q)) for q in heard.questions)
        )
    return heard


def _family_of(board: BoardView) -> str | None:
    """The firmware family that was named last."""
    families = [f.finding.removeprefix(FAMILY) for f in board.findings if f.finding.startswith(FAMILY)]
    return families[-1] if families else None


def _asked(q: Question) -> str:
    return q.question or f'"{q.words}" was not understood, so nothing was stored'


def _nearest(q: Question) -> str:
    if q.question and q.near:
        return f"one of: {'; '.join(q.near)}"
    near = f"near to it: {', '.join(q.near)}; or " if q.near else ""
    return f"{near}say what you see, hear or measured: fans spin, no picture, no beeps, 5v 4.92, post C1"


def _not_used(heard: Heard | None) -> list[Mark]:
    """Words that stood beside findings and say nothing to us are told, never dropped in silence."""
    if heard is None:
        return []
    marks = []
    for q in heard.questions:
        near = f" (near: {'; '.join(q.near)})" if q.near else ""
        text = f'"{q.words}": {q.question}{near}' if q.question else f'not used: "{q.words}"{near}'
        marks.append(Mark(level=Level.AMBER, code="faults.not_understood", text=text))
    return marks


def _owned(history: History) -> list[str]:
    """Tools and spares that were ever named, on any board of this book."""
    return [
        f.finding.removeprefix(HAVE)
        for b in history.boards.values()
        for f in b.findings
        if f.finding.startswith(HAVE)
    ]


def _kept(board: BoardView) -> list[Finding]:
    """Findings of earlier calls, oldest first."""
    return [
        Finding(observation=f.finding.removeprefix(TEST), outcome=f.detail, said=f.said)
        for f in board.findings
        if f.finding.startswith(TEST)
    ]


def _mode_of(board: BoardView) -> str | None:
    modes = [f.finding.removeprefix(MODE) for f in board.findings if f.finding.startswith(MODE)]
    return modes[-1] if modes else None


def _diagnose(
    kb: Knowledge, board: BoardView, history: History, findings: list[Finding], mode: str, owned: list[str]
) -> Diagnosis:
    sheet = board.fold.sheet
    return diagnose(
        kb,
        kb.era_of(sheet.board_class),
        findings,
        fitted=fitted_from_sheet(sheet),
        mode=mode,
        bench=bench_of(kb, owned),
        cases=_cases(kb, board, history),
    )


def _cases(kb: Knowledge, board: BoardView, history: History) -> list[Case]:
    """Boards that were repaired and ran afterwards: what was wrong with them teaches the rates."""
    out = []
    for other in history.boards.values():
        if other.id == board.id:
            continue
        kept = _kept(other)
        cured = tuple(f.observation.removeprefix(REPAIR) for f in kept if f.observation.startswith(REPAIR))
        if cured and any(r.run.outcome.held for r in other.runs):
            found = tuple(f for f in kept if not f.observation.startswith(REPAIR))
            out.append(Case(era=kb.era_of(other.fold.sheet.board_class), faults=cured, findings=found))
    return out


def _by_table(session: Session, board: BoardView, line: str | None, table: str) -> Result:
    """The user's own exclusive causes and tests."""
    read = read_table(Path(table))
    words = [f.said for f in board.findings if f.finding == f"{TABLE}{table}"]
    if line:
        words.append(line)
    found = diagnose_table(read, words)
    entries: list[str] = []
    if line:
        body = FindingBody(board=board.id, finding=f"{TABLE}{table}", said=line)
        entries = [session.write(body)[0].id]
    marks = [*found.marks, note("own_table", f"causes and tests are those of {table}")]
    return session.result("sick", _view(board, found, entries, line or "", int(session.at[:4])), marks)


def _view(board: BoardView, d: Diagnosis, entries: list[str], understood: str, year: int) -> dict[str, Any]:
    view: dict[str, Any] = msgspec.to_builtins(d)
    view.pop("marks")
    for way in (view["repair"] or {}).get("ways", ()):
        way["due_year"] = year + round(way["due_years"]) if way["due_years"] else None
    return {"board": board.id, "entries": entries, "understood": understood, **view}
