"""The verb ``sick``: symptoms and test results of an ailing board, the next tests, the repair."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec

from leadoff.faults import (
    Case,
    Diagnosis,
    Finding,
    Knowledge,
    diagnose,
    diagnose_table,
    fitted_from_sheet,
    load_knowledge,
    read_findings,
    read_table,
)
from leadoff.faults.values import REPAIR
from leadoff.loop.context import context_for
from leadoff.loop.history import BoardView, History, read_history
from leadoff.loop.session import Session
from leadoff.record.entries import FindingBody
from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.phrases import Verb
from leadoff.record.results import Result, note
from leadoff.words import parse

TEST, MODE, TABLE = "test:", "mode:", "table:"
"""Prefixes of findings that belong to this verb; a plain finding is a symptom seen in passing."""


def sick(session: Session, name: str, line: str | None, *, table: str | None = None) -> Result:
    """Keep what was found and say what it means: causes, the next tests by worth per minute, the repair.

    Raises:
        LeadoffError: words that were not understood, each with the nearest that would be; nothing is kept.
    """
    history = read_history(session)
    board = history.board(name)
    if table is not None:
        return _by_table(session, board, line, table)
    kb = load_knowledge()
    heard = _heard(kb, board, history, line) if line else None
    kept = _kept(board)
    new = list(heard.findings) if heard is not None else []
    mode = (heard.mode if heard is not None else None) or _mode_of(board) or "several"
    entries: list[str] = []
    found = _diagnose(kb, board, history, [*kept, *new], mode)
    if heard is not None and (new or heard.mode):
        bodies = [
            FindingBody(board=board.id, finding=f"{TEST}{f.observation}", detail=f.outcome, said=line or "")
            for f in new
        ]
        if heard.mode:
            bodies.append(FindingBody(board=board.id, finding=f"{MODE}{heard.mode}", said=line or ""))
        entries = [e.id for e in session.write(*bodies)]
    data = _view(board, found, entries, heard.echo if heard is not None else "")
    if heard is not None:
        data["codes"] = [msgspec.to_builtins(c) for c in heard.codes]
    return session.result("sick", data, found.marks)


def _heard(kb: Knowledge, board: BoardView, history: History, line: str | None) -> Any:
    said = parse(line or "", context_for(board, history, Verb.SICK))
    heard = read_findings(kb, line or "", said.phrases)
    if heard.questions:
        raise LeadoffError(
            *(
                Problem(
                    code="ask",
                    text=q.question or f'"{q.words}" was not understood',
                    where=q.words,
                    do=f"near to it: {'; '.join(q.near)}"
                    if q.near
                    else "say it in other words; nothing was stored",
                )
                for q in heard.questions
            )
        )
    return heard


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
    kb: Knowledge, board: BoardView, history: History, findings: list[Finding], mode: str
) -> Diagnosis:
    sheet = board.fold.sheet
    return diagnose(
        kb,
        kb.era_of(sheet.board_class),
        findings,
        fitted=fitted_from_sheet(sheet),
        mode=mode,
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
    return session.result("sick", _view(board, found, entries, line or ""), marks)


def _view(board: BoardView, d: Diagnosis, entries: list[str], understood: str) -> dict[str, Any]:
    view: dict[str, Any] = msgspec.to_builtins(d)
    view.pop("marks")
    return {"board": board.id, "entries": entries, "understood": understood, **view}
