"""A backup or an export never takes the place of a file that is no earlier copy of the same book."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from book_help import draft

from leadoff.book.book import Book
from leadoff.record.errors import LeadoffError

Books = Callable[..., Book]
WRITERS: list[Callable[[Book, Path], object]] = [Book.backup, Book.export]


@pytest.fixture
def book(tmp_path: Path, books: Books) -> Book:
    made = books(tmp_path / "mine.db", "a")
    made.append([draft("run", n="1")])
    return made


@pytest.mark.parametrize("write", WRITERS)
class TestWhatIsThereAlready:
    def test_an_earlier_copy_of_this_book_is_replaced(
        self, write: Callable[[Book, Path], object], book: Book, tmp_path: Path
    ) -> None:
        copy = tmp_path / "copy"
        write(book, copy)
        before = copy.read_bytes()
        book.append([draft("run", n="2")])
        write(book, copy)
        assert copy.read_bytes() != before

    def test_the_copy_of_another_book_stays(
        self, write: Callable[[Book, Path], object], book: Book, books: Books, tmp_path: Path
    ) -> None:
        other = books(tmp_path / "theirs.db", "b")
        other.append([draft("run", n="3")])
        copy = tmp_path / "copy"
        write(other, copy)
        self._left_alone(write, book, copy)

    def test_a_file_that_is_no_book_stays(
        self, write: Callable[[Book, Path], object], book: Book, tmp_path: Path
    ) -> None:
        typed = tmp_path / "board.toml"
        typed.write_text('[board]\nid = "reed-486"\n')
        self._left_alone(write, book, typed)

    def test_the_book_itself_stays(self, write: Callable[[Book, Path], object], book: Book) -> None:
        assert book.path is not None
        with pytest.raises(LeadoffError) as refused:
            write(book, book.path)
        assert refused.value.problems[0].code == "file_in_the_way"
        assert len(book.entries()) == 1

    @staticmethod
    def _left_alone(write: Callable[[Book, Path], object], book: Book, file: Path) -> None:
        before = file.read_bytes()
        with pytest.raises(LeadoffError) as refused:
            write(book, file)
        assert refused.value.problems[0].code == "file_in_the_way"
        assert file.read_bytes() == before
