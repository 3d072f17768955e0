"""undo, correct, withdraw: what they do and what they refuse."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from book_help import draft, texts

from leadoff.book import Draft
from leadoff.book.book import Book
from leadoff.record.errors import LeadoffError

Books = Callable[..., Book]
Place = Callable[[], str]


def refused(book: Book, code: str, match: str, of: str, how: str, **options: bytes | str) -> None:
    before = len(book.entries())
    with pytest.raises(LeadoffError, match=match) as caught:
        book.amend(of, how, **options)  # type: ignore[arg-type]
    assert [p.code for p in caught.value.problems] == [code]
    assert len(book.entries()) == before, "nothing was written"


def test_undo_never_cascades_and_lists_orphans(place: Place, books: Books) -> None:
    book = books(place())
    [board] = book.append([draft("board", n="b")])
    [state] = book.append([draft("state", n="s", board=board.id)])
    [run] = book.append([draft("run", n="r", state=state.id)])
    done = book.amend(state.id, "undo", "wrong sheet")
    assert done.orphaned == (run.id,)
    assert texts(book) == ["b", "r"], "what cites it stays"
    assert book.get(state.id).undone
    assert book.get(state.id).body == state.body, "undone, not deleted"


def test_undo_of_an_undo_and_again(place: Place, books: Books) -> None:
    book = books(place())
    [run] = book.append([draft(n="r")])
    undo = book.amend(run.id, "undo").entries[0]
    assert texts(book) == []
    redo = book.amend(undo.id, "undo").entries[0]
    assert texts(book) == ["r"]
    assert not book.get(run.id).undone
    book.amend(redo.id, "undo")
    assert texts(book) == []
    refused(book, "already_done", "is already undone", run.id, "undo")


def test_two_undos_from_two_places_need_two_undos(place: Place, books: Books) -> None:
    a, b = books(place(), "a"), books(place(), "b")
    [run] = a.append([draft(n="r")])
    b.merge(a)
    mine = a.amend(run.id, "undo").entries[0]
    b.amend(run.id, "undo")
    a.merge(b)
    a.amend(mine.id, "undo")
    assert texts(a) == [], "the other one still stands"


def test_correct_replaces_body_and_time_when_read(place: Place, books: Books) -> None:
    book = books(place())
    [run, other] = book.append([draft(n="23.5", at="2026-11-25"), draft(n="x", at="2026-11-26")])
    done = book.amend(
        run.id, "correct", "read the screen again", to=b'{"v":1,"n":"24.5"}', to_at="2026-11-27"
    )
    assert done.orphaned == ()
    assert texts(book) == ["x", "24.5"], "the corrected time moves it in fold order"
    live = {e.id: e for e in book.live()}[run.id]
    assert (live.at, live.corrected_by) == ("2026-11-27", done.entries[0].id)
    written = book.get(run.id)
    assert (written.body, written.at) == (run.body, "2026-11-25"), "bytes stay as they were written"
    second = book.amend(run.id, "correct", to=b'{"v":1,"n":"25.5"}')
    assert texts(book) == ["25.5", "x"], "the last correction counts, and says no new time"
    book.amend(second.entries[0].id, "undo")
    assert texts(book) == ["x", "24.5"]
    book.amend(done.entries[0].id, "undo")
    assert texts(book) == ["23.5", "x"]
    assert book.get(other.id).corrected_by == ""


def test_a_forecast_can_only_be_withdrawn_and_stays(place: Place, books: Books) -> None:
    book = books(place())
    [forecast, run] = book.append([draft("forecast", n="f"), draft(n="r")])
    for how in ("undo", "redact"):
        refused(book, "only_withdrawn", f"cannot be changed by {how}", forecast.id, how)
    refused(book, "only_withdrawn", "cannot be changed by correct", forecast.id, "correct", to=b"{}")
    book.amend(forecast.id, "withdraw", "wrong board")
    assert texts(book) == ["f", "r"]
    assert [e.withdrawn for e in book.live()] == [True, False]
    assert book.get(forecast.id).withdrawn
    refused(book, "already_done", "is already withdrawn", forecast.id, "withdraw")
    refused(book, "bad_amend", "is no forecast, so it cannot be withdrawn", run.id, "withdraw")


def test_a_forged_undo_of_a_forecast_has_no_effect(place: Place, books: Books) -> None:
    """Another program may write such an amend; merged in, it changes nothing."""
    book = books(place())
    [forecast] = book.append([draft("forecast", n="f")])
    for how in ("undo", "redact", "correct"):
        with book.writing() as writer:
            body = json.dumps({"v": 1, "of": forecast.id, "how": how, "why": "", "to": {"n": "better"}})
            writer.write_amend(body.encode(), forecast.id, "")
    assert texts(book) == ["f"]
    assert not book.get(forecast.id).undone
    assert book.verify().good


@pytest.mark.parametrize(
    ("how", "options", "match"),
    [
        ("erase", {}, "'erase' is not a way to amend"),
        ("correct", {}, "says neither a new text nor a new time"),
        ("correct", {"to": b"[]"}, "cannot be kept as it is"),
        ("correct", {"to_at": "tomorrow"}, "is not a time"),
        ("undo", {"to": b"{}"}, "undo takes no new text or time"),
    ],
)
def test_amends_that_make_no_sense(
    how: str, options: dict[str, bytes | str], match: str, place: Place, books: Books
) -> None:
    book = books(place())
    [run] = book.append([draft(n="r")])
    with pytest.raises(LeadoffError, match=match):
        book.amend(run.id, how, **options)  # type: ignore[arg-type]
    assert len(book.entries()) == 1
    with pytest.raises(LeadoffError, match="the book has no entry"):
        book.amend("f" * 64, "undo")


def test_a_correction_cannot_be_corrected(place: Place, books: Books) -> None:
    book = books(place())
    [run] = book.append([draft(n="r")])
    fix = book.amend(run.id, "correct", to=b'{"n":"s"}').entries[0]
    refused(book, "bad_amend", "is an amend and cannot be corrected", fix.id, "correct", to=b"{}")


def test_result_seen_can_be_told(place: Place, books: Books) -> None:
    """A forecast made after an undone result of the same state: order and flag are both there for the loop."""
    book = books(place())
    [run] = book.append([draft(n="r")])
    book.amend(run.id, "undo")
    [forecast] = book.append([draft("forecast")])
    undone = [e for e in book.entries({"run"}) if e.undone and book.is_before(e.id, forecast.id)]
    assert [e.id for e in undone] == [run.id]


def test_an_amend_of_a_newer_shape_is_kept_without_effect(place: Place, books: Books) -> None:
    book = books(place())
    [run] = book.append([draft(n="r")])
    with book.writing() as writer:
        writer.write_amend(b'{"v":2,"of":["' + run.id.encode() + b'"],"how":"split"}', run.id, "")
    assert texts(book) == ["r"]
    assert book.verify().good
    assert [e.kind for e in book.newer()] == ["amend"]


def test_kinds_filter_and_draft_defaults(place: Place, books: Books) -> None:
    book = books(place())
    book.append([Draft("run", b"{}"), Draft("mark", b"{}")])
    assert [e.kind for e in book.live({"mark"})] == ["mark"]
    assert [e.kind for e in book.live({"run", "mark"})] == ["run", "mark"]
    assert book.live(set()) == []
