"""Draw a random share of the catalogue's rows for a re-read, the same rows for the same seed on every machine.

Rows of our own files only, sorted by file name and id; publications (sources.toml) are cited, not read, so they
are left out. Usage: python tools/catalogue_sample.py [--seed 20261125] [--share 0.1]
"""

from __future__ import annotations

import argparse
import math
import random
import tomllib
from pathlib import Path
from typing import NamedTuple

from leadoff.catalogue import files

LEFT_OUT = frozenset({"sources.toml"})


class Drawn(NamedTuple):
    """One row: its file, its kind (the name of the table) and its id."""

    file: str
    kind: str
    row: str


def rows_of(path: Path) -> list[Drawn]:
    """Rows of one file; a row without an id (delay tables) goes by kind and place in the file."""
    found: list[Drawn] = []
    for kind, value in tomllib.loads(path.read_text(encoding="utf-8")).items():
        entries = value if isinstance(value, list) else [value]
        for number, entry in enumerate(entries, start=1):
            name = str(entry.get("id") or entry.get("name") or f"{kind} {number}")
            found.append(Drawn(path.name, kind, name))
    return found


def draw(seed: int, share: float) -> tuple[list[Drawn], int]:
    """The rows drawn, in order of file and id, and how many rows there are; a share is rounded up."""
    paths = sorted(p for p in files.DATA.glob("*.toml") if p.name not in LEFT_OUT)
    rows = sorted((row for path in paths for row in rows_of(path)), key=lambda r: (r.file, r.row, r.kind))
    count = math.ceil(share * len(rows))
    return sorted(random.Random(seed).sample(rows, count), key=lambda r: (r.file, r.row)), len(rows)


def main() -> None:
    """Print the rows drawn, one a line, and the count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument("--share", type=float, default=0.1)
    args = parser.parse_args()
    drawn, total = draw(args.seed, args.share)
    for row in drawn:
        print(f"{row.file:<20} {row.kind:<12} {row.row}")
    print(f"{len(drawn)} of {total} rows, seed {args.seed}")


if __name__ == "__main__":
    main()
