"""The verbs ``move`` and ``undo``."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Literal

import msgspec

from leadoff.loop.batches import batch_of, together
from leadoff.loop.context import context_for, understand
from leadoff.loop.history import BoardView, History, RunView, read_history
from leadoff.loop.judging import judged, warnings
from leadoff.loop.refusal import refused
from leadoff.loop.session import Session
from leadoff.loop.setups import PartFinder, make_setup
from leadoff.loop.views import moves_view, setup_view
from leadoff.loop.wants import unknown_then, wants_of
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.moves import moves_for, total_minutes
from leadoff.machine.reach import Reach, Want, reach
from leadoff.machine.wanted import without_stale_ratio
from leadoff.record.entries import DidBody
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark
from leadoff.record.phrases import AnyPhrase, LikePhrase, SetPhrase, Verb
from leadoff.record.results import Result, mark, note
from leadoff.record.settings import SETTINGS, Touch

if TYPE_CHECKING:
    from leadoff.book import Entry

UNDOABLE = ("did", "run", "finding", "fact", "state", "guess", "mark", "deal", "row", "forecast", "board")


def route(session: Session, board: BoardView, wants: tuple[Want, ...]) -> Reach:
    """What the wants take on a board, with the processor as it would be fitted then."""
    part = PartFinder(session)
    cpu = next((w.value for w in wants if w.name == "cpu"), None) or board.setup.state.value("cpu")
    wants = without_stale_ratio(wants, board.fold, board.setup.processor, part(cpu))
    return reach(board.fold, wants, part=part(cpu), base=board.base)


def move(session: Session, name: str, line: str) -> Result:
    """Say what moved: the moves one by one, the state before and after; kept as one entry."""
    history = read_history(session)
    board = history.board(name)
    said = understand(line, context_for(board, history, Verb.MOVE))
    other = [p.text for p in said.phrases if not isinstance(p, SetPhrase | LikePhrase)]
    if other:
        raise LeadoffError.one(
            "not_a_move",
            f'"{other[0]}" is not a setting: move takes what was set, fitted or taken out',
            where=other[0],
            do=f"`leadoff log {board.id} {other[0]}`",
        )
    wants = wants_of(said.phrases, board, history)
    way = route(session, board, wants)
    before = setup_view(board.setup)
    if not way.reachable:
        return refused(session, "move", board, wants, way, {"before": before, "understood": said.echo})
    fold = BoardFold(sheet=board.fold.sheet, said=after(board.fold, way.changes, session.at))
    setup = make_setup(fold, PartFinder(session), board.base)
    moves = moves_for(way.changes, board.fold.sheet)
    data = {
        "board": board.id,
        "before": before,
        "after": setup_view(setup),
        "moves": moves_view(moves),
        "minutes": total_minutes(moves),
        "understood": said.echo,
        "entry": None,
    }
    marks = [*route_marks(board, way), *left_standing(said.phrases, board, history, way)]
    if way.changes:
        body = DidBody(
            board=board.id,
            what="move",
            changes=way.changes,
            moves=moves,
            minutes=total_minutes(moves),
            said=line,
        )
        data["entry"] = session.write(body)[0].id
    else:
        marks.append(note("nothing_moved", "the board is set like that already; nothing was stored"))
    return session.result("move", data, [*marks, *warnings(judged(session, setup))])


def sheet_mark(board: BoardView) -> list[Mark]:
    """That jumper moves come from a sheet nobody confirmed."""
    if board.fold.sheet.sheet_confirmed or not board.fold.sheet.jumpers:
        return []
    text = (
        "these jumper moves come from a sheet that is not confirmed for this board: measure the bus clock and "
        "the processor's supply before a part goes in"
    )
    return [mark(Level.AMBER, "sheet_unconfirmed", text)]


def route_marks(board: BoardView, way: Reach) -> list[Mark]:
    """What must be said with any moves on this board."""
    sheet = board.fold.sheet
    marks = sheet_mark(board) if any(sheet.jumper(c.name) for c in way.changes) else []
    lost = next((c for c in way.changes if c.name == "ratio" and c.after is None and c.before), None)
    if lost is not None and any(c.name == "cpu" for c in way.changes):
        marks.append(note("ratio_not_known", f"the core ratio is not known now: {lost.said}"))
    by_hand = [n for n in way.by_hand if _is_set_on_the_board(n)]
    if by_hand:
        names = ", ".join(by_hand)
        marks.append(
            note("by_hand", f"no jumper or set-up entry of the sheet acts on {names}: taken as you say it")
        )
    return marks


def _is_set_on_the_board(name: str) -> bool:
    """Whether a jumper or a set-up entry could act on a setting; a part is fitted, a temperature read."""
    known = SETTINGS.get(name)
    return known is None or known.touch in (Touch.JUMPER, Touch.SETUP, Touch.SWITCH)


def left_standing(phrases: Iterable[AnyPhrase], board: BoardView, history: History, way: Reach) -> list[Mark]:
    """That an earlier run does not say how some settings stood: they stay, and the state may not be that run's."""
    out = []
    for phrase in phrases:
        if isinstance(phrase, LikePhrase):
            moved = {c.name for c in way.changes}
            names = [n for n in unknown_then(history.run(phrase.run).setup.state, board) if n not in moved]
            if names:
                stay = ", ".join(f"{n} {board.setup.state.value(n)}" for n in names)
                text = f"how run {phrase.run} had these is not known, so they stay as they are: {stay}"
                out.append(mark(Level.AMBER, "not_known_then", text))
    return out


