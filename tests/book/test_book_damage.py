"""Whatever is changed behind the book's back, verify names the entry."""

from __future__ import annotations

import json
import random
import shutil
import sqlite3
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pytest
from book_help import code_of, draft, edit, records

from leadoff.book import open_book, seal
from leadoff.book.book import Book
from leadoff.book.values import Record, VerifyReport

Books = Callable[..., Book]


@pytest.fixture
def whole(tmp_path: Path) -> tuple[Path, list[str]]:
    """A closed book of ten entries, with a merge, an amend and a file; and the ids in order of arrival."""
    path = tmp_path / "whole.db"
    with (
        open_book(path, tmp_path / "config" / "home") as book,
        open_book(tmp_path / "other.db", tmp_path / "config" / "away") as other,
    ):
        photo = seal(b"a photo")
        book.append([draft(n=str(k), at="2026-11-25T10:35") for k in range(5)])
        book.append([draft("mark", shows=photo.cite)], files=[photo])
        other.merge(book)
        other.append([draft(n="away")])
        book.append([draft(n="home")])
        book.merge(other)
        book.amend(book.entries()[0].id, "undo", "typo")
        book.append([draft(n="last")])
        assert book.verify().good
        with book._store.read() as conn:
            ids = [r[0] for r in book._store.rows(conn, "SELECT id FROM entries ORDER BY n")]
    return path, ids


def checked(path: Path, tmp_path: Path, **options: bool) -> VerifyReport:
    with open_book(path, tmp_path / "config" / "home") as book:
        return book.verify(**options)


def named(report: VerifyReport) -> set[str]:
    return {f.entry for f in report.faults} | {i for fork in report.forks for i in fork.entries}


def test_flip_any_byte_of_any_entry(whole: tuple[Path, list[str]], tmp_path: Path) -> None:
    """Every byte of every line, body and salt, and every stored column: the entry is named each time."""
    path, ids = whole
    chance = random.Random(1)
    flips = 0
    with open_book(path, tmp_path / "config" / "home") as book:
        db = sqlite3.connect(path, isolation_level=None)
        for i in ids:
            for column in ("line", "body", "salt", "pen", "kind"):
                sql = f"SELECT CAST({column} AS BLOB) FROM entries WHERE id = ?"
                value = db.execute(sql, (i,)).fetchone()[0]
                kind = "BLOB" if column == "salt" else "TEXT"
                # every byte of one entry in the middle; of the others a sample
                places = (
                    range(len(value)) if i == ids[3] else chance.sample(range(len(value)), min(6, len(value)))
                )
                for place in places:
                    bad = bytearray(value)
                    bad[place] ^= 1 << chance.randrange(8)
                    db.execute(
                        f"UPDATE entries SET {column} = CAST(? AS {kind}) WHERE id = ?", (bytes(bad), i)
                    )
                    report = book.verify()
                    assert i in named(report), (column, place, report)
                    flips += 1
                db.execute(f"UPDATE entries SET {column} = CAST(? AS {kind}) WHERE id = ?", (value, i))
            for column in ("seq", "at_seconds", "depth"):
                db.execute(f"UPDATE entries SET {column} = {column} + 1000 WHERE id = ?", (i,))
                assert i in named(book.verify()), column
                db.execute(f"UPDATE entries SET {column} = {column} - 1000 WHERE id = ?", (i,))
        db.close()
        assert flips > 500
        assert book.verify().good, "all was put back"


def look_at(data: bytes, folder: Path) -> tuple[VerifyReport | None, list[Record]]:
    """Verify a book made of these bytes; no report when opening ends in a clear error."""
    folder.mkdir(exist_ok=True)
    for old in folder.glob("flipped.db*"):
        old.unlink()
    (folder / "flipped.db").write_bytes(data)
    seen: list[tuple[VerifyReport, list[Record]]] = []

    def look() -> None:
        with open_book(folder / "flipped.db", folder / "config") as book:
            report = book.verify()
            seen.append((report, records(book) if report.good else []))

    assert code_of(look) in ("", "book_corrupt", "not_a_book", "book_newer", "book_io")
    return seen[0] if seen else (None, [])


