"""The verbs ``board`` and ``state``."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import msgspec

from leadoff.loop.disputing import affected, conflict_marks, conflict_view, conflicts, disputed, inference
from leadoff.loop.essentials import unknown_of, with_never_said
from leadoff.loop.history import BoardView, read_history
from leadoff.loop.judging import judged, warnings
from leadoff.loop.session import Session
from leadoff.loop.sheeting import sheet_marks
from leadoff.loop.views import clocks_view, run_view, settings_view, symptoms_view
from leadoff.machine.boardfile import read_board_file
from leadoff.record.entries import BoardBody
from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.results import Result
from leadoff.safety.judge import beyond


def board_add(session: Session, file: str) -> Result:
    """Read a board file and keep the board; a board that is there already gets the new sheet."""
    path = Path(file)
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise LeadoffError.one(
            "board_file", f"{file} cannot be read: {error.strerror}", where=file, do="check the path"
        ) from None
    except UnicodeDecodeError as error:
        raise LeadoffError.one(
            "board_file",
            f"{file} is not UTF-8 text (byte {error.start})",
            where=file,
            do="save it as UTF-8",
        ) from None
    try:
        sheet = read_board_file(text)
    except LeadoffError as error:
        raise LeadoffError(*(_in_file(p, file) for p in error.problems)) from None
    session.may_begin().write(BoardBody(sheet=sheet, file_text=text))
    board = read_history(session).board(sheet.id)
    data = {"board": sheet.id, "unknown": list(unknown_of(board.setup)), **_boards_parts(board)}
    return session.result("board", data, sheet_marks(board))


def _in_file(problem: Problem, file: str) -> Problem:
    return msgspec.structs.replace(problem, where=f"{file}: {problem.where}".rstrip(": "))


def _boards_parts(board: BoardView) -> dict[str, object]:
    return {"class": board.fold.sheet.board_class, "runs": len(board.runs)}


def board_list(session: Session) -> Result:
    """All boards of the book."""
    history = read_history(session)
    boards = [
        {
            "board": b.id,
            "class": b.fold.sheet.board_class,
            "runs": len(b.runs),
            "unknown": len(unknown_of(b.setup)),
            "open_symptoms": len(b.open_symptoms),
        }
        for b in history.boards.values()
    ]
    return session.result("board", {"boards": boards})


def state(session: Session, name: str) -> Result:
    """What is fitted and set, what is unknown, what is out of limits."""
    board = read_history(session).board(name)
    setup = board.setup
    lines = judged(session, setup)
    found = conflicts(session, board)
    doubted = affected(board, found)
    pairs, more = inference(board)
    shown = msgspec.structs.replace(setup, state=disputed(with_never_said(setup), found))
    data = {
        "board": board.id,
        "class": board.fold.sheet.board_class,
        "state": board.id,
        "settings": settings_view(shown.state),
        "unknown": list(unknown_of(setup)),
        "clocks": clocks_view(shown),
        "beyond": beyond(lines),
        "open_symptoms": symptoms_view(board),
        "runs": [_with_doubt(run_view(r), doubted) for r in board.runs[-10:]],
        "runs_in_all": len(board.runs),
        "runs_in_doubt": {n: list(names) for n, names in doubted.items()},
        "conflicts": [conflict_view(c) for c in found],
        "inferred": pairs,
    }
    # The judge's own line asks for the marking; saying it twice helps nobody.
    marks = [m for m in sheet_marks(board) if m.code != "marking_needed"]
    return session.result("state", data, [*marks, *warnings(lines), *more, *conflict_marks(found, doubted)])


def _with_doubt(view: dict[str, Any], doubted: Mapping[str, tuple[str, ...]]) -> dict[str, Any]:
    """A run with a flag for every setting of its state that is disputed now."""
    names = doubted.get(view["number"], ())
    return {**view, "flags": [*view["flags"], *(f"disputed:{n}" for n in names)]}
