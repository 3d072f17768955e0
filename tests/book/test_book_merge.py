"""Merging is the union of two sets of entries; pens never fork silently."""

from __future__ import annotations

import itertools
import shutil
import tempfile
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pytest
from book_help import code_of, content, draft, edit, files, records, texts
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from leadoff.book import Draft, open_book, seal
from leadoff.book.ancestry import Ancestry
from leadoff.book.book import Book
from leadoff.book.envelope import decode_line
from leadoff.record.errors import LeadoffError

Books = Callable[..., Book]
Place = Callable[[], str]


def test_copied_file_two_pens_merge(place: Place, books: Books) -> None:
    a, b = books(place(), "home"), books(place(), "shed")
    a.append([draft(n="1"), draft(n="2")])
    b.merge(a)
    assert b.pen().why == "copied"
    assert "another installation" in b.pen().text
    [here] = a.append([draft(n="3 home")])
    [there] = b.append([draft(n="3 shed")])
    assert here.pen != there.pen
    assert there.seen == (a.entries()[1].id,), "it cites the head it saw"
    report = a.merge(b)
    assert report.added == (there.id,)
    assert report.forks == ()
    assert set(a.heads()) == {here.id, there.id}
    assert not a.is_before(here.id, there.id)
    [after] = a.append([draft(n="4")])
    assert a.is_before(there.id, after.id)
    assert a.is_before(here.id, after.id)
    assert a.heads() == (after.id,)
    assert a.verify().good


def test_merging_is_symmetric_and_idempotent(place: Place, books: Books) -> None:
    a, b, c = (books(place(), n) for n in ("a", "b", "c"))
    a.append([draft(n="a1"), draft(n="a2")])
    b.append([draft("party", n="b1")], files=[seal(b"1")])
    c.merge(a)
    c.append([draft(n="c1")])
    a.merge(b)
    b.merge(a)
    assert content(a) == content(b)
    once = content(a)
    assert a.merge(b).added == ()
    assert content(a) == once
    ways = []
    for order in itertools.permutations([a, b, c]):
        into = books(place(), "fresh")
        for book in order:
            into.merge(book)
        ways.append((content(into), texts(into), into.fingerprint()))
    assert all(way == ways[0] for way in ways)


def test_a_restored_backup_starts_a_new_pen_and_keeps_both_branches(tmp_path: Path, books: Books) -> None:
    path = tmp_path / "b.db"
    book = books(path)
    [first, _] = book.append([draft(n="1"), draft(n="2")])
    saved = book.backup()
    lost = book.append([draft(n="3"), draft(n="4")])
    book.close()
    rescued = tmp_path / "rescued.db"
    shutil.move(path, rescued)
    shutil.copy(saved, path)

    book = books(path)
    assert any("restored backup" in note for note in book.verify().notes)
    assert book.pen().why == "restored"
    [new] = book.append([draft(n="3 again")])
    assert new.pen != first.pen, "a new pen at once: the lost entries may come back"
    report = book.merge(books(rescued))
    assert set(report.added) == {e.id for e in lost}
    assert report.forks == ()
    assert texts(book) == ["1", "2", *sorted(["3", "3 again"], key=lambda n: _depth_id(book, n)), "4"]
    assert book.verify().good
    assert {p.pen for p in book.verify().pens} == {first.pen, new.pen}


def _depth_id(book: Book, n: str) -> str:
    return next(e.id for e in book.entries() if f'"{n}"'.encode() in (e.body or b""))


def test_a_pen_that_forked_keeps_both_branches_and_says_so(
    place: Place, books: Books, tmp_path: Path
) -> None:
    """The config folder was copied with the book: two machines write with one pen."""
    a = books(place(), "home")
    a.append([draft(n="1")])
    b_place = place()
    books(b_place, "scratch").merge(a)
    shutil.copytree(tmp_path / "config" / "home", tmp_path / "config" / "clone")
    b = books(b_place, "clone")
    [here] = a.append([draft(n="here")])
    [there] = b.append([draft(n="there")])
    assert (here.pen, here.seq) == (there.pen, there.seq)
    for book, other in ((a, b), (b, a)):
        report = book.merge(other)
        [fork] = report.forks
        assert (fork.pen, fork.seq, set(fork.entries)) == (here.pen, 2, {here.id, there.id})
    assert content(a) == content(b)
    assert sorted(texts(a)) == ["1", "here", "there"]
    checked = a.verify()
    assert checked.good, "a fork is not damage"
    assert [set(f.entries) for f in checked.forks] == [{here.id, there.id}]
    assert any("all are kept" in note for note in checked.notes)
    [next_one] = a.append([draft(n="next")])
    assert (next_one.pen, next_one.seq, next_one.prev) == (here.pen, 3, here.id)
    assert next_one.seen == (there.id,)
    assert a.verify().good


