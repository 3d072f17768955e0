"""Kinds of work: what a record or a unit says, and that priors, families and core clocks follow it."""

from __future__ import annotations

import math

import msgspec
import pytest
from makers import FRAMES, SECONDS, seen, setup

from leadoff.forecast.core_ratio import mix_weights
from leadoff.forecast.facts import Question, Setup
from leadoff.forecast.kinds import MIXED, kind_of, kinds, seen_from_unit
from leadoff.forecast.predict import forecast
from leadoff.forecast.priors import centres, prior, priors
from leadoff.record.runs import Workload
from leadoff.validation.rows import rows
from leadoff.validation.words import workload_of


def says(workload: Workload, mix: str) -> Workload:
    return msgspec.structs.replace(workload, mix=mix)


@pytest.mark.parametrize(
    ("mix", "kind"),
    [("render", "render"), ("FP", "coprocessor"), ("copy", "copy"), ("", MIXED), ("odd", MIXED)],
)
def test_a_record_says_its_kind(mix: str, kind: str) -> None:
    assert kind_of(says(SECONDS, mix)) == kind
    assert seen_from_unit(says(SECONDS, mix)) == ""


def test_frames_are_drawn_unless_the_record_says_otherwise() -> None:
    assert (kind_of(FRAMES), seen_from_unit(FRAMES)) == ("render", "render")
    assert (kind_of(says(FRAMES, "integer")), seen_from_unit(says(FRAMES, "integer"))) == ("integer", "")


def test_every_kind_has_core_clocks_and_only_a_workloads_own_rows() -> None:
    for kind in (*kinds(), MIXED):
        assert sum(mix_weights(kind).values()) == pytest.approx(1.0)
        for own, general in zip(priors(kind), priors(), strict=True):
            assert own == general or (own.level == "w" and own.name == general.name)
        assert len(centres(kind)) == len(priors())


def test_a_renderer_draws_and_that_is_known_better_than_of_any_work() -> None:
    drawn, any_work, sorting = (prior("w", "video", k) for k in ("render", MIXED, "integer"))
    assert drawn.sd < 0.5 * any_work.sd
    assert math.exp(drawn.centre) > 3.0 * math.exp(any_work.centre) > 3.0 * math.exp(sorting.centre)


def loss(workload: Workload) -> float:
    """Expected loss in logs by one display wait state more, after two runs without any."""

    def at(**more: str) -> Setup:
        base = {
            "bus_mhz": "33.333",
            "ratio": "2",
            "l2": "on",
            "l2_kb": "256",
            "video_bus": "vlb",
            "vlb_ws": "0",
        }
        return setup({**base, **more})

    runs = tuple(
        seen(at(**more), text, number=str(k), workload=workload.name)
        for k, (more, text) in enumerate((({}, "20.0"), ({"ratio": "1"}, "13.1")))
    )
    now, then = (
        forecast(Question(target=at(vlb_ws=ws), workloads=(workload,), runs=runs)).expected[0].median
        for ws in ("0", "1")
    )
    assert now is not None
    assert then is not None
    return math.log(now / then)


def test_the_kind_reaches_the_forecast_and_what_was_taken_is_said() -> None:
    # The same runs in the same unit: what is said of the work is all that differs.
    assert loss(FRAMES) == pytest.approx(loss(says(FRAMES, "render")), rel=1e-9)
    assert loss(FRAMES) > 2.0 * loss(says(FRAMES, "integer")) > 0.0
    told = [
        forecast(
            Question(
                target=setup({"bus_mhz": "33.333", "ratio": "1"}),
                workloads=(w,),
                runs=(seen(setup({"bus_mhz": "33.333", "ratio": "1"}), "20.0", workload=w.name),),
            )
        ).taught
        for w in (FRAMES, says(FRAMES, "render"))
    ]
    assert "w2 taken as render work because it counts frames/s" in told[0]
    assert "taken as" not in told[1]


def test_a_generated_workload_that_draws_frames_is_said_to_render() -> None:
    said = {n: workload_of(w).mix for n, w in rows().workloads.items()}
    assert said == {
        "w1": "integer", "w2": "copy", "w3": "coprocessor", "w4": "render", "w5": "render", "w6": "integer",
    }  # fmt: skip
