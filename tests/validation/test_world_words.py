"""What worlds say is what a person may type: canonical values, and words the house's own parser understands."""

from __future__ import annotations

import pytest

from leadoff.record.entries import DidBody, RunBody
from leadoff.record.phrases import Context, WorkloadWord
from leadoff.validation.tour import TourWorld, tour_world
from leadoff.validation.worlds import World
from leadoff.words import parse, setting_value


@pytest.fixture(scope="module", params=["generated", "tour"])
def world(request: pytest.FixtureRequest) -> World | TourWorld:
    return World(1, boards=20, runs=6) if request.param == "generated" else tour_world()


def test_values_are_canonical(world: World | TourWorld) -> None:
    values = {(n, v) for x in world.log for n, v in x.true.items()}
    values |= {(n, v) for b in world.boards for n, choices in world.reach(b.id).items() for v in choices}
    assert len(values) > 60
    for name, value in values:
        assert setting_value(name, value) == value, name


def test_what_was_said_is_understood(world: World | TourWorld) -> None:
    context = Context(
        workloads=tuple(WorkloadWord(name=w.name, unit=w.unit) for w in world.workloads), verb="log"
    )
    said = [b.said for _, b in world.events() if isinstance(b, RunBody | DidBody)]
    assert len(said) > 60
    for words in said:
        assert parse(words, context).questions == (), words
