"""What a screen beside the bench shows: one board at a glance, the shelf, a board's story, the book."""

from __future__ import annotations

from collections import Counter
from typing import Any

from leadoff.forecast.scores import score_of
from leadoff.loop.essentials import to_look_up, with_never_said
from leadoff.loop.history import BoardView, ForecastView, History, RunView, read_history
from leadoff.loop.judging import judged, warnings
from leadoff.loop.session import Session
from leadoff.loop.sheeting import sheet_marks
from leadoff.loop.views import clocks_view, expected_view, run_view, settings_view, symptoms_view
from leadoff.machine.same import same_state
from leadoff.record.results import Result, note
from leadoff.record.runs import Outcome
from leadoff.safety.judge import beyond

LAST = 8
"""Runs shown at a glance."""


def bench(session: Session, name: str) -> Result:
    """One board: state, the forecast sealed for it and what came of it, last runs, open symptoms, the way back."""
    history = read_history(session)
    board = history.board(name)
    lines = judged(session, board.setup)
    workload = main_workload(board)
    shown = board.runs[: -LAST - 1 : -1]
    data: dict[str, Any] = {
        "board": board.id,
        "class": board.fold.sheet.board_class,
        "heads": sorted(session.book.heads()),
        "workload": workload,
        "unit": history.workloads[workload].unit if workload else "",
        "settings": settings_view(with_never_said(board.setup)),
        "clocks": clocks_view(board.setup),
        "beyond": beyond(lines),
        "open_symptoms": symptoms_view(board),
        "runs": [run_view(r) for r in shown],
        "runs_in_all": len(board.runs),
        "here": [r.run.number for r in shown if same_state(r.setup.state, board.setup.state)],
        "sealed": _sealed_here(board, workload),
        "record": _record(history, board, workload),
        "last_good": _last_good(board),
        "ailing": ailing(board),
        "workloads": [{"workload": w.name, "unit": w.unit} for w in history.workloads.values()],
    }
    marks = [m for m in sheet_marks(board) if m.code != "marking_needed"]
    return session.result("bench", data, [*marks, *warnings(lines)])


def shelf(session: Session) -> Result:
    """All boards, each with what it needs next as far as the book alone can tell."""
    history = read_history(session)
    rows = []
    for board in history.boards.values():
        workload = main_workload(board)
        rows.append(
            {
                "board": board.id,
                "class": board.fold.sheet.board_class,
                "runs": len(board.runs),
                "unknown": len(to_look_up(board.setup)),
                "open_symptoms": [s.finding for s in board.open_symptoms],
                "clocks": clocks_view(board.setup),
                "record": _record(history, board, workload),
                "last": run_view(board.runs[-1]) if board.runs else None,
                "needs": _needs(board),
            }
        )
    return session.result("shelf", {"boards": rows})


def story(session: Session, name: str) -> Result:
    """Everything that counts on a board, newest first: what moved, what ran, what was sealed, seen and noted."""
    import msgspec

    from leadoff.loop.drawing import pictures_of

    board = read_history(session).board(name)
    numbers = {r.entry: r.run.number for r in board.runs}
    rows = []
    for entry in session.book.live({"board", "state", "did", "run", "finding", "fact", "forecast", "mark"}):
        if entry.body is None:
            continue
        body = msgspec.json.decode(entry.body)
        if _of(body) != board.id:
            continue
        what, text = _told(entry.kind, body, numbers.get(entry.id, ""))
        rows.append(
            {
                "entry": entry.id,
                "at": entry.at,
                "kind": entry.kind,
                "what": what,
                "text": text,
                "file": str(body.get("file", "")) if entry.kind == "mark" else "",
                "withdrawn": entry.withdrawn,
            }
        )
    return session.result(
        "story",
        {
            "board": board.id,
            "pictures": pictures_of(board),
            "rows": rows[::-1],
            "heads": sorted(session.book.heads()),
        },
    )


def glance(session: Session) -> Result:
    """The book without checking it: entries, pens, heads, where it lies."""
    book = session.book
    with book.reading() as reader:
        count = reader.last_n()
        heads = [h[0] for h in reader.heads()]
    history = read_history(session)
    data = {
        "book": book.name,
        "entries": count,
        "heads": heads,
        "boards": len(history.boards),
        "runs": sum(len(b.runs) for b in history.boards.values()),
        "unreadable": list(history.unreadable),
    }
    marks = [note("left_over", text) for text in book.leftovers]
    return session.result("book", data, marks)


def main_workload(board: BoardView) -> str | None:
    """The workload that this board finished most often."""
    counts = Counter(r.run.workload for r in board.runs if r.run.readings and r.run.workload)
    return max(sorted(counts), key=lambda n: counts[n]) if counts else None


def ailing(board: BoardView) -> bool:
    """Whether the last word on this board is that it does not start, or a test of why."""
    if not board.runs:
        return any(f.finding.startswith("test:") for f in board.findings)
    return board.runs[-1].run.outcome.rung <= Outcome.NO_START.rung


