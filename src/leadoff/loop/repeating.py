"""The verb ``repeat``: somebody's public file checked, loaded, and what it takes to set the same state here."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec

from leadoff.loop.describing import described
from leadoff.loop.history import BoardView, History, read_history
from leadoff.loop.moving import route
from leadoff.loop.public_check import Checked, check
from leadoff.loop.session import Session
from leadoff.loop.taking_over import take_over
from leadoff.loop.views import moves_view
from leadoff.machine.effects import carriers_of
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.moves import moves_for, total_minutes
from leadoff.machine.reach import Want
from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.marks import Level, Mark
from leadoff.record.public import PUBLIC, PublicBoard, PublicForecast
from leadoff.record.results import Result, mark, note

MAX_BYTES = 200_000_000


def repeat(
    session: Session,
    file: str,
    *,
    name: str | None = None,
    only_check: bool = False,
    against: str | None = None,
    start: str | None = None,
) -> Result:
    """Check a public file; load its board unless told not to; the moves to its state and the comparison.

    A file that does not fit its own hashes is not loaded. ``start``: the moves begin there and not at the state as
    set, described as in ``forecast --want``.

    Raises:
        LeadoffError: no such file, no public file, one of a newer form, a board of that name already here.
    """
    public, plain = read_public(file)
    found = check(public, plain)
    data = _data(public, found)
    marks = _marks(public, found)
    if found.faults:
        problems = [
            Problem(
                code="tampered",
                text=text,
                where=file,
                do="get the file again from who published it; nothing was loaded",
            )
            for text in found.faults
        ]
        return Result(verb="repeat", ok=False, data=data, marks=tuple(marks), errors=tuple(problems))
    if against is not None:
        history = read_history(session)
        data["against"] = _against(session, history, _starting(session, history, against, start), public)
        only_check = True
    if not only_check:
        data["loaded"] = take_over(session, public, name or public.board.id)
        board = _starting(session, read_history(session), name or public.board.id, start)
        data["moves"], data["minutes"] = _moves(session, board, public)
    return session.result("repeat", data, marks)


def _starting(session: Session, history: History, name: str, words: str | None) -> BoardView:
    """A board of the book as set, or as the words describe it."""
    board = history.board(name)
    asked = described(session, history, board, words)
    if asked.way is None:
        return board
    if not asked.way.reachable:
        text = "; ".join(c.text for c in asked.causes)
        raise LeadoffError.one(
            "no_such_state",
            f"{board.id} cannot be set to {words}: {text}",
            where=words or "",
            do="start elsewhere",
        )
    fold = BoardFold(sheet=board.fold.sheet, said=after(board.fold, asked.changes, session.at))
    return msgspec.structs.replace(board, fold=fold, setup=asked.imagined)


def read_public(file: str) -> tuple[PublicBoard, dict[str, Any]]:
    """A public file as values and as it stands.

    Raises:
        LeadoffError: see ``repeat``.
    """
    path = Path(file)
    try:
        if path.stat().st_size > MAX_BYTES:
            raise LeadoffError.one("public_file", f"{file} is far larger than a public file", where=file)
        raw = path.read_bytes()
        plain = msgspec.json.decode(raw)
        version = plain.get("leadoff_public") if isinstance(plain, dict) else None
        if isinstance(version, int) and version > PUBLIC:
            raise LeadoffError.one(
                "public_newer",
                f"{file} has form {version}; this leadoff reads {PUBLIC}",
                where=file,
                do="update leadoff",
            )
        return msgspec.json.decode(raw, type=PublicBoard), plain
    except OSError as error:
        raise LeadoffError.one(
            "public_file", f"{file} cannot be read: {error.strerror}", where=file, do="check the path"
        ) from None
    except (msgspec.MsgspecError, UnicodeDecodeError, ValueError, RecursionError) as error:
        raise LeadoffError.one(
            "public_file",
            f"{file} is no public file of leadoff, or it was cut: {error}",
            where=file,
            do="get it again; docs/public-file.md has its form",
        ) from None


def _data(public: PublicBoard, found: Checked) -> dict[str, Any]:
    state = public.states[public.shown.state if public.shown is not None else public.state_now]
    return {
        "board": public.board.id,
        "head": public.head,
        "digest": public.digest,
        "faults": list(found.faults),
        "older_than_result": list(found.shown),
        "forecasts": [_forecast(f, found) for f in public.forecasts],
        "checked_by_hash_only": len(found.by_hash),
        "shown": msgspec.to_builtins(public.shown),
        "limits": [msgspec.to_builtins(v) for v in public.limits],
        "settings": {n: v.value for n, v in state.items()},
        "unknown": sorted(n for n, v in state.items() if v.value is None),
        "runs": len(public.runs),
        "loaded": None,
        "moves": [],
        "minutes": None,
        "against": None,
    }


def _forecast(f: PublicForecast, found: Checked) -> dict[str, Any]:
    """What was said, what came, and whether the chain shows that it was said before."""
    came = {a.workload: a for a in f.answers}
    return {
        "number": f.number,
        "when": f.when,
        "seen_result": f.seen_result,
        "workloads": [
            {
                "workload": e.workload,
                "unit": e.unit,
                "median": e.median,
                "band90": e.band90,
                "came": came[e.workload].score if e.workload in came else None,
                "run": came[e.workload].run if e.workload in came else None,
                "older": f"{f.number} before run {came[e.workload].run}" in found.shown
                if e.workload in came
                else None,
            }
            for e in f.expected
            if e.median is not None
        ],
    }


def _marks(public: PublicBoard, found: Checked) -> list[Mark]:
    text = (
        f"whoever published it can have written a whole new chain: it convinces only if {public.head} is on an "
        "older film or page of theirs"
    )
    marks = [note("outside_head", text)]
    if not found.faults:
        count = len(public.sealed) - len(found.by_hash)
        fit = f"entries that fit their hashes: {count}; forecasts shown to be older than a result: {len(found.shown)}"
        marks.append(mark(Level.GREEN, "hashes_fit", fit))
    if found.by_hash:
        marks.append(note("by_hash_only", f"{len(found.by_hash)} entries are there by their hash only"))
    return marks


def _wants(board: BoardView, public: PublicBoard) -> tuple[Want, ...]:
    """Published settings that a jumper or entry here can give and that differ; positions only on the same sheet."""
    at = public.states[public.shown.state if public.shown is not None else public.state_now]
    now, sheet = board.setup.state, board.fold.sheet
    names = {"core_mhz"} | {j.id for j in sheet.jumpers} | {o.id for o in sheet.options}
    return tuple(
        Want(name=n, value=v.value)
        for n, v in sorted(at.items())
        if v.value is not None and n not in names and now.value(n) != v.value and carriers_of(sheet, n)
    )


def _moves(
    session: Session, board: BoardView, public: PublicBoard
) -> tuple[list[dict[str, Any]], float | None]:
    wants = _wants(board, public)
    if not wants:
        return [], 0.0
    way = route(session, board, wants)
    if not way.reachable:
        return [], None
    moves = moves_for(way.changes, board.fold.sheet)
    return moves_view(moves), total_minutes(moves)


def _against(session: Session, history: History, board: BoardView, public: PublicBoard) -> dict[str, Any]:
    """One's own board beside the published one: what differs, the moves, and whether scores compare."""
    at = public.states[public.shown.state if public.shown is not None else public.state_now]
    now = board.setup.state
    skip = {j.id for j in board.fold.sheet.jumpers} | {j.id for j in public.board.jumpers}
    differs = [
        {"setting": n, "theirs": v.value, "yours": now.value(n)}
        for n, v in sorted(at.items())
        if n not in skip and v.value != now.value(n)
    ]
    moves, minutes = _moves(session, board, public)
    return {
        "board": board.id,
        "differs": differs,
        "moves": moves,
        "minutes": minutes,
        "cannot_be_set_here": [
            d["setting"] for d in differs if not carriers_of(board.fold.sheet, str(d["setting"]))
        ],
        "score": _scores(history, board, public),
    }


def _scores(history: History, board: BoardView, public: PublicBoard) -> dict[str, Any] | None:
    from leadoff.forecast.scores import score_of

    shown = public.shown
    if shown is None:
        return None
    mine = [r for r in board.runs if r.run.workload == shown.workload and r.run.readings]
    if not mine:
        return {
            "workload": shown.workload,
            "theirs": shown.score,
            "yours": None,
            "comparable": False,
            "why": "you have no run of it",
        }
    pick = min if shown.better == "lower" else max
    best = pick(mine, key=lambda r: score_of(r.run).value or 0.0)
    rigs = {r.rig for r in public.runs if r.number in shown.runs}
    same = rigs == {best.run.rig} and bool(best.run.rig)
    why = "" if same else "another rig, and no bridging run: not comparable"
    return {
        "workload": shown.workload,
        "unit": shown.unit,
        "theirs": shown.score,
        "yours": score_of(best.run),
        "run": best.run.number,
        "comparable": same,
        "why": why,
    }
