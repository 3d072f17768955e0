"""How long publishing takes: the report of a board with 400 runs in a cold process, each still in a warm one.

python benchmarks/publish.py        goals: report under 3 s cold, stills under 0.3 s each warm
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RUNS = 400
BOARD = """
[board]
id = "long-486"
class = "486-vlb"
sheet_confirmed = true
[[jumper]]
id = "jp1"
positions = ["1-2", "2-3"]
sets = { bus_mhz = { "1-2" = 33, "2-3" = 40 } }
[fitted]
cpu = "486dx2-66-5v"
[now]
jp1 = "1-2"
"""


def build(folder: Path) -> None:
    """An invented board with its runs, a sweep and forecasts, written through the command's own verbs."""
    from leadoff.loop.boards import board_add
    from leadoff.loop.forecasting import forecast
    from leadoff.loop.logging import log
    from leadoff.loop.moving import move
    from leadoff.loop.session import Session
    from leadoff.loop.sweeping import sweep

    file = folder / "board.toml"
    file.write_text(BOARD, encoding="utf-8")

    def session(n: int) -> Session:
        return Session(book=str(folder / "b.db"), at=f"2020-{1 + n // 28:02d}-{1 + n % 28:02d}T12:00:00Z")

    board_add(session(0), str(file))
    for n in range(1, 9):
        s = session(n)
        if n % 2 == 0:
            move(s, "long-486", f"bus {40 if n % 4 else 33}")
        if n in (3, 6):
            forecast(session(n), "long-486")
        base = 19.0 + 0.1 * n + (3.5 if n % 4 in (2, 3) else 0.0)
        lines = [f"w2 {base + 0.1 * (k % 4):.1f} frames/s" for k in range(RUNS // 8)]
        log(session(n), "long-486", lines)
        s.close()
    text = ", ".join(f"{2**k}K {10.1 if k < 4 else 26.0 if k < 9 else 60.2}us/KB" for k in range(1, 13))
    sweep(session(9), "long-486", text=text)


def main() -> int:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ |= {"LEADOFF_CONFIG": f"{name}/pen", "LEADOFF_CACHE": f"{name}/cache"}
        build(folder)
        command = [sys.executable, "-m", "leadoff", "publish", "long-486", "--book", f"{name}/b.db"]
        command += ["--to", f"{name}/out", "--only", "page", "--only", "paper"]
        cold, busy = [], []
        for _ in range(3):
            began, spent = time.perf_counter(), _children()
            subprocess.run(command, check=True, capture_output=True)
            cold.append(time.perf_counter() - began)
            busy.append(_children() - spent)
        print(
            f"report (page, paper, public file), {RUNS} runs, cold process: {min(cold):.2f} s best of 3 (goal 3), "
            f"{min(busy):.2f} s of it on the processor"
        )
        slow = stills(folder)
    return 0 if min(cold) < 3 and slow < 0.3 else 1


def _children() -> float:
    """Processor seconds of all processes that this one has waited for."""
    times = os.times()
    return times.children_user + times.children_system


def stills(folder: Path) -> float:
    """The slowest still, second time each."""
    from leadoff.loop.publishing import gather
    from leadoff.loop.session import Session
    from leadoff.show.plates.surface import STILL
    from leadoff.show.report.plates import Plates
    from leadoff.show.report.typesetting import png

    made = gather(Session(book=str(folder / "b.db")), "long-486")
    plates = Plates(made.public, made.pictures.points, made.pictures.bands, made.pictures.jumpers)
    worst = 0.0
    for warm in (False, True):
        for name in plates.names():
            began, spent = time.perf_counter(), time.process_time()
            png(plates.draw(name, STILL, head=made.public.head))
            took, busy = time.perf_counter() - began, time.process_time() - spent
            if warm:
                print(f"still {name}: {took:.3f} s (goal 0.3), {busy:.3f} s of it on the processor")
                worst = max(worst, took)
    return worst


if __name__ == "__main__":
    raise SystemExit(main())
