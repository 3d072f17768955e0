"""An evening's list: which states to run one after the other within given minutes, and in what order.

What a list is worth is the best of its states that holds, on average over draws of the limits and of the gains that
the runs so far leave open: two states behind the same clock stand or fall together, so the second of them adds
little; two settings that were never tried may each bring what nobody expects. States are added while they are worth
their minutes, then put in the order that brings most gain soonest.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import msgspec
import numpy as np
from numpy.typing import NDArray

from leadoff.plan.worth import plan_values

Between = Callable[[str, str], float]
"""Minutes of a changeover from one candidate to another; the empty name is the board as it is set now."""


class Option(msgspec.Struct, frozen=True, kw_only=True):
    """A state that a list may hold. ``minutes``: one run of the workload, without the changeover; ``chance`` to hold
    that run, ``steady`` to hold a soak as well."""

    candidate: str
    gain_pct: float
    chance: float
    steady: float
    minutes: float


class Stage(msgspec.Struct, frozen=True, kw_only=True):
    """One state of the list. ``at`` and ``until`` are minutes since the start when nothing fails; ``adds_pct`` is
    what it adds to the list on average. ``not_if_fails``: later states that can then hardly hold; ``not_if_holds``:
    later ones that could then hardly gain more."""

    candidate: str
    change_minutes: float
    at: float
    until: float
    chance: float
    gain_pct: float
    adds_pct: float
    worth_per_minute: float
    not_if_fails: tuple[str, ...] = ()
    not_if_holds: tuple[str, ...] = ()


class Route(msgspec.Struct, frozen=True, kw_only=True):
    """The list. ``minutes``: of all stages, failures by their chance included; ``gain_pct``: what it brings on
    average; ``left_out``: states worth their time that did not fit."""

    stages: tuple[Stage, ...]
    minutes: float
    gain_pct: float
    left_out: int = 0


def route(
    options: Sequence[Option],
    holds: NDArray[np.bool_],
    gains: NDArray[np.float64],
    between: Between,
    *,
    minutes: float,
    failure: float,
    least: float | None = None,
) -> Route:
    """Put together a list for ``minutes``. ``holds`` (a soak) and ``gains``, in percent: (options, draws);
    ``failure``: minutes of one failure; ``least``: percent of score a minute that a state must add, by default that
    of the stop rule."""
    floor = plan_values()["stop_pct_per_minute"] if least is None else least
    # Draws leave out that any run may fail for no reason: the chance has that in it.
    reach = np.array([o.steady for o in options]) / np.maximum(holds.mean(axis=1), 1e-9)
    shown = np.where(gains > plan_values()["seen_gain_pct"], gains, 0.0)
    brings = shown * holds * np.minimum(reach, 1.0)[:, None]
    run = np.array([o.minutes + (1.0 - o.chance) * failure for o in options])
    names = [o.candidate for o in options]
    order: list[int] = []
    best = np.zeros(holds.shape[1])
    left_out: set[int] = set()
    while len(order) < len(options):
        spent = _minutes(order, names, run, between)
        found: tuple[float, int, int] | None = None
        left_out = set()
        for k in range(len(options)):
            adds = 0.0 if k in order else float(np.maximum(brings[k] - best, 0.0).mean())
            if adds <= 0.0:
                continue
            at, more = _cheapest_place(k, order, names, between)
            cost = more + float(run[k])
            if adds / cost < floor:
                continue
            if spent + cost > minutes:
                left_out.add(k)
            elif found is None or adds / cost > found[0]:
                found = (adds / cost, k, at)
        if found is None:
            break
        order.insert(found[2], found[1])
        best = np.maximum(best, brings[found[1]])
    order = _sooner(order, names, run, between, brings, minutes)
    return Route(
        stages=_stages(order, options, holds, gains, brings, run, names, between),
        minutes=_minutes(order, names, run, between),
        gain_pct=float(best.mean()),
        left_out=len(left_out),
    )


def _minutes(order: Sequence[int], names: Sequence[str], run: NDArray[np.float64], between: Between) -> float:
    way = ["", *(names[k] for k in order)]
    return sum(between(a, b) for a, b in pairwise(way)) + float(sum(run[k] for k in order))


def _cheapest_place(
    k: int, order: Sequence[int], names: Sequence[str], between: Between
) -> tuple[int, float]:
    """Where in the list a state costs least, and how many minutes of changeover it adds there."""
    way = ["", *(names[j] for j in order)]
    costs = []
    for at in range(len(order) + 1):
        before, after = way[at], way[at + 1] if at + 1 < len(way) else None
        more = between(before, names[k])
        if after is not None:
            more += between(names[k], after) - between(before, after)
        costs.append((more, -at))
    more, at = min(costs)
    return -at, more


def _sooner(
    order: list[int],
    names: Sequence[str],
    run: NDArray[np.float64],
    between: Between,
    brings: NDArray[np.float64],
    minutes: float,
) -> list[int]:
    """The same states with most gain soonest: neighbours and ends change places while that helps."""

    def soon(of: Sequence[int]) -> float:
        best, at, out, before = np.zeros(brings.shape[1]), 0.0, 0.0, ""
        for k in of:
            at += between(before, names[k]) + float(run[k])
            before = names[k]
            higher = np.maximum(best, brings[k])
            out += float((higher - best).mean()) * max(0.0, minutes - at)
            best = higher
        return out

    value = soon(order)
    for _ in range(3):
        moved = False
        for i in range(len(order)):
            for j in range(len(order)):
                if i == j:
                    continue
                tried = [k for n, k in enumerate(order) if n != i]
                tried.insert(j, order[i])
                if (new := soon(tried)) > value + 1e-9 and _minutes(tried, names, run, between) <= minutes:
                    order, value, moved = tried, new, True
        if not moved:
            break
    return order


def _stages(
    order: Sequence[int],
    options: Sequence[Option],
    holds: NDArray[np.bool_],
    gains: NDArray[np.float64],
    brings: NDArray[np.float64],
    run: NDArray[np.float64],
    names: Sequence[str],
    between: Between,
) -> tuple[Stage, ...]:
    out, at, before, best = [], 0.0, "", np.zeros(holds.shape[1])
    for n, k in enumerate(order):
        change = between(before, names[k])
        adds = float(np.maximum(brings[k] - best, 0.0).mean())
        best = np.maximum(best, brings[k])
        later = order[n + 1 :]
        after_failure = {j: _mean(brings[j], ~holds[k]) for j in later}
        after_success = {j: _mean(np.maximum(brings[j] - gains[k], 0.0), holds[k]) for j in later}
        out.append(
            Stage(
                candidate=names[k],
                change_minutes=change,
                at=at,
                until=at + change + options[k].minutes,
                chance=options[k].chance,
                gain_pct=options[k].gain_pct,
                adds_pct=adds,
                worth_per_minute=adds / (change + float(run[k])),
                not_if_fails=tuple(names[j] for j in later if _idle(after_failure[j], brings[j])),
                not_if_holds=tuple(names[j] for j in later if _idle(after_success[j], brings[j])),
            )
        )
        at += change + options[k].minutes
        before = names[k]
    return tuple(out)


def _mean(of: NDArray[np.float64], where: NDArray[np.bool_]) -> float:
    """Mean over some draws; without any of them nothing has changed."""
    return float(of[where].mean()) if where.any() else float(of.mean())


def _idle(left: float, brings: NDArray[np.float64]) -> bool:
    """Whether a result takes so much of what a later state could bring that it is not worth its place any more."""
    return left < min(plan_values()["skip_pct"], 0.5 * float(brings.mean()))
