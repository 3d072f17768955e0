"""Kills, full disks, missing rights: one clear error, nothing lost, nothing half written."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from book_help import draft, records, texts
from ordinary_user import as_ordinary_user

from leadoff.book import Draft, open_book
from leadoff.book.book import Book
from leadoff.record.errors import LeadoffError

Books = Callable[..., Book]
ROOT = Path(__file__).parents[2]


@pytest.mark.slow
def test_kill_9_a_hundred_times(tmp_path: Path) -> None:
    """The same as the command tools/kill_writer.py, which does it 10,000 times."""
    ended = subprocess.run(
        [sys.executable, str(ROOT / "tools" / "kill_writer.py"), "--times", "100", "--seed", "7"],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
        env={**os.environ, "TMPDIR": str(tmp_path)},
    )
    assert ended.returncode == 0, ended.stderr
    total = json.loads(ended.stdout)
    assert total["kills"] == 100
    assert total["acknowledged"] > 100, "the writers did write"
    assert total["gone"] > 0, "and redact"


def test_kill_in_the_middle_of_a_transaction_leaves_the_prefix(tmp_path: Path) -> None:
    code = (
        "import os, signal, sys; from pathlib import Path; from leadoff.book import *\n"
        f"b = open_book({str(tmp_path / 'b.db')!r}, Path({str(tmp_path / 'c')!r}))\n"
        "b.append([Draft('run', b'{\"n\":\"1\"}')])\n"
        "with b.writing() as w:\n"
        "    w.extend([Draft('run', b'{\"n\":\"2\"}')] * 20000)\n"
        "    w.finish()\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == -9
    assert (tmp_path / "b.db-wal").stat().st_size > 0
    with open_book(tmp_path / "b.db", tmp_path / "c") as book:
        assert texts(book) == ["1"]
        [two] = book.append([draft(n="2")])
        report = book.verify()
    assert report.good
    assert [p.entries for p in report.pens] == [2], "the pen found out that its last act never happened"
    assert two.seq == 2


# --- full disk

FULL = """
import json, resource, subprocess, sys
from pathlib import Path
from leadoff.book import Draft, open_book
from leadoff.record.errors import LeadoffError
folder, how, config = Path(sys.argv[1]), sys.argv[2], Path(sys.argv[3])
if how == "tmpfs":
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=900k", "tmpfs", str(folder)], check=True)
    (folder / "filler").write_bytes(b"x" * 200_000)
    if config.name == "inside":
        config = folder / "config"
book = open_book(folder / "b.db", config)
book.backup_folder  # not used here
if how == "limit":
    resource.setrlimit(resource.RLIMIT_FSIZE, (900_000, resource.RLIM_INFINITY))
kept, errors = [], []
for k in range(100_000):
    try:
        kept += [e.id for e in book.append([Draft("run", json.dumps({"k": k, "x": "x" * 3000}).encode())] * 3)]
    except LeadoffError as why:
        errors.append([why.problems[0].code, str(why), why.problems[0].do])
        if len(errors) == 2:
            break
whole = [e.id for e in book.entries()] == kept and book.verify().good
if how == "limit":
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
elif how == "tmpfs":
    (folder / "filler").unlink()
else:
    pass
after = book.append([Draft("run", b'{"after":1}')])
report = book.verify()
print(json.dumps({"kept": len(kept), "errors": errors, "whole": whole, "good": report.good,
                  "entries": report.entries, "pens": len(report.pens)}))
