"""The fit of the whole book: joint mode for each misfit scale, annealed; unknown settings gone through.

Deterministic: runs are ordered by content, starts are fixed, nothing is drawn.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from msgspec.structs import astuple

from leadoff.forecast import noise
from leadoff.forecast.arrow import Arrow, joint_mode
from leadoff.forecast.datum import Datum, data
from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.geometry import FIELDS, Gap
from leadoff.forecast.layout import Columns, Index, Layout, generics, varying
from leadoff.forecast.normal import Vec
from leadoff.forecast.repeat import Repeatability, repeatability
from leadoff.forecast.solve import Problem, columns_by, evaluate, local_problem, newton
from leadoff.forecast.sweeps import demand_of, is_sweep, sweep_columns, sweep_data, sweep_noise_var
from leadoff.forecast.terms import Arr
from leadoff.forecast.unknowns import combinations
from leadoff.record.runs import Workload

Alternative = Mapping[str, str]


class Rows(NamedTuple):
    """Every state with a result, of all workloads, in content order, with the demand under each alternative
    of its board."""

    data: tuple[Datum, ...]
    workloads: Mapping[str, Workload]
    alternatives: Mapping[str, tuple[Alternative, ...]]
    demands: tuple[tuple[tuple[float, ...], ...], ...]
    noise_var: Vec
    repeat: Mapping[str, Repeatability]
    left_out: tuple[str, ...]


class Known(NamedTuple):
    """What a cache keeps of a fit: the modes by misfit scale and the alternative chosen for each board."""

    modes: Arr
    chosen: Mapping[str, int]


class Fit(NamedTuple):
    """Joint modes on the grid of misfit scales. ``shared``: how many parameters stand before the boards' own
    ``blocks``; ``chosen``: alternative of each board in the modes; ``levels``: where each level starts."""

    rows: Rows
    layout: Layout
    shared: int
    blocks: Mapping[str, Index]
    problem: Problem
    modes: tuple[Arrow, ...]
    chosen: Mapping[str, int]
    levels: Mapping[str, float]
    generic: tuple[tuple[tuple[tuple[str, ...], float], ...], ...]


def demands_of(
    workloads: Mapping[str, Workload], d: Datum, alternatives: Sequence[Alternative]
) -> tuple[tuple[float, ...], ...]:
    """The fields of ``Demand`` under each alternative."""
    return tuple(astuple(demand_of(workloads, d, over)) for over in alternatives)


def collect(workloads: Sequence[Workload], runs: Sequence[Observed]) -> Rows:
    """Data and demands of the whole book. A run whose core or bus clock is not known is left out, by name."""
    by_name = {w.name: w for w in sorted(workloads, key=lambda w: w.name)}
    found = [*sweep_data(runs), *(d for w in by_name.values() for d in data(w, runs))]
    left_out = []
    kept = []
    for d in found:
        try:
            demand_of(by_name, d, {})
        except Gap as gap:
            left_out.append(f"run {', '.join(d.numbers)}: {gap}")
        else:
            kept.append(d)
    states: dict[str, list[Setup]] = {}
    for d in kept:
        states.setdefault(d.setup.board, []).append(d.setup)
    alternatives = {b: combinations(s) for b, s in states.items()}
    repeat = {n: repeatability(w, (o.run for o in runs)) for n, w in by_name.items()}
    return Rows(
        data=tuple(kept),
        workloads=by_name,
        alternatives=alternatives,
        demands=tuple(demands_of(by_name, d, alternatives[d.setup.board]) for d in kept),
        noise_var=np.array(
            [sweep_noise_var(d) if is_sweep(d) else d.noise_var(repeat[d.workload].sd_log) for d in kept]
        ),
        repeat=repeat,
        left_out=tuple(left_out),
    )


def features(demands: Sequence[Sequence[float]]) -> dict[str, Arr]:
    """Demands as arrays by field, one alternative."""
    table = np.array(demands, dtype=np.float64).reshape(-1, len(FIELDS))
    return {name: table[None, :, k] for k, name in enumerate(FIELDS)}


def fit(rows: Rows, known: Known | None = None) -> Fit:
    """Joint modes for every misfit scale.

    First a normal likelihood with a large misfit, then the mixture with the misfit falling, each from the
    mode before: a cold start with a small misfit locks outlier labels in. Boards with unknown settings take
    their likeliest alternative in turn before the last descent. ``known``: modes found
    before for exactly these rows (a cache): they are looked at where they are, and the answer is the same.
    """
    if not rows.data:
        empty = Problem(*(np.empty((0, 0)),) * 3, {}, *(np.empty(0),) * 4)  # type: ignore[arg-type]
        none = dict.fromkeys(rows.workloads, 0.0)
        return Fit(rows, Layout(), 0, {}, empty, (), {}, none, ())
    scored = iter(varying([generics(d.setup, d.rig) for d in rows.data if not is_sweep(d)]))
    generic = [() if is_sweep(d) else next(scored) for d in rows.data]
    layout = Layout()
    _columns(layout, rows, generic)
    shared, blocks = layout.arrange()
    made = _columns(layout, rows, generic)
    numbers = {b: k for k, b in enumerate(blocks)}
    boards = np.array([numbers[d.setup.board] for d in rows.data], dtype=np.intp)
    base = Problem(
        at=np.array([m.at for m in made], dtype=np.intp).reshape(len(made), -1),
        sds=np.array([m.sds for m in made]).reshape(len(made), -1),
        centres=np.stack([m.centres for m in made]),
        features={},
        lo=np.array([d.lo for d in rows.data]),
        hi=np.array([d.hi for d in rows.data]),
        noise_var=rows.noise_var,
        level0=np.zeros(len(made)),
    )
    chosen = {b: len(a) // 2 for b, a in rows.alternatives.items()}
    z: Vec = np.zeros(len(layout))
    start = _with(rows, base, chosen)
    levels = _levels(rows, start, z[None])
    base = base._replace(
        level0=np.array([levels.get(d.workload, 0.0) for d in rows.data]),
        noise_var=rows.noise_var + _boots(rows, start, z[None]),
    )
    problem = _with(rows, base, chosen)
    row = noise.outlier()

    def mode(start: Vec, g: float, share: float, tolerance: float, steps: int = 15) -> Arrow:
        return joint_mode(
            problem,
            start,
            shared,
            boards,
            g,
            outlier_share=share,
            outlier_sd=row["sd"],
            tolerance=tolerance,
            steps=steps,
        )

    found = None if known is None or known.modes.shape != (len(noise.grid()[0]), len(layout)) else known
    if found is not None:
        chosen = {b: found.chosen.get(b, c) for b, c in chosen.items()}
        problem = _with(rows, base, chosen)
    else:
        z = mode(z, 0.9, 0.0, 1e-1).z
        if any(len(a) > 1 for a in rows.alternatives.values()):
            for _ in range(2):
                z = mode(z, 0.45, row["share"], 1e-1).z
                before = dict(chosen)
                chosen = _choose(rows, base, z, shared, blocks, chosen)
                problem = _with(rows, base, chosen)
                if chosen == before:
                    break
    modes: list[Arrow] = []
    for g in sorted(noise.grid()[0], reverse=True):
        if found is not None:
            modes.append(mode(found.modes[-1 - len(modes)], float(g), row["share"], 1e-3, steps=0))
            continue
        modes.append(mode(z, float(g), row["share"], 1e-4))
        z = modes[-1].z
    return Fit(
        rows=rows,
        layout=layout,
        shared=shared,
        blocks=blocks,
        problem=problem,
        modes=tuple(reversed(modes)),
        chosen=chosen,
        levels=levels,
        generic=tuple(generic),
    )


def _columns(
    layout: Layout, rows: Rows, generic: Sequence[tuple[tuple[tuple[str, ...], float], ...]]
) -> list[Columns]:
    return [
        sweep_columns(layout, d) if is_sweep(d) else layout.row(rows.workloads[d.workload], d.setup, x)
        for d, x in zip(rows.data, generic, strict=True)
    ]


def _with(rows: Rows, base: Problem, chosen: Mapping[str, int]) -> Problem:
    picked = [d[chosen[x.setup.board]] for d, x in zip(rows.demands, rows.data, strict=True)]
    return base._replace(features=features(picked))


def _levels(rows: Rows, problem: Problem, z: Arr) -> dict[str, float]:
    """Level of each workload from the median residual, the other parameters at their centres."""
    mu = evaluate(problem, z)[0][0]
    mid = 0.5 * (problem.lo + problem.hi)
    out = {}
    for name in rows.workloads:
        mine = [i for i, d in enumerate(rows.data) if d.workload == name]
        out[name] = float(np.median(mid[mine] - mu[mine])) if mine else 0.0
    return out


def _boots(rows: Rows, problem: Problem, z: Arr) -> Vec:
    """Variance by boots of every datum, the parameters at their centres: a spread of runs is no part of the mode."""
    by_curve = columns_by(problem, evaluate(problem, z)[1], "b.curve")
    return noise.boot_var(by_curve[0], problem.features["luck"][0]) / [d.boots for d in rows.data]


def _choose(
    rows: Rows, base: Problem, z: Vec, shared: int, blocks: Mapping[str, Index], chosen: Mapping[str, int]
) -> dict[str, int]:
    """Each board's likeliest alternative with everything that other boards teach held where it is."""
    out = dict(chosen)
    row = noise.outlier()
    for board, alternatives in sorted(rows.alternatives.items()):
        if len(alternatives) < 2 or board not in blocks:
            continue
        mine = [i for i, d in enumerate(rows.data) if d.setup.board == board]
        told = [[rows.demands[i][a] for i in mine] for a in range(len(alternatives))]
        local, keep = local_problem(base, mine, told, blocks[board])
        own = len(blocks[board])
        # Shared parameters are held by a prior so narrow that only the board's own ones move.
        precision = np.diag(np.r_[np.ones(own), np.full(len(keep) - own, 1e4)])
        mean = np.concatenate([np.zeros(own), z[keep[own:]]])[None]
        n = len(alternatives)
        got = newton(
            local,
            np.repeat(mean, n, axis=0),
            precision,
            mean,
            np.full(n, 0.45),
            outlier_share=row["share"],
            outlier_sd=row["sd"],
            steps=6,
            tolerance=1e-2,
        )
        out[board] = int(np.argmax(got.log_evidence))
    return out
