"""A change that was declared and did not happen: suspected where the runs can see it; widths of effects."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest
from makers import FRAMES, seen
from test_model import state

from leadoff.forecast.effects import effects_of
from leadoff.forecast.explain import why
from leadoff.forecast.facts import Observed
from leadoff.forecast.hybrid import hybrid
from leadoff.forecast.joint import Ask, tell
from leadoff.forecast.store import fit_of
from leadoff.forecast.why import CORE, changed_factors
from leadoff.record.quantity import Source
from leadoff.record.state import State


def book(last: str) -> list[Observed]:
    """One 486 at several clocks and with write wait states, and a last run of other core clock and patterns."""
    made = [
        (state("486", ratio="2", l2_write_ws="1"), "28.6 28.6 28.7"),
        (state("486", ratio="2", l2_write_ws="0"), "30.0 30.1 30.0"),
        (state("486", ratio="3", l2_write_ws="0"), "40.6 40.6 40.7"),
        (state("486", ratio="3", l2_write_ws="1"), "38.2 38.2 38.3"),
        (state("486", ratio="2", l2_read="2-1-1-1"), "31.1 31.2 31.1"),
        (state("486", ratio="3", l2_write_ws="1", l2_read="2-1-1-1", dram_read="3-2-2-2"), last),
    ]
    return [
        seen(s, texts, number=str(i + 1), when=f"2020-01-{i + 1:02d}T19:00")
        for i, (s, texts) in enumerate(made)
    ]


def read_back(o: Observed) -> Observed:
    """The same run with every setting as the hardware returns it."""
    told = {n: msgspec.structs.replace(s, source=Source.READ) for n, s in o.setup.state.settings.items()}
    at = msgspec.structs.replace(o.setup, state=State(board=o.setup.board, settings=told))
    return msgspec.structs.replace(o, setup=at)


def test_a_run_far_from_its_declaration_has_its_changes_suspected_and_not_told() -> None:
    runs = book("33.0 33.0 33.1")  # 17 % less than such a state can lose
    got = why(runs[1], runs[-1], FRAMES, runs)
    by_name = {f.factor: f for f in got.factors}
    changed = {"l2_write_ws", "l2_read", "dram_read"}
    assert set(by_name) == {CORE, *changed}
    assert all(by_name[n].verdict == "cannot_tell" for n in changed)
    assert by_name[CORE].verdict == "expected"
    group = next(g for g in got.cannot_tell if "suspected wrong declaration" in g.because)
    assert set(group.factors) == changed
    assert "run 6" in group.because
    assert any(h.startswith("run 6:") for h in got.hints)


def test_a_run_that_fits_is_not_suspected() -> None:
    runs = book("40.6 40.7 40.6")
    got = why(runs[1], runs[-1], FRAMES, runs)
    assert not any("suspected" in g.because for g in got.cannot_tell)


def test_a_change_alone_is_measured_by_its_runs() -> None:
    """Nothing else changed: what the runs differ by is its effect, however far one of them is from the model."""
    runs = book("40.6 40.7 40.6")
    off = seen(
        state("486", ratio="3", l2_write_ws="2"), "33.0 33.0 33.1", number="7", when="2020-01-07T19:00"
    )
    got = why(runs[2], off, FRAMES, [*runs, off])
    (only,) = got.factors
    assert only.factor == "l2_write_ws"
    assert not any("suspected" in g.because for g in got.cannot_tell)
    assert only.share.value == pytest.approx(100.0 * (33.033 / 40.633 - 1.0), abs=1.0)


def test_a_reading_outranks_a_declaration() -> None:
    runs = [read_back(o) for o in book("33.0 33.0 33.1")]
    got = why(runs[1], runs[-1], FRAMES, runs)
    assert not any("suspected" in g.because for g in got.cannot_tell)
    assert got.remainder_pct is not None
    assert (got.remainder_pct.value or 0.0) < -5.0


def test_runs_that_miss_alike_count_for_less_the_more_they_are() -> None:
    """The fit's own variance of an effect times 1 + .1 sqrt(runs): by 1.1 for one run, by 3 for 400."""
    runs = book("40.6 40.7 40.6")
    a, b = runs[1].setup, runs[-1].setup
    factors = changed_factors(a, b)
    fit = fit_of((FRAMES,), runs, None)
    names = [f.factor for f in factors]
    subsets = [
        hybrid(a, b, factors, {n for i, n in enumerate(names) if m >> i & 1}) for m in range(2 ** len(names))
    ]
    told = tell(fit, [Ask(FRAMES, s) for s in subsets], a.board, apart=True)
    fits = np.zeros(len(told.board.weights))
    none, one, many = (effects_of(told, factors, n, (fits, fits)) for n in (0, 1, 400))
    assert one.mean == pytest.approx(many.mean)
    grown = np.diag(many.cov - none.cov) / np.diag(one.cov - none.cov)
    assert grown == pytest.approx(np.full(len(names), 20.0), rel=1e-6)
    assert many.runs_for_one == pytest.approx(3.0)
    assert np.all(np.diag(many.cov) > np.diag(one.cov))
