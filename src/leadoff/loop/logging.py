"""The verb ``log``: what happened, kept as runs, facts, findings and notes in one transaction."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import msgspec

from leadoff.loop.answering import answered
from leadoff.loop.context import context_for, understand
from leadoff.loop.history import BoardView, History, RunView, read_history
from leadoff.loop.judging import judged, warnings
from leadoff.loop.moving import left_standing, route, route_marks
from leadoff.loop.refusal import refused
from leadoff.loop.session import Session
from leadoff.loop.setups import PartFinder, make_setup
from leadoff.loop.slips import doubt_marks, slips_among
from leadoff.loop.views import run_view
from leadoff.loop.wants import wants_of
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.same import same_state
from leadoff.record.entries import (
    Body,
    DidBody,
    FactBody,
    FindingBody,
    MarkBody,
    RunBody,
    workload_row,
)
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark
from leadoff.record.phrases import (
    AnyPhrase,
    FailurePhrase,
    LikePhrase,
    NotePhrase,
    ProtocolPhrase,
    ReadingPhrase,
    ScorePhrase,
    SetPhrase,
    SymptomPhrase,
    Verb,
)
from leadoff.record.quantity import Quantity, Source
from leadoff.record.results import Result, mark, note
from leadoff.record.runs import Direction, Outcome, Run, Workload
from leadoff.words.vocabulary import nearest

if TYPE_CHECKING:
    from leadoff.forecast.facts import Setup

SECONDS = ("s", "ms", "min")


def log(
    session: Session,
    name: str,
    lines: Iterable[str],
    *,
    workload: str | None = None,
    unit: str | None = None,
    rig: str | None = None,
) -> Result:
    """Keep what happened. All lines are read before anything is stored; a doubt stores nothing."""
    history = read_history(session)
    board = history.board(name)
    taken = _Taker(session, history, board, workload=workload, unit=unit or "", rig=rig or "")
    for line in lines:
        refusal = taken.line(line)
        if refusal is not None:
            return refusal
    if not taken.bodies:
        raise LeadoffError.one(
            "nothing_said", "there is nothing to log", where=name, do="`leadoff log BOARD w2 23.5`"
        )
    entries = session.write(*taken.bodies)
    ids = [e.id for e in entries]
    views = [
        RunView(entry=i, when=session.at, run=b.run, setup=taken.setups[n], said=b.said)
        for n, (i, b) in enumerate(zip(ids, taken.bodies, strict=True))
        if isinstance(b, RunBody)
    ]
    data: dict[str, Any] = {
        "board": board.id,
        "understood": "; ".join(taken.echoes),
        "entries": ids,
        "runs": [run_view(v) for v in views],
        "run": run_view(views[-1]) if views else None,
        "forecast": None,
        "forecasts": [],
    }
    marks = [*taken.marks]
    if views:
        forecasts, more = answered(session, board, views)
        data["forecasts"] = forecasts
        data["forecast"] = (
            forecasts[-1] if forecasts and forecasts[-1]["run"] == views[-1].run.number else None
        )
        slips = slips_among(history, views)
        data["doubts"] = [msgspec.to_builtins(d) for d in slips]
        marks += [*more, *doubt_marks(slips)]
    return session.result("log", data, marks)


def line_bodies(
    session: Session,
    history: History,
    board: BoardView,
    line: str,
    workload: str | None,
    unit: str,
    *,
    number: int | None = None,
) -> list[Body]:
    """What one line would keep, without keeping it; ``number`` is the highest run number so far, when known.

    Raises:
        LeadoffError: words not understood, or a state that cannot be set.
    """
    taken = _Taker(session, history, board, workload=workload, unit=unit, rig="", number=number)
    refusal = taken.line(line)
    if refusal is not None:
        raise LeadoffError(*refusal.errors)
    return taken.bodies


class _Taker:
    """Turns phrases into bodies, keeping the fold as the words change it."""

    def __init__(
        self,
        session: Session,
        history: History,
        board: BoardView,
        *,
        workload: str | None,
        unit: str,
        rig: str,
        number: int | None = None,
    ) -> None:
        self.session = session
        self.history = history
        self.board = board
        self.workload = workload
        self.unit = unit
        before = board.runs[-1].run.rig if board.runs else ""
        self.rig = rig or before
        self.bodies: list[Body] = []
        self.setups: dict[int, Setup] = {}
        self.marks: list[Mark] = []
        self.echoes: list[str] = []
        self.setup = board.setup
        self.known = dict(history.workloads)
        self._number = session.highest_number() if number is None else number
        if self.rig != before:
            self.marks.append(
                note("rig", f"rig of this run and those after it: {self.rig}; --rig says another")
            )

    def line(self, line: str) -> Result | None:
        """Take one line; returns a refusal when it names a state that cannot be set."""
        known = self.workload if self.workload in self.known else None
        context = context_for(self.board, self.history, Verb.LOG, workload=known)
        if self.workload and self.workload not in self.known:
            line = f"{self.workload} {line}"
        said = understand(line, context)
        self.echoes.append(said.echo)
        refusal = self._settings(said.phrases, line)
        if refusal is not None:
            return refusal
        for phrase in said.phrases:
            self._take(phrase, line)
        return None

    def _settings(self, phrases: tuple[AnyPhrase, ...], line: str) -> Result | None:
        set_phrases = [p for p in phrases if isinstance(p, SetPhrase | LikePhrase)]
        if not set_phrases:
            return None
        wants = wants_of(set_phrases, self.board, self.history)
        way = route(self.session, self.board, wants)
        if not way.reachable:
            data = {"run": None, "forecast": None, "understood": "; ".join(self.echoes)}
            return refused(self.session, "log", self.board, wants, way, data)
        if way.changes:
            self.bodies.append(DidBody(board=self.board.id, what="said", changes=way.changes, said=line))
            self.marks += route_marks(self.board, way)
            self.marks += left_standing(set_phrases, self.board, self.history, way)
            fold = BoardFold(
                sheet=self.board.fold.sheet, said=after(self.board.fold, way.changes, self.session.at)
            )
            self.setup = make_setup(fold, PartFinder(self.session), self.board.base)
        return None

    def _take(self, phrase: AnyPhrase, line: str) -> None:
        board = self.board.id
        if isinstance(phrase, ScorePhrase):
            self._run(self._score(phrase), line)
        elif isinstance(phrase, FailurePhrase):
            self._run(self._failure(phrase), line)
        elif isinstance(phrase, ProtocolPhrase):
            self._run(self._protocol(phrase), line)
        elif isinstance(phrase, ReadingPhrase):
            value = Quantity(
                value=phrase.value, unit=phrase.unit, source=Source.MEASURED, lo=phrase.lo, hi=phrase.hi
            )
            self.bodies.append(
                FactBody(
                    subject=f"board:{board}", name=phrase.what, value=value, where=phrase.where, said=line
                )
            )
        elif isinstance(phrase, SymptomPhrase):
            self.bodies.append(
                FindingBody(
                    board=board,
                    finding=phrase.symptom,
                    detail=phrase.detail,
                    closed=phrase.closed,
                    said=line,
                )
            )
        elif isinstance(phrase, NotePhrase):
            self.bodies.append(MarkBody(board=board, what="note", said=phrase.text))

    def _run(self, run: Run, line: str) -> None:
        self.setups[len(self.bodies)] = self.setup
        self.bodies.append(RunBody(run=run, said=line))

    def _next(self) -> str:
        self._number += 1
        return str(self._number)

    def _score(self, phrase: ScorePhrase) -> Run:
        name = phrase.workload or self.workload
        if name is None:
            raise LeadoffError.one(
                "ask",
                f'"{phrase.text}" does not say of which workload',
                where=phrase.text,
                do="put the workload's word before it",
            )
        known = self.known.get(name) or self._new_workload(name, phrase)
        outcome = Outcome.REPEATS if len(phrase.readings) > 1 else Outcome.FINISHES
        return Run(
            number=self._next(),
            board=self.board.id,
            workload=name,
            outcome=outcome,
            unit=known.unit,
            readings=phrase.readings,
            dropped=phrase.dropped,
            rig=self.rig,
            flags=self._flags(),
        )

    def _new_workload(self, name: str, phrase: ScorePhrase) -> Workload:
        unit = phrase.unit or self.unit or "score"
        lower = unit in SECONDS
        made = Workload(
            name=name, unit=unit, direction=Direction.LOWER if lower else Direction.HIGHER, text=phrase.text
        )
        if near := nearest(name, self.known, "workload"):  # w1 and w2 differ on purpose
            text = f'"{name}" is nearly "{near[0]}": where that was meant, `leadoff undo` and say it again'
            self.marks.append(mark(Level.AMBER, "near_workload", text))
        self.known[name] = made
        self.bodies.append(workload_row(made))
        better = "lower" if lower else "higher"
        self.marks.append(
            note(
                "new_workload",
                f'"{name}" is new: kept as a workload in {unit}, {better} is better (undo if that is wrong)',
            )
        )
        return made

    def _failure(self, phrase: FailurePhrase) -> Run:
        return Run(
            number=self._next(),
            board=self.board.id,
            workload=phrase.workload or self.workload,
            outcome=phrase.outcome,
            unit="",
            place=phrase.place or phrase.what,
            after_s=phrase.after_s,
            count=phrase.count,
            of=phrase.of,
            rig=self.rig,
            flags=self._flags(),
        )

    def _protocol(self, phrase: ProtocolPhrase) -> Run:
        clean = Outcome.SOAKED if phrase.protocol == "soak" else Outcome.COPY_CLEAN
        hours = phrase.hours * 3600 if phrase.hours is not None else None
        return Run(
            number=self._next(),
            board=self.board.id,
            workload=None,
            outcome=clean if phrase.clean else Outcome.FAILS_MID_RUN,
            place=phrase.protocol,
            after_s=hours,
            count=phrase.count,
            of=phrase.of,
            rig=self.rig,
            flags=self._flags(),
        )

    def _flags(self) -> tuple[str, ...]:
        """What the judge holds against a run in this state, and what has not been proven of it."""
        lines = judged(self.session, self.setup)
        flags = [f"red:{line.topic}" for line in lines if line.verdict is Level.RED]
        if any(line.topic == "write_back" and line.verdict is Level.RED for line in lines):
            flags.append("unsafe")
        soaked = any(
            r.run.outcome in (Outcome.SOAKED, Outcome.COPY_CLEAN)
            and same_state(r.setup.state, self.setup.state)
            for r in self.board.runs
        )
        if not soaked:
            flags.append("not_soaked")
        for found in warnings(lines):
            if found.level is Level.RED and found.code not in {m.code for m in self.marks}:
                self.marks.append(found)
        return tuple(flags)
