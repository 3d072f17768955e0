"""Whole commands, start to end, beside sqlite-utils in the same run.

    python benchmarks/cli.py                # best and median of 7

The peer does what is nearest to it: prints its help, inserts one row into a file. Goals stand beside our figures.
Other work on the machine makes every figure worse; compare within one run.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
OURS = [sys.executable, "-m", "leadoff"]
PEER = [sys.executable, "-m", "sqlite_utils"]


def timed(command: Sequence[str], env: dict[str, str], repeats: int, stdin: str = "") -> tuple[float, float]:
    """Best and median seconds of a whole process; it must end well."""
    seconds = []
    for _ in range(repeats):
        start = time.perf_counter()
        done = subprocess.run(
            command, env=env, cwd=ROOT, input=stdin, capture_output=True, text=True, check=False
        )
        seconds.append(time.perf_counter() - start)
        assert done.returncode == 0, f"{command}: {done.stderr}"
    return min(seconds), statistics.median(seconds)


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--repeats", type=int, default=7)
    repeats: int = ask.parse_args().repeats
    with tempfile.TemporaryDirectory() as folder:
        places = {f"LEADOFF_{n}": str(Path(folder) / n.lower()) for n in ("CONFIG", "CACHE")}
        env = {**os.environ, **places, "LEADOFF_BOOK": str(Path(folder) / "book.db")}
        subprocess.run([*OURS, "board", "add", "examples/ferry-486.toml"], env=env, cwd=ROOT, check=True)
        subprocess.run([*OURS, "log", "ferry-486", "w2", "19.6"], env=env, cwd=ROOT, check=True)
        tour = Path(folder) / "tour"
        subprocess.run(
            [*OURS, "tour", "--dir", str(tour)], env=env, cwd=ROOT, check=True, capture_output=True
        )
        touring = {**env, "LEADOFF_BOOK": str(tour / "tour.db"), "LEADOFF_CONFIG": str(tour / "pen")}
        peer_db = str(Path(folder) / "peer.db")
        bare = timed([sys.executable, "-c", "pass"], env, repeats)
        rows = [
            ("--help", timed([*OURS, "--help"], env, repeats), 0.1, timed([*PEER, "--help"], env, repeats)),
            (
                "log one run",
                timed([*OURS, "log", "ferry-486", "w2", "19.6"], env, repeats),
                0.7,
                timed([*PEER, "insert", peer_db, "runs", "-"], env, repeats, '{"w2": 19.6}'),
            ),
            ("state", timed([*OURS, "state", "ferry-486"], env, repeats), None, None),
            ("now (70 runs, 6 boards)", timed([*OURS, "now", "reading-486"], touring, repeats), 1.5, None),
        ]
    print(f"bare python: best {bare[0]:.3f} s, median {bare[1]:.3f} s; load {os.getloadavg()[0]:.1f}")
    print(f"{'command':26}{'best s':>8}{'median s':>10}{'goal s':>8}{'':8}{'sqlite-utils':>14}{'ratio':>8}")
    for name, ours, goal, peer in rows:
        met = "" if goal is None else ("met" if ours[0] <= goal else "MISSED")
        beside = "" if peer is None else f"{peer[0]:14.3f}{ours[0] / peer[0]:7.2f}x"
        shown = "" if goal is None else f"{goal:8.2f}"
        print(f"{name:26}{ours[0]:8.3f}{ours[1]:10.3f}{shown:>8} {met:7}{beside}")


if __name__ == "__main__":
    main()
