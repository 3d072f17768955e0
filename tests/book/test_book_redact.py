"""Redaction leaves no trace: looked for byte by byte in every file there is."""

from __future__ import annotations

import json
import shutil
import sqlite3
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from book_help import content, draft, edit, files, texts

from leadoff.book import Entry, Fold, open_book, seal
from leadoff.book.book import Book
from leadoff.record.errors import LeadoffError

Books = Callable[..., Book]
Place = Callable[[], str]

NAME = "Quirin Vandersluys"  # invented
PHOTO = b"\xff\xd8 face of Quirin \x00\x01"

NAMES = Fold[list[str]](
    "names",
    1,
    list,
    lambda s, e: [*s, json.loads(e.body or b"{}").get("name", "")],
    encode=lambda s: json.dumps(s).encode(),
    decode=json.loads,
)


def traces(root: Path, *wanted: bytes) -> list[str]:
    """Every file under ``root`` (archives unpacked too) that holds one of the texts."""
    found = []
    for path in sorted(p for p in root.rglob("*") if p.is_file()):
        found += [f"{path.name}: {w!r}" for w in wanted if w in path.read_bytes()]
        if zipfile.is_zipfile(path):
            with zipfile.ZipFile(path) as zf:
                found += [f"{path.name}/{n}: {w!r}" for n in zf.namelist() for w in wanted if w in zf.read(n)]
    return found


LOOKED_FOR = (NAME.encode(), b"Vandersluys", b"Quirin")


def fill(book: Book) -> tuple[Entry, Entry]:
    photo = seal(PHOTO)
    book.append([draft(n=str(k), note="x" * (k % 97)) for k in range(300)])
    [party] = book.append([draft("party", name=NAME, photo=photo.cite)], files=[photo])
    [deal] = book.append([draft("deal", buyer=party.id, n="deal")])
    book.append([draft(n=str(k), note="y" * (k % 89)) for k in range(300)])
    return party, deal


def test_no_trace_in_file_log_cache_archive_and_backups(tmp_path: Path, books: Books) -> None:
    root = tmp_path / "all"
    book = books(root / "b.db")
    party, deal = fill(book)
    assert NAME in book.fold(NAMES)
    book.backup()
    book.amend(party.id, "correct", "spelling", to=json.dumps({"name": NAME + " jr"}).encode())
    assert NAME + " jr" in book.fold(NAMES)
    book.backup()
    book.backup(root / "elsewhere" / "copy.db")
    book.export(root / "b.zip")
    assert len(traces(root, *LOOKED_FOR)) >= 4, "the search itself finds it where it is"
    before = len(book.entries())

    done = book.amend(party.id, "redact", "asked for it")

    assert done.left == ()
    assert done.orphaned == (deal.id,)
    assert traces(root, *LOOKED_FOR) == []
    assert (root / "b.db-wal").exists(), "the log was searched, not skipped"
    assert len(list((root / "b-backups").iterdir())) == 2
    report = book.verify()
    assert report.good, report.faults
    assert report.redacted == 2, "the correction went with it"
    assert len(book.entries()) == before + 1, "envelopes stay"
    assert book.get(party.id).redacted
    assert book.get(party.id).body is None
    assert party.id not in {e.id for e in book.live()}
    assert NAME not in book.fold(NAMES)
    with pytest.raises(LeadoffError, match="redacted or lost"):
        book.file(json.loads(party.body or b"")["photo"])
    book.close()
    assert traces(root, *LOOKED_FOR) == []
    for copy in [*(root / "b-backups").iterdir(), root / "elsewhere" / "copy.db"]:
        with open_book(copy, tmp_path / "config" / "check") as saved:
            assert saved.verify().good
            assert len(saved.entries()) >= before
    again = books(tmp_path / "again.db", "third")
    again.import_(root / "b.zip")
    assert again.verify().good
    assert again.get(party.id).redacted


