"""Two-clock arithmetic: T = a/core + b/bus, fitted to the runs there are. The baseline for good.

Everything else that differs between a run and the state asked for widens the band by a data row; it never
moves the centre. Bounds are those of all clocks scaling and of the slowest-moving clock scaling alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from leadoff.forecast import scale
from leadoff.forecast.answer import MODEL_CLOCKS, Forecast
from leadoff.forecast.core_ratio import log_core_ratio
from leadoff.forecast.datum import Datum, data, differing, score_settings, spreads
from leadoff.forecast.facts import Question, Setup
from leadoff.forecast.mixture import Mixture
from leadoff.forecast.needs import undefined_because
from leadoff.forecast.normal import Vec, quantile
from leadoff.forecast.repeat import repeatability
from leadoff.forecast.rows import group, values
from leadoff.record.entries import Expected
from leadoff.record.runs import Workload

_SHARES = 41
FIRST_RUN = "run it once in the state as it is set, at clocks that are known: one run narrows the band most"


def two_clock(question: Question) -> Forecast:
    """Forecast by two clocks alone, for every workload asked.

    Never raises for a state with gaps: what cannot be said is said so, with the reason.
    """
    expected = tuple(expect(w, question) for w in question.workloads)
    noise = {
        w.name: _noise(w, question) for w, e in zip(question.workloads, expected, strict=True) if e.upper
    }
    own = any(o.setup.board == question.target.board and scale.usable(o.run) for o in question.runs)
    unsaid = any(e.median is None and e.undefined.startswith("cannot say: no runs") for e in expected)
    return Forecast(
        basis="clocks" if own else "family",
        model=MODEL_CLOCKS,
        expected=expected,
        best_first_run=FIRST_RUN if unsaid or not own else "",
        bound_noise={n: v for n, v in noise.items() if v is not None},
    )


def _noise(workload: Workload, question: Question) -> float | None:
    own = [d for d in data(workload, question.runs) if d.setup.board == question.target.board]
    return bound_noise(own, question.target, repeatability(workload, (o.run for o in question.runs)).sd_log)


def expect(workload: Workload, question: Question) -> Expected:
    """One workload's score in the setup asked for."""
    target = question.target
    if why := undefined_because(workload, target):
        return _nothing(workload, f"undefined: {why}")
    missing = [n for n in ("core_mhz", "bus_mhz") if target.clock(n) is None]
    if missing:
        return _nothing(workload, f"cannot say: {' and '.join(missing)} of the state is not known")
    runs = [
        d
        for d in data(workload, question.runs)
        if d.setup.clock("core_mhz") is not None and d.setup.clock("bus_mhz") is not None
    ]
    if not runs:
        return _nothing(workload, "cannot say: no runs: physics and family only, and neither fixes the level")
    own = [d for d in runs if d.setup.board == target.board]
    repeat = repeatability(workload, (o.run for o in question.runs))
    mixture = _posterior(own or runs, target, repeat.sd_log)
    lower, upper = bounds(workload, own, target)
    return from_mixture(workload, mixture, lower=lower, upper=upper)


def from_mixture(
    workload: Workload, mixture: Mixture, *, lower: float | None = None, upper: float | None = None
) -> Expected:
    """Bands of a mixture of log times as an ``Expected`` in the workload's unit."""
    q = mixture.quantiles((0.05, 0.25, 0.5, 0.75, 0.95))
    marks = sorted(scale.score(workload, v) for v in q)
    return Expected(
        workload=workload.name,
        unit=workload.unit,
        median=marks[2],
        band50=(marks[1], marks[3]),
        band90=(marks[0], marks[4]),
        lower=lower,
        upper=upper,
        sd_log=mixture.sd,
    )


def _nothing(workload: Workload, why: str) -> Expected:
    return Expected(
        workload=workload.name, unit=workload.unit, median=None, band50=None, band90=None, undefined=why
    )