def test_two_copies_on_one_installation_do_not_fork(tmp_path: Path, books: Books) -> None:
    books(tmp_path / "a.db").append([draft(n="1")])
    shutil.copy(tmp_path / "a.db", tmp_path / "b.db")
    a, b = books(tmp_path / "a.db"), books(tmp_path / "b.db")
    for k in range(3):
        a.append([draft(n=f"a{k}")])
        b.append([draft(n=f"b{k}")])
    assert a.merge(b).forks == ()
    assert len(a.verify().pens) == 2, "one pen each, not a new one at every change"
    assert a.verify().good


def test_crash_between_memory_and_commit(tmp_path: Path, books: Books) -> None:
    """The pen's file says what was about to be written; the book never got it."""
    book = books(tmp_path / "b.db")
    [one] = book.append([draft(n="1")])
    [file] = (tmp_path / "config" / "home" / "pens").iterdir()
    file.write_bytes(f"{one.id}\n{'e' * 64}\n".encode())
    [two] = book.append([draft(n="2")])
    assert (two.pen, two.prev) == (one.pen, one.id)
    file.write_bytes(f"{'-' * 64}\n{two.id}\n".encode())
    assert book.pen().pen == one.pen, "the very first entry was written, the memory of it was not settled"
    file.write_bytes(b"rubbish")
    [three] = book.append([draft(n="3")])
    assert three.pen != one.pen, "a pen with a damaged memory is retired"
    assert book.verify().good


def test_damaged_entries_are_refused_and_named(tmp_path: Path, books: Books) -> None:
    bad = books(tmp_path / "bad.db", "away")
    one, two, three = bad.append([draft(n="1"), draft(n="2"), draft(n="3")])
    edit(tmp_path / "bad.db", "UPDATE entries SET body = '{}' WHERE id = ?", two.id)
    book = books(tmp_path / "b.db")
    with pytest.raises(LeadoffError, match="its body was changed") as caught:
        book.merge(bad)
    assert [p.where for p in caught.value.problems] == [two.id]
    assert book.entries() == [], "nothing is half merged"
    report = book.merge(bad, salvage=True)
    assert set(report.added) == {one.id, three.id}
    assert [(f.entry, f.kind) for f in report.refused] == [(two.id, "body_changed")]
    assert [f.kind for f in book.verify().faults] == ["missing"]
    # a whole copy turns up and heals the gap, depths included
    edit(
        tmp_path / "bad.db",
        "UPDATE entries SET body = ? WHERE id = ?",
        two.body.decode() if two.body else "",
        two.id,
    )
    book.merge(bad)
    assert book.verify().good
    assert content(book) == content(bad)


def test_a_missing_body_is_healed_from_another_copy(tmp_path: Path, books: Books) -> None:
    a, b = books(tmp_path / "a.db"), books(tmp_path / "b.db", "away")
    [one] = a.append([draft(n="1")])
    b.merge(a)
    edit(tmp_path / "a.db", "UPDATE entries SET body = NULL, salt = NULL")
    with pytest.raises(LeadoffError, match="missing, not redacted"):
        books(tmp_path / "c.db", "third").merge(a)
    assert a.merge(b).healed == (one.id,)
    assert a.verify().good
    assert content(a) == content(b)


def test_entries_of_newer_kinds_are_kept_and_listed(
    tmp_path: Path, books: Books, monkeypatch: pytest.MonkeyPatch
) -> None:
    future = books(tmp_path / "future.db", "away")
    with monkeypatch.context() as patch:
        patch.setattr("leadoff.book.writer.KINDS", frozenset({"run", "hologram"}))
        [known, new] = future.append([draft(n="1"), Draft("hologram", b'{"v":4,"depth":9}')])
    book = books(tmp_path / "b.db")
    assert book.merge(future).newer == (new.id,)
    assert [e.id for e in book.newer()] == [new.id]
    assert book.get(new.id).body == b'{"v":4,"depth":9}'
    book.export(tmp_path / "x.zip")
    again = books(tmp_path / "again.db", "third")
    assert again.import_(tmp_path / "x.zip").newer == (new.id,)
    assert content(again) == content(book)
    assert book.verify().good
    assert known.id in {e.id for e in book.entries({"run"})}


def test_what_was_sent_once_is_known_in_the_merged_book_too(place: Place, books: Books) -> None:
    a, b = books(place(), "a"), books(place(), "b")
    [one] = a.append([Draft("run", b'{"n":"1"}', once="phone/1")])
    b.merge(a)
    [same] = b.append([Draft("run", b'{"n":"1"}', once="phone/1")])
    assert same.id == one.id
    assert len(b.entries()) == 1


# --- properties

Step = tuple[int, str, int]
steps = st.lists(
    st.tuples(
        st.integers(0, 2),
        st.sampled_from(["run", "party", "photo", "waited", "undo", "correct", "redact", "merge", "merge"]),
        st.integers(0, 9),
    ),
    max_size=14,
)


