"""Chances to hold: what held, what failed, and that no path is blamed alone without reason."""

from __future__ import annotations

import itertools
from fractions import Fraction

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from makers import seen, setup, sheet
from numpy.typing import NDArray

from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.hold import belief, hold
from leadoff.forecast.limits import margin
from leadoff.forecast.normal import ndtr
from leadoff.forecast.paths import loads
from leadoff.forecast.rows import group, values
from leadoff.machine.partfacts import Processor
from leadoff.record.runs import Outcome

PART = Processor(id="x5-133", core="x5", rated_mhz=Fraction(400, 3), v_typ=3.45)
BOARD = sheet("quay-1", "486vlb", buses=("vlb", "isa"))


def at(bus: str, ratio: str = "4", of: object = BOARD, **more: str) -> Setup:
    return setup({"bus_mhz": bus, "ratio": ratio, "cpu": "x5-133", **more}, of, PART)  # type: ignore[arg-type]


def held(state: Setup, number: str = "1") -> Observed:
    return seen(state, "20.0", number=number)


def failed(state: Setup, outcome: Outcome = Outcome.FAILS_MID_RUN, number: str = "2") -> Observed:
    return seen(state, "", number=number, outcome=outcome)


def chance(state: Setup, *runs: Observed) -> float:
    got = hold(state, runs).chance.hold
    assert got is not None
    return got


def test_what_held_raises_and_what_failed_lowers_the_chance() -> None:
    target = at("40")
    before = chance(target)
    assert chance(target, held(at("40"))) > max(before, 0.85)
    assert chance(target, failed(at("40"))) < before
    assert chance(target, failed(at("40"))) < 0.35
    assert chance(at("100/3"), failed(at("40"))) > chance(target, failed(at("40"))) + 0.2


def test_start_boot_and_hold_are_in_order() -> None:
    got = hold(at("40"), (failed(at("50"), Outcome.NO_START),)).chance
    assert got.start is not None
    assert got.boot is not None
    assert got.hold is not None
    assert got.start >= got.boot >= got.hold > 0.0


def test_a_failure_may_be_any_path() -> None:
    """Core and bus both went up and it failed: each is suspect, and a state that raises only one is less so."""
    blame = (held(at("100/3", "3"), "1"), failed(at("50", "3"), number="2"))
    only_core, only_bus = at("100/3", "4"), at("50", "2")
    both = at("50", "3")
    assert chance(both, *blame) < chance(only_core, *blame)
    assert chance(both, *blame) < chance(only_bus, *blame)


def test_another_path_that_held_at_the_load_moves_the_blame() -> None:
    core_bad = (held(at("50", "2"), "1"), failed(at("50", "3"), number="2"))
    free = (failed(at("50", "3"), number="2"),)
    assert chance(at("100/3", "9/2"), *core_bad) < chance(at("100/3", "9/2"), *free)
    assert chance(at("50", "2"), *core_bad) > chance(at("50", "2"), *free)


def test_a_looser_pattern_at_the_same_clock_is_less_suspect() -> None:
    """Two settings went up together: each is suspect by itself, so giving one back leaves a fair chance."""
    cache = {"l2_kb": "256", "l2_ns": "15", "l2_read": "3-2-2-2"}
    easy, hard = at("100/3", "3", l2_write_ws="1", **cache), at("40", "3", l2_write_ws="0", **cache)
    looser = at("40", "3", l2_write_ws="1", **cache)
    blame = (held(easy, "1"), failed(hard, number="2"))
    assert chance(looser, *blame) > chance(hard, *blame) + 0.2
    # It failed by itself, inside its ratings: once may be an accident, twice hardly.
    assert chance(looser, *blame, failed(looser, number="3")) < 0.25
    assert chance(looser, *blame, failed(looser, number="3"), failed(looser, number="4")) < 0.1


