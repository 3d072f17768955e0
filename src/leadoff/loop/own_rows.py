"""The user's own rows: files given with --rows become entries when used, and are read from the book then."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from leadoff.record.entries import RowBody
from leadoff.record.errors import LeadoffError

if TYPE_CHECKING:
    from leadoff.book.book import Book

TABLE = "rows_file"


def given_files(rows: Iterable[Path]) -> dict[str, str]:
    """Name to text of every TOML file given.

    Raises:
        LeadoffError: a folder or file that is not there or cannot be read.
    """
    out: dict[str, str] = {}
    for row in rows:
        if not row.exists():
            raise LeadoffError.one(
                "rows_missing",
                f"there is no folder or file {row} to read rows from",
                where=str(row),
                do="give --rows a folder of TOML files, or one such file",
            )
        for path in sorted(row.glob("*.toml")) if row.is_dir() else [row]:
            try:
                out[path.name] = path.read_text(encoding="utf-8")
            except (OSError, UnicodeDecodeError) as error:
                raise LeadoffError.one(
                    "rows_missing", f"{path} cannot be read: {error}", where=str(path), do="check the file"
                ) from None
    return out


def kept_files(book: Book) -> dict[str, str]:
    """Name to text of the files the book keeps, the latest of each name."""
    decoder = msgspec.json.Decoder(RowBody)
    out: dict[str, str] = {}
    for entry in book.live({"row"}):
        if entry.body is None:
            continue
        body = decoder.decode(entry.body)
        if body.table == TABLE:
            out[body.id] = str(body.row["text"])
    return out


def new_bodies(given: dict[str, str], kept: dict[str, str]) -> list[RowBody]:
    """Entries for files the book does not hold in this form."""
    return [
        RowBody(table=TABLE, id=name, row={"text": text})
        for name, text in given.items()
        if kept.get(name) != text
    ]


def as_folder(kept: dict[str, str], cache: Path) -> Path | None:
    """A folder with the kept files, named by their content; made once."""
    if not kept:
        return None
    digest = hashlib.sha256("\0".join(f"{n}\0{t}" for n, t in sorted(kept.items())).encode()).hexdigest()
    folder = cache / "rows" / digest[:32]
    if not folder.exists():
        made = folder.with_suffix(".new")
        made.mkdir(parents=True, exist_ok=True)
        for name, text in kept.items():
            (made / Path(name).name).write_text(text, encoding="utf-8")
        made.replace(folder)
    return folder
