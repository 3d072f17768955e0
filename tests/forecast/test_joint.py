"""Forecasts by the model: what a run teaches, unknown settings, order of entries, and what cannot be said."""

from __future__ import annotations

from pathlib import Path

import pytest
from books import book_of
from makers import FRAMES, seen, setup, sheet
from test_model import state

from leadoff.forecast.facts import Question
from leadoff.forecast.fit import collect, fit
from leadoff.forecast.joint import Ask, tell
from leadoff.forecast.predict import forecast, forecast_many
from leadoff.forecast.store import digest
from leadoff.validation.worlds import World

RUN = seen(state("486"), "20.0 20.1")


def band(question: Question, **more: object) -> tuple[float, float]:
    got = forecast(question, **more).expected[0].band90  # type: ignore[arg-type]
    assert got is not None
    return got


def test_one_run_gives_a_band_and_more_runs_narrow_it() -> None:
    target = state("486", bus_mhz="40", l2_read="2-1-1-1")
    one = forecast(Question(target=target, workloads=(FRAMES,), runs=(RUN,)))
    more = (
        RUN,
        seen(state("486", bus_mhz="25"), "15.2", number="2"),
        seen(state("486", l2_read="2-1-1-1"), "20.6", number="3"),
    )
    many = forecast(Question(target=target, workloads=(FRAMES,), runs=more))
    assert one.basis == many.basis == "runs"
    a, b = one.expected[0].band90, many.expected[0].band90
    assert a is not None
    assert b is not None
    assert b[1] - b[0] < a[1] - a[0]
    assert 20.0 < a[0] < a[1] < 28.0
    assert "prior" in one.taught


def test_the_tried_state_is_forecast_near_its_run() -> None:
    low, high = band(Question(target=state("486"), workloads=(FRAMES,), runs=(RUN,)))
    assert low < 20.05 < high
    assert (high - low) / 20.0 < 0.05


def test_an_unknown_setting_is_gone_through_value_by_value_and_named() -> None:
    """The unknown pattern may be the one that is set next: the forecast lies between no change and a full one."""
    runs = (seen(state("486", l2_read=None), "20.0"), seen(state("486", l2_read=None, bus_mhz="25"), "15.2"))
    known = (seen(state("486"), "20.0"), seen(state("486", bus_mhz="25"), "15.2"))
    target = state("486", l2_read="2-1-1-1")
    between = forecast(Question(target=target, workloads=(FRAMES,), runs=runs)).expected[0].median
    full = forecast(Question(target=target, workloads=(FRAMES,), runs=known)).expected[0].median
    none = forecast(Question(target=state("486"), workloads=(FRAMES,), runs=known)).expected[0].median
    assert none is not None
    assert full is not None
    assert between is not None
    assert none < between < full
    got = forecast(Question(target=state("486", l2_read=None, bus_mhz="40"), workloads=(FRAMES,), runs=known))
    assert got.widened_by[0].setting == "l2_read"
    assert got.widened_by[0].pct > 0.0
    assert "sweep" in got.widened_by[0].reading


def test_other_boards_alone_give_a_family_band() -> None:
    target = setup({"bus_mhz": "40", "ratio": "1"}, sheet("quay-2"))
    got = forecast(Question(target=target, workloads=(FRAMES,), runs=(RUN,)))
    assert got.basis == "family"
    assert got.best_first_run
    low, high = got.expected[0].band90 or (0.0, 0.0)
    assert high / low > 1.05
    far = forecast(Question(target=state("slot1"), workloads=(FRAMES,), runs=(RUN,)))
    low, high = far.expected[0].band90 or (0.0, 0.0)
    assert high / low > 1.5


