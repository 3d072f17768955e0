"""One board as its public file: gathered from the book, private things left out."""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256
from typing import Any

import msgspec

from leadoff import __version__
from leadoff.claims.standings import Group, KeptOut, Row, standings
from leadoff.loop.benching import main_workload
from leadoff.loop.history import SWEEP, BoardView, History, RunView
from leadoff.loop.judging import judged, warnings
from leadoff.loop.ledger import ledger_of
from leadoff.loop.public_limits import limits_of
from leadoff.loop.public_model import modelled, time_shares
from leadoff.loop.public_private import Private
from leadoff.loop.public_runs import States, public_forecast, public_run
from leadoff.loop.public_seals import sealed_of
from leadoff.loop.session import Session
from leadoff.loop.show_pieces import show_pieces
from leadoff.loop.sweeping import sweep
from leadoff.loop.views import clocks_view
from leadoff.record.board import BoardSheet
from leadoff.record.entries import MarkBody
from leadoff.record.public import (
    PUBLIC,
    FilmMark,
    Limit,
    PublicBoard,
    PublicSymptom,
    Rank,
    Shown,
    SweepLevel,
    SweepPoint,
)
from leadoff.record.quantity import Quantity, Source

REPAIR = "test:repair:"


def public_board(
    session: Session,
    history: History,
    board: BoardView,
    *,
    workload: str | None = None,
    asked_for: Mapping[str, str] | None = None,
) -> PublicBoard:
    """Everything of a board that may go out. ``asked_for``: private things that the person asked to add."""
    states, private = States(), Private(session, history)
    wanted = workload or main_workload(board)
    group = _group(history, board, wanted)
    runs = tuple(public_run(r, states, private) for r in board.runs)
    forecasts = tuple(public_forecast(board, f, states) for f in board.forecasts)
    shown, at = _shown(board, group, states)
    sealed, chain = sealed_of(session, history, board, runs, forecasts)
    setup = at.setup if at is not None else board.setup
    said = modelled(session, history, board, at)
    points, levels = _sweep(session, board)
    now = states.number(board.setup.state)
    used = {r.workload for r in runs} | {e.workload for f in forecasts for e in f.expected}
    made = PublicBoard(
        leadoff_public=PUBLIC,
        made_at=session.at,
        version=__version__,
        head=session.head() or "",
        catalogue=session.catalogue.digest,
        board=public_sheet(board.fold.sheet),
        states=tuple(states.kept),
        state_now=now,
        clocks=clocks_view(setup),
        shown=shown,
        limits=(
            *(
                msgspec.structs.replace(v, text=private.clean(v.text))
                for v in limits_of(board, shown, at, warnings(judged(session, setup)))
            ),
            *_better_void(board, group, shown),
        ),
        workloads=tuple(w for n, w in sorted(history.workloads.items()) if n in used),
        runs=runs,
        forecasts=forecasts,
        symptoms=tuple(
            PublicSymptom(
                finding=private.clean(s.finding), detail=private.clean(s.detail), since=s.when, entry=s.entry
            )
            for s in board.open_symptoms
        ),
        repairs=tuple(
            private.clean(f"{f.finding.removeprefix(REPAIR)}: {f.detail}")
            for f in board.findings
            if f.finding.startswith(REPAIR)
        ),
        sweep=points,
        levels=levels,
        film=_film(session, board.id, private),
        standings=tuple(_rank(r) for r in group.rows) if group is not None else (),
        time_shares=time_shares(said, *_score(shown)),
        show_pieces=show_pieces(history, board, said.now),
        sealed=sealed,
        chain=chain,
        asked_for=asked_for or {},
    )
    return msgspec.structs.replace(made, digest=digest_of(msgspec.to_builtins(made)))


def digest_of(plain: Mapping[str, Any]) -> str:
    """SHA-256 of the canonical JSON of a public file without its own digest."""
    rest = {k: v for k, v in plain.items() if k != "digest"}
    return sha256(msgspec.json.encode(rest, order="sorted")).hexdigest()


