"""Several writers at once: one line per pen, on both databases."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from book_help import draft, records, texts

from leadoff.book.book import Book
from leadoff.book.envelope import decode_line
from leadoff.record.errors import LeadoffError

Books = Callable[..., Book]
Place = Callable[[], str]

WRITER = """
import sys
from pathlib import Path
from leadoff.book import Draft, open_book
place, config, name, count = sys.argv[1:]
with open_book(place, Path(config), wait_ms=60000) as book:
    for k in range(int(count)):
        if k % 10 == 9:
            with book.writing() as w:
                did = w.append(Draft("did", b'{}'))
                w.append(Draft("finding", ('{"of":"%s"}' % did.id).encode()))
        else:
            book.append([Draft("run", ('{"n":"%s-%d"}' % (name, k)).encode())])
"""

EACH = 50


def start(place: str, config: Path, name: str, count: int = EACH) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, place, str(config), name, str(count)], stderr=subprocess.PIPE
    )


@pytest.mark.parametrize("shared", [True, False], ids=["one pen", "four pens"])
def test_four_writers_make_one_line_per_pen(place: Place, books: Books, tmp_path: Path, shared: bool) -> None:
    where = place()
    books(where, "first")
    running = [start(where, tmp_path / "config" / ("w" if shared else f"w{k}"), str(k)) for k in range(4)]
    for process in running:
        _, said = process.communicate(timeout=120)
        assert process.returncode == 0, said.decode()
    book = books(where, "first")
    report = book.verify()
    assert report.good, report.faults
    assert report.forks == ()
    assert report.entries == 4 * (EACH + EACH // 10)
    assert len(report.pens) == (1 if shared else 4)
    assert len(report.heads) == 1
    chains: dict[str, list[int]] = {}
    for record in records(book):
        env = decode_line(record.line)
        chains.setdefault(env.pen, []).append(env.seq)
    assert all(seqs == list(range(1, len(seqs) + 1)) for seqs in chains.values())
    for name in range(4):
        own = [t for t in texts(book, "run") if t.startswith(f"{name}-")]
        assert len(own) == EACH - EACH // 10


def test_threads_share_a_book(place: Place, books: Books) -> None:
    book = books(place(), wait_ms=60000)
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda k: book.append([draft(n=str(k))]), range(40)))
        reads = list(pool.map(lambda _: len(book.live()), range(8)))
    assert reads == [40] * 8
    report = book.verify()
    assert (report.good, report.forks, len(report.pens), report.entries) == (True, (), 1, 40)


def test_waiting_too_long_for_another_writer(place: Place, books: Books) -> None:
    where = place()
    first, second = books(where, "a"), books(where, "b", wait_ms=150)
    with first.writing() as writer:
        writer.append(draft(n="1"))
        began = time.monotonic()
        with pytest.raises(
            LeadoffError, match="writing to the book for too long; nothing was written"
        ) as caught:
            second.append([draft(n="2")])
        assert 0.1 < time.monotonic() - began < 5
        assert caught.value.problems[0].code == "book_locked"
        assert texts(second) == [], "reading goes on, and sees nothing half done"
    assert texts(second) == ["1"]
    second.append([draft(n="2")])
    assert texts(first) == ["1", "2"]


def test_a_pen_held_by_a_copy_of_the_book(tmp_path: Path, books: Books) -> None:
    """Two copies on one installation: the second waits for the pen's file, then gives up with one clear error."""
    a = books(tmp_path / "a.db")
    a.append([draft(n="1")])
    b = books(a.backup(tmp_path / "b.db"), wait_ms=150)
    with a.writing() as writer:
        writer.append(draft(n="2"))
        with pytest.raises(LeadoffError, match=r"\.pen is held by another program") as caught:
            b.append([draft(n="3")])
    assert caught.value.problems[0].code == "book_locked"
    b.append([draft(n="3")])
    assert a.merge(b).forks == ()


def test_backup_while_another_process_writes(tmp_path: Path, books: Books) -> None:
    book = books(tmp_path / "b.db", "reader")
    process = start(str(tmp_path / "b.db"), tmp_path / "config" / "w", "w", 200)
    saved = []
    while process.poll() is None:
        saved.append(book.backup())
        time.sleep(0.05)
    assert process.wait() == 0, process.communicate()[1]
    assert len(saved) >= 2
    final = records(book)
    for path in saved:
        copy = books(path, "check")
        assert copy.verify().good
        assert records(copy) == final[: len(records(copy))], "a prefix of the book"