def _play(books: list[Book], what: list[Step]) -> None:
    for k, (who, act, pick) in enumerate(what):
        book = books[who]
        if act == "merge":
            book.merge(books[(who + 1 + pick % 2) % 3])
        elif act in ("run", "party"):
            book.append([draft(act, at=["", "2026", "2026-11-25"][pick % 3], n=f"secret{k}")])
        elif act == "photo":
            photo = seal(b"photo")
            book.append([draft("mark", n=f"secret{k}", shows=photo.cite)], files=[photo])
        else:
            choice = book.entries()
            if not choice:
                continue
            target = choice[pick % len(choice)]
            if act == "waited":
                book.append([Draft("run", b'{"n":"waited"}', seen=(target.id,), once=f"phone{pick}")])
                continue
            to = f'{{"n":"secret{k} again"}}'.encode() if act == "correct" else None
            code = code_of(lambda b=book, t=target.id, a=act, to=to: b.amend(t, a, to=to))
            assert code in ("", "bad_amend", "already_redacted", "already_done", "redact_is_final")


ORDERS = [(0, 1, 2), (2, 1, 0), (1, 2, 0)]


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(steps)
def test_any_history_merges_to_one_set(what: list[Step]) -> None:
    """Three installations write, amend, redact and merge as they like: the union does not depend on the order."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        open_book(root / "empty.db", root).close()
        for n in ("a", "b", "c", *(f"m{order}" for order in ORDERS)):
            shutil.copy(root / "empty.db", root / f"{n}.db")
        three = [open_book(root / f"{n}.db", root / n) for n in "abc"]
        try:
            _play(three, what)
            results = []
            for order in ORDERS:
                into = open_book(root / f"m{order}.db", root / "m")
                for k in order:
                    into.merge(three[k])
                assert into.verify().good, into.verify().faults
                twice = content(into)
                into.merge(three[order[0]])
                assert content(into) == twice
                results.append((twice, [(e.id, e.body) for e in into.live()]))
                into.close()
            assert all(r == results[0] for r in results)
            for k in range(3):
                three[k].merge(three[(k + 1) % 3])
                three[k].merge(three[(k + 2) % 3])
                three[k].merge(three[(k + 1) % 3])
            assert len({repr(content(b)) for b in three}) == 1
            assert content(three[0]) == results[0][0]
            for b in three:
                report = b.verify()
                assert report.good, report.faults
                assert report.forks == ()
                b.rebuild()
                assert b.verify().good
        finally:
            for b in three:
                b.close()


@st.composite
def graphs(draw: st.DrawFn) -> list[tuple[str, str, tuple[str, ...]]]:
    nodes: list[tuple[str, str, tuple[str, ...]]] = []
    for k in range(draw(st.integers(1, 12))):
        before = [n[0] for n in nodes]
        prev = draw(st.sampled_from(["", *before]))
        seen = tuple(draw(st.lists(st.sampled_from(before), max_size=3, unique=True))) if before else ()
        nodes.append((f"{k:02d}", prev, seen))
    return nodes


@given(graphs())
def test_ancestry_against_plain_reachability(nodes: list[tuple[str, str, tuple[str, ...]]]) -> None:
    above: dict[str, set[str]] = {}
    for i, prev, seen in nodes:
        above[i] = set().union(*({p} | above[p] for p in (prev, *seen) if p))
    asked = Ancestry(nodes)
    for a in above:
        for b in above:
            assert asked.is_before(a, b) == (a in above[b]), (a, b)


def test_before_is_never_by_the_clock(place: Place, books: Books) -> None:
    book = books(place())
    late, early = book.append([draft(at="2030"), draft(at="1980-01-01")])
    assert book.is_before(late.id, early.id)
    assert not book.is_before(early.id, late.id)
    assert not book.is_before(early.id, early.id)
    assert [e.id for e in book.live()] == [early.id, late.id]


def test_merge_stores_the_lines_it_was_given(place: Place, books: Books) -> None:
    a, b = books(place(), "a"), books(place(), "b")
    a.append([draft("mark", n=str(k)) for k in range(3)], files=[seal(b"x")])
    b.merge(a)
    assert records(a) == records(b)
    assert files(a) == files(b)
    assert [decode_line(r.line).seq for r in records(b)] == [1, 2, 3]


def test_envelopes_between_a_forecast_and_its_result(place: Place, books: Books) -> None:
    """Anybody can follow the hashes from the result back to the forecast, without a single body."""
    a, b = books(place(), "a"), books(place(), "b")
    a.append([draft("party", name="private")])
    [forecast] = a.append([draft("forecast", median="private")])
    b.merge(a)
    [aside] = b.append([draft(n="elsewhere")])
    a.append([draft(n="between")])
    a.merge(b)
    [result] = a.append([draft(n="result")])
    a.append([draft(n="later")])
    lines = a.lines_between(forecast.id, result.id)
    assert all(b"private" not in line for line in lines)
    ids = [sha256(line).hexdigest() for line in lines]
    assert ids[0] == forecast.id
    assert ids[-1] == result.id
    assert len(ids) == 4
    assert aside.id in ids
    for line in lines[1:]:
        env = decode_line(line)
        assert {env.prev, *env.seen} - {""} <= set(ids), "every step stays inside"
    for first, last in ((result.id, forecast.id), (forecast.id, forecast.id), ("f" * 64, result.id)):
        with pytest.raises(LeadoffError, match="does not come before"):
            a.lines_between(first, last)
