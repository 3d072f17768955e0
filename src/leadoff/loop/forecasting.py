"""The verbs ``forecast`` and ``why``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from leadoff.forecast.facts import Question
from leadoff.loop.context import context_for, understand
from leadoff.loop.describing import described
from leadoff.loop.disputing import in_dispute
from leadoff.loop.history import BoardView, History, RunView, read_history
from leadoff.loop.judging import judged, warnings
from leadoff.loop.moving import route, route_marks
from leadoff.loop.refusal import refused
from leadoff.loop.session import Session
from leadoff.loop.views import expected_view, moves_view, setup_view
from leadoff.machine.moves import moves_for, total_minutes
from leadoff.machine.reach import Reach, Want
from leadoff.machine.same import same_state
from leadoff.record.entries import Chance, ForecastBody, GuessBody
from leadoff.record.errors import LeadoffError
from leadoff.record.marks import Level, Mark
from leadoff.record.phrases import ScorePhrase, Verb
from leadoff.record.quantity import Quantity, Source, unknown
from leadoff.record.results import Result, mark, note

if TYPE_CHECKING:
    from leadoff.forecast.why import Why
    from leadoff.record.runs import Workload


def forecast(
    session: Session,
    name: str,
    *,
    want: str | None = None,
    seal: bool = True,
    guess: str | None = None,
    model: str = "best",
    everything: bool = False,
) -> Result:
    """What a state will do, sealed as an entry before it is tried.

    ``data["workloads"]`` has the board's own workloads first; ``run_here`` says which have a score of this board.
    ``data["time_split"]``: by workload the parts of the time of one unit of work (percent, with a 90 % band), what
    ``show.charts.time_split`` draws. ``everything`` only tells the words to print workloads that were never run on
    this board too.
    """
    from leadoff.forecast.geometry import range_words
    from leadoff.forecast.hold import hold
    from leadoff.forecast.predict import forecast as predict

    history = read_history(session)
    board = history.board(name)
    asked = described(session, history, board, want)
    setup, way = asked.imagined, asked.way
    if way is not None and not way.reachable:
        return refused(session, "forecast", board, asked.wants, way, {"state": None, "workloads": []})
    own = {r.run.workload for r in board.runs if r.run.readings}
    ordered = sorted(history.workloads.values(), key=lambda w: w.name not in own)
    question = Question(target=setup, workloads=tuple(ordered), runs=history.all_runs())
    made = predict(question, model=model, cache_dir=session.cache)
    held = hold(setup, question.runs)
    lines = judged(session, setup)
    marks = [*_route_marks(board, way), *warnings(lines), *_basis_marks(made, history)]
    marks += in_dispute(session, board)
    if beyond := range_words(setup):
        marks.append(note("beyond_cache", beyond))
    body = ForecastBody(
        number=f"f{sum(len(b.forecasts) for b in history.boards.values()) + 1}",
        state=setup.state,
        basis=made.basis,
        model=made.model,
        catalogue=session.catalogue.digest,
        expected=made.expected,
        chance=held.chance,
        seen_result=any(same_state(r.setup.state, setup.state) for r in board.runs),
    )
    if body.seen_result:
        marks.append(note("result_seen", "this state has runs already: marked as made with the result seen"))
    moves = moves_for(way.changes, board.fold.sheet) if way is not None else ()
    data: dict[str, Any] = {
        "board": board.id,
        "state": setup_view(setup),
        "entry": None,
        "number": body.number if seal else None,
        "basis": made.basis,
        "model": made.model,
        "workloads": [{**expected_view(e), "run_here": e.workload in own} for e in made.expected],
        "everything": everything or not own,
        "time_split": {
            name: [{"part": p.part, "pct": p.pct, "lo": p.lo, "hi": p.hi} for p in parts]
            for name, parts in made.time_split.items()
        },
        "families": {
            name: [{"family": f.family, "odds": f.odds, "before": f.before} for f in odds]
            for name, odds in made.families.items()
        },
        "bound_noise_pct": dict(made.bound_noise),
        "chance": chance_view(held.chance),
        "paths": [{"path": p.path, "hold": p.hold, "why": p.why} for p in held.paths],
        "best_first_run": made.best_first_run,
        "widened_by": [
            {"setting": w.setting, "pct": w.pct, "workload": w.workload, "reading": w.reading}
            for w in made.widened_by
        ],
        "taught": made.taught,
        "moves": moves_view(moves),
        "minutes": total_minutes(moves),
    }
    if seal:
        bodies = [body, *_guess(board, guess, history)]
        data["entry"] = session.write(*bodies)[0].id
    return session.result("forecast", data, marks)


def _route_marks(board: BoardView, way: Reach | None) -> list[Mark]:
    return route_marks(board, way) if way is not None else []


def _basis_marks(made: Any, history: History) -> list[Mark]:
    marks = []
    if not history.workloads:
        marks.append(
            mark(
                Level.AMBER,
                "no_workload",
                "the book knows no workload yet: no score can be forecast. Log a first run of anything you time",
            )
        )
    elif made.basis == "family":
        marks.append(
            mark(Level.AMBER, "no_runs", "no runs of this board: physics and family only, the band is wide")
        )
    return marks


def _guess(board: BoardView, guess: str | None, history: History) -> list[GuessBody]:
    """The user's own guess, beside the tool's: ``w2 24.5``."""
    if guess is None:
        return []
    said = understand(guess, context_for(board, history, Verb.LOG))
    out = [
        GuessBody(board=board.id, workload=p.workload or "", value=p.readings[0].value, said=guess)
        for p in said.phrases
        if isinstance(p, ScorePhrase) and p.readings
    ]
    if not out:
        raise LeadoffError.one("ask", f'"{guess}" is no guess', where=guess, do="write it as w2 24.5")
    return out


def chance_view(chance: Chance) -> dict[str, Quantity]:
    """Chances as quantities."""
    return {
        "start": _chance(chance.start, chance.why),
        "boot": _chance(chance.boot, chance.why),
        "hold": _chance(chance.hold, chance.why),
    }


def _chance(value: float | None, why: str) -> Quantity:
    if value is None:
        return unknown("", why or "nothing known")
    return Quantity(value=value, unit="", source=Source.COMPUTED, why=why)


def explained(session: Session, history: History, a: RunView, b: RunView, workload: Workload) -> Why:
    """What makes the difference of two scores of one workload, with all that the book knows."""
    from leadoff.forecast.explain import why as explain

    return explain(
        a.observed(),
        b.observed(),
        workload,
        history.all_runs(),
        workloads=tuple(history.workloads.values()),
        cache_dir=session.cache,
    )


def why(session: Session, first: str, second: str) -> Result:
    """Where the difference of two runs comes from, and what cannot be told."""
    history = read_history(session)
    a, b = history.run(first), history.run(second)
    if a.run.workload != b.run.workload or a.run.workload is None or not a.run.readings or not b.run.readings:
        raise LeadoffError.one(
            "not_comparable",
            f"run {a.run.number} is {_what(a.run)} and run {b.run.number} is {_what(b.run)}: "
            "only two scores of one workload have a difference",
            where=f"{first} {second}",
            do="name two finished runs of the same workload",
        )
    workload = history.workloads[a.run.workload]
    found = explained(session, history, a, b, workload)
    c = found.comparison
    return session.result(
        "why",
        {
            "runs": [a.run.number, b.run.number],
            "workload": workload.name,
            "difference": c.difference,
            "ratio_pct": c.ratio_pct,
            "p95": list(c.p95),
            "runs_each": c.runs_each,
            "verdict": c.verdict,
            "possible_pct": c.possible_pct,
            "factors": [{"factor": f.factor, "share": f.share, "verdict": f.verdict} for f in found.factors],
            "cannot_tell": [
                {"factors": list(g.factors), "because": g.because, "sum": g.total} for g in found.cannot_tell
            ],
            "remainder_pct": found.remainder_pct,
            "cheapest_run": _cheapest(session, history, b.run.board, found.cheapest_run),
            "advice": [*c.advice, *found.hints],
            "open_symptoms": [
                {"board": name, "finding": x.finding, "detail": x.detail, "entry": x.entry}
                for name in dict.fromkeys(r.run.board for r in (a, b))
                for x in history.board(name).open_symptoms
            ],
        },
    )


def _what(run: Any) -> str:
    if not run.readings:
        return f"a run that ended as {run.outcome.value}"
    return f"a run of {run.workload}"


def _cheapest(session: Session, history: History, board_id: str, run: Any) -> dict[str, Any] | None:
    """The separating run with its exact moves from the board as it is set now."""
    if run is None:
        return None
    board = history.board(board_id)
    wants = tuple(Want(name=n, value=v) for n, v in sorted(run.settings.items()))
    way = route(session, board, wants)
    moves = moves_for(way.changes, board.fold.sheet) if way.reachable else ()
    return {
        "settings": dict(run.settings),
        "moves": moves_view(moves),
        "minutes": total_minutes(moves) if way.reachable and moves else run.minutes,
        "reachable": way.reachable,
        "why": run.why,
    }
