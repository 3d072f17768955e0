"""Export and import: equal bytes, readable without this program."""

from __future__ import annotations

import json
import subprocess
import sys
import textwrap
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from book_help import content, draft, records, texts

from leadoff.book import Draft, seal
from leadoff.book.archive import README
from leadoff.book.book import Book
from leadoff.record.errors import LeadoffError

Books = Callable[..., Book]
Place = Callable[[], str]


def fill(book: Book) -> None:
    photo = seal(bytes(range(256)) * 4)
    # bytes that a re-encoding would not keep: spaces, escapes, number forms, key order
    book.append(
        [
            Draft(
                "run", b'{ "v":1, "n" : "23.50","x":1e2,"y":1.0, "u":"\\u00e4\xc3\xa4\\/", "a":null }', "1997"
            )
        ]
    )
    book.append([draft("mark", shows=photo.cite, n="m")], files=[photo])
    [party] = book.append([draft("party", name="Invented Person", n="p")])
    [run] = book.append([Draft("run", b'{"n":"null"}', "2026-11-25T10:35:07+02:00", once="phone/1")])
    book.amend(run.id, "correct", "typo", to=b'{ "n":"corrected" }')
    book.amend(party.id, "redact", "")


def test_export_import_export_gives_equal_bytes(place: Place, books: Books, tmp_path: Path) -> None:
    book, again = books(place(), "a"), books(place(), "b")
    fill(book)
    assert book.export(tmp_path / "1.zip") == len(book.entries())
    again.import_(tmp_path / "1.zip")
    again.export(tmp_path / "2.zip")
    book.export(tmp_path / "3.zip")
    one = (tmp_path / "1.zip").read_bytes()
    assert one == (tmp_path / "2.zip").read_bytes() == (tmp_path / "3.zip").read_bytes()
    assert content(book) == content(again)
    assert texts(book) == texts(again)
    assert again.verify().good
    assert again.import_(tmp_path / "1.zip").added == ()
    [same] = again.append([Draft("run", b"{}", once="phone/1")])
    assert same.id in {e.id for e in book.entries()}, "sent once is known after an import"


def test_the_two_databases_export_the_same_bytes(new_database: Place, books: Books, tmp_path: Path) -> None:
    on_file, on_server = books(tmp_path / "f.db", "a"), books(new_database(), "b")
    fill(on_file)
    on_server.merge(on_file)
    on_server.append([draft(n="s")])
    on_file.merge(on_server)
    on_file.export(tmp_path / "f.zip")
    on_server.export(tmp_path / "s.zip")
    assert (tmp_path / "f.zip").read_bytes() == (tmp_path / "s.zip").read_bytes()
    backup = books(on_server.backup(), "c")
    assert content(backup) == content(on_server)
    assert backup.verify().good


