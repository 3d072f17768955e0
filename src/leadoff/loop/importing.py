"""Rows of old tables to runs, through the same words, wiring and judge as ``log``, each standing on its own."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.evidence.facts import Proposal, Quarantined, Reading
from leadoff.loop.history import BoardView, read_history
from leadoff.loop.logging import SECONDS, line_bodies
from leadoff.loop.session import Session
from leadoff.loop.setups import PartFinder, make_setup
from leadoff.machine.fold import apart
from leadoff.record.entries import Body, DidBody, RunBody, workload_row
from leadoff.record.errors import LeadoffError
from leadoff.record.runs import Direction, Workload


class Importer:
    """Makes run bodies from proposals; new workloads of the file are known to all of its rows."""

    def __init__(self, session: Session, board: BoardView) -> None:
        self.session = session
        self.history = read_history(session)
        self.default = board.id
        self.views: dict[str, BoardView] = {}
        self.number = session.highest_number()

    def bodies(self, p: Proposal) -> tuple[list[Body], RunBody]:
        """A new workload's row, when this is its first result; and the run with all of its state in ``unlike``.

        Raises:
            LeadoffError: words not understood, a state that the board's wiring cannot have, not one result.
        """
        before: list[Body] = []
        known = self.history.workloads
        if p.workload and p.unit and p.workload not in known:
            lower = p.unit in SECONDS
            made = Workload(
                name=p.workload,
                unit=p.unit,
                direction=Direction.LOWER if lower else Direction.HIGHER,
                text=p.line,
            )
            self.history = msgspec.structs.replace(self.history, workloads={**known, p.workload: made})
            before.append(workload_row(made))
        view = self._view(p.board or self.default)
        said = line_bodies(self.session, self.history, view, p.line, None, p.unit or "", number=self.number)
        runs = [b for b in said if isinstance(b, RunBody)]
        if len(runs) != 1:
            raise LeadoffError.one(
                "not_one_result", f'"{p.line}" is not one result', where=p.place, do="log it by hand"
            )
        self.number += 1
        changes = tuple(c for b in said if isinstance(b, DidBody) for c in b.changes)
        place = f"{p.place}: {p.said}".replace(";", ",")
        run = msgspec.structs.replace(runs[0], unlike=changes, apart=True, said=f"{p.line}; note: {place}")
        return before, run

    def _view(self, name: str) -> BoardView:
        """The board with nothing said of it but its file, so that a row says all it says."""
        if name not in self.views:
            board = self.history.board(name)
            fold = apart(board.fold.sheet)
            setup = make_setup(fold, PartFinder(self.session), board.base)
            self.views[name] = msgspec.structs.replace(board, fold=fold, setup=setup, runs=(), forecasts=())
        return self.views[name]


def vetted(session: Session, board: BoardView, readings: Sequence[Reading]) -> list[Reading]:
    """Rows that the board would refuse (wiring, words of its own) are set aside before anybody is asked."""
    out: list[Reading] = []
    importer: Importer | None = None
    for reading in readings:
        if not any(p.apart for p in reading.proposals):
            out.append(reading)
            continue
        importer = importer or Importer(session, board)
        kept: list[Proposal] = []
        aside: list[Quarantined] = []
        for p in reading.proposals:
            try:
                if p.apart:
                    importer.bodies(p)
                kept.append(msgspec.structs.replace(p, place=f"{reading.file} {p.place}"))
            except LeadoffError as error:
                aside.append(Quarantined(text=p.line, at=p.place, why=error.problems[0].text))
        out.append(
            msgspec.structs.replace(
                reading, proposals=tuple(kept), quarantined=(*reading.quarantined, *aside)
            )
        )
    return out
