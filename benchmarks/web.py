"""The bench page measured: ``python benchmarks/web.py [--entries 1000000]``. Figures of one run belong together.

Start to first page, the bench view with 400 runs and with a book of many entries, page weight, the input line's
answer, and twenty devices at once, each beside its goal; a shared machine only adds.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import gzip
import http.client
import os
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import httpx
import msgspec

from leadoff.book import Draft
from leadoff.loop.demo import demo_session, write_world
from leadoff.loop.history import read_history
from leadoff.loop.session import Session
from leadoff.record.entries import MarkBody
from leadoff.validation.tour import tour_world

BOARD = "reading-486"
OWN = {"X-Leadoff": "1"}
RUNS = 400
OTHERS = 5000
"""Runs of other boards in a large book: dozens of boards with hundreds of runs."""
DEVICES, INPUTS = 20, 15


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--entries", type=int, default=0, help="also measure a book of this many entries")
    asked.add_argument("--keep", type=Path, help="folder that keeps the large book for another time")
    given = asked.parse_args()
    entries = given.entries
    with tempfile.TemporaryDirectory(prefix="leadoff-web-") as made:
        folder = Path(made)
        make_book(folder, runs=RUNS)
        with serving(folder) as (address, first_s):
            told("start to first page", first_s * 1000, 500, "ms")
            told("of these the processor's own time", cpu_s() * 1000, None, "ms")
            asyncio.run(first_line(address))
            asyncio.run(one_book(address, f"{RUNS} runs", 50))
            asyncio.run(many_devices(address))
    if entries:
        with large_book(entries, given.keep) as folder, serving(folder) as (address, first_s):
            told(f"start to first page, {entries} entries", first_s * 1000, None, "ms")
            told("of these the processor's own time", cpu_s() * 1000, None, "ms")
            asyncio.run(one_book(address, f"{entries} entries", 100))


@contextlib.contextmanager
def large_book(entries: int, keep: Path | None) -> Iterator[Path]:
    """A folder with a copy of the large book; making it takes half a minute for a million entries."""
    with tempfile.TemporaryDirectory(prefix="leadoff-web-") as made:
        folder = Path(made)
        kept = keep / f"{entries}" if keep is not None else folder / "first"
        if not (kept / "tour.db").exists():
            kept.mkdir(parents=True, exist_ok=True)
            make_book(kept, runs=RUNS, entries=entries)
        shutil.copytree(kept, folder / "book")
        yield folder / "book"


def told(what: str, value: float, goal: float | None, unit: str) -> None:
    aim = f"goal {goal:g}" if goal is not None else "no goal"
    met = "" if goal is None else ("  met" if value <= goal else "  MISSED")
    print(f"{what:52} {value:10.1f} {unit:4} {aim}{met}", flush=True)


def make_book(folder: Path, *, runs: int, entries: int = 0) -> None:
    """The tour's world with more runs of one board. A large one has a hundred runs for each thousand entries up to
    ``OTHERS``, of the other boards, and is filled up with notes: a note can be as many as there were evenings.
    """
    session: Session = demo_session(folder, "2019-12-07T19:00")
    write_world(session, tour_world())
    book = session.book
    template = next(e for e in book.live({"run"}) if e.body is not None and b'"w4"' in e.body)
    body = msgspec.json.decode(template.body or b"")
    others = sorted(read_history(session).boards.keys() - {BOARD})
    own = max(0, runs - len(book.live({"run"})))
    drafts = []
    for n in range(own + min(OTHERS, entries // 10)):
        body["run"]["number"] = str(1000 + n)
        body["run"]["board"] = BOARD if n < own else others[n % len(others)]
        minute = f"20{20 + n // 2800 % 60}-{1 + n // 280 % 10:02d}-{1 + n // 10 % 28:02d}T{8 + n % 10:02d}:00"
        drafts.append(Draft(kind="run", body=msgspec.json.encode(body), at=minute))
    book.append(drafts)
    note = msgspec.json.encode(MarkBody(board=BOARD, what="note", said="an evening at the bench"))
    book.append(Draft(kind="mark", body=note, at="2019-11-01") for _ in range(entries - len(drafts) - 200))
    session.close()


@contextlib.contextmanager
def serving(folder: Path) -> Iterator[tuple[str, float]]:
    """The command itself, from its start to the first whole page."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    places = {"BOOK": str(folder / "tour.db"), "CONFIG": str(folder / "pen"), "CACHE": str(folder / "cache")}
    env = os.environ | {f"LEADOFF_{name}": place for name, place in places.items()}
    # Compiled modules lie beside an installed program; an environment that forbids them would compile at each start.
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    env["PYTHONPYCACHEPREFIX"] = str(folder / "compiled")
    command = [sys.executable, "-m", "leadoff", "serve", "--port", str(port)]
    took = []
    for last in (
        False,
        True,
    ):  # the first start compiles what is kept; the second is what a user has every day
        began = time.perf_counter()
        process = subprocess.Popen(command, env=env, stdout=subprocess.DEVNULL)
        address = f"http://127.0.0.1:{port}"
        _first_page(port)
        took.append(time.perf_counter() - began)
        SPENT.append(_spent(process.pid))
        if last:
            break
        process.terminate()
        process.wait(20)
    try:
        yield address, took[-1]
    finally:
        process.terminate()
        process.wait(20)


