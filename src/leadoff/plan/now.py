"""What now: the next run or test for a person at the bench, by what it is worth per minute.

Worth of a run = mean gain over the record so far x chance to hold (a soak: what cannot last is no gain) / minutes,
with the minutes of a failure counted by its chance. A prototype found look-ahead and expected improvement no better
than this (leadoff design notes, section 5). Nothing is left out but what the wiring refuses; the rest is marked.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple, TypeVar

import msgspec

from leadoff.forecast import scale
from leadoff.forecast.datum import Datum, data, differing
from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.hold import Belief, Hold, belief
from leadoff.forecast.predict import Rough, forecast_many, rough_log_times
from leadoff.machine.prices import minutes as price
from leadoff.plan.records import record_states, untold_of
from leadoff.plan.worth import expected_gain, plan_values, steady_attempts
from leadoff.record.entries import Expected
from leadoff.record.moves import Move
from leadoff.record.quantity import Quantity, Source
from leadoff.record.runs import Workload

T = TypeVar("T")


class Candidate(msgspec.Struct, frozen=True, kw_only=True):
    """A state that could be set next, with the way there. ``red``: why a careful person would not (or left to
    the ``judge`` of ``now``)."""

    id: str
    setup: Setup
    moves: tuple[Move, ...] = ()
    minutes: float = 0.0
    refused: bool = False
    red: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


class Act(msgspec.Struct, frozen=True, kw_only=True):
    """One act. ``minutes`` are changeover and run; ``gain_pct`` of the median, ``mean_gain_pct`` of the mean, which
    lies elsewhere where a setting is not known; ``gain_sd_pct`` how sure it is, a standard deviation; ``hoped_pct``
    what a run would show of it on average; ``worth_per_minute`` is percent of score per minute."""

    kind: str
    candidate: str
    workload: str
    moves: tuple[Move, ...]
    minutes: float
    chance_hold: Quantity
    predicted: Expected | None
    gain_pct: float
    mean_gain_pct: float = 0.0
    gain_sd_pct: float = 0.0
    hoped_pct: float = 0.0
    worth_per_minute: float
    why: str
    cautions: tuple[str, ...] = ()
    beyond_ceiling: bool = False
    red: bool = False


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """Acts in order of worth, and when to stop, in words. ``record``: best score so far by workload."""

    acts: tuple[Act, ...]
    stop: str
    record: Mapping[str, float] = {}


def now(
    candidates: Sequence[Candidate],
    runs: tuple[Observed, ...],
    workloads: Sequence[Workload],
    *,
    limit: int = 8,
    model: str = "best",
    cache_dir: Path | None = None,
    judge: Callable[[Setup], tuple[str, ...]] | None = None,
    readings: bool = True,
    counts: Callable[[Setup], bool] | None = None,
) -> Plan:
    """Rank candidates of one board; ``readings``: with acts of kind test. ``judge``: gives the reds of a state, asked
    only of those that can come first, because judging costs more than ranking; ``counts``: whether a state may hold
    the record that the others are to beat. Refused states never appear; a red one
    comes after every other that gains; one beyond a known ceiling says so and comes where its chance puts it, for a
    failure has several possible culprits and only the chance knows how likely each is. When nothing clear is worth
    its minutes, a repeat of the best stands first and ``stop`` says so. All are put in order by expected score; only
    the best get their bands.
    """
    able = [c for c in candidates if not c.refused]
    if not able:
        return Plan(acts=(), stop="nothing else can be set on this board as it is wired and fitted")
    every = tuple(workloads)
    board = able[0].setup.board
    best_of = record_states(board, every, runs, counts)
    record = {n: d.printed for n, d in best_of.items()}
    known = belief(able[0].setup, runs)
    by_name = {w.name: w for w in every}
    if not record and (counts or not any(d.setup.board == board for w in every for d in data(w, runs))):
        first = [_first_run(c, known.hold(c.setup), every[0]) for c in able]
        first.sort(key=lambda a: (-a.worth_per_minute, a.minutes, a.candidate))
        by_id = {c.id: c for c in able}
        seen = _judged(((by_id[a.candidate], a) for a in first), judge, limit)
        first = [_first_run(c, known.hold(c.setup), every[0]) for c, _ in seen]
        first.sort(key=lambda a: (a.red, -a.worth_per_minute, a.minutes, a.candidate))
        return Plan(acts=tuple(first[:limit]), stop=stop_text(first, record), record=record)
    rough = _rough(able, every, runs, best_of, model, cache_dir)
    listed: list[tuple[tuple[float, float, str], Candidate, tuple[str, Rough]]] = []
    for candidate, told in zip(able, rough, strict=True):
        if told:
            odds = _chances(known, candidate.setup)
            best = max(
                (_worth(candidate, by_name[n], t, odds, record)[1], n) for n, t in sorted(told.items())
            )
            listed.append(((-best[0], candidate.minutes, candidate.id), candidate, (best[1], told[best[1]])))
    listed.sort(key=lambda x: x[0])
    # A few more than asked for: bands and exact medians may change places among neighbours.
    finalists = _judged(((c, n) for _, c, n in listed), judge, limit + 4)
    acts = _told(finalists, runs, every, known, record, model, cache_dir)
    order = sorted(acts, key=lambda a: (a.red, -a.worth_per_minute, a.minutes, a.candidate))
    by_id = {c.id: c for c, _ in finalists}
    order = _without_idle(order, by_id, able[0].setup)
    least, crumb = (plan_values()[f"{n}_pct_per_minute"] for n in ("stop", "soaked"))
    gaining = [
        a
        for a in order
        if a.gain_pct > 0.0 or a.workload not in record or (a.worth_per_minute >= crumb and a.candidate)
    ]
    if readings:
        gaining += _tests(able, runs, every, model, cache_dir)
    gaining.sort(key=lambda a: (a.red, -a.worth_per_minute, a.minutes, a.candidate))
    if not any(a.worth_per_minute >= least for a in gaining if not a.red):
        same = [a for a in acts if not a.red and a.gain_pct <= 0.0]
        gaining = [_repeat(a) for a in sorted(same, key=lambda a: (-a.gain_pct, a.minutes))[:1]] + gaining
    return Plan(acts=tuple(gaining[:limit]), stop=stop_text(acts, record), record=record)


def _rough(
    able: Sequence[Candidate],
    workloads: tuple[Workload, ...],
    runs: tuple[Observed, ...],
    best_of: Mapping[str, Datum],
    model: str,
    cache_dir: Path | None,
) -> list[dict[str, Rough]]:
    """All candidates for putting in order, with what the score model does not say of the spread of a difference."""
    setups, bases = [c.setup for c in able], {n: d.setup for n, d in best_of.items()}
    found = rough_log_times(setups, workloads, runs, bases=bases, model=model, cache_dir=cache_dir)
    more = {w.name: untold_of(w, setups[0].board, runs) for w in workloads}
    return [
        {
            n: t
            if t.gap is None
            else t._replace(
                gap=t.gap.widened(math.hypot(*(0.01 * p for _, p in more[n].between(s, bases[n]))))
            )
            for n, t in told.items()
        }
        for s, told in zip(setups, found, strict=True)
    ]


def _judged(
    found: Iterable[tuple[Candidate, T]], judge: Callable[[Setup], tuple[str, ...]] | None, enough: int
) -> list[tuple[Candidate, T]]:
    """The first of a list in order of worth, judged, until ``enough`` are clear; at most as many reds stay."""
    clear: list[tuple[Candidate, T]] = []
    red: list[tuple[Candidate, T]] = []
    for candidate, rest in found:
        if judge is not None and not candidate.red:
            candidate = msgspec.structs.replace(candidate, red=judge(candidate.setup))
        (red if candidate.red else clear).append((candidate, rest))
        if len(clear) >= enough:
            break
    return clear + red[:enough]


def _told(
    finalists: Sequence[tuple[Candidate, tuple[str, Rough]]],
    runs: tuple[Observed, ...],
    workloads: tuple[Workload, ...],
    known: Belief,
    record: Mapping[str, float],
    model: str,
    cache_dir: Path | None,
) -> list[Act]:
    """The finalists with their bands."""
    setups = [c.setup for c, _ in finalists]
    forecasts = forecast_many(setups, workloads, runs, model=model, cache_dir=cache_dir, details=False)
    by_name = {w.name: w for w in workloads}
    out = []
    for (candidate, (name, rough)), made in zip(finalists, forecasts, strict=True):
        e = next(e for e in made.expected if e.workload == name)
        if e.median is not None:
            out.append(_act(candidate, by_name[name], e, rough, known, record))
    return out


class _Odds(NamedTuple):
    """Chance to hold one run, and to hold a soak as well."""

    run: float
    steady: float


def _chances(known: Belief, setup: Setup) -> _Odds:
    return _Odds(*(known.chances(setup, 1.0, steady_attempts()) or (0.5, 0.5)))


def _worth(
    c: Candidate, workload: Workload, told: Rough, odds: _Odds, record: Mapping[str, float]
) -> tuple[float, float, float]:
    """Gain in percent, worth per minute, and minutes of one run of a candidate. A gain counts where it would last."""
    best = record.get(workload.name)
    gain = 0.0 if best is None else 100.0 * (scale.log_time(workload, best) - told.log_time)
    total = c.minutes + (workload.minutes or price("run"))
    hoped = 0.0 if best is None else expected_gain(gain, told.gap)
    return gain, hoped * odds.steady / (total + (1.0 - odds.run) * price("failure")), total


def _sd_pct(told: Rough) -> float:
    return plan_values()["told_sd_pct"] if told.gap is None else 100.0 * told.gap.whole_sd


def _without_idle(acts: Sequence[Act], by_id: Mapping[str, Candidate], base: Setup) -> list[Act]:
    """Without acts that only add to a better one a change that shows nowhere, with no fewer minutes; and without
    those that add nothing but the slower value of a setting that nobody knows: as it stands it is no slower."""
    least = plan_values()["printable_pct"]
    moved = {a.candidate: _moved(base, by_id[a.candidate].setup) for a in acts}
    kept: list[Act] = []
    for act in acts:
        mine = moved[act.candidate]
        less = [a for a in acts if a.workload == act.workload and moved[a.candidate] < mine]
        idle = any(
            a in kept
            and a.minutes <= act.minutes
            and a.red <= act.red
            and act.hoped_pct < a.hoped_pct + least
            for a in less
        )
        named = any(
            act.gain_pct < a.gain_pct
            and all(base.state.value(n) is None for n, _ in mine - moved[a.candidate])
            for a in less
        )
        if not idle and not named:
            kept.append(act)
    return kept


def _moved(base: Setup, setup: Setup) -> frozenset[tuple[str, str | None]]:
    settings = {(n, setup.state.value(n)) for n in differing(base, setup)}
    return frozenset(settings | {(n, str(v)) for n, v in setup.clocks.items() if v != base.clocks.get(n)})


def _repeat(act: Act) -> Act:
    """A run that gains nothing, kept because it makes the record surer."""
    why = f"nothing within reach is worth its minutes; a repeat makes what is known surer. {act.why}"
    return msgspec.structs.replace(act, why=why)


def _act(
    c: Candidate, workload: Workload, e: Expected, told: Rough, known: Belief, record: Mapping[str, float]
) -> Act:
    assert e.median is not None, "only defined forecasts come here"
    best = record.get(workload.name)
    odds = known.hold(c.setup)
    mean, worth, total = _worth(c, workload, told, _chances(known, c.setup), record)
    gain = mean + 100.0 * (told.log_time - scale.log_time(workload, e.median)) if best is not None else 0.0
    return Act(
        kind="run",
        candidate=c.id,
        workload=workload.name,
        moves=c.moves,
        minutes=total,
        chance_hold=_odds(odds),
        predicted=e,
        gain_pct=gain,
        mean_gain_pct=mean,
        gain_sd_pct=_sd_pct(told),
        hoped_pct=0.0 if best is None else expected_gain(mean, told.gap),
        worth_per_minute=worth,
        why=_why(e, gain, _sd_pct(told), odds, best),
        cautions=(*c.red, *c.cautions, *odds.beyond_ceiling),
        beyond_ceiling=bool(odds.beyond_ceiling),
        red=bool(c.red),
    )


def _first_run(c: Candidate, odds: Hold, workload: Workload) -> Act:
    """Without any run there is no level to gain on: the likeliest state to hold is the one to start with."""
    chance = odds.chance.hold if odds.chance.hold is not None else 0.5
    total = c.minutes + (workload.minutes or price("run"))
    return Act(
        kind="run",
        candidate=c.id,
        workload=workload.name,
        moves=c.moves,
        minutes=total,
        chance_hold=_odds(odds),
        predicted=None,
        gain_pct=0.0,
        worth_per_minute=chance / total,
        why=f"no runs yet: a first one fixes the level; {odds.chance.why}",
        cautions=(*c.red, *c.cautions, *odds.beyond_ceiling),
        beyond_ceiling=bool(odds.beyond_ceiling),
        red=bool(c.red),
    )


def _tests(
    able: Sequence[Candidate],
    runs: tuple[Observed, ...],
    workloads: tuple[Workload, ...],
    model: str,
    cache_dir: Path | None,
) -> list[Act]:
    """Readings that would name a setting nobody knows, where that is what widens the next band.

    A reading gains no score by itself: its worth is half the band it takes away from the best candidate,
    for as long as it takes (judgement), so it comes before a run only when the band is wide.
    """
    if model == "clocks" or not any(o.setup.board == able[0].setup.board for o in runs):
        return []
    told = forecast_many([able[0].setup], workloads, runs, model=model, cache_dir=cache_dir)[0]
    seen: dict[str, Act] = {}
    for w in told.widened_by:
        if w.pct < plan_values()["printable_pct"] or w.setting in seen:
            continue
        spent = plan_values()["test_minutes"]
        seen[w.setting] = Act(
            kind="test",
            candidate="",
            workload=w.workload,
            moves=(),
            minutes=spent,
            chance_hold=Quantity(
                value=None, unit="1", source=Source.UNDEFINED, why="a reading changes nothing"
            ),
            predicted=None,
            gain_pct=0.0,
            worth_per_minute=0.5 * w.pct / spent,
            why=f"{w.setting} is not known and widens the band by {w.pct:.1f} % of the score: {w.reading}",
        )
    return list(seen.values())


def _odds(odds: Hold) -> Quantity:
    if odds.chance.hold is None:
        return Quantity(value=None, unit="1", source=Source.UNKNOWN, why=odds.chance.why)
    return Quantity(value=odds.chance.hold, unit="1", source=Source.COMPUTED, why=odds.chance.why)


def _why(e: Expected, gain: float, sd: float, odds: Hold, best: float | None) -> str:
    if best is None:
        return f"no score of this workload on this board yet; {odds.chance.why}"
    word = "above" if gain >= 0.0 else "below"
    unsure = f", give or take {sd:.1f} %" if abs(gain) < sd else ""
    return (
        f"{abs(gain):.1f} % {word} the record of {best:.4g} {e.unit} if it holds{unsure}; {odds.chance.why}"
    )


def stop_text(acts: Sequence[Act], record: Mapping[str, float]) -> str:
    """When to stop, with the figures it rests on: what the best act brings on average, unsure gains included."""
    row = plan_values()
    if not record:
        return "no record yet: the first run comes before any question of stopping"
    good = [a for a in acts if not a.red]
    worth = max((a.worth_per_minute for a in good), default=0.0)
    gain = max((a.gain_pct for a in good), default=0.0)
    least, seen = row["stop_pct_per_minute"], row["seen_gain_pct"]
    if worth >= least:
        return (
            f"go on while an act is worth more than {least:g} % a minute; the best is now worth {worth:.3f}"
        )
    if gain >= seen:
        return f"stop: the best act is worth {worth:.3f} % a minute, less than {least:g}"
    warned = max((a for a in acts if a.red), key=lambda a: a.gain_pct, default=None)
    if warned is not None and warned.gain_pct >= seen:
        return (
            f"stop, unless you take the risk: every state expected more than {seen:g} % above the record "
            f"carries a red warning (up to {warned.gain_pct:+.1f} % if it holds)"
        )
    return (
        f"stop: no state within reach is expected more than {seen:g} % above the record, and what is unsure is "
        f"worth {worth:.3f} % a minute at most, less than {least:g}"
    )