def public_sheet(sheet: BoardSheet) -> BoardSheet:
    """The sheet without what is nobody's business: notes, spares, tools, and where it stood when it was read."""
    return msgspec.structs.replace(
        sheet,
        note="",
        spares=(),
        tools=(),
        now={},
        jumpers=tuple(msgspec.structs.replace(j, note="") for j in sheet.jumpers),
        options=tuple(msgspec.structs.replace(o, note="") for o in sheet.options),
    )


def _group(history: History, board: BoardView, workload: str | None) -> Group | None:
    """The ranking that this board's best run of the workload stands in, or is kept out of."""
    if workload is None:
        return None
    groups = standings(ledger_of(history), workload=workload).groups
    for found in groups:
        if any(r.board == board.id for r in found.rows):
            return found
    return next((g for g in groups if any(k.board == board.id for k in g.kept_out)), None)


def _shown(board: BoardView, group: Group | None, states: States) -> tuple[Shown | None, RunView | None]:
    if group is None:
        return None, None
    row: Row | KeptOut
    mine = [r for r in group.rows if r.board == board.id]
    if mine:
        row = mine[0]
    else:
        kept = [k for k in group.kept_out if k.board == board.id]
        row = (min if group.direction == "lower" else max)(kept, key=lambda k: k.score)
    at = next(r for r in board.runs if r.run.number == row.runs[0])
    clean = isinstance(row, Row)
    score = (
        row.score
        if isinstance(row, Row)
        else Quantity(value=row.score, unit=row.unit, source=Source.MEASURED, refs=row.runs)
    )
    return (
        Shown(
            workload=group.workload,
            unit=group.unit,
            better=group.direction,
            score=score,
            state=states.number(at.setup.state),
            words=row.state,
            grade=row.grade.name,
            grade_said=row.grade.said,
            clean=clean,
            flags=row.flags if isinstance(row, Row) else row.grade.flags,
            runs=row.runs,
            rank_lo=row.rank_lo if isinstance(row, Row) else None,
            rank_hi=row.rank_hi if isinstance(row, Row) else None,
            boards=len(group.rows) if clean else None,
        ),
        at,
    )


def _score(shown: Shown | None) -> tuple[str | None, str, float | None]:
    return (None, "", None) if shown is None else (shown.workload, shown.unit, shown.score.value)


def _better_void(board: BoardView, group: Group | None, shown: Shown | None) -> tuple[Limit, ...]:
    """Higher scores of this board that stand in no ranking: they are said, so that nobody finds them hidden."""
    if group is None or shown is None or not shown.clean:
        return ()
    lower = shown.better == "lower"
    best = shown.score.value or 0.0
    return tuple(
        Limit(
            kind="kept_out",
            text=f"{k.score:.4g} {k.unit} (run {k.runs[0]}, {k.state}) stands in no ranking: {k.grade.said}",
        )
        for k in group.kept_out
        if k.board == board.id and (k.score < best if lower else k.score > best)
    )


def _rank(r: Row) -> Rank:
    return Rank(
        board=r.board,
        state=r.state,
        score=r.score,
        rank_lo=r.rank_lo,
        rank_hi=r.rank_hi,
        p_first=r.p_first,
        grade=r.grade.name,
        flags=r.flags,
    )


def _sweep(session: Session, board: BoardView) -> tuple[tuple[SweepPoint, ...], tuple[SweepLevel, ...]]:
    if not any(fact.name == SWEEP for _, fact in board.facts):
        return (), ()
    data = sweep(session, board.id).data
    points = tuple(SweepPoint(size_kb=p["size_kb"], us_per_kb=p["us_per_kb"]) for p in data["points"])
    levels = tuple(
        SweepLevel(
            size_kb=v["size_kb"].value,
            us_per_kb=v["us_per_kb"].value,
            mb_per_s=v["mb_per_s"].value,
            patterns=tuple(str(p) for p in v["patterns"]),
        )
        for v in data["levels"]
    )
    return points, levels


def _film(session: Session, board_id: str, private: Private) -> tuple[FilmMark, ...]:
    out = []
    for entry in session.book.live({"mark"}):
        if entry.body is None:
            continue
        body = msgspec.json.decode(entry.body, type=MarkBody)
        if body.board == board_id and body.what == "film":
            out.append(FilmMark(at=entry.at, text=private.clean(body.said)))
    return tuple(out)