"""


def _fill(folder: Path, how: str, config: Path) -> dict[str, Any]:
    folder.mkdir()
    command = [sys.executable, "-c", FULL, str(folder), how, str(config)]
    if how == "tmpfs":
        command = ["unshare", "-rm", *command]  # a mount of its own: nothing to clean up
    ended = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ended.returncode == 0, ended.stderr
    said: dict[str, Any] = json.loads(ended.stdout)
    return said


def _can_mount() -> bool:
    """Whether a small disk can be had here; a container may forbid it, then only the size limit is left."""
    if shutil.which("unshare") is None:
        return False
    try_it = ["unshare", "-rm", "mount", "-t", "tmpfs", "tmpfs", "/mnt"]
    return subprocess.run(try_it, capture_output=True, check=False).returncode == 0


CASES = ["limit", *(["tmpfs", "tmpfs-inside"] if _can_mount() else [])]


@pytest.mark.parametrize("case", CASES)
def test_a_full_disk_leaves_the_prefix_and_says_so(case: str, tmp_path: Path) -> None:
    how, _, where = case.partition("-")
    said = _fill(tmp_path / "disk", how, tmp_path / (where or "config"))
    assert said["kept"] > 20
    assert said["whole"], "exactly what was acknowledged is there"
    codes = {code for code, _, _ in said["errors"]}
    assert codes <= {"disk_full", "book_io", "config_unwritable"}, said["errors"]
    assert "disk_full" in codes or how == "limit", said["errors"]
    assert all("nothing" in text for _, text, _ in said["errors"])
    assert all("space" in do for _, _, do in said["errors"])
    assert said["good"], "with space again, writing goes on"
    assert said["entries"] == said["kept"] + 1
    assert said["pens"] == 1


def test_a_full_file_by_sqlites_own_limit(tmp_path: Path, books: Books) -> None:
    book = books(tmp_path / "b.db")
    book.append([draft(n="1")])
    with book._store.bare() as db:
        pages = db.execute("PRAGMA page_count").fetchone()[0]
        db.execute(f"PRAGMA max_page_count={pages + 2}")
    with pytest.raises(LeadoffError, match="the disk is full; nothing of this was written") as caught:
        book.append([draft(x="y" * 50_000)])
    assert caught.value.problems[0].code == "disk_full"
    assert texts(book) == ["1"]
    with book._store.bare() as db:
        db.execute("PRAGMA max_page_count=1000000")
    book.append([draft(n="2")])
    assert book.verify().good
    assert len(book.verify().pens) == 1


def test_a_full_disk_while_exporting_or_backing_up(tmp_path: Path) -> None:
    if sys.platform == "win32":
        pytest.fail("run this where RLIMIT_FSIZE exists")
    code = (
        "import resource, sys; from pathlib import Path; from leadoff.book import *\n"
        "from leadoff.record.errors import LeadoffError\n"
        "root = Path(sys.argv[1])\n"
        "b = open_book(root / 'b.db', root / 'c')\n"
        "import os\n"
        "b.append([Draft('run', ('{\"x\":\"%s\"}' % os.urandom(4000).hex()).encode()) for _ in range(40)])\n"
        "b.export(root / 'x.zip'); old = (root / 'x.zip').read_bytes()\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, resource.RLIM_INFINITY))\n"
        "for act in (lambda: b.export(root / 'x.zip'), lambda: b.backup(root / 'copy.db')):\n"
        "    try: act()\n"
        "    except LeadoffError as why: print(why.problems[0].code, '|', why)\n"
        "assert (root / 'x.zip').read_bytes() == old\n"
        "print(sorted(p.name for p in root.iterdir()))\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=False
    )
    assert ended.returncode == 0, ended.stderr
    export, backup, there = ended.stdout.strip().split("\n")
    assert export.startswith("export_failed | ")
    assert "no archive was made, the book is untouched" in export
    assert backup.split(" ")[0] in ("disk_full", "book_io", "backup_failed"), backup
    assert ".part" not in there
    assert "copy.db" not in there


# --- rights


@pytest.fixture
def locked(tmp_path: Path) -> Iterator[Path]:
    """A folder with a book that others may read and not write."""
    with tempfile.TemporaryDirectory() as place:  # the folders of pytest itself are closed to others
        Path(place).chmod(0o755)
        folder = Path(place) / "locked"
        with open_book(folder / "b.db", tmp_path / "c") as book:
            book.append([draft(n="1"), draft(n="2")])
        (folder / "b.db").chmod(0o444)
        folder.chmod(0o555)
        yield folder
        folder.chmod(0o755)


def test_a_read_only_book_is_read_and_never_written(locked: Path) -> None:
    def act() -> Any:
        with open_book(locked / "b.db", locked / "no-config") as book:
            said = {"read_only": book.read_only, "texts": texts(book), "good": book.verify().good}
            for name, write in (
                ("append", lambda: book.append([Draft("run", b"{}")])),
                ("amend", lambda: book.amend(book.entries()[0].id, "undo")),
                ("rebuild", book.rebuild),
                ("import", lambda: book.merge(book)),
            ):
                with pytest.raises(
                    LeadoffError, match="can be read but not written; nothing was written"
                ) as caught:
                    write()
                said[name] = caught.value.problems[0].code
            return said

    said = as_ordinary_user(act)
    assert said == {
        "read_only": True,
        "texts": ["1", "2"],
        "good": True,
        **dict.fromkeys(("append", "amend", "rebuild", "import"), "book_read_only"),
    }


def test_a_read_only_book_can_be_exported_and_folded(locked: Path, tmp_path: Path) -> None:
    out = locked.parent / "out"
    out.mkdir()
    out.chmod(0o777)

    def act() -> Any:
        with open_book(locked / "b.db", locked / "no-config") as book:
            return book.export(out / "x.zip")

    assert as_ordinary_user(act) == 2
    with open_book(tmp_path / "new.db", tmp_path / "c2") as book:
        assert len(book.import_(out / "x.zip").added) == 2


def test_no_permission_is_one_clear_error(locked: Path) -> None:
    (locked / "b.db").chmod(0o000)

    def act(path: Path, create: bool) -> Callable[[], Any]:
        def inner() -> Any:
            with pytest.raises(LeadoffError) as caught:
                open_book(path, locked / "config", create)
            return [p.code for p in caught.value.problems], str(caught.value)

        return inner

    codes, text = as_ordinary_user(act(locked / "b.db", True))
    assert codes == ["no_permission"]
    assert "no permission" in text
    codes, text = as_ordinary_user(act(locked / "new.db", True))
    assert codes == ["no_permission"]
    assert "no permission" in text
    codes, _ = as_ordinary_user(act(locked / "deeper" / "new.db", True))
    assert codes == ["no_permission"]
    codes, _ = as_ordinary_user(act(locked / "new.db", False))
    assert codes == ["book_not_found"]


def test_a_config_folder_that_cannot_be_written(locked: Path) -> None:
    free = locked.parent / "free"
    free.mkdir()
    free.chmod(0o777)

    def act() -> Any:
        with open_book(free / "b.db", locked / "config") as book:
            with pytest.raises(LeadoffError, match="nothing was written") as caught:
                book.append([Draft("run", b"{}")])
            return [p.code for p in caught.value.problems], str(caught.value), len(book.entries())

    codes, text, entries = as_ordinary_user(act)
    assert (codes, entries) == (["config_unwritable"], 0)
    assert "a restored backup would fork unnoticed" in text


def test_rights_that_return(locked: Path, tmp_path: Path) -> None:
    """Opened read-only, later made writable: opening again is enough."""
    locked.chmod(0o755)
    (locked / "b.db").chmod(0o644)
    with open_book(locked / "b.db", tmp_path / "c") as book:
        assert not book.read_only
        book.append([draft(n="3")])
        assert len(records(book)) == 3


def test_somebody_elses_database_keeps_every_byte(tmp_path: Path) -> None:
    place = tmp_path / "other.db"
    other = sqlite3.connect(place)
    other.execute("CREATE TABLE recipes (name TEXT)")
    other.commit()
    other.close()
    before = place.read_bytes()
    with pytest.raises(
        LeadoffError, match=r"database of something else \(tables: recipes\); it was left alone"
    ):
        open_book(place, tmp_path / "config")
    assert place.read_bytes() == before


def test_a_path_through_a_file_is_one_clear_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(LeadoffError, match="a part of the way to it is a file, not a folder"):
        open_book(tmp_path / "file" / "book.db", tmp_path / "config")
