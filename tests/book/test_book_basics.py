"""Appending and reading, on both databases."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from book_help import draft, records, texts

from leadoff.book import AMEND, KINDS, Draft, Upcasters, at_key, open_book, precision, seal
from leadoff.book.book import Book
from leadoff.record.errors import LeadoffError

Books = Callable[..., Book]
Place = Callable[[], str]


def test_an_entry_is_an_exact_line_whose_hash_is_its_id(place: Place, books: Books) -> None:
    book = books(place())
    body = b'{"v":1, "n":"41",  "name":"\xc3\x84"}'
    first, second = book.append([Draft("run", body, "2026-11-25T10:35"), draft("mark")])
    [one, two] = records(book)
    assert first.id == hashlib.sha256(one.line).hexdigest() == one.id
    assert one.body == first.body == body, "bytes are kept as they were given, spaces included"
    envelope = json.loads(one.line)
    assert list(envelope) == ["v", "pen", "seq", "prev", "seen", "at", "kind", "body"]
    assert envelope["body"] == hashlib.sha256((one.salt or b"") + body).hexdigest()
    assert len(one.salt or b"") == 16
    assert (envelope["seq"], envelope["prev"], envelope["seen"]) == (1, "", [])
    assert json.loads(two.line)["prev"] == first.id
    assert (second.seq, second.pen) == (2, first.pen)
    assert book.heads() == (second.id,)


def test_equal_bodies_have_different_digests(place: Place, books: Books) -> None:
    book = books(place())
    a, b = book.append([draft("deal", price="120"), draft("deal", price="120")])
    bodies = {json.loads(r.line)["body"] for r in records(book)}
    assert a.body == b.body
    assert len(bodies) == 2, "without a salt a price could be guessed from its digest"


def test_all_or_nothing(place: Place, books: Books) -> None:
    book = books(place())
    book.append([draft(n="1")])
    with pytest.raises(LeadoffError, match="one JSON object on one line"):
        book.append([draft(n="2"), Draft("run", b"[1]"), draft(n="3")])

    def half() -> None:
        with book.writing() as writer:
            writer.append(draft(n="4"))
            raise ZeroDivisionError("a bug of the caller")

    with pytest.raises(ZeroDivisionError, match="a bug of the caller"):
        half()
    assert texts(book) == ["1"]
    book.append([draft(n="5")])
    assert texts(book) == ["1", "5"]
    assert book.verify().good
    assert len(book.verify().pens) == 1, "a failed write costs no new pen"


@pytest.mark.parametrize(
    "body", [b'{"a":1', b"", b'{"a":\n1}', b'{"a":"\xff"}', b"[]", b'"x"', b'{"v":"one"}']
)
def test_bodies_that_cannot_be_kept(body: bytes, tmp_path: Path, books: Books) -> None:
    book = books(tmp_path / "b.db")
    with pytest.raises(LeadoffError, match="nothing was written") as caught:
        book.append([Draft("run", body)])
    assert caught.value.problems[0].code == "bad_body"
    assert book.entries() == []


@pytest.mark.parametrize("kind", ["robot", "Run", "", AMEND])
def test_kinds_that_cannot_be_appended(kind: str, tmp_path: Path, books: Books) -> None:
    book = books(tmp_path / "b.db")
    with pytest.raises(LeadoffError, match="is not a kind of entry to append") as caught:
        book.append([Draft(kind, b"{}")])
    assert caught.value.problems[0].code == "bad_kind"


def test_the_thirteen_kinds() -> None:
    assert len(KINDS) == 13
    assert {
        "board",
        "row",
        "party",
        "state",
        "did",
        "run",
        "finding",
        "fact",
        "forecast",
        "guess",
        "mark",
        "deal",
    } < KINDS


def test_the_writer_lock_is_read_decide_append(place: Place, books: Books) -> None:
    book = books(place())
    for _ in range(3):
        with book.writing() as writer:
            number = len(writer.live({"run"})) + 1
            did = writer.append(draft("did", what="swap"))
            writer.append(draft("finding", cause=did.id, n=str(number)))
            writer.append(draft("run", n=str(number)))
    assert texts(book, "run") == ["1", "2", "3"]
    assert [json.loads(e.body or b"")["cause"] for e in book.live({"finding"})] == [
        e.id for e in book.live({"did"})
    ]


def test_sent_once(place: Place, books: Books) -> None:
    book = books(place())
    wanted = Draft("run", b'{"n":"1"}', once="phone-7/3")
    [first] = book.append([wanted])
    [again] = book.append([wanted])
    assert again.id == first.id
    assert len(book.entries()) == 1


def test_an_input_that_waited_is_not_after_what_it_had_not_seen(place: Place, books: Books) -> None:
    """A forecast sealed while the result waits in the phone was not made before the result."""
    book = books(place())
    [state] = book.append([draft("state")])
    page = book.heads()
    [forecast] = book.append([draft("forecast")])
    [result] = book.append([Draft("run", b"{}", seen=page)])
    [later] = book.append([draft("run")])
    assert book.is_before(state.id, result.id)
    assert not book.is_before(forecast.id, result.id)
    assert not book.is_before(result.id, forecast.id)
    assert book.is_before(forecast.id, later.id)
    assert book.is_before(result.id, later.id)
    assert result.pen != forecast.pen
    assert book.heads() == (later.id,)
    [on_time] = book.append([Draft("run", b"{}", seen=book.heads())])
    assert on_time.pen == forecast.pen, "an input that saw all goes on the ordinary chain"
    # a second input from a page that has seen the first goes on with the same side pen
    page = book.heads()
    book.append([draft("mark")])
    [second] = book.append([Draft("run", b"{}", seen=page)])
    assert second.pen == result.pen
    assert book.verify().good
    with pytest.raises(LeadoffError, match="had seen entry ffff"):
        book.append([Draft("run", b"{}", seen=("f" * 64,))])


def test_two_phones_do_not_lend_each_other_their_sight(place: Place, books: Books) -> None:
    book = books(place())
    book.append([draft("state")])
    old_page = book.heads()
    [forecast] = book.append([draft("forecast")])
    new_page = book.heads()
    book.append([draft("mark")])
    [from_new] = book.append([Draft("run", b"{}", seen=new_page)])
    book.append([draft("mark")])
    [from_old] = book.append([Draft("run", b"{}", seen=old_page)])
    assert book.is_before(forecast.id, from_new.id)
    assert not book.is_before(forecast.id, from_old.id)
    assert book.verify().good


def test_fold_order_is_time_then_ancestry_then_id(place: Place, books: Books) -> None:
    book = books(place())
    times = [
        "2026-03-01T10:00",
        "",
        "1997",
        "2026-03-01T10:00",
        "2026-03",
        "2026-03-01T09:30:00+02:00",
        "2026-02-28",
    ]
    book.append([draft(at=at, n=str(k)) for k, at in enumerate(times)])
    #  1: unknown, 2: 1997, 6: 28 February, 4: start of March, 5: 07:30 UTC, then 0 before 3 by ancestry
    assert texts(book) == ["1", "2", "6", "4", "5", "0", "3"]


@pytest.mark.reference
def test_times_against_the_calendar_of_the_standard_library() -> None:
    """ISO 8601 extended format; reference: datetime.fromisoformat of the standard library."""
    from datetime import UTC, datetime

    for text in (
        "2026-11-25T10:35:07+01:00",
        "1999-12-31T23:59:59Z",
        "2000-02-29T00:00:00-09:30",
        "1969-07-20T20:17:40Z",
    ):
        assert at_key(text) == datetime.fromisoformat(text).timestamp()
    assert at_key("2024") == datetime(2024, 1, 1, tzinfo=UTC).timestamp()
    assert at_key("2024-02-29T12:01") == datetime(2024, 2, 29, 12, 1, tzinfo=UTC).timestamp()


def test_precision() -> None:
    known = [
        "",
        "1997",
        "1997-03",
        "1997-03-02",
        "1997-03-02T10:00",
        "1997-03-02T10:00Z",
        "1997-03-02T10:00:09+02:00",
    ]
    assert [precision(a) for a in known] == ["unknown", "year", "month", "day", "minute", "minute", "second"]


@pytest.mark.parametrize(
    "at", ["1997-13", "1997-02-29", "yesterday", "97", "1997-03-02 10:00", "2026-01-01T25:00", "1997\n"]
)
def test_times_that_do_not_exist(at: str) -> None:
    with pytest.raises(LeadoffError, match="is not a time the book can keep"):
        at_key(at)


def test_old_bodies_are_lifted_when_read_and_never_rewritten(place: Place, books: Books) -> None:
    steps = Upcasters()
    steps.add("run", 1, lambda body: {"score": body["fps"], "unit": "fps"})
    steps.add("run", 2, lambda body: {**body, "lower_is_better": False})
    book = books(place(), upcasters=steps)
    book.append([draft("run", fps="23.5"), draft("mark")])
    book.append([Draft("run", b'{"v":3,"score":"23.50","unit":"fps"}')])
    old, new = book.live({"run"})
    assert json.loads(old.body or b"") == {"score": "23.5", "unit": "fps", "lower_is_better": False, "v": 3}
    assert old.v == new.v == 3
    book.amend(new.id, "correct", to=b'{"fps":"24.5"}')
    fixed = {e.id: e for e in book.live({"run"})}[new.id]
    assert fixed.v == 3
    assert json.loads(fixed.body or b"")["score"] == "24.5", "an old-fashioned correction is lifted too"
    assert next(r.body for r in records(book)) == b'{"v": 1, "fps": "23.5"}'
    assert book.newer() == []
    with pytest.raises(ValueError, match="two upcasters for run version 1"):
        steps.add("run", 1, dict)


def test_a_body_of_a_newer_version_is_listed_as_newer(place: Place, books: Books) -> None:
    book = books(place())
    [plain, later] = book.append([draft("run"), Draft("run", b'{"v":9,"new":1}')])
    assert [e.id for e in book.newer()] == [later.id]
    assert not book.get(plain.id).newer
    assert book.get(later.id).body == b'{"v":9,"new":1}'


def test_fingerprint_is_the_start_of_the_head(tmp_path: Path, books: Books) -> None:
    book = books(tmp_path / "b.db")
    assert book.fingerprint() == ""
    [entry] = book.append([draft()])
    said = book.fingerprint()
    assert [len(group) for group in said.split(" ")] == [4] * 8
    assert entry.id.startswith(said.replace(" ", ""))
    assert book.get(said.replace(" ", "")).id == entry.id


def test_an_id_may_be_shortened(place: Place, books: Books) -> None:
    book = books(place())
    [entry] = book.append([draft()])
    assert book.get(entry.id[:6]).id == entry.id
    for wrong in ("f" * 64, entry.id[:5], "zzzzzzz", ""):
        with pytest.raises(LeadoffError, match="the book has no entry"):
            book.get(wrong)


def test_files_by_salted_digest(place: Place, books: Books) -> None:
    book = books(place())
    photo = seal(b"\x00\xffphoto")
    assert photo.digest == hashlib.sha256(photo.salt + photo.data).hexdigest()
    book.append([draft("mark", shows=photo.cite)], files=[photo, photo])
    again = book.add_file(b"\x00\xffphoto")
    assert again.digest != photo.digest
    assert book.file(photo.cite) == book.file(again.digest) == b"\x00\xffphoto"
    with pytest.raises(LeadoffError, match="the book has no file ffff"):
        book.file("f" * 64)


def test_importing_the_book_loads_no_database() -> None:
    code = (
        "import sys, leadoff.book\n"
        "heavy = {'sqlalchemy', 'alembic', 'sqlite3', 'psycopg', 'numpy'} & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_a_current_book_in_a_file_is_used_without_the_heavy_libraries(tmp_path: Path) -> None:
    """They take 0.2 s of every start; a new book needs them once, for its tables."""
    place, pens = tmp_path / "b.db", tmp_path / "c"
    open_book(place, pens).close()
    code = (
        "import sys; from pathlib import Path; from leadoff.book import *\n"
        f"b = open_book({str(place)!r}, Path({str(pens)!r}))\n"
        "b.append([Draft('run', b'{}')]); b.live(); b.verify(); b.backup(); b.close()\n"
        "heavy = {'alembic', 'mako', 'psycopg', 'sqlalchemy'} & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
