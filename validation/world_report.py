"""What the generated worlds look like: shares of the time, outcomes, scores and limits by class.

    python validation/world_report.py [--seed N] [--boards N] [--runs N] [--physics plain|other]

Prints medians and 95th percentiles, to be held against the design notes before a model is judged by a world.
"""

from __future__ import annotations

import argparse
from collections import Counter
from operator import itemgetter

import numpy as np

from leadoff.validation.worlds import World


def shares(world: World) -> None:
    """Share of the time by part, over all logged runs."""
    found: dict[str, list[float]] = {}
    for x in world.log:
        for part, share in world.shares(x.board, x.true)[x.workload].items():
            found.setdefault(part, []).append(100.0 * share)
    print("share of the time, %        5th   median   95th")
    for part, values in found.items():
        low, mid, high = np.percentile(values, [5, 50, 95])
        print(f"  {part:<22}{low:8.2f} {mid:8.2f} {high:7.2f}")


def outcomes(world: World) -> None:
    """How runs ended, how many declarations were wrong, how many boards have an unknown setting."""
    count = Counter(x.run.outcome.value for x in world.log)
    print("outcomes: " + ", ".join(f"{k} {v}" for k, v in count.most_common()))
    wrong = sum(bool(x.wrong) for x in world.log)
    hidden = sum(bool(world.hidden_setting(b.id)) for b in world.boards)
    print(f"wrong declarations {wrong} of {len(world.log)}, boards with an unknown setting {hidden}")


def limits(world: World, states: int = 300) -> None:
    """By class: share of reachable states that hold, and the path that stops the others."""
    seen: dict[str, list[tuple[float, Counter[str]]]] = {}
    for b in world.boards:
        every = list(world.reachable(b.id))
        rng = np.random.Generator(np.random.PCG64(1))
        picked = [every[i] for i in rng.choice(len(every), size=min(states, len(every)), replace=False)]
        truths = world.truths(b.id, picked)
        stops = Counter(min(t.limits.items(), key=itemgetter(1))[0] for t in truths if not t.hold)
        seen.setdefault(b.board_class, []).append((float(np.mean([t.hold for t in truths])), stops))
    for cls, found in seen.items():
        total: Counter[str] = sum((s for _, s in found), Counter())
        held = np.mean([h for h, _ in found])
        print(
            f"  {cls:<9} {held:5.2f} of the states hold; stopped by "
            + ", ".join(f"{k} {v}" for k, v in total.most_common())
        )


def main() -> None:
    """Reads the arguments and prints the report."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--boards", type=int, default=40)
    parser.add_argument("--runs", type=int, default=10)
    parser.add_argument("--physics", choices=("plain", "other"), default="plain")
    args = parser.parse_args()
    world = World(args.seed, boards=args.boards, runs=args.runs, physics=args.physics, years=10.0, rigs=3)
    shares(world)
    outcomes(world)
    limits(world)


if __name__ == "__main__":
    main()
