"""Folds, their cache, and rebuilding from the journal alone."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from book_help import code_of, draft, edit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from leadoff.book import Entry, Fold, open_book
from leadoff.book.book import Book

Books = Callable[..., Book]
Place = Callable[[], str]

calls: list[str] = []


def step(state: dict[str, list[str]], entry: Entry) -> dict[str, list[str]]:
    calls.append(entry.id)
    state.setdefault(entry.kind, []).append(json.loads(entry.body or b"{}").get("n", "?"))
    return state


ALL = Fold[dict[str, list[str]]](
    "all", 1, dict, step, encode=lambda s: json.dumps(s).encode(), decode=json.loads
)
RUNS = Fold[dict[str, list[str]]](
    "runs", 1, dict, step, frozenset({"run"}), encode=ALL.encode, decode=ALL.decode
)


@pytest.fixture(autouse=True)
def no_calls() -> None:
    calls.clear()


def cached(book: Book) -> list[tuple[str, int, str]]:
    with book._store.read() as conn:
        return sorted(book._store.rows(conn, "SELECT name, version, catalogue FROM projections"))


def test_a_fold_is_worked_out_once_for_the_same_heads(place: Place, books: Books) -> None:
    book = books(place())
    book.append([draft(n="1"), draft("mark", n="m")])
    assert book.fold(ALL) == {"run": ["1"], "mark": ["m"]}
    assert len(calls) == 2
    assert book.fold(ALL) == {"run": ["1"], "mark": ["m"]}
    assert len(calls) == 2, "from the cache"
    assert book.fold(RUNS) == {"run": ["1"]}
    assert book.fold(RUNS, catalogue="other") == {"run": ["1"]}
    assert cached(book) == [("all", 1, ""), ("runs", 1, ""), ("runs", 1, "other")]


def test_later_entries_continue_the_cached_state(place: Place, books: Books) -> None:
    book = books(place())
    book.append([draft(n=str(k), at="2026-11-25") for k in range(5)])
    book.fold(ALL)
    calls.clear()
    book.append([draft(n="5", at="2026-11-26")])
    assert book.fold(ALL) == {"run": list("012345")}
    assert len(calls) == 1, "only the new one"
    calls.clear()
    book.append([draft(n="early", at="1997")])
    assert book.fold(ALL) == {"run": ["early", *"012345"]}
    assert len(calls) == 7, "an entry that belongs earlier starts the fold anew"
    calls.clear()
    [last] = book.append([draft(n="6", at="2026-11-27")])
    book.amend(last.id, "undo")
    assert book.fold(ALL) == {"run": ["early", *"012345"]}
    assert len(calls) == 7, "and so does an amend"


def test_a_corrected_time_later_than_a_new_entry(place: Place, books: Books) -> None:
    book = books(place())
    [run] = book.append([draft(n="1", at="2026-01-01")])
    book.amend(run.id, "correct", to_at="2026-12-01")
    assert book.fold(ALL) == {"run": ["1"]}
    book.append([draft(n="2", at="2026-06-01")])
    assert book.fold(ALL) == {"run": ["2", "1"]}


def test_version_and_catalogue_are_part_of_the_key(place: Place, books: Books) -> None:
    book = books(place())
    book.append([draft(n="1")])
    prices = {"a": 2, "b": 3}

    def priced(catalogue: str) -> Fold[int]:
        return Fold(
            "price",
            1,
            int,
            lambda s, _: s + prices[catalogue],
            encode=lambda s: b"%d" % s,
            decode=lambda b: int(b),
        )

    assert [book.fold(priced(c), catalogue=c) for c in ("a", "b", "a")] == [2, 3, 2]
    newer = Fold("all", 2, dict, lambda s, e: {"two": 2}, encode=ALL.encode, decode=ALL.decode)
    assert book.fold(ALL) == {"run": ["1"]}
    assert book.fold(newer) == {"two": 2}
    assert ("all", 1, "") not in cached(book), "an older version's cache goes"


def test_rebuild_equals_the_projections_under_another_catalogue(place: Place, books: Books) -> None:
    """Whatever stood in the cache, the journal alone gives the same states."""
    book = books(place())
    book.append([draft(n=str(k), at=f"2026-11-{k + 10}") for k in range(6)])
    [gone] = book.append([draft("mark", n="m")])
    book.amend(gone.id, "undo")
    before = [book.fold(f, catalogue=c) for f in (ALL, RUNS) for c in ("one", "two")]
    with book._store.write() as conn:
        book._store.run(conn, "UPDATE projections SET state = ?", (b'{"run":["wrong"]}',))
    assert book.fold(ALL, catalogue="one") == {"run": ["wrong"]}
    for catalogue in ("one", "two"):
        report = book.rebuild([ALL, RUNS], catalogue=catalogue)
        assert report.folds == ("all", "runs")
        assert report.entries == 8
        assert report.mended == 0
    assert [book.fold(f, catalogue=c) for f in (ALL, RUNS) for c in ("one", "two")] == before


def test_without_encode_nothing_is_kept(place: Place, books: Books) -> None:
    book = books(place())
    book.append([draft(n="1")])
    plain = Fold[int]("plain", 1, int, lambda s, _: s + 1)
    assert [book.fold(plain), book.fold(plain)] == [1, 1]
    assert cached(book) == []


def test_a_busy_book_is_folded_without_the_cache(place: Place, books: Books) -> None:
    where = place()
    book, other = books(where, wait_ms=100), books(where, "b")
    book.append([draft(n="1")])
    with other.writing() as writer:
        writer.append(draft(n="2"))
        assert book.fold(ALL) == {"run": ["1"]}
    assert cached(book) == []
    assert book.fold(ALL) == {"run": ["1", "2"]}


def test_a_step_that_fails_leaves_the_cache_alone(place: Place, books: Books) -> None:
    book = books(place())
    book.append([draft(n="1")])
    bad = Fold[int]("bad", 1, int, lambda s, _: s // 0, encode=lambda s: b"", decode=lambda b: 0)
    with pytest.raises(ZeroDivisionError):
        book.fold(bad)
    assert cached(book) == []


acts = st.lists(
    st.tuples(
        st.sampled_from(["append", "append", "append", "fold", "fold", "undo", "correct", "redact", "merge"]),
        st.integers(0, 7),
        st.sampled_from(["", "1997", "2026-01-01", "2026-06-01T10:00", "2026-12-31"]),
    ),
    max_size=18,
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(acts)
def test_the_cache_never_changes_an_answer(what: list[tuple[str, int, str]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        plain = Fold("plain", 1, dict, step)
        with open_book(root / "a.db", root / "ca") as book, open_book(root / "b.db", root / "cb") as other:
            for k, (act, pick, at) in enumerate(what):
                choice = book.entries()
                if act == "append":
                    (other if pick == 7 else book).append([draft(["run", "mark"][pick % 2], at=at, n=str(k))])
                elif act == "merge":
                    book.merge(other)
                elif act == "fold" or not choice:
                    book.fold(ALL)
                    book.fold(RUNS)
                else:
                    target, to_at = choice[pick % len(choice)].id, at if act == "correct" else None
                    code = code_of(lambda t=target, a=act, to_at=to_at: book.amend(t, a, to_at=to_at))
                    assert code in ("", "bad_amend", "already_redacted", "already_done", "redact_is_final")
                assert book.fold(ALL) == book.fold(plain)
                assert book.fold(RUNS).get("run", []) == book.fold(plain).get("run", [])


def test_rebuild_after_the_cache_table_was_emptied(tmp_path: Path, books: Books) -> None:
    book = books(tmp_path / "b.db")
    book.append([draft(n="1")])
    book.fold(ALL)
    edit(tmp_path / "b.db", "DELETE FROM projections")
    assert book.fold(ALL) == {"run": ["1"]}
