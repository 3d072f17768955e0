"""Shared by the book's tests."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from pathlib import Path

from leadoff.book import Draft
from leadoff.book.book import Book
from leadoff.book.source import BookSource
from leadoff.book.values import Record
from leadoff.record.errors import LeadoffError


def draft(kind: str = "run", at: str = "", **body: object) -> Draft:
    return Draft(kind, json.dumps({"v": 1, **body}, ensure_ascii=False).encode(), at)


def code_of(act: Callable[[], object]) -> str:
    """Code of the error that ``act`` ends in; "" when it succeeds."""
    try:
        act()
    except LeadoffError as why:
        return why.problems[0].code
    return ""


def records(book: Book) -> list[Record]:
    """All entries exactly as stored, ancestors first."""
    with book._store.read() as conn:
        return list(BookSource(book._store, conn).records())


def files(book: Book) -> list[str]:
    with book._store.read() as conn:
        return BookSource(book._store, conn).file_digests()


def content(book: Book) -> tuple[list[Record], list[str], tuple[str, ...]]:
    """Everything that two copies of a book must agree on."""
    return records(book), files(book), book.heads()


def texts(book: Book, *kinds: str) -> list[str]:
    """The key ``n`` of live entries, in fold order."""
    return [json.loads(e.body or b"{}").get("n", "?") for e in book.live(kinds or None)]


def edit(path: Path, sql: str, *values: object) -> None:
    """Damage a book behind its back."""
    db = sqlite3.connect(path)
    with db:
        db.execute(sql, values)
    db.close()