def test_redaction_wins_over_a_copy_that_still_has_it(place: Place, books: Books) -> None:
    a, b = books(place(), "a"), books(place(), "b")
    party, _ = fill(a)
    b.merge(a)
    [fix] = b.amend(
        party.id, "correct", f"it is {NAME} indeed", to=json.dumps({"name": NAME + " III"}).encode()
    ).entries
    a.amend(party.id, "redact", "asked for it")
    report = a.merge(b)
    assert report.dropped == (fix.id,), "a correction made elsewhere, unknown to the redaction"
    assert b.get(party.id).body == party.body
    dropped = b.merge(a).dropped
    assert set(dropped) == {party.id, fix.id}
    assert content(a) == content(b)
    for book in (a, b):
        assert book.verify().good, book.verify().faults
        assert book.get(party.id).redacted
        assert book.get(fix.id).body is None
        assert files(book) == []
        assert all(NAME.encode() not in (e.body or b"") for e in book.entries())
    # and the other way round, into a fresh book, in both orders
    for first, second in ((a, b), (b, a)):
        fresh = books(place(), "c")
        fresh.merge(first)
        fresh.merge(second)
        assert content(fresh) == content(a)


def test_no_trace_after_merging_a_copy_and_importing_an_old_archive(tmp_path: Path, books: Books) -> None:
    book = books(tmp_path / "home" / "b.db", "a")
    party, _ = fill(book)
    old = books(tmp_path / "old" / "copy.db", "b")
    old.merge(book)
    old.amend(
        party.id, "correct", to=json.dumps({"name": NAME, "photo": old.add_file(PHOTO + b"2").cite}).encode()
    )
    old.export(tmp_path / "old" / "old.zip")
    book.amend(party.id, "redact", "")
    for _ in range(2):
        book.merge(old)
        book.import_(tmp_path / "old" / "old.zip")
        assert traces(tmp_path / "home", *LOOKED_FOR) == []
        assert book.verify().good, book.verify().faults
        assert files(book) == []
    book.backup()
    book.export(tmp_path / "home" / "new.zip")
    assert traces(tmp_path / "home", *LOOKED_FOR) == []
    # the copy learns of the redaction: gone there too
    old.merge(book)
    left = traces(tmp_path / "old", *LOOKED_FOR)
    assert left == [], left
    assert old.verify().good


def test_redact_is_final(place: Place, books: Books) -> None:
    book = books(place())
    [party] = book.append([draft("party", name=NAME)])
    [redaction] = book.amend(party.id, "redact").entries
    for how in ("undo", "redact"):
        with pytest.raises(LeadoffError, match="cannot be taken back") as caught:
            book.amend(redaction.id, how)
        assert caught.value.problems[0].code == "redact_is_final"
    for how, options in (("undo", {}), ("redact", {}), ("correct", {"to": b"{}"})):
        with pytest.raises(LeadoffError, match="there is nothing left to"):
            book.amend(party.id, how, **options)  # type: ignore[arg-type]
    with book.writing() as writer:  # one who writes such an undo all the same
        body = json.dumps({"v": 1, "of": redaction.id, "how": "undo", "why": ""})
        writer.write_amend(body.encode(), redaction.id, "")
    assert book.get(party.id).redacted
    assert book.verify().good


def test_the_reason_must_not_repeat_the_name(place: Place, books: Books) -> None:
    book = books(place())
    [party] = book.append([draft("party", name=NAME)])
    book.amend(party.id, "correct", to=b'{"name":"Zebulon"}')
    for why in ("vandersluys asked", "QUIRIN", "it is Zebulon"):
        with pytest.raises(LeadoffError, match="the reason repeats") as caught:
            book.amend(party.id, "redact", why)
        assert caught.value.problems[0].code == "why_repeats"
    assert book.get(party.id).body is not None
    assert book.amend(party.id, "redact", "on request").entries[0].body


def test_texts_that_repeat_the_name_elsewhere_are_pointed_out(place: Place, books: Books) -> None:
    book = books(place())
    [party] = book.append([draft("party", name='100%_Näme \\ "q"')])
    [note, other] = book.append(
        [draft("mark", text='from 100%_Näme \\ "q" by post'), draft("mark", text="100 Name")]
    )
    done = book.amend(party.id, "redact")
    assert note.id in done.mentioned or "ä" in ascii(note.body), done
    assert other.id not in done.mentioned


def test_redacting_an_undo_keeps_its_effect(place: Place, books: Books) -> None:
    book = books(place())
    [run] = book.append([draft(n="r")])
    [undo] = book.amend(run.id, "undo", f"{NAME} told me").entries
    done = book.amend(undo.id, "redact", "")
    assert texts(book) == [], "the entry stays undone"
    assert len(done.entries) == 2
    assert book.get(undo.id).body is None
    assert book.verify().good
    assert not any(NAME.encode() in (e.body or b"") for e in book.entries())


