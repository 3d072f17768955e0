"""Kill a writer with SIGKILL again and again; each time the book must open, verify and hold what was acknowledged.

    python tools/kill_writer.py --times 10000

The child appends single entries and batches, undoes, redacts, folds and makes backups in a loop, and reports each
act once it is done. The parent kills it at a random moment and then looks:

- the book opens and verifies, with no fork and no damage;
- every acknowledged entry is there; of what was not acknowledged at most one act is there, and that one whole;
- a text whose redaction was acknowledged is in no file of the folder, and one whose redaction was cut off
  is gone after the next opening.

Needs os.fork (Linux, macOS). Exit status 1 at the first violation; the folder is then kept and named.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from leadoff.book import Draft, Fold, open_book
from leadoff.book.book import Book

BATCH = 5
READY = b"{}\n"
COUNT = Fold[int](
    "count", 1, int, lambda s, _: s + 1, encode=lambda s: str(s).encode(), decode=lambda b: int(b.decode())
)


def child(folder: Path, seed: int, pipe: int) -> None:
    """Write until killed. One line on the pipe per finished act, as JSON."""
    chance = random.Random(seed)
    with open_book(folder / "b.db", folder / "config") as book:
        os.write(pipe, READY)
        k = 0
        while True:
            k += 1
            done = act(book, chance, f"{seed}-{k}")
            os.write(pipe, json.dumps(done).encode() + b"\n")


def act(book: Book, chance: random.Random, name: str) -> dict[str, Any]:
    """One act of the writer; returns what it acknowledges."""
    what = chance.choices(
        ["one", "batch", "pair", "undo", "fold", "redact", "backup"], [40, 20, 15, 10, 10, 4, 1]
    )[0]
    if what == "batch":
        drafts = [Draft("run", json.dumps({"act": name, "of": BATCH, "k": k}).encode()) for k in range(BATCH)]
        return {"ids": [e.id for e in book.append(drafts)]}
    if what == "pair":
        with book.writing() as writer:
            did = writer.append(Draft("did", json.dumps({"act": name, "of": 2, "k": 0}).encode()))
            body = json.dumps({"act": name, "of": 2, "k": 1, "because": did.id})
            return {"ids": [did.id, writer.append(Draft("finding", body.encode())).id]}
    [entry] = book.append(
        [Draft("party", json.dumps({"act": name, "of": 1, "k": 0, "name": f"<{name}>"}).encode())]
    )
    if what == "undo":
        return {"ids": [entry.id, book.amend(entry.id, "undo").entries[0].id]}
    if what == "redact":
        return {"ids": [entry.id, book.amend(entry.id, "redact").entries[0].id], "gone": f"<{name}>"}
    if what == "fold":
        book.fold(COUNT)
    elif what == "backup":
        book.backup()
    return {"ids": [entry.id]}


def one_kill(folder: Path, seed: int, longest_ms: float, *, full: bool) -> dict[str, int]:
    """Start a writer, kill it, look. Raises AssertionError with what was found wrong."""
    reader, writer = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            os.close(reader)
            child(folder, seed, writer)
        finally:
            os._exit(3)
    os.close(writer)
    chance = random.Random(seed)
    with os.fdopen(reader, "rb") as acks:
        if chance.random() < 0.85:  # the rest is killed while it opens the book
            acks.readline()
        time.sleep(chance.uniform(0, longest_ms) / 1000)
        os.kill(pid, signal.SIGKILL)
        _, status = os.waitpid(pid, 0)
        said = acks.read()
    assert os.WIFSIGNALED(status), f"the writer ended by itself: status {status}"
    lines = [line for line in said.split(b"\n")[:-1] if line != READY.strip()]
    acknowledged = [json.loads(line) for line in lines]
    return look(folder, seed, acknowledged, full=full)


def look(folder: Path, seed: int, acknowledged: list[dict[str, Any]], *, full: bool) -> dict[str, int]:
    """Open the book and compare it with what was acknowledged."""
    with open_book(folder / "b.db", folder / "config") as book:
        report = book.verify(since_checkpoint=not full)
        assert report.good, report.faults
        assert not report.forks, report.forks
        entries = {e.id: e for e in book.entries()}
        promised = {i for ack in acknowledged for i in ack["ids"]}
        lost = promised - set(entries)
        assert not lost, f"acknowledged and lost: {lost}"
        acts: dict[str, list[dict[str, Any]]] = {}
        for e in entries.values():
            if e.body is not None and e.kind != "amend":
                body = json.loads(e.body)
                acts.setdefault(body["act"], []).append(body)
        for name, parts in acts.items():
            assert len(parts) == parts[0]["of"], f"half an act: {name}"
        unpromised = {a for a in acts if a.startswith(f"{seed}-")} - {
            json.loads(entries[i].body or b"{}").get("act") for i in promised
        }
        assert len(unpromised) <= 1, f"more than one act beyond the acknowledged: {unpromised}"
        gone = [
            json.loads(e.body or b"{}").get("of") for e in entries.values() if b'"redact"' in (e.body or b"")
        ]
        assert all(entries[i].body is None for i in gone), "redacted, yet the body is there"
        assert book.leftovers == (), book.leftovers
        if full:
            assert book.fold(COUNT) == len(book.live())
    for text in [a["gone"] for a in acknowledged if "gone" in a]:
        for path in (p for p in folder.rglob("*") if p.is_file()):
            assert text.encode() not in path.read_bytes(), f"{text} is still in {path}"
    return {
        "entries": report.entries,
        "acknowledged": len(promised),
        "pens": len(report.pens),
        "gone": len(gone),
    }


def kill_many(
    folder: Path, times: int, *, seed: int = 0, longest_ms: float = 60, progress: bool = False
) -> dict[str, int]:
    """Kill ``times`` writers; returns sums. A new book is begun every 100 kills, so that looking stays quick."""
    total = {"kills": 0, "entries": 0, "acknowledged": 0, "pens": 0, "gone": 0}
    for k in range(times):
        place = folder / f"round{k // 100}"
        place.mkdir(exist_ok=True)
        last = k % 100 == 99 or k == times - 1
        seen = one_kill(place, seed * 1_000_000 + k, longest_ms, full=last or k % 10 == 0)
        total["kills"] += 1
        total["acknowledged"] += seen["acknowledged"]
        if last:
            for name in ("entries", "pens", "gone"):
                total[name] += seen[name]
            shutil.rmtree(place)
        if progress and k % 100 == 99:
            print(f"{k + 1} of {times}: {total}", file=sys.stderr, flush=True)
    return total


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--times", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--longest-ms", type=float, default=60.0, help="longest life of a writer")
    args = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="leadoff-kill-"))
    try:
        total = kill_many(folder, args.times, seed=args.seed, longest_ms=args.longest_ms, progress=True)
    except AssertionError as why:
        print(f"VIOLATION: {why}\nkept: {folder}", file=sys.stderr)
        return 1
    shutil.rmtree(folder)
    print(json.dumps(total))
    return 0


if __name__ == "__main__":
    sys.exit(main())