SPENT: list[float] = []
"""Processor seconds that the last server had used when its first page was there."""


def cpu_s() -> float:
    return SPENT[-1]


def _spent(pid: int) -> float:
    """Processor seconds of a running child; 0 where the system does not tell."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _first_page(port: int) -> None:
    """Wait for the port with as little work as can be, then read one whole page."""
    while True:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                break
        time.sleep(0.01)
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=600)
    line.request("GET", f"/board/{BOARD}")
    answer = line.getresponse()
    assert answer.status == 200, answer.status
    answer.read()
    line.close()


def bare(address: str, rounds: int) -> list[float]:
    """Seconds for the bench view over one open connection, with a client that costs next to nothing."""
    line = http.client.HTTPConnection(address.removeprefix("http://"), timeout=600)
    took = []
    for _ in range(rounds):
        began = time.perf_counter()
        line.request("GET", f"/board/{BOARD}")
        answer = line.getresponse()
        answer.read()
        took.append(time.perf_counter() - began)
        assert answer.status == 200, answer.status
    line.close()
    return took


async def one_book(address: str, what: str, goal: float, *, patience: float = 1.0) -> None:
    """Figures of one book; ``patience`` stretches the goals for a machine that has other work to do."""
    goal *= patience
    async with httpx.AsyncClient(base_url=address, headers=OWN, timeout=120) as client:
        page = (await client.get(f"/board/{BOARD}")).text
        times = bare(address, 60)
        told(f"bench view, {what}, warm median", 1000 * statistics.median(times), goal, "ms")
        if what.endswith("runs"):
            parts = set(re.findall(r'"(/static/[^"]+)"', page))
            base = next(iter(parts)).rsplit("/", 1)[0]
            parts |= {
                f"{base}/{name}.js"
                for name in ("queue", "say", "live", "ticks", "pictures", "drop", "photos", "choose")
            }
            whole = page.encode() + b"".join([(await client.get(p)).content for p in sorted(parts)])
            told("page weight without charts", len(whole) / 1000, 60, "KB")
            told("the same packed, as a note", len(gzip.compress(whole)) / 1000, None, "KB")
        dry = [await say(client, f"w4 10.{n}", dry="1") for n in range(10, 40)]
        told(f"input line read, {what}, median", 1000 * statistics.median(dry), 100 * patience, "ms")
        kept = [await say(client, f"w4 10.{n}", once=f"{what}{n}") for n in range(10, 40)]
        told(f"input line kept, {what}, median", 1000 * statistics.median(kept), 100 * patience, "ms")
        after = []
        for n in range(10):
            await say(client, f"w4 10.{n}", once=f"{what}after{n}")
            after += bare(address, 1)
        told(f"bench view right after an entry, {what}", 1000 * statistics.median(after), goal, "ms")


async def timed(client: httpx.AsyncClient, method: str, path: str, **more: Any) -> float:
    began = time.perf_counter()
    (await client.request(method, path, **more)).raise_for_status()
    return time.perf_counter() - began


async def say(client: httpx.AsyncClient, line: str, **fields: str) -> float:
    return await timed(client, "POST", f"/board/{BOARD}/say", data={"line": line, **fields})


async def first_line(address: str) -> None:
    """The first line after the first page: it loads what lines need."""
    async with httpx.AsyncClient(base_url=address, headers=OWN, timeout=120) as client:
        told("first line read after the start", 1000 * await say(client, "w4 10.4", dry="1"), None, "ms")


async def many_devices(address: str) -> None:
    """Each device has a live line, enters a result every second or so, and asks for the page after each change."""
    takes: list[float] = []
    async with httpx.AsyncClient(base_url=address, timeout=120) as client:
        before = (await client.get(f"/board/{BOARD}.json")).json()["data"]["runs_in_all"]
        began = time.perf_counter()
        await asyncio.gather(*(device(address, n, takes) for n in range(DEVICES)))
        whole = time.perf_counter() - began
        after = (await client.get(f"/board/{BOARD}.json")).json()["data"]["runs_in_all"]
    takes.sort()
    lost = DEVICES * INPUTS - (after - before)
    told(f"{DEVICES} devices, inputs lost of {DEVICES * INPUTS}", lost, 0, "")
    told(f"{DEVICES} devices, input kept, median", 1000 * statistics.median(takes), None, "ms")
    told(f"{DEVICES} devices, input kept, 99 of 100", 1000 * takes[int(len(takes) * 0.99) - 1], 500, "ms")
    told(f"{DEVICES} devices, all of it", whole, None, "s")


async def device(address: str, n: int, takes: list[float]) -> None:
    """Bare connections: a client written in Python must not be what is measured."""
    host, _, port = address.removeprefix("http://").partition(":")
    line = Line(host, int(port))
    body = await line.ask("GET", f"/board/{BOARD}.json")
    heads = " ".join(msgspec.json.decode(body)["data"]["heads"])
    listening = asyncio.create_task(listen(host, int(port)))
    await asyncio.sleep(n * 0.05)
    for k in range(INPUTS):
        fields = urlencode({"line": f"w4 {9 + n / 20:.2f}", "once": f"d{n}-{k}", "seen": heads})
        began = time.perf_counter()
        await line.ask("POST", f"/board/{BOARD}/say", fields)
        takes.append(time.perf_counter() - began)
        await asyncio.sleep(1.0)
    listening.cancel()


async def listen(host: str, port: int) -> None:
    """The live line, and the page anew whenever it speaks."""
    reader, writer = await asyncio.open_connection(host, port)
    writer.write(f"GET /live HTTP/1.1\r\nHost: {host}:{port}\r\n\r\n".encode())
    line = Line(host, port)
    while True:
        if (await reader.readline()).startswith(b"data:"):
            await line.ask("GET", f"/board/{BOARD}")


class Line:
    """One kept connection that asks one thing after another."""

    def __init__(self, host: str, port: int) -> None:
        self.host, self.port = host, port
        self.ends: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def ask(self, method: str, path: str, form: str = "") -> bytes:
        if self.ends is None:
            self.ends = await asyncio.open_connection(self.host, self.port)
        reader, writer = self.ends
        head = f"{method} {path} HTTP/1.1\r\nHost: {self.host}:{self.port}\r\nX-Leadoff: 1\r\n"
        if form:
            head += f"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {len(form)}\r\n"
        writer.write(f"{head}\r\n{form}".encode())
        answer = (await reader.readuntil(b"\r\n\r\n")).decode()
        assert answer.startswith("HTTP/1.1 200"), answer.splitlines()[0]
        found = re.search(r"content-length: (\d+)", answer, re.IGNORECASE)
        assert found is not None
        return await reader.readexactly(int(found[1]))


if __name__ == "__main__":
    main()
