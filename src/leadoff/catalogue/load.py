"""Load the catalogue: our rows, then the user's, checked entry by entry, all mistakes told at once."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from leadoff.catalogue.cache import read_cache, write_cache
from leadoff.catalogue.catalogue import Catalogue
from leadoff.catalogue.files import digest_of, gather


def load(rows_dirs: Iterable[Path] = (), cache_dir: Path | None = None) -> Catalogue:
    """The catalogue of our rows with the user's (``rows_dirs``: folders or files) on top.

    A user's row replaces ours of the same id whole: nothing of ours is mixed in. With ``cache_dir`` a
    compiled copy is kept there; a damaged copy is ignored and made anew. Raises ``LeadoffError`` with every
    mistake in every file, none of the rows being used then.
    """
    files = gather(rows_dirs)
    digest = digest_of(files)
    cached = read_cache(cache_dir, digest) if cache_dir else None
    if cached is not None:
        return cached
    from leadoff.catalogue.compiling import compile_rows  # only on a cold start

    catalogue = compile_rows(files, digest)
    if cache_dir:
        write_cache(cache_dir, catalogue)
    return catalogue
