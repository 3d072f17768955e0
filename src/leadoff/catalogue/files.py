"""The files of the catalogue: ours, the user's, and one digest over all of them."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from leadoff.record.errors import LeadoffError, Problem

DATA = Path(__file__).parent / "data"
# Part of the digest and of the name of every cached copy: raise it when row types change their meaning.
FORMAT = "leadoff-catalogue-1"
# Delay tables of the timing floor: they count in the digest, their rows are read there.
NOT_ROWS = frozenset({"bus_ac.toml", "budget_terms.toml", "ladder.toml"})


class RowFile(NamedTuple):
    """One file: short name for messages, bytes with one kind of line end, and whether the user brought it."""

    name: str
    data: bytes
    own: bool


FAULT_TABLES = "faults"
"""Files of own rows whose name begins so hold fault tables; :mod:`leadoff.faults` reads them."""


def _toml_files(place: Path) -> list[Path]:
    found = sorted(place.glob("*.toml")) if place.is_dir() else [place]
    return [p for p in found if not p.name.startswith(FAULT_TABLES)]


def gather(rows_dirs: Iterable[Path] = ()) -> list[RowFile]:
    """Our files, then the user's in the order given.

    Raises ``LeadoffError`` with one problem for each place that does not exist or cannot be read.
    """
    found = [RowFile(p.name, _read(p), own=False) for p in _toml_files(DATA)]
    problems: list[Problem] = []
    for place in map(Path, rows_dirs):
        try:
            if not place.exists():
                raise FileNotFoundError(2, "there is no such file or folder")
            found += [RowFile(p.name, _read(p), own=True) for p in _toml_files(place)]
        except OSError as err:
            problems.append(
                Problem(
                    code="catalogue.unreadable",
                    text=f"rows from {place} cannot be read: {err.strerror or err}; your parts are missing",
                    where=str(place),
                    do="give a folder with .toml files, or one such file",
                )
            )
    if problems:
        raise LeadoffError(*problems)
    return found


def _read(path: Path) -> bytes:
    # One kind of line end, so that a checkout on another system has the same digest.
    return path.read_bytes().replace(b"\r\n", b"\n")


def digest_of(files: Iterable[RowFile]) -> str:
    """SHA-256, in hex, over format, names, ownership and contents. Places on the disk do not count."""
    total = hashlib.sha256(FORMAT.encode())
    for file in files:
        head = f"\n{'own' if file.own else 'ours'} {file.name} {len(file.data)}\n"
        total.update(head.encode() + file.data)
    return total.hexdigest()
