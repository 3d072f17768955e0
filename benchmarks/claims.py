"""Times of the claims part on a book of 38 boards and 400 runs, through the command's own verbs.

    python benchmarks/claims.py

Goal: any answer within 2 s, the reading of the book included. Wall time is what counts; on a machine that others
use as well, the processor's own time stands beside it.
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
from leadoff.loop.forecasting import why
from leadoff.loop.logging import log
from leadoff.loop.proving import forecasts, proof
from leadoff.loop.session import Session
from leadoff.loop.standing import stand

GOAL_S = 2.0
PAIR = ("390", "392")
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
            "standings, history of records": lambda s: stand(s, records=True),
            "proof, runs needed": lambda s: proof(s, "", difference_pct=0.5),
            "proof, a count": lambda s: proof(s, "3/60"),
            "proof, forecasts scored": forecasts,
            "why, first time": lambda s: why(s, *PAIR),
            "why, fit kept": lambda s: why(s, *PAIR),
            "log, a run": lambda s: log(s, "b07", ["w1 23.4"]),
        }
        print(f"{'':32s} {'wall':>6s} {'processor':>10s}")
        for name, ask in asked.items():
            tries = 1 if name in ("why, first time", "log, a run") else 3
            wall, cpu = min(_timed(ask, session) for _ in range(tries))
            met = "met" if wall <= GOAL_S else "met by the processor" if cpu <= GOAL_S else "NOT met"
            print(f"{name:32s} {wall:6.2f} {cpu:8.2f} s   goal {GOAL_S:g} s {met}")


def _timed(ask: Callable[[Session], object], session: Callable[[], Session]) -> tuple[float, float]:
    started, busy = time.perf_counter(), time.process_time()
    one = session()
    ask(one)
    one.close()
    return time.perf_counter() - started, time.process_time() - busy


if __name__ == "__main__":
    main()
