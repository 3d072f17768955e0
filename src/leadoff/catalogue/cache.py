"""A compiled copy of the catalogue, so that a warm start reads one file. Never needed, never trusted."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

import msgspec

from leadoff.catalogue.catalogue import Catalogue
from leadoff.catalogue.row import dec_hook, enc_hook


def cache_path(folder: Path, digest: str) -> Path:
    """Where the compiled copy of this content stands."""
    return folder / f"catalogue-{digest[:24]}.msgpack"


def read_cache(folder: Path, digest: str) -> Catalogue | None:
    """The compiled copy, ``None`` when there is none, it is damaged, or it is of other content."""
    try:
        data = cache_path(folder, digest).read_bytes()
        found = msgspec.msgpack.Decoder(Catalogue, dec_hook=dec_hook).decode(data)
    except (OSError, msgspec.DecodeError, ValueError, TypeError, ZeroDivisionError):
        return None
    return found if found.digest == digest else None


def write_cache(folder: Path, catalogue: Catalogue) -> None:
    """Write the compiled copy; a folder that cannot be written is no error, the next start is only slower.

    Written beside and renamed, so that another process never sees half a file. Older copies are removed.
    """
    target = cache_path(folder, catalogue.digest)
    part = target.with_suffix(f".{os.getpid()}.part")
    with contextlib.suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        part.write_bytes(msgspec.msgpack.encode(catalogue, enc_hook=enc_hook))
        part.replace(target)
