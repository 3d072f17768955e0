"""One posterior and one full ranking of all open tests, side by side with a general Bayesian-network library.

    python benchmarks/faults.py

Times are medians of processor time on one thread, and the fastest of all beside them: on a busy machine the two
differ by half. The ranking is what the planner does: every result of every open test and what it would save. The
library (pyAgrum, LazyPropagation) gets the same shipped network with the noisy-OR nodes of the form that has the
leak as a cause of its own; its ranking is timed on a few tests and scaled to all, which is said in the output.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "faults"))

import numpy as np

from leadoff.faults import chain, load_knowledge
from leadoff.faults.diagnosis import open_acts
from leadoff.faults.evidence import Evidence, gather
from leadoff.faults.fold import Held
from leadoff.faults.network import build
from leadoff.faults.products import Answer
from leadoff.faults.proposals import drops
from leadoff.faults.results import Act, ahead
from leadoff.faults.solver import method, solve
from leadoff.faults.value import prices

FOUND = {"o_screen": "none", "o_power_signs": "fans_spin", "o_beeps": "silent", "o_look_caps": "ok"}
MANY = {
    "o_look_batt": "eaten",
    "o_look_dirt": "dirty",
    "o_look_slots": "bent_or_dirt",
    "o_bus_live": "stuck_bit",
}
RARE = {"o_look_burn": "scorched", "o_look_cpu": "bent", "o_look_scratch": "scratch"}
"""Found beside MANY: so unlikely together that subtraction would lose digits, and the chain works instead."""
SAMPLE = ("o_look_rom", "o_look_batt", "o_r_12v")


def median_ms(call: Callable[[], object], times: int) -> float:
    """Median processor time of a call, in milliseconds."""
    out = []
    for _ in range(times):
        start = time.process_time()
        call()
        out.append((time.process_time() - start) * 1e3)
    return statistics.median(out)


def fastest_ms(call: Callable[[], object], times: int) -> float:
    """The shortest of many calls by the wall clock, in milliseconds: what is left when nobody else runs."""
    out = []
    for _ in range(times):
        start = time.perf_counter()
        call()
        out.append(time.perf_counter() - start)
    return min(out) * 1e3


def library_ms(levels: dict[str, int], tests: tuple[str, ...]) -> tuple[float, float]:
    """Posterior of all faults, and posteriors for every result of ``tests``, by the library."""
    from faults_library import Library  # type: ignore[import-not-found]

    kb = load_knowledge()

    def built(more: tuple[str, ...]) -> Library:
        lib = Library(kb, "e486")
        lib.causes()
        lib.start([])
        for name in (*levels, *more):
            lib.reading(kb.observations[name])
        return lib

    dead = {**levels, "stage": [0.0, *[1.0] * 7]}
    one = built(())
    posterior = median_ms(lambda: one.infer(dead, one.faults), 3)
    total = 0.0
    for test in tests:
        lib = built((test,))
        for level in range(len(kb.observations[test].outcomes)):
            evidence = {**dead, test: level}
            total += median_ms(lambda lib=lib, evidence=evidence: lib.infer(evidence, lib.faults), 1)  # type: ignore[misc]
    return posterior, total / len(tests)


def main() -> None:
    """Print the table."""
    kb = load_knowledge()
    net = build(kb, "e486")
    price = prices(kb, net.names, loss_minutes=480.0, minutes_per_unit=5.0, skill=5)
    print(f"network: {len(net.names)} causes, {len(net.nodes)} observations")
    cases = (
        ("few positives", FOUND),
        ("four positives", {**FOUND, **MANY}),
        ("seven", {**FOUND, **MANY, **RARE}),
    )
    for title, found in cases:
        levels = {o: kb.observations[o].outcomes.index(x) for o, x in found.items()}
        ev = gather(net, levels, "start", {})
        base = solve(net, ev)
        acts = open_acts(kb, net, Held(levels=levels), frozenset())
        post = median_ms(lambda ev=ev: solve(net, ev), 300)  # type: ignore[misc]
        best = fastest_ms(lambda ev=ev: solve(net, ev), 1000 if post < 1 else 20)  # type: ignore[misc]

        def ranked(ev: Evidence = ev, acts: list[Act] = acts, base: Answer = base) -> list[float]:
            return drops(ahead(net, ev, acts, base), 480.0, price, one=False)

        rank = median_ms(ranked, 9)
        slow = median_ms(lambda ev=ev: chain.solve(net, ev), 5)  # type: ignore[misc]
        gap = np.abs(base.blocks / base.z - chain.solve(net, ev).blocks / chain.solve(net, ev).z).max()
        print(
            f"{title}: posterior {post:.2f} ms, fastest {best:.3f} (goal 0.2), by {method(base, one=False)}; "
            f"by the chain {slow:.1f} ms, largest gap {gap:.1e}, {base.cancels:.1e} was expected"
        )
        print(f"{title}: ranking of {len(acts)} tests {rank:.1f} ms (goal 30)")
        if title == "few positives":
            library, per_test = library_ms(levels, SAMPLE)
            whole = per_test * len(acts)
            print(f"library, {title}: posterior {library:.1f} ms ({library / post:.0f} x)")
            print(
                f"library, {title}: {per_test:.1f} ms a test, {whole:.0f} ms for all ({whole / rank:.0f} x, goal 50; "
                f"scaled from {len(SAMPLE)} tests)"
            )


if __name__ == "__main__":
    main()