@pytest.mark.reference
def test_the_archive_is_checked_with_the_standard_library_alone(tmp_path: Path, books: Books) -> None:
    """Reference: hashlib and json of the standard library, run as the archive's own README says."""
    book = books(tmp_path / "b.db")
    fill(book)
    book.export(tmp_path / "x.zip")
    with zipfile.ZipFile(tmp_path / "x.zip") as zf:
        zf.extractall(tmp_path / "out")
    code = textwrap.dedent((tmp_path / "out" / "README.txt").read_text().split("alone:\n")[1])
    ran = subprocess.run(
        [sys.executable, "-S", "-E", "-c", code],
        cwd=tmp_path / "out",
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.split() == [r.id for r in records(book)]
    assert code.strip() in textwrap.dedent(README.split("alone:\n")[1])
    rows = [json.loads(line) for line in (tmp_path / "out" / "entries.jsonl").read_text().splitlines()]
    assert [r["entry"]["kind"] for r in rows] == [e.kind for e in sorted(book.entries(), key=lambda e: e.seq)]
    assert {
        (tmp_path / "out" / "files" / f["digest"]).read_bytes()
        for f in _lines(tmp_path / "out" / "files.jsonl")
    } == {bytes(range(256)) * 4}
    damaged = (tmp_path / "out" / "entries.jsonl").read_text().replace('"23.50"', '"23.51"')
    (tmp_path / "out" / "entries.jsonl").write_text(damaged)
    ran = subprocess.run(
        [sys.executable, "-S", "-c", code], cwd=tmp_path / "out", capture_output=True, check=False
    )
    assert b"AssertionError" in ran.stderr, "the README's check finds a changed digit"


def _lines(path: Path) -> list[dict[str, str]]:
    return [json.loads(line) for line in path.read_text().splitlines()]


def _rewrite(path: Path, to: Path, name: str, change: Callable[[bytes], bytes]) -> None:
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(to, "w") as new:
        for part in old.namelist():
            data = old.read(part)
            new.writestr(part, change(data) if part == name else data)


def test_a_changed_archive_is_refused(tmp_path: Path, books: Books) -> None:
    book = books(tmp_path / "b.db")
    fill(book)
    good = tmp_path / "x.zip"
    book.export(good)
    ids = [e.id for e in book.entries()]
    into = books(tmp_path / "into.db", "b")
    digest = _lines_of(good, "files.jsonl")[0]["digest"]
    cases: list[tuple[str, Callable[[bytes], bytes], str]] = [
        ("entries.jsonl", lambda b: b.replace(b'"23.50"', b'"23.51"'), "damaged_entry"),
        ("entries.jsonl", lambda b: b.replace(b'"kind":"mark"', b'"kind":"fact"'), "damaged_entry"),
        ("entries.jsonl", lambda b: b"".join(b.splitlines(True)[1:]), "damaged_entry"),
        ("entries.jsonl", lambda b: b[: len(b) // 2], "not_an_archive"),
        (f"files/{digest}", lambda b: b[:-1], "damaged_file"),
        ("book.json", lambda b: b.replace(b'"leadoff_book":1', b'"leadoff_book":99'), "book_newer"),
        ("book.json", lambda b: b"{}", "not_an_archive"),
    ]
    for name, change, code in cases:
        _rewrite(good, tmp_path / "bad.zip", name, change)
        with pytest.raises(LeadoffError, match=r"changed|missing|not a whole|newer release") as caught:
            into.import_(tmp_path / "bad.zip")
        assert caught.value.problems[0].code == code, (name, str(caught.value))
        assert into.entries() == []
    assert len(into.import_(good).added) == len(ids)


def _lines_of(path: Path, name: str) -> list[dict[str, str]]:
    with zipfile.ZipFile(path) as zf:
        return [json.loads(line) for line in zf.read(name).splitlines()]


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04 half", b"not a zip at all"])
def test_files_that_are_no_archive(data: bytes, tmp_path: Path, books: Books) -> None:
    (tmp_path / "x.zip").write_bytes(data)
    book = books(tmp_path / "b.db")
    with pytest.raises(LeadoffError, match="is not a whole archive of a book"):
        book.import_(tmp_path / "x.zip")
    with pytest.raises(LeadoffError, match="there is no archive at"):
        book.import_(tmp_path / "none.zip")


def test_flipped_bits_in_the_zip_are_noticed(tmp_path: Path, books: Books) -> None:
    """Either refused, or what came in is exactly what went out (a flip in a date of the zip, say)."""
    import random

    book = books(tmp_path / "b.db")
    fill(book)
    book.export(tmp_path / "x.zip")
    original = (tmp_path / "x.zip").read_bytes()
    chance = random.Random(5)
    refused = 0
    for k in range(120):
        data = bytearray(original)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        (tmp_path / "y.zip").write_bytes(data)
        into = books(tmp_path / f"into{k}.db", "b")
        try:
            into.import_(tmp_path / "y.zip")
        except LeadoffError:
            refused += 1
            assert into.entries() == []
        else:
            assert {r.id for r in records(into)} <= {r.id for r in records(book)}
            assert into.verify().good, into.verify().faults
        into.close()
    assert refused > 60
