"""Which board is on the bench on which evening, for how many runs."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from leadoff.validation.keyed import generator

Session = tuple[int, str, int]
"""Day since the start, board, runs."""


def sessions(seed: int, boards: Sequence[str], runs: int, days: float) -> list[Session]:
    """Boards come one after the other, stay for some evenings, and some come back after months."""
    out: list[Session] = []
    taken: set[int] = set()
    for i, board_id in enumerate(boards):
        rng = generator(seed, "evenings", board_id)
        day = int(days * (i + 0.3 * rng.random()) / max(1, len(boards)))
        left = runs
        while left > 0:
            while day in taken:
                day += 1
            taken.add(day)
            n = min(left, int(rng.integers(3, 8)))
            out.append((day, board_id, n))
            left -= n
            day += int(rng.integers(1, 6)) if rng.random() < 0.8 else int(rng.integers(20, 200))
    return sorted(out)


def with_bridges(plan: Sequence[Session], days: float, rigs: int, bridges: int) -> list[Session]:
    """After each change of rig the boards used last before it are measured once more."""
    out = list(plan)
    taken = {day for day, _, _ in plan}
    for k in range(1, rigs):
        day = ceil(days * k / rigs)
        before = [board for d, board, _ in sorted(plan) if d < day]
        latest = list(dict.fromkeys(reversed(before)))[:bridges]
        for board_id in latest:
            while day in taken:
                day += 1
            taken.add(day)
            out.append((day, board_id, 1))
    return sorted(out)
