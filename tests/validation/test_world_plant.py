"""Planted mistakes are where the list says, and nowhere else."""

from __future__ import annotations

from fractions import Fraction

import pytest

from leadoff.record.entries import RunBody
from leadoff.validation.plant import KINDS, plant
from leadoff.validation.worlds import World


def test_planted_mistakes_are_the_only_difference() -> None:
    world = World(31, boards=8, runs=6)
    events, planted = plant(world.events(), world.log, seed=1)
    assert [p.kind for p in planted] == list(KINDS)
    assert [at for at, _ in events] == sorted(at for at, _ in events)
    before = {b.run.number: b for _, b in world.events() if isinstance(b, RunBody)}
    after = {b.run.number: b for _, b in events if isinstance(b, RunBody)}
    differing = {n for n in after if after[n] != before.get(n)}
    assert differing == {p.number for p in planted}
    by_kind = {p.kind: p for p in planted}
    twin = by_kind["duplicate"]
    assert after[twin.number].run.readings == before[twin.original].run.readings
    named = after[by_kind["clock"].number].unlike[0]
    true = next(x.true for x in world.log if x.number == by_kind["clock"].number)
    assert named.after is not None
    assert Fraction(named.after) != Fraction(true["bus_mhz"]) * Fraction(true["ratio"])
    slip = by_kind["unit"].number
    assert after[slip].run.readings[0].value == pytest.approx(
        2134 / before[slip].run.readings[0].value, abs=0.06
    )


def test_unknown_kind_is_refused() -> None:
    world = World(31, boards=1, runs=2)
    with pytest.raises(ValueError, match="known are"):
        plant(world.events(), world.log, seed=1, kinds=["gremlin"])