def undo(session: Session, what: str | None) -> Result:
    """Undo the last call's entries, or the one entry named by run number or name; a forecast is withdrawn."""
    return taken_back(session, [_named(session, what)] if what else _last_call(session))


def taken_back(session: Session, targets: Sequence[Entry]) -> Result:
    """Undo these entries in this order; what rests on them beyond them is named and stays."""
    undone, orphaned, entries = [], [], []
    theirs = {t.id for t in targets}
    marks: list[Mark] = []
    for entry in targets:
        how: Literal["undo", "withdraw"] = "withdraw" if entry.kind == "forecast" else "undo"
        amended = session.book.amend(entry.id, how, at=session.at)
        undone.append(
            {"entry": entry.id, "kind": entry.kind, "at": entry.at, "how": how, "what": _what_it_was(entry)}
        )
        entries += [e.id for e in amended.entries]
        orphaned += [o for o in amended.orphaned if o not in theirs]
    marks += [
        mark(Level.AMBER, "orphaned", f"entry {o[:12]} rests on what was undone; it stays as it is", o)
        for o in orphaned
    ]
    data = {
        "undone": undone,
        "orphaned": orphaned,
        "entry": entries[0] if entries else None,
        "entries": entries,
    }
    return session.result("undo", data, marks)


def _named(session: Session, what: str) -> Entry:
    run = _run_named(session, what)
    if run is not None:
        return session.book.get(run.entry)
    if len(what) < 6:
        raise LeadoffError.one(
            "undo_what",
            f'"{what}" is neither a run of this book nor enough of an entry\'s name',
            where=what,
            do="name a run number, or at least 6 characters of an entry",
        )
    return session.book.get(what)


def _last_call(session: Session) -> list[Entry]:
    """What this installation wrote last in one go, newest first: a typed line, or all that one reading added."""
    book = session.book
    mine = [
        e
        for e in book.entries()
        if e.pen == book.pen().pen and (e.kind in UNDOABLE or (e.kind == "amend" and batch_of(e)))
    ]
    alive = [e for e in mine if not (e.undone or e.redacted or e.withdrawn)]
    if not alive:
        raise LeadoffError.one(
            "nothing_to_undo",
            "this installation has written nothing in this book that could be undone",
            do="name an entry of another installation by the start of its name",
        )
    alive.sort(key=lambda e: -e.seq)
    if read := together(alive):
        return read
    call = [alive[0]]
    for older in alive[1:]:
        if older.seq != call[-1].seq - 1 or older.at != call[0].at or not _same_line(older, call[0]):
            break
        call.append(older)
    return call


def _same_line(older: Entry, last: Entry) -> bool:
    """Whether two neighbours come from one typed line; a workload that a line made has no words of its own."""
    said = [msgspec.json.decode(e.body).get("said") if e.body else None for e in (older, last)]
    return said[1] is not None and (said[0] == said[1] or older.kind == "row")


def _what_it_was(entry: Entry) -> str:
    """Board, run number and the words as typed, as far as the entry has them."""
    body = msgspec.json.decode(entry.body) if entry.body else {}
    if body.get("how") == "correct":
        return f"correction, {body.get('why', '')}"
    run = body.get("run") or {}
    board = run.get("board") or body.get("board") or body.get("id") or ""
    number = run.get("number") or body.get("number") or ""
    parts = [
        f"{entry.kind} {number}".strip(),
        f"of {board}" if board else "",
        f'"{body["said"]}"' if body.get("said") else "",
    ]
    return " ".join(p for p in parts if p)


def _run_named(session: Session, what: str) -> RunView | None:
    word = what.lower().removeprefix("run").strip()
    for board in read_history(session).boards.values():
        for run in board.runs:
            if run.run.number == word:
                return run
    return None
