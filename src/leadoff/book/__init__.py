"""The book: bytes, chains, files by digest, folds. It does not know what a board is.

    from leadoff.book import Draft, open_book

    with open_book("bench.db", config_dir) as book:           # or postgresql://user@host/club
        [run] = book.append([Draft("run", b'{"v":1,"n":"41"}', "2026-11-25T10:35")])
        book.amend(run.id, "undo", "wrong board")
        book.live({"run"})                                     # -> []

Importing this folder is light; the database is loaded by ``open_book``.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from leadoff.book.kinds import AMEND, KINDS
from leadoff.book.upcast import UPCASTERS, Upcasters
from leadoff.book.values import (
    AmendResult,
    Draft,
    Entry,
    Fault,
    Fold,
    Fork,
    MergeReport,
    PenState,
    RebuildReport,
    SealedFile,
    VerifyReport,
    seal,
)
from leadoff.book.when import at_key, precision

if TYPE_CHECKING:
    from leadoff.book.book import Book

__all__ = [
    "AMEND",
    "KINDS",
    "UPCASTERS",
    "AmendResult",
    "Draft",
    "Entry",
    "Fault",
    "Fold",
    "Fork",
    "MergeReport",
    "PenState",
    "RebuildReport",
    "SealedFile",
    "Upcasters",
    "VerifyReport",
    "at_key",
    "open_book",
    "precision",
    "seal",
]


def open_book(
    place: str | Path,
    config_dir: Path,
    create: bool = True,
    *,
    upcasters: Upcasters = UPCASTERS,
    wait_ms: int = 5000,
) -> Book:
    """Open the book at a path or PostgreSQL address; make it if it is not there and ``create`` is set.

    ``config_dir`` keeps this installation's pens; it must not travel with the book. Older tables are brought
    up after a backup. Raises LeadoffError: book_not_found, not_a_book, book_corrupt, bad_url, no_server,
    no_permission, postgres_missing. A write-protected book, or one of a newer release, opens for reading.
    """
    from leadoff.book.book import Book

    return Book(place, Path(config_dir), create=create, upcasters=upcasters, wait_ms=wait_ms)