def test_an_empty_book_says_so_and_one_run_ends_it() -> None:
    target = setup({"bus_mhz": "200/3", "ratio": "8"}, sheet("ebb-1", "socket370"))
    empty = forecast(Question(target=target, workloads=(FRAMES,), runs=()))
    assert empty.expected[0].undefined.startswith("cannot say: no runs: physics and family only")
    assert empty.best_first_run
    assert (
        forecast(Question(target=target, workloads=(FRAMES,), runs=(seen(target, "41.0"),)))
        .expected[0]
        .median
    )


def test_gaps_never_raise() -> None:
    for lost in ({"bus_mhz": None, "ratio": "2"}, {"bus_mhz": "40", "ratio": None}, {}):
        got = forecast(
            Question(target=setup(lost), workloads=(FRAMES,), runs=(RUN, seen(setup(lost), "9.9")))
        )
        assert got.expected[0].undefined.startswith("cannot say:")
        assert got.expected[0].median is None


def test_the_same_facts_in_any_order_give_the_same_forecast() -> None:
    book = book_of(World(11, boards=3, runs=5, workloads=("w4",), classes=("486vlb", "386dx")))
    board = book.world.boards[0].id
    target = book.setup(board, book.world.untried(board, 1)[0])
    workloads = book.workloads
    shuffled = tuple(sorted(book.runs, key=lambda o: o.run.number[::-1]))
    assert shuffled != book.runs
    one = forecast(Question(target=target, workloads=workloads, runs=book.runs))
    two = forecast(Question(target=target, workloads=tuple(reversed(workloads)), runs=shuffled))
    by_name = {e.workload: e for e in two.expected}
    for e in one.expected:
        if e.median is not None:
            assert by_name[e.workload].median == pytest.approx(e.median, rel=1e-9)
            assert by_name[e.workload].band90 == pytest.approx(e.band90, rel=1e-9)
    assert digest(workloads, book.runs) == digest(tuple(reversed(workloads)), shuffled)


def test_a_kept_fit_gives_the_same_forecast(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from leadoff.forecast import store

    question = Question(target=state("486", bus_mhz="40"), workloads=(FRAMES,), runs=(RUN,))
    monkeypatch.setattr(store, "_KEPT", store.OrderedDict())
    fresh = forecast(question, cache_dir=tmp_path).expected[0]
    kept = list(tmp_path.glob("fit-*.npz"))
    assert len(kept) == 1
    monkeypatch.setattr(store, "_KEPT", store.OrderedDict())
    again = forecast(question, cache_dir=tmp_path).expected[0]
    assert again == fresh  # the kept modes are looked at where they are
    kept[0].write_bytes(b"not a fit")
    monkeypatch.setattr(store, "_KEPT", store.OrderedDict())
    assert forecast(question, cache_dir=tmp_path).expected[0].median == pytest.approx(fresh.median, rel=1e-9)


def test_many_targets_at_once_are_the_same_as_one_by_one() -> None:
    targets = [state("486", bus_mhz=b) for b in ("25", "40")]
    together = forecast_many(targets, (FRAMES,), (RUN,))
    for target, got in zip(targets, together, strict=True):
        alone = forecast(Question(target=target, workloads=(FRAMES,), runs=(RUN,)))
        assert got.expected[0].median == pytest.approx(alone.expected[0].median, rel=1e-7)


def test_what_no_run_touched_adds_up_one_by_one() -> None:
    """Taken apart for explanations, the unseen parts have the variance that a forecast gives them."""
    made = fit(collect((FRAMES,), (RUN, seen(state("486", bus_mhz="25"), "15.2", number="2"))))
    asks = [
        Ask(FRAMES, state("486", l2_read="2-1-1-1")),
        Ask(FRAMES, state("486", vlb_ws="1", dram_read="5-3-3-3")),
    ]
    told = tell(made, asks, asks[0].setup.board, apart=True)
    assert told.unseen.shape[2] > 0
    assert (told.new_var > 0.0).any()
    assert (told.unseen**2).sum(axis=2) == pytest.approx(told.new_var, rel=1e-9, abs=1e-15)