def test_dying_after_it_booted_is_a_failure_and_booting_alone_is_none() -> None:
    state = at("40", "4")
    died = seen(state, "", number="1", outcome=Outcome.BOOTS)
    died = Observed(run=msgspec.structs.replace(died.run, place="loading"), setup=died.setup, when=died.when)
    assert chance(state, died) < 0.2
    assert chance(state, seen(state, "", number="1", outcome=Outcome.BOOTS)) >= chance(state)
    refused = msgspec.structs.replace(died.run, place="refuses: no coprocessor")
    assert chance(state, Observed(run=refused, setup=died.setup, when=died.when)) >= chance(state)


def test_many_failures_never_bring_hope_back() -> None:
    """A dozen failures that share their clocks: each one more leaves less, and none is forgotten."""
    told: list[float] = []
    runs: list[Observed] = [held(at("100/3", "3"))]
    loose = at("50", "3", dram_read="5-3-3-3", ram_ns="60")
    for n, pattern in enumerate(("3-2-2-2", "4-2-2-2", "4-3-3-3", "5-2-2-2", "5-3-3-3") * 2):
        runs.append(failed(at("50", "3", dram_read=pattern, ram_ns="60"), number=str(n + 2)))
        told.append(chance(loose, *runs))
    assert all(b <= a + 1e-4 for a, b in itertools.pairwise(told))
    assert told[0] < 0.1
    # Attempts shake apart: what failed ten times may hold one time in some hundreds, and not more.
    assert told[-1] < 0.01


def test_a_state_of_ease_that_fails_for_ever_still_has_a_chance_between_0_and_1() -> None:
    """Twenty dead starts at half of the rated clock are no limit; rounding must not turn them into nonsense."""
    easy = at("25", "2")
    runs = [failed(easy, Outcome.NO_START, str(n)) for n in range(20)]
    found = [chance(s, *runs) for s in (easy, at("100/3", "3"), at("40", "4"))]
    assert found == sorted(found, reverse=True)
    assert 0.0 <= found[-1] <= found[0] < 0.05


def drawn_limits(names: list[str], rng: np.random.Generator, n: int) -> dict[str, NDArray[np.float64]]:
    """Limits out of the rows, by plain sampling: normal, but what lies inside the rating only so often."""
    out = {}
    for name in names:
        row = margin(name)
        sd = row["sd"] * values("hold")["widen"]
        found = row["centre"] + sd * rng.standard_normal(20 * n)
        below, above = found[found < row["guard"]], found[found >= row["guard"]]
        inside = rng.random(n) < min(row["inside"], len(below) / len(found))
        out[name] = np.where(inside, rng.choice(below, n), rng.choice(above, n))
    return out


def test_chance_agrees_with_limits_drawn_and_weighed_one_by_one() -> None:
    """Against plain sampling of the same priors, attempts shaken by a normal: within what draws explain."""
    easy, hard, other = at("100/3", "3"), at("50", "3"), at("40", "2")
    failures = [hard, hard, at("45", "7/2")]
    names = sorted({p.path for s in (easy, *failures) for p in loads(s)})
    rng, n = np.random.default_rng(1), 400_000
    row, ill = values("hold"), group("hold", "accident")
    drawn = drawn_limits(names, rng, n)
    healthy = rng.random(n) >= ill["ill"]
    wide = np.exp(rng.uniform(np.log(ill["least"]), np.log(ill["most"]), n))
    sound = np.exp(-np.where(healthy, rng.exponential(ill["rate"], n), wide))

    def carries(state: Setup, room: float = 0.0, of: tuple[str, ...] = ()) -> NDArray[np.float64]:
        found = [p for p in loads(state) if not of or p.path.split()[0] in of]
        z = [(drawn[p.path] - p.log_load + room) / row["softness"] for p in found]
        return np.asarray(np.prod([ndtr(x) for x in z], axis=0))

    booting = tuple(group("hold", "loaded.boot"))
    weight = carries(easy) * carries(other) * sound**2
    for state in failures:
        weight = weight * (1.0 - sound * carries(state)) * carries(state, row["boot_room"], booting) * sound
    runs = [held(easy, "1"), held(other, "5")]
    runs += [failed(state, number=str(n + 2)) for n, state in enumerate(failures)]
    for target in (
        at("40", "10/3"),
        at("40", "7/2"),
        at("45", "5/2"),
        at("50", "2"),
        at("100/3", "9/2"),
        hard,
    ):
        expected = float((weight * sound * carries(target)).sum() / weight.sum())
        assert chance(target, *runs) == pytest.approx(expected, abs=0.03), target.clocks