def _sealed_here(board: BoardView, workload: str | None) -> dict[str, Any] | None:
    """The last forecast sealed for the state as set, with the run that answered it."""
    fitting = [f for f in board.forecasts if same_state(f.body.state, board.setup.state)]
    if not fitting:
        return None
    sealed = fitting[-1]
    answers = _answers(board, sealed)
    expected = sorted(sealed.body.expected, key=lambda e: (e.workload != workload, e.median is None))
    return {
        "entry": sealed.entry,
        "number": sealed.body.number,
        "when": sealed.when,
        "seen_result": sealed.body.seen_result,
        "workloads": [expected_view(e) | {"came": answers.get(e.workload)} for e in expected],
        "hold": sealed.body.chance.hold,
        "why": sealed.body.chance.why,
    }


def _answers(board: BoardView, sealed: ForecastView) -> dict[str, dict[str, Any]]:
    """First run of each workload in the sealed state since then."""
    out: dict[str, dict[str, Any]] = {}
    for run in board.runs:
        name = run.run.workload
        if name is None or name in out or run.when < sealed.when:
            continue
        if run.run.readings and same_state(run.setup.state, sealed.body.state):
            out[name] = {"number": run.run.number, "score": score_of(run.run)}
    return out


def _record(history: History, board: BoardView, workload: str | None) -> dict[str, Any] | None:
    """The best score of a state that standings would not leave out."""
    from leadoff.loop.ledger import in_the_running

    if workload is None:
        return None
    scored = [r for r in in_the_running(board) if r.run.workload == workload and r.run.readings]
    if not scored:
        return None
    lower = history.workloads[workload].direction.value == "lower"
    best = (min if lower else max)(
        scored, key=lambda r: sum(m.value for m in r.run.readings) / len(r.run.readings)
    )
    return {
        "number": best.run.number,
        "workload": workload,
        "score": score_of(best.run),
        "flags": list(best.run.flags),
        "when": best.when,
    }


def _last_good(board: BoardView) -> dict[str, Any] | None:
    """The latest run that held in another state than the one set now."""
    for run in reversed(board.runs):
        if run.run.outcome.held:
            if same_state(run.setup.state, board.setup.state):
                return None
            return {"number": run.run.number, "when": run.when, "what": _short(run)}
    return None


def _short(run: RunView) -> str:
    said = []
    for name in ("core_mhz", "bus_mhz"):
        mhz = run.setup.clocks.get(name)
        if mhz is not None:
            said.append(f"{name.removesuffix('_mhz')} {float(mhz):.4g} MHz")
    return ", ".join(said)


def _needs(board: BoardView) -> dict[str, str]:
    """What the book alone says comes next on a board; the plan itself is asked for apart, it takes longer."""
    if ailing(board):
        return {"kind": "test", "what": "find out why it is ailing"}
    if not board.runs:
        return {"kind": "run", "what": "a first run of anything that can be timed"}
    if board.open_symptoms:
        return {"kind": "retest", "what": f"see again: {board.open_symptoms[0].finding}"}
    sealed = [f for f in board.forecasts if same_state(f.body.state, board.setup.state)]
    if sealed and not _answers(board, sealed[-1]):
        return {"kind": "run", "what": f"run what {sealed[-1].body.number} foretold"}
    unknown = to_look_up(board.setup)
    if unknown:
        return {"kind": "read", "what": f"look up: {', '.join(unknown[:3])}"}
    return {"kind": "run", "what": "ask what now"}


def _of(body: dict[str, Any]) -> str:
    """The board an entry's body is about."""
    for at in ("run", "state", "sheet"):
        inner = body.get(at)
        if isinstance(inner, dict):
            return str(inner.get("board") or inner.get("id", ""))
    subject = str(body.get("subject", ""))
    return subject.removeprefix("board:") if subject.startswith("board:") else str(body.get("board", ""))


def _told(kind: str, body: dict[str, Any], number: str) -> tuple[str, str]:
    """What kind of thing happened, and the words it was said in."""
    said = str(body.get("said", ""))
    if kind == "run":
        return f"run {number}", said
    if kind == "forecast":
        return f"forecast {body['number']} sealed", ", ".join(_foretold(body["expected"]))
    if kind == "finding":
        return "gone" if body.get("closed") else "seen", said or f"{body['finding']} {body.get('detail', '')}"
    if kind == "mark":
        return {"film": "film mark", "photo": "photo"}.get(str(body["what"]), "note"), said
    if kind == "board":
        return "sheet", "the board's sheet was read"
    if kind == "fact":
        return "measured", said or str(body["name"])
    return "moved", said or "; ".join(m["what"] for m in body.get("moves", ()))


def _foretold(expected: list[dict[str, Any]]) -> list[str]:
    return [
        f"{e['workload']} {e['median']:.4g} {e['unit']}" for e in expected if e.get("median") is not None
    ][:3]
