"""Profile families in the forecast: what they shift, what they learn, and that the whole is as wide as the prior."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from makers import FRAMES, seen, setup

from leadoff.forecast.facts import Question
from leadoff.forecast.families import PARAMETERS, families, lean
from leadoff.forecast.kinds import MIXED, kinds
from leadoff.forecast.predict import forecast
from leadoff.forecast.rows import group
from leadoff.memory.demand import families as shipped
from leadoff.show.forecast_words import family_line

ROOT = Path(__file__).parents[2]


def test_the_table_is_what_the_shipped_profiles_say() -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "tools/families.py")], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert set(families().names) == set(shipped())


def test_the_prior_wins_where_profiles_foretell_worse_than_its_band() -> None:
    error, band = group("families", "error"), group("families", "band")
    for k, q in enumerate(PARAMETERS):
        kept = band[q] ** 2 / (band[q] ** 2 + error[q] ** 2)
        assert (kept < 0.5) == (error[q] > band[q])
        # Between and inside together are the prior's variance: with equal odds nothing is wider or narrower.
        total = families().inside[k] + (families().shift[:, k] ** 2).mean()
        assert total == pytest.approx(1.0)
        assert families().shift[:, k].mean() == pytest.approx(0.0, abs=1e-12)
    assert {q for q in PARAMETERS if error[q] <= band[q]} == {"doubling"}


def test_a_kind_of_work_makes_its_families_likelier() -> None:
    start = {
        kind: dict(zip(families().names, families(kind).start, strict=True)) for kind in (*kinds(), MIXED)
    }
    assert start["copy"]["blit"] == pytest.approx(2.0 * start["copy"]["render"])
    assert start["render"]["render"] == pytest.approx(2.0 * start["render"]["blit"])
    assert len(set(start[MIXED].values())) == 1
    for kind, odds in start.items():
        assert sum(odds.values()) == pytest.approx(1.0)
        # Whatever the kind, the families together stand where its prior does and are as wide.
        made, w = families(kind), np.array(list(odds.values()))
        assert w @ made.shift == pytest.approx(np.zeros(len(PARAMETERS)), abs=1e-12)
        assert made.inside + w @ made.shift**2 == pytest.approx(np.ones(len(PARAMETERS)))


def test_exchanging_the_prior_agrees_with_weighting_draws() -> None:
    """Independent check: draws from the closed form's posterior, weighted by the family mixture over the prior."""
    rng = np.random.default_rng(2)
    root = rng.standard_normal((6, 8))
    hessian = np.eye(8) + root.T @ root / 2.0
    z, jac, at = 0.6 * rng.standard_normal(8), rng.standard_normal(8), [1, 2, 4, 5, 7]
    by = lean(z[None], hessian[None], at, "mixed", np.ones(1))
    shift, less = by.of(jac[None])
    cov = np.linalg.inv(hessian)
    mean = float(by.weight[0] @ shift[0])
    var = float(jac @ cov @ jac - less[0] + by.weight[0] @ (shift[0] - mean) ** 2)
    draws = z + rng.standard_normal((400_000, 8)) @ np.linalg.cholesky(cov).T
    known = families()
    off = draws[:, None, at] - known.shift
    logs = -0.5 * (off**2 / known.inside + np.log(known.inside)).sum(axis=2)
    w = np.exp(logs + 0.5 * (draws[:, at] ** 2).sum(axis=1)[:, None])
    odds = w.mean(axis=0) / w.mean(axis=0).sum()
    whole = w.sum(axis=1) / w.sum()
    told = (draws - z) @ jac
    assert [by.odds[n] for n in known.names] == pytest.approx(odds, abs=0.01)
    assert mean == pytest.approx(float(whole @ told), abs=0.01)
    assert var == pytest.approx(float(whole @ told**2) - mean**2, rel=0.03)


def test_a_workload_that_fills_much_looks_like_a_family_that_does() -> None:
    """Runs whose score falls with the cache off far more than expected point to a family with many fills."""

    def at(**more: str) -> object:
        return setup(
            {"bus_mhz": "33.333", "ratio": "2", "l2": "on", "l2_kb": "256", "cpu": "486dx2-66-5v", **more}
        )

    heavy = [
        seen(at(), "20.0"),
        seen(at(l2="off"), "9.0", number="2"),
        seen(at(dram_read_ws="2"), "17.6", number="3"),
    ]  # type: ignore[arg-type]
    light = [
        seen(at(), "20.0"),
        seen(at(l2="off"), "19.6", number="2"),
        seen(at(dram_read_ws="2"), "19.9", number="3"),
    ]  # type: ignore[arg-type]
    odds = {}
    for name, runs in (("heavy", heavy), ("light", light)):
        target = setup({"bus_mhz": "40", "ratio": "2", "l2": "on", "l2_kb": "256", "cpu": "486dx2-66-5v"})
        got = forecast(Question(target=target, workloads=(FRAMES,), runs=tuple(runs)))
        found = got.families[FRAMES.name]
        assert [f.odds for f in found] == sorted((f.odds for f in found), reverse=True)
        odds[name] = {f.family: f.odds for f in found}
    assert odds["heavy"]["intmix"] > 1.5 * odds["light"]["intmix"]
    assert odds["heavy"]["render"] < odds["light"]["render"]


def test_words_say_which_family_leads_or_that_none_does() -> None:
    told = [
        {"family": "blit", "odds": 0.4, "before": 0.17},
        {"family": "render", "odds": 0.6, "before": 0.17},
    ]
    assert family_line(told) == "the blit profile first, 40 % (17 % before any run)"
    assert "do not tell them apart" in family_line([{"family": "blit", "odds": 0.18, "before": 0.17}])