def soaked(state: Setup, hours: float = 8.0) -> Observed:
    made = failed(state, Outcome.SOAKED, "9")
    run = msgspec.structs.replace(made.run, workload=None, place="soak", after_s=3600.0 * hours)
    return Observed(run=run, setup=state, when=made.when)


def copied(state: Setup, bad: int, of: int = 60) -> Observed:
    made = failed(state, Outcome.FAILS_MID_RUN if bad else Outcome.COPY_CLEAN, "10")
    run = msgspec.structs.replace(made.run, workload=None, place="copy", count=bad, of=of)
    return Observed(run=run, setup=state, when=made.when)


def test_a_crash_before_a_passed_soak_is_a_rare_fault_that_stays_counted() -> None:
    """Above its rating and within it: one crash alone speaks against a state, long load that was carried for it."""
    for state in (at("40", "4"), at("100/3", "4")):
        crashed = failed(state)
        after = chance(state, crashed, soaked(state), copied(state, 0))
        assert chance(state, crashed) < 0.5
        assert after > 0.98
        assert after < chance(state, soaked(state), copied(state, 0))
        assert chance(state, crashed, soaked(state, 1.0)) < chance(state, crashed, soaked(state, 8.0))
        assert chance(state, crashed, soaked(state, 1.0)) > chance(state, crashed, held(state)) > 0.5


def test_clean_copies_speak_for_a_state_and_bad_ones_against_it() -> None:
    state = at("40", "4")
    assert chance(state, copied(state, 0)) > max(chance(state), 0.9)
    assert chance(state, copied(state, 3)) < chance(state, copied(state, 0)) - 0.1
    assert chance(state, copied(state, 30)) < chance(state, copied(state, 3))


def test_a_soak_that_died_after_hours_says_more_for_a_state_than_one_that_died_at_once() -> None:
    state = at("40", "4")
    found = []
    for hours in (0.05, 2.0, 7.0):
        made = failed(state)
        run = msgspec.structs.replace(made.run, place="soak", after_s=3600.0 * hours)
        found.append(chance(state, Observed(run=run, setup=state, when=made.when)))
    assert found == sorted(found)
    assert found[0] < 0.3
    assert found[-1] > 0.9


def test_a_soak_is_harder_to_hold_than_a_run() -> None:
    """Attempts in a row, by the chance and by states drawn together, with and without a failure on record."""
    state = at("40", "7/2")
    for runs in ((held(at("100/3", "3")),), (held(at("100/3", "3")), failed(at("50", "3"), number="2"))):
        known = belief(state, runs)
        once, twelve = known.chances(state, 1.0, 12.0)
        assert 0.0 < twelve < once
        drawn = [known.together([state], 2048, attempts=n).mean() for n in (1.0, 12.0)]
        assert drawn[1] < drawn[0]
        assert drawn[0] * known.sound() == pytest.approx(once, abs=0.03)
        assert drawn[1] >= twelve - 0.03  # accidents left out


def test_rated_clocks_hold_with_the_base_rate_of_a_healthy_board_and_overclocks_stay_risky() -> None:
    rated, over = at("100/3", "4"), at("40", "4")
    base = belief(rated, ()).sound()
    assert 0.95 < base < 0.99
    assert chance(rated) > base - 0.06
    assert chance(over) < 0.55
    assert "no path is near a limit" in hold(rated, (soaked(rated),)).chance.why
    assert "this board" in hold(rated, (soaked(rated),)).chance.why


