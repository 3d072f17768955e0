"""One call of a verb: the book (opened late), the catalogue, the time it counts as."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from leadoff.loop.places import book_place, cache_dir, config_dir
from leadoff.record.entries import KINDS, Body
from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.marks import Mark
from leadoff.record.results import Result

if TYPE_CHECKING:
    from leadoff.book import Draft, Entry
    from leadoff.book.book import Book
    from leadoff.book.values import SealedFile
    from leadoff.catalogue import Catalogue
    from leadoff.loop.history import History


class Session:
    """Everything a verb needs from outside. ``at`` makes a call repeatable: entries carry that time.

    The book is opened at first use; only adding a board, an import and the tour may begin one.
    """

    def __init__(
        self,
        *,
        book: str | None = None,
        at: str | None = None,
        rows: Sequence[str] = (),
        config: Path | None = None,
        cache: Path | None = None,
    ) -> None:
        self.place = book_place(book)
        self.at = at or datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        self._check_at(at)
        self.rows = tuple(Path(r) for r in rows)
        self.config = config or config_dir()
        self.cache = cache or cache_dir()
        self.described: dict[str, Mapping[str, object]] = {}
        """Processors that board files of this book write out themselves, by their name there."""
        self.files: tuple[SealedFile, ...] = ()
        """Files that the next entries of this call cite; kept with them as one act."""
        self._creating = False

    @staticmethod
    def _check_at(at: str | None) -> None:
        if at is None:
            return
        from leadoff.book.when import at_key

        at_key(at)

    @cached_property
    def book(self) -> Book:
        from leadoff.book import open_book

        try:
            return open_book(self.place, self.config, create=self._creating)
        except LeadoffError as error:
            if error.problems[0].code != "book_not_found":
                raise
            raise LeadoffError.one(
                "book_not_found",
                f"there is no book at {self.place} yet",
                where=self.place,
                do="`leadoff board add FILE.toml` begins one; for another place give --book",
            ) from None

    def may_begin(self) -> Session:
        """Say before the first use that this verb may begin a book where there is none."""
        self._creating = True
        return self

    @cached_property
    def catalogue(self) -> Catalogue:
        from leadoff.catalogue import load
        from leadoff.loop.own_rows import as_folder, given_files, kept_files

        given = given_files(self.rows)
        # A file given now replaces the one of that name that the book keeps.
        kept = {
            name: text
            for name, text in kept_files(self.book).items()
            if name not in given and not name.startswith("faults")
        }
        folder = as_folder(kept, self.cache)
        return load((*([folder] if folder is not None else []), *self.rows), cache_dir=self.cache)

    def fault_tables(self, *, without_book: bool = False) -> list[Path]:
        """The user's own fault tables (``faults*.toml`` of --rows): given now, else as the book keeps them."""
        from leadoff.loop.own_rows import as_folder, given_files, kept_files

        kept = {} if without_book else kept_files(self.book)
        files = {n: t for n, t in {**kept, **given_files(self.rows)}.items() if n.startswith("faults")}
        folder = as_folder(files, self.cache)
        return sorted(folder.glob("*.toml")) if folder is not None else []

    def kept_history(self) -> History | None:
        """The history somebody keeps between calls, as :mod:`leadoff.loop.desk` does; else ``None``."""
        return None

    def highest_number(self) -> int:
        """The highest number of all runs ever logged, undone ones too: none is given twice in one book."""
        return highest(e.body for e in self.book.entries({"run"}))

    def write(self, *bodies: Body, at: str | None = None) -> list[Entry]:
        """Append entries in one transaction, all or none; each with this call's time."""
        from leadoff.book import Draft

        drafts = [Draft(kind=kind_of(b), body=msgspec.json.encode(b), at=at or self.at) for b in bodies]
        own = self._own_rows()
        return self.book.append([*own, *drafts], self.files)[len(own) :]

    def write_dated(self, bodies: Iterable[tuple[Body, str]]) -> list[Entry]:
        """Append entries in one transaction, all or none; each with a time of its own, of any precision."""
        from leadoff.book import Draft

        drafts = [Draft(kind=kind_of(b), body=msgspec.json.encode(b), at=at) for b, at in bodies]
        own = self._own_rows()
        return self.book.append([*own, *drafts], self.files)[len(own) :]

    def _own_rows(self) -> list[Draft]:
        """Rows given with this call that the book does not keep yet: they become entries when used."""
        if not self.rows:
            return []
        from leadoff.book import Draft
        from leadoff.loop.own_rows import given_files, kept_files, new_bodies

        bodies = new_bodies(given_files(self.rows), kept_files(self.book))
        return [Draft(kind="row", body=msgspec.json.encode(b), at=self.at) for b in bodies]

    def result(
        self,
        verb: str,
        data: dict[str, Any],
        marks: Iterable[Mark] = (),
        errors: Iterable[Problem] = (),
    ) -> Result:
        """The contract's result with the book's head."""
        problems = tuple(errors)
        return Result(
            verb=verb,
            ok=not problems,
            head=self.head(),
            data=data,
            marks=tuple(marks),
            errors=problems,
        )

    def head(self) -> str | None:
        """The head's fingerprint, ``None`` when no book was opened."""
        if "book" not in self.__dict__:
            return None
        return self.book.fingerprint()

    def close(self) -> None:
        """Let go of the book."""
        if "book" in self.__dict__:
            self.book.close()


def highest(runs: Iterable[bytes | None]) -> int:
    """The highest run number among bodies of runs; ``41b`` counts as 41."""
    numbers = (msgspec.json.decode(body)["run"]["number"] for body in runs if body is not None)
    digits = ("".join(c for c in n if c.isdigit()) for n in numbers)
    return max((int(d) for d in digits if d), default=0)


def kind_of(body: Body) -> str:
    """The kind under which the book keeps a body."""
    return next(kind for kind, made in KINDS.items() if type(body) is made)