def test_flip_bytes_anywhere_in_the_file(whole: tuple[Path, list[str]], tmp_path: Path) -> None:
    """A flip either is noticed (verify or a clear error), or left every entry exactly as it was.

    Most of the file is empty pages, so most flips change nothing; those in a line or body are always noticed.
    """
    path, _ = whole
    with open_book(path, tmp_path / "config" / "home") as book:
        before = records(book)
    original = path.read_bytes()
    chance = random.Random(2)
    report, after = look_at(original, tmp_path / "look")
    assert report is not None
    assert report.good, "the unharmed copy is good, so what is noticed below is the flip"
    assert after == before

    def flipped(place: int) -> bytes:
        data = bytearray(original)
        data[place] ^= 1 << chance.randrange(8)
        return bytes(data)

    noticed = 0
    for _ in range(300):
        report, after = look_at(flipped(chance.randrange(len(original))), tmp_path / "look")
        if report is None or not report.good:
            noticed += 1
        else:
            assert after == before
    assert noticed > 10
    for record in before:  # line, salt and body lie side by side in the file
        length = len(record.line + (record.salt or b"") + (record.body or b""))
        for _ in range(3):
            place = original.index(record.line) + chance.randrange(length)
            report, _ = look_at(flipped(place), tmp_path / "look")
            assert report is None or not report.good, (record.id, place)


def test_a_deleted_entry_is_named(whole: tuple[Path, list[str]], tmp_path: Path) -> None:
    path, ids = whole
    for i in ids:
        copy = tmp_path / "deleted.db"
        shutil.copy(path, copy)
        edit(copy, "DELETE FROM entries WHERE id = ?", i)
        report = checked(copy, tmp_path)
        assert any(f.entry == i and f.kind == "missing" for f in report.faults), report.faults


def test_swapped_entries_are_named(whole: tuple[Path, list[str]], tmp_path: Path) -> None:
    path, ids = whole
    db = sqlite3.connect(path)
    rows = {r[0]: r for r in db.execute("SELECT id, line, salt, body FROM entries")}
    db.close()
    a, b = ids[1], ids[3]
    for columns in (["line"], ["body"], ["salt", "body"], ["line", "salt", "body"]):
        copy = tmp_path / "swapped.db"
        shutil.copy(path, copy)
        order = {"line": 1, "salt": 2, "body": 3}
        for here, there in ((a, b), (b, a)):
            for column in columns:
                edit(copy, f"UPDATE entries SET {column} = ? WHERE id = ?", rows[there][order[column]], here)
        assert {a, b} <= named(checked(copy, tmp_path)), columns


def _forge(path: Path, ids: list[str], pen: str, seq: int, prev: str, *, heads: bool) -> str:
    """Put in an entry whose own hash is right, as one who knows the format would."""
    salt, body = b"0" * 16, b'{"n":"forged"}'
    digest = sha256(salt + body).hexdigest()
    line = f'{{"v":1,"pen":"{pen}","seq":{seq},"prev":"{prev}","seen":[],"at":"","kind":"run","body":"{digest}"}}'
    i = sha256(line.encode()).hexdigest()
    edit(
        path,
        "INSERT INTO entries (id, pen, seq, kind, at_seconds, depth, here, line, salt, body) "
        "VALUES (?, ?, ?, 'run', ?, ?, 0, ?, ?, ?)",
        *(i, pen, seq, -(2**62), seq, line, salt, body.decode()),
    )
    if heads:
        edit(path, "INSERT INTO heads VALUES (?, ?, ?, ?)", i, pen, seq, seq)
    return i


def test_an_inserted_entry_is_named(whole: tuple[Path, list[str]], tmp_path: Path) -> None:
    path, ids = whole
    with open_book(path, tmp_path / "config" / "home") as book:
        by_id = {e.id: e for e in book.entries()}
    pen = by_id[ids[1]].pen
    cases = [
        (pen, 3, ids[1], False),  # between two entries of the chain
        (pen, 3, ids[1], True),  # the same by one who mends the list of heads too: seen as a fork
        ("ab" * 8, 1, "", False),  # a pen of its own
        (pen, 7, ids[1], True),  # a wrong number
        (pen, 1, "", True),
    ]
    for case in cases:
        copy = tmp_path / "inserted.db"
        shutil.copy(path, copy)
        forged = _forge(copy, ids, *case[:3], heads=case[3])
        assert forged in named(checked(copy, tmp_path)), case


