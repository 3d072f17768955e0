"""Random fault tables in the form of the shipped ones. Invented, for tests only."""

from __future__ import annotations

import numpy as np

from leadoff.faults.kinds import (
    ERAS,
    STAGES,
    Excludes,
    Fault,
    Group,
    Kind,
    Knowledge,
    Observation,
    Raises,
    Repair,
)


def _tail(rng: np.random.Generator, size: int, top: float = 1.0) -> tuple[float, ...]:
    return tuple(float(x) for x in rng.dirichlet(np.ones(size + 1))[:size] * top)


def _eras(p: float) -> dict[str, float]:
    return dict.fromkeys(ERAS, p)


def random_tables(rng: np.random.Generator, faults: int, readings: int, swaps: int) -> Knowledge:
    """Tables with ``faults`` causes, some of them tied, and all kinds of observations."""
    names = [f"f{i}" for i in range(faults)]
    rows = {}
    for n in names:
        cut = STAGES[1:]
        chosen = rng.choice(len(cut), size=int(rng.integers(1, 4)), replace=False)
        stage = dict(zip([cut[i] for i in sorted(chosen)], _tail(rng, len(chosen)), strict=True))
        repair = Repair(
            action="mend",
            minutes=float(rng.integers(4, 90)),
            parts_cost=0.0,
            skill=2,
            success=float(rng.uniform(0.5, 1)),
            reversible=True,
        )
        rows[n] = Fault(
            id=n,
            source="judge",
            name=n,
            what="",
            group="any",
            prior=_eras(float(rng.uniform(0.01, 0.4))),
            stage=stage,
            repair=repair,
        )
    kinds = tuple(
        Kind(id=k, name=k, share=_eras(s), levels={f: _eras(float(rng.uniform(0.1, 0.8)))})
        for k, s, f in (("one", 0.3, "f0"), ("two", 0.7, "f1"))
    )
    observations = {}
    causes = [*names, "fit_one", "fit_two"]
    for i in range(readings):
        size = int(rng.integers(2, 4))
        staged = rng.random() < 0.3
        linked = rng.choice(len(causes), size=int(rng.integers(0 if staged else 1, 5)), replace=False)
        observations[f"o{i}"] = _reading(rng, f"o{i}", size, staged, [causes[j] for j in linked])
    for i in range(swaps):
        linked = rng.choice(faults, size=int(rng.integers(1, 4)), replace=False)
        links = {names[j]: (float(rng.uniform(0.3, 1)),) for j in linked}
        observations[f"s{i}"] = _observation(f"s{i}", "swap", ("no_change", "fixed"), (0.98, 0.02), {}, links)
    return Knowledge(
        faults=rows,
        observations=observations,
        hazards={},
        rules={},
        listing={},
        groups={"g": Group(id="g", source="judge", name="g", kind=kinds)},
        raises=(
            Raises(parent="f2", child="f4", p=float(rng.uniform(0.1, 0.7)), source="judge"),
            Raises(parent="f3", child="f4", p=float(rng.uniform(0.1, 0.7)), source="judge"),
        ),
        excludes=(Excludes(faults=("f5", "f6"), source="judge"),),
        leak=dict(zip(STAGES[1:], _tail(rng, 7, 0.1), strict=True)),
        saves={},
        accepts={},
        wordings={},
        same_words={},
        tools={},
        post_codes={},
        reading_rules={},
        substitutes={},
        ways={},
        sources={},
        digest="random",
    )


def _observation(name, kind, outcomes, baseline, by_stage, links) -> Observation:
    return Observation(
        id=name,
        source="judge",
        name=name,
        kind=kind,
        phase=1,
        tools=("eyes",),
        minutes=2.0,
        cost=0.0,
        hazards=(),
        requires=(),
        how="",
        expect="",
        expect_source="judge",
        outcomes=outcomes,
        baseline=baseline,
        by_stage=by_stage,
        links=links,
    )


def _reading(rng: np.random.Generator, name: str, size: int, staged: bool, linked: list[str]) -> Observation:
    outcomes = tuple(f"x{k}" for k in range(size))
    rows = {s: tuple(float(x) for x in rng.dirichlet(np.ones(size))) for s in STAGES} if staged else {}
    tail = _tail(rng, size - 1, 0.3)
    baseline = () if staged else (1 - sum(tail), *tail)
    links = {f: _tail(rng, size - 1) for f in linked}
    return _observation(name, "reading", outcomes, baseline, rows, links)
