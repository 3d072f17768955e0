"""Times of the claims part on a book of 38 boards and 400 runs, through the command's own verbs.

    python benchmarks/claims.py

Goal: any answer within 2 s, the reading of the book included.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "validation"))

from claims_books import write_plain  # type: ignore[import-not-found,unused-ignore]

from leadoff.loop.claiming import claim
from leadoff.loop.proving import proof
from leadoff.loop.session import Session
from leadoff.loop.standing import stand

GOAL_S = 2.0
TEXT = (
    "The b07 holds the record in w1. The b03 is faster than the b11 in w1. It is stable. CAS 2 made the b09 faster. "
    "Nobody gets above 900 in w1. The b05 never hung."
)


def main() -> None:
    """Print each answer's time; a fresh session each, as a command has."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)

        def session() -> Session:
            return Session(book=str(place / "b.db"), config=place / "c", cache=place / "cache")

        made = session()
        runs = write_plain(made, boards=38, runs=400, seed=1)
        made.close()
        print(f"38 boards, {runs} runs")
        asked: dict[str, Callable[[Session], object]] = {
            "claim, six sentences": lambda s: claim(s, TEXT),
            "standings": lambda s: stand(s),
            "proof, runs needed": lambda s: proof(s, "", difference_pct=0.5),
        }
        for name, ask in asked.items():
            best = min(_timed(ask, session) for _ in range(3))
            print(f"{name:28s} {best:6.2f} s   goal {GOAL_S:g} s {'met' if best <= GOAL_S else 'NOT met'}")


def _timed(ask: Callable[[Session], object], session: Callable[[], Session]) -> float:
    started = time.perf_counter()
    one = session()
    ask(one)
    one.close()
    return time.perf_counter() - started


if __name__ == "__main__":
    main()