def test_a_row_that_is_rubbish_is_named(whole: tuple[Path, list[str]], tmp_path: Path) -> None:
    path, ids = whole
    edit(
        path,
        "UPDATE entries SET line = 'rubbish', id = ? WHERE id = ?",
        sha256(b"rubbish").hexdigest(),
        ids[4],
    )
    report = checked(path, tmp_path)
    assert ids[4] in named(report)
    assert {f.kind for f in report.faults} >= {"line_unreadable", "missing"}


def test_a_body_that_is_missing_without_an_amend_is_damage(
    whole: tuple[Path, list[str]], tmp_path: Path
) -> None:
    path, ids = whole
    edit(path, "UPDATE entries SET body = NULL, salt = NULL WHERE id = ?", ids[2])
    [fault] = checked(path, tmp_path).faults
    assert (fault.entry, fault.kind) == (ids[2], "body_missing")
    assert "missing, but not redacted" in fault.text


def test_damaged_and_missing_files_are_named(whole: tuple[Path, list[str]], tmp_path: Path) -> None:
    path, _ = whole
    db = sqlite3.connect(path)
    [(digest,)] = db.execute("SELECT digest FROM files").fetchall()
    db.close()
    edit(path, "UPDATE files SET data = ?", b"another photo")
    assert [(f.entry, f.kind) for f in checked(path, tmp_path).faults] == [(digest, "file_changed")]
    edit(path, "DELETE FROM files")
    assert [(f.entry, f.kind) for f in checked(path, tmp_path).faults] == [(digest, "file_missing")]


def test_verify_from_a_checkpoint_reads_only_what_came_later(
    whole: tuple[Path, list[str]], tmp_path: Path, books: Books
) -> None:
    path, ids = whole
    book = books(path)
    assert book.verify(since_checkpoint=True).checked == 0
    later = book.append([draft(n="a"), draft(n="b")])
    report = book.verify(since_checkpoint=True)
    assert (report.checked, report.entries, report.good) == (2, len(ids) + 2, True)
    assert report == book.verify().__class__(**{**json_like(book.verify()), "checked": 2})
    edit(path, "UPDATE entries SET body = '{}' WHERE id = ?", book.append([draft(n="c")])[0].id)
    assert [f.kind for f in book.verify(since_checkpoint=True).faults] == ["body_changed"]
    # an entry taken from the part before the checkpoint is missed by its count
    edit(path, "DELETE FROM entries WHERE id = ?", ids[0])
    assert "count" in {f.kind for f in book.verify(since_checkpoint=True).faults}
    assert later[1].id in {h for h in book.verify().heads} | {e.id for e in book.entries()}


def json_like(report: VerifyReport) -> dict[str, object]:
    return {name: getattr(report, name) for name in report.__struct_fields__}


def test_rebuild_mends_columns_that_follow_from_the_lines(
    whole: tuple[Path, list[str]], tmp_path: Path, books: Books
) -> None:
    path, ids = whole
    edit(path, "UPDATE entries SET kind = 'mark', depth = 99, at_seconds = 7 WHERE id = ?", ids[2])
    edit(path, "DELETE FROM heads")
    book = books(path)
    assert not book.verify().good
    assert book.rebuild().mended == 2
    assert book.verify().good
    assert book.rebuild().mended == 0


def test_the_last_entry_is_missed_by_this_installation(tmp_path: Path, books: Books) -> None:
    """Even if somebody takes the last entry and mends the list of heads."""
    path = tmp_path / "b.db"
    book = books(path)
    one, two = book.append([draft(n="1"), draft(n="2")])
    book.close()
    edit(path, "DELETE FROM entries WHERE id = ?", two.id)
    edit(path, "UPDATE heads SET id = ?, seq = 1, depth = 1", one.id)
    report = books(path).verify()
    assert report.good, "within the book nothing shows"
    assert any("restored backup or an older copy" in note and two.id[:12] in note for note in report.notes)


def test_lines_are_json_that_any_program_reads(whole: tuple[Path, list[str]], tmp_path: Path) -> None:
    path, _ = whole
    db = sqlite3.connect(path)
    for i, line in db.execute("SELECT id, line FROM entries"):
        assert sha256(line.encode()).hexdigest() == i
        assert json.loads(line)["kind"] in ("run", "mark", "amend")
    db.close()
