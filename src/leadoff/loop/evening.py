"""An evening's list: what to run one after the other within given minutes, for a goal, with the exact moves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from leadoff.claims.grade import ORDER
from leadoff.loop.closing import closing_steps, confirm_steps, lacking
from leadoff.loop.elsewhere import elsewhere
from leadoff.loop.history import BoardView, History
from leadoff.loop.planning import Found, act_view, said_against, what_changes
from leadoff.loop.session import Session
from leadoff.loop.steps import cause_steps, symptom_steps, timed
from leadoff.loop.views import moves_view
from leadoff.machine.moves import moves_for, total_minutes
from leadoff.machine.prices import minutes as price
from leadoff.plan.draws import drawn_gains, gain_of
from leadoff.plan.now import Act, Plan
from leadoff.plan.route import Option, Route, route
from leadoff.plan.worth import plan_values, steady_attempts
from leadoff.record.errors import LeadoffError
from leadoff.record.moves import Change, Move
from leadoff.record.runs import Workload

GOALS: Mapping[str, str] = {
    "fast": "the fastest",
    "safe": "the fastest that nothing speaks against",
    "cause": "what caused the last difference",
    "record": "the record made sure",
    "symptoms": "open symptoms looked for again",
}


NOTED = "what you noted"


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """A goal (see ``GOALS``), the minutes there are, and the grade that the best state is to reach."""

    goal: str = "fast"
    minutes: float = 120.0
    grade: str | None = None

    def least(self) -> str:
        """The grade: as asked, else repeats for the fastest, soaked where it is to be safe or sure."""
        if self.grade is None:
            return "soaked" if self.goal in ("safe", "record") else "repeats"
        if self.grade not in ORDER:
            raise LeadoffError.one(
                "grade_unknown",
                f'"{self.grade}" is no grade; grades: {", ".join(ORDER)}',
                where=self.grade,
                do="name one of these",
            )
        return self.grade


def evening(
    session: Session,
    history: History,
    board: BoardView,
    workloads: tuple[Workload, ...],
    found: Mapping[str, Found],
    plan: Plan,
    asked: Asked,
) -> dict[str, Any]:
    """The list as data: steps with moves, what it brings, and when to go over to another board."""
    least = asked.least()
    if asked.goal == "symptoms":
        steps = symptom_steps(board)
        stop = "when each was seen again or is gone" if steps else "no symptom of this board is open"
        return _view(asked, least, timed(steps, asked.minutes), 0.0, stop, None)
    if asked.goal == "cause":
        steps, stop = cause_steps(session, history, board, workloads)
        return _view(asked, least, timed(steps, asked.minutes), 0.0, stop, None)
    if asked.goal == "record":
        steps, stop = confirm_steps(session, history, board, workloads, least)
        return _view(asked, least, timed(steps, asked.minutes), 0.0, stop, None)
    closing = closing_steps(board, workloads[0], least)
    reserved = sum(s["minutes"] for s in closing)
    room = asked.minutes - reserved
    fits = room >= 2.0 * price("run")
    floor = "soak" if closing and lacking(board, workloads[0], least) else "soaked"
    found_route, acts = _route(
        session,
        history,
        board,
        workloads,
        found,
        plan,
        asked,
        room if fits else asked.minutes,
        plan_values()[f"{floor}_pct_per_minute"],
    )
    if asked.goal == "safe" and not found_route.stages:
        steps, stop = _safest(session, history, board, workloads, found, plan, least)
        return _view(asked, least, timed(steps, asked.minutes), 0.0, stop, None)
    other = elsewhere(session, history, board, workloads)
    tests = _tests_first(board, found, plan)
    if floor == "soak" and not found_route.stages and not tests:
        steps, stop = confirm_steps(session, history, board, workloads, least)
        if steps:
            stop += "; what is left to try is worth less than that: ask again afterwards"
            if other is not None:
                stop += f". {other['board']}: about {other['pct_per_hour']:.1f} % in its first hour"
            return _view(asked, least, timed(steps, asked.minutes), 0.0, stop, other)
    steps = tests + _steps(board, found, acts, found_route)
    if steps and fits:
        steps += closing
    stop = _stop(found_route, other, plan.stop)
    if steps and not fits and closing:
        stop += f". The {asked.minutes:g} minutes do not hold what {least} takes ({reserved:g} min): another evening"
    return _view(asked, least, timed(steps, None), found_route.gain_pct, stop, other)


def without_runs(board: BoardView, asked: Asked) -> dict[str, Any]:
    """The list of a book in which nothing was ever timed."""
    steps = timed(symptom_steps(board) if asked.goal == "symptoms" else [], asked.minutes)
    return _view(asked, asked.least(), steps, 0.0, "log a first run of anything you time", None)


def _route(
    session: Session,
    history: History,
    board: BoardView,
    workloads: tuple[Workload, ...],
    found: Mapping[str, Found],
    plan: Plan,
    asked: Asked,
    room: float,
    floor: float,
) -> tuple[Route, dict[str, Act]]:
    from leadoff.forecast.hold import belief

    acts = {a.candidate: a for a in plan.acts if a.kind == "run" and a.candidate and not a.red}
    acts = {k: a for k, a in acts.items() if a.chance_hold.value is not None}
    if asked.goal == "safe":
        safe = plan_values()["safe_chance"]
        acts = {
            k: a for k, a in acts.items() if (a.chance_hold.value or 0.0) >= safe and not a.beyond_ceiling
        }
    known = belief(board.setup, history.all_runs())
    steady = steady_attempts()
    options = [
        Option(
            candidate=k,
            gain_pct=gain_of(a),
            chance=a.chance_hold.value or 0.0,
            steady=known.chance(found[k].setup, steady) or 0.0,
            minutes=a.minutes - total_minutes(found[k].moves),
        )
        for k, a in acts.items()
    ]
    if not options:
        return Route(stages=(), minutes=0.0, gain_pct=0.0), {}
    setups = [found[o.candidate].setup for o in options]
    holds = known.together(setups, attempts=steady)
    gains = drawn_gains(
        list(acts.values()),
        setups,
        workloads,
        history.all_runs(),
        draws=holds.shape[1],
        cache_dir=session.cache,
    )
    costs: dict[tuple[str, str], float] = {}

    def between(a: str, b: str) -> float:
        if (a, b) not in costs:
            costs[(a, b)] = total_minutes(way(board, found, a, b))
        return costs[(a, b)]

    made = route(options, holds, gains, between, minutes=room, failure=price("failure"), least=floor)
    return made, acts


def _safest(
    session: Session,
    history: History,
    board: BoardView,
    workloads: tuple[Workload, ...],
    found: Mapping[str, Found],
    plan: Plan,
    least: str,
) -> tuple[list[dict[str, Any]], str]:
    """Nothing safe gains: the best state that nothing speaks against is brought to the grade, and what came nearest
    is named with what speaks against it."""
    steps, stop = confirm_steps(
        session,
        history,
        board,
        workloads,
        least,
        lambda r: not said_against(session, r.setup, safe=True),
    )
    seen = plan_values()["seen_gain_pct"]
    near = max((a for a in plan.acts if a.kind == "run" and a.gain_pct >= seen), key=_nearness, default=None)
    if near is None:
        return steps, f"no state that can be set here is faster. {stop}"
    warned = near.cautions[0].split(". ")[0].split(" (this limit")[0] if near.red else ""
    against = warned or f"holds with {100.0 * (near.chance_hold.value or 0.0):.0f} %"
    return steps, (
        f"no faster state is free of warnings and likely to hold. Nearest: "
        f"{what_changes(board, found[near.candidate].setup)}, "
        f"{near.gain_pct:+.1f} %, but {against}. {stop}"
    )


def _nearness(act: Act) -> tuple[bool, float]:
    return not act.red, act.worth_per_minute


def way(board: BoardView, found: Mapping[str, Found], a: str, b: str) -> tuple[Move, ...]:
    """The moves from one state of the list to another; where a position was not known, back to what was noted."""
    at = {c.name: c.after for c in found[a].changes}
    to = {c.name: c.after for c in found[b].changes}
    base = board.setup.state
    changes = []
    for name in dict.fromkeys((*to, *at)):
        stood = base.value(name)
        before, after = at.get(name, stood), to.get(name, stood if name not in at else stood or NOTED)
        if before != after:
            changes.append(Change(name=name, before=before, after=after))
    return moves_for(changes, board.fold.sheet)


def _tests_first(board: BoardView, found: Mapping[str, Found], plan: Plan) -> list[dict[str, Any]]:
    """A reading that is worth more than any run comes before the list."""
    first = next(iter(plan.acts), None)
    if first is None or first.kind != "test":
        return []
    return [{**act_view(board, found, first), "what": first.why, "if_fails": "", "if_holds": ""}]


def _steps(
    board: BoardView, found: Mapping[str, Found], acts: Mapping[str, Act], made: Route
) -> list[dict[str, Any]]:
    out: list[dict[str, Any]] = []
    number = {s.candidate: n + 1 for n, s in enumerate(made.stages)}
    before = ""
    noted: set[str] = set()
    for stage in made.stages:
        act = acts[stage.candidate]
        names = [c.name for c in found[stage.candidate].changes if board.setup.state.value(c.name) is None]
        fresh = [n for n in names if n not in noted]
        noted.update(fresh)
        view = act_view(board, found, act)
        dead = [number[k] for k in stage.not_if_fails]
        done = [number[k] for k in stage.not_if_holds]
        out.append(
            {
                **view,
                "cautions": [*view["cautions"], *(f"note first how {n} stands: not known" for n in fresh)],
                "moves": moves_view(way(board, found, before, stage.candidate)),
                "minutes": stage.until - stage.at,
                "worth_per_minute": stage.worth_per_minute,
                "adds_pct": stage.adds_pct,
                "if_fails": "log it and ask again" if dead else "",
                "if_holds": "log it and ask again" if done else "",
                "not_if_fails": dead,
                "not_if_holds": done,
            }
        )
        before = stage.candidate
    return out


def _stop(made: Route, other: Mapping[str, Any] | None, why: str) -> str:
    if not made.stages:
        here = "nothing on this board is worth its minutes: " + why.removeprefix("stop: ")
        if other is not None:
            return f"{here}. {other['board']}: about {other['pct_per_hour']:.1f} % in its first hour"
        return here
    hours = [60.0 * s.worth_per_minute for s in made.stages]
    if other is None:
        return f"an hour here is worth {hours[0]:.1f} % at first, {hours[-1]:.1f} % at the end"
    there = other["pct_per_hour"]
    after = next((n for n in range(1, len(hours)) if max(hours[n:]) < there), None)
    said = f"an hour here is worth {hours[0]:.1f} % at first; {other['board']}: {there:.1f} %"
    if max(hours) < there:
        return f"{said}: that board first"
    if after is None:
        return f"{said}, {hours[-1]:.1f} % here at the end: stay"
    return f"{said}: after run {after} go over to it"


def _view(
    asked: Asked,
    least: str,
    steps: Sequence[Mapping[str, Any]],
    gain: float,
    stop: str,
    other: Mapping[str, Any] | None,
) -> dict[str, Any]:
    return {
        "goal": asked.goal,
        "goal_said": GOALS[asked.goal],
        "grade": least,
        "minutes_given": asked.minutes,
        "minutes": sum(s["minutes"] for s in steps),
        "power_offs": sum(any(m["power_off"] for m in s["moves"]) for s in steps),
        "gain_pct": gain,
        "steps": list(steps),
        "stop": stop,
        "other_board": other,
    }