def test_unknown_grades_widen_an_overclock_and_leave_the_rated_clock_alone() -> None:
    """Chips of an assumed grade inside it: no risk of their own. A part of which nothing is known: the same."""
    cache = {"l2_kb": "256", "l2_read": "3-2-2-2", "l2_write_ws": "1", "dram_read": "5-3-3-3"}
    told = at("100/3", "2", **cache, l2_ns="15", ram_ns="60")
    guessed = at("100/3", "2", **cache)
    assert chance(guessed) > chance(told) - 0.03
    unknown = setup({"bus_mhz": "100/3", "ratio": "2", "cpu": "?"}, BOARD)
    assert chance(unknown) > 0.85


def test_coming_up_proves_nothing_of_a_bus_that_a_boot_does_not_load() -> None:
    """It booted with a fast local bus and died in the mode change: the local bus stays the first suspect."""
    fast = at("50", "2")
    died = seen(fast, "", number="1", outcome=Outcome.BOOTS)
    died = Observed(run=msgspec.structs.replace(died.run, place="mode change"), setup=fast, when=died.when)
    paths = {p.path: p.hold for p in hold(fast, (died, held(at("100/3", "3")))).paths}
    assert paths["vlb"] < 0.5
    assert paths["bus"] < 0.5


def test_states_drawn_together_hold_as_often_as_their_chances_and_not_independently() -> None:
    runs = (held(at("100/3", "3")), failed(at("50", "3"), number="2"), failed(at("45", "7/2"), number="3"))
    known = belief(at("100/3", "3"), runs)
    targets = [at("40", "7/2"), at("45", "5/2"), at("50", "2"), at("100/3", "9/2"), at("100/3", "5")]
    drawn = known.together(targets, 512)
    for state, holds in zip(targets, drawn, strict=True):
        assert known.sound() * holds.mean() == pytest.approx(known.chance(state), abs=0.05)
    assert not np.any(drawn[4] & ~drawn[3])


def test_known_ceiling_is_named() -> None:
    runs = (held(at("40", "3"), "1"), failed(at("40", "4"), number="2"), failed(at("40", "4"), number="3"))
    told = hold(at("50", "4"), runs)
    assert told.beyond_ceiling
    assert not hold(at("40", "3"), runs).beyond_ceiling


def test_more_volts_help_and_heat_hurts_the_core() -> None:
    fail = failed(at("40", "4", core_v="3.45"))
    base = chance(at("40", "4", core_v="3.45"), fail)
    assert chance(at("40", "4", core_v="3.6"), fail) > base
    assert chance(at("40", "4", core_v="3.45", temp_c="70"), fail) < base


def test_a_specimen_keeps_its_limit_on_another_board() -> None:
    there = sheet("quay-2", "486vlb", buses=("vlb", "isa"))
    ran = held(at("40", "4", there, cpu_specimen="blue dot"))
    moved = at("40", "4", cpu_specimen="blue dot")
    assert chance(moved, ran) > chance(moved)
    assert chance(at("40", "4", cpu_specimen="red dot"), ran) == pytest.approx(chance(moved))


def test_without_clocks_nothing_is_said() -> None:
    got = hold(setup({"bus_mhz": None, "ratio": None}), ())
    assert got.chance.hold is None
    assert "no clock" in got.chance.why


@settings(deadline=None, max_examples=40)
@given(
    outcomes=st.lists(
        st.tuples(
            st.sampled_from(["25", "100/3", "40", "50"]), st.sampled_from(["2", "3", "4"]), st.booleans()
        ),
        max_size=9,
    ),
    ratio=st.sampled_from(["2", "3"]),
)
def test_more_core_clock_never_raises_the_chance(outcomes: list[tuple[str, str, bool]], ratio: str) -> None:
    """Monotone per path at a fixed bus, divider, pattern and volts, whatever was seen, also many failures."""
    runs = [
        held(at(b, r), str(i)) if ok else failed(at(b, r), number=str(i))
        for i, (b, r, ok) in enumerate(outcomes)
    ]
    low, high = at("40", ratio), at("40", str(int(ratio) + 1))
    assert chance(high, *runs) <= chance(low, *runs) + 1e-12
    assert 0.0 <= chance(low, *runs) <= belief(low, tuple(runs)).sound() + 1e-12