def test_a_slow_reader_cannot_put_a_redacted_text_into_the_cache(tmp_path: Path, books: Books) -> None:
    root = tmp_path / "all"
    book = books(root / "b.db")
    party, _ = fill(book)
    redacted = []

    def encode(state: list[str]) -> bytes:
        if not redacted:  # the fold is done, its result not yet kept: now the redaction happens
            redacted.append(book.amend(party.id, "redact", ""))
        return json.dumps(state).encode()

    slow = Fold[list[str]]("names", 1, list, NAMES.step, encode=encode, decode=json.loads)
    assert NAME in book.fold(slow)
    assert redacted
    assert traces(root, *LOOKED_FOR) == []


def test_a_redaction_cut_off_half_way_is_finished_at_the_next_opening(
    tmp_path: Path, books: Books, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = tmp_path / "all"
    book = books(root / "b.db")
    party, _ = fill(book)
    book.backup()
    with monkeypatch.context() as patch:
        patch.setattr(Book, "_wipe", lambda self: ("power cut",))
        book.amend(party.id, "redact", "")
    book.close()
    assert traces(root / "b-backups", *LOOKED_FOR)
    book = books(root / "b.db")
    assert book.leftovers == ()
    assert traces(root, *LOOKED_FOR) == []


def test_what_cannot_be_reached_is_said(tmp_path: Path, books: Books) -> None:
    book = books(tmp_path / "b.db", wait_ms=200)
    party, _ = fill(book)
    away = book.backup(tmp_path / "stick" / "copy.db")
    shutil.move(away, tmp_path / "moved.db")
    book.export(tmp_path / "x.zip")
    stranger = books(tmp_path / "s.db", "s")
    stranger.append([draft(n="other")])
    stranger.export(tmp_path / "theirs.zip")
    shutil.move(tmp_path / "theirs.zip", tmp_path / "x.zip")  # somebody put another archive there
    reader = sqlite3.connect(tmp_path / "b.db")
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM entries").fetchone()
    left = book.amend(party.id, "redact", "").left
    assert any("another program still reads the book" in text for text in left), left
    assert any("copy.db is not there now" in text for text in left), left
    assert any(
        "x.zip could not be rewritten" in text and "entries that this book lacks" in text for text in left
    ), left
    reader.close()
    book.close()
    assert books(tmp_path / "b.db").leftovers != ()
    still = traces(tmp_path, *LOOKED_FOR)
    assert still
    assert all("moved.db" in text for text in still)


def test_a_body_that_comes_back_is_damage(tmp_path: Path, books: Books) -> None:
    book = books(tmp_path / "b.db")
    [party] = book.append([draft("party", name=NAME)])
    db = sqlite3.connect(tmp_path / "b.db")
    salt, body = db.execute("SELECT salt, body FROM entries").fetchone()
    db.close()
    book.amend(party.id, "redact", "")
    edit(tmp_path / "b.db", "UPDATE entries SET salt = ?, body = ? WHERE id = ?", salt, body, party.id)
    assert [(f.entry, f.kind) for f in book.verify().faults] == [(party.id, "not_redacted")]


@pytest.fixture
def pg_book(new_database: Callable[[], str], books: Books) -> Book:
    return books(new_database())


def test_redaction_on_a_server_rewrites_the_tables_and_says_what_it_cannot(
    pg_book: Book, tmp_path: Path
) -> None:
    party, _ = fill(pg_book)
    saved = pg_book.backup()
    assert NAME.encode() in saved.read_bytes()
    done = pg_book.amend(party.id, "redact", "")
    assert any("the server's own log" in text for text in done.left)
    assert traces(saved.parent, *LOOKED_FOR) == []
    with pg_book._store.bare() as db:
        sizes = db.execute("SELECT n_dead_tup FROM pg_stat_user_tables WHERE relname = 'entries'").fetchall()
        text = db.execute("SELECT string_agg(body, '') FROM entries").fetchone()[0]
    assert sizes
    assert NAME not in text
    assert pg_book.verify().good


def test_names_that_a_whole_book_shares_are_no_mention(place: Place, books: Books) -> None:
    book = books(place())
    [first] = book.append([draft("mark", text="sold to Quirin", board="ferry-486", unit="frames/s")])
    [second] = book.append([draft("mark", text="a fan", board="ferry-486", unit="frames/s")])
    [third] = book.append([draft("mark", text="sold to Quirin again", board="ferry-486")])
    done = book.amend(first.id, "redact")
    assert third.id in done.mentioned
    assert second.id not in done.mentioned