def _posterior(runs: list[Datum], target: Setup, repeat_sd: float) -> Mixture:
    """Mixture over the core share; for each share the level by generalised least squares."""
    core, bus = _log_clocks(target)
    dc = np.array([_log_clocks(d.setup)[0] for d in runs]) - core
    db = np.array([_log_clocks(d.setup)[1] for d in runs]) - bus
    base = np.array([log_core_ratio(d.setup) for d in runs]) - log_core_ratio(target)
    y = np.array([d.mid for d in runs]) - base
    cov = _covariance(runs, target, repeat_sd, dc, db)
    precision = np.linalg.inv(cov)
    weight = precision.sum(axis=1)
    total = float(weight.sum())
    row = values("two_clock")
    a = (np.arange(_SHARES) + 0.5) / _SHARES
    log_prior = (row["share_alpha"] - 1.0) * np.log(a) + (row["share_beta"] - 1.0) * np.log1p(-a)
    means, logs = np.empty(_SHARES), np.empty(_SHARES)
    for i, share in enumerate(a):
        rest = y - np.log(share * np.exp(-dc) + (1.0 - share) * np.exp(-db))
        means[i] = weight @ rest / total
        left = rest - means[i]
        logs[i] = log_prior[i] - 0.5 * float(left @ precision @ left)
    boot = group("repeat", "house")["boot"]
    sd = math.sqrt(1.0 / total + repeat_sd**2 + boot**2)
    return Mixture(np.exp(logs - logs.max()), means, np.full(_SHARES, sd))


def _covariance(runs: list[Datum], target: Setup, repeat_sd: float, dc: Vec, db: Vec) -> Vec:
    """Noise of each run, and what it shares with others that differ from the target in the same way."""
    between = group("two_clock", "between")
    boot = group("repeat", "house")["boot"]
    n = len(runs)
    noise = [d.noise_var(repeat_sd, boot) + (d.hi - d.lo) ** 2 / 12.0 for d in runs]
    moved = between["form"] ** 2 * (dc**2 + db**2)
    cov = np.diag(np.array(noise) + moved)
    wanted = score_settings(target)
    spread = spreads()

    def shared(labels: list[object], own: object, sd: float) -> None:
        for i in range(n):
            for j in range(n):
                if labels[i] != own and labels[i] == labels[j]:
                    cov[i, j] += sd * sd

    told = [score_settings(d.setup) for d in runs]
    for name, sd in sorted(spread.items()):
        values_ = [t.get(name) for t in told]
        if any(v != wanted.get(name) for v in values_):
            shared(list(values_), wanted.get(name), sd)
    shared([d.setup.board for d in runs], target.board, between["board"])
    shared([_core_name(d.setup) for d in runs], _core_name(target), between["core"])
    shared([d.setup.sheet.board_class for d in runs], target.sheet.board_class, between["class"])
    # Rigs belong to runs; the one the next run will use is taken to be the latest.
    shared([d.rig for d in runs], runs[-1].rig, between["rig"])
    return cov


def _core_name(setup: Setup) -> str:
    if setup.processor is not None and setup.processor.core:
        return setup.processor.core
    return setup.state.value("cpu") or setup.sheet.board_class


def _log_clocks(setup: Setup) -> tuple[float, float]:
    core, bus = setup.clock("core_mhz"), setup.clock("bus_mhz")
    assert core is not None, "only states with a known core clock come here"
    assert bus is not None, "only states with a known bus clock come here"
    return math.log(core), math.log(bus)


def bounds(workload: Workload, own: Sequence[Datum], target: Setup) -> tuple[float | None, float | None]:
    """Slowest and fastest clock scaling alone, from the run of this board that is most alike: settings other than
    clocks are not in it, nor is noise (``bound_noise``)."""
    if not own:
        return None, None
    near = _nearest(own, target)
    moves = [
        math.log(now / then)
        for name in ("core_mhz", "bus_mhz", *_side_clocks(target))
        if (now := target.clock(name)) and (then := near.setup.clock(name))
    ]
    ends = [scale.score(workload, near.mid - move) for move in (min(moves), max(moves))]
    return min(ends), max(ends)


def _nearest(own: Sequence[Datum], target: Setup) -> Datum:
    return min(reversed(own), key=lambda d: len(differing(d.setup, target)))


def bound_noise(own: Sequence[Datum], target: Setup, repeat_sd: float) -> float | None:
    """Percent by which noise and rounding of the run behind the bounds and of the next one may carry a score past
    them, 5 % beyond each; ``None`` without a run of this board."""
    if not own:
        return None
    near = _nearest(own, target)
    boot = group("repeat", "house")["boot"]
    rounding = (near.hi - near.lo) ** 2 / 12.0
    both = near.noise_var(repeat_sd, boot) + repeat_sd**2 + boot**2 + 2.0 * rounding
    return 100.0 * math.expm1(quantile(0.95) * math.sqrt(both))


def _side_clocks(target: Setup) -> tuple[str, ...]:
    """Other clocks that a workload may wait for; ISA is left out, almost nothing waits for it alone."""
    return tuple(n for n in ("pci_mhz", "agp_mhz", "vlb_mhz", "mem_mhz", "l2_mhz") if target.clock(n))
