"""A compiled copy of the catalogue, so that a warm start reads one file. Never needed, never trusted."""

from __future__ import annotations

import contextlib
import hashlib
import os
import zlib
from pathlib import Path

import msgspec

from leadoff.catalogue.catalogue import Catalogue
from leadoff.catalogue.kinds import KINDS
from leadoff.catalogue.row import dec_hook, enc_hook

# One copy for our rows and one for each set of a user's in use; more than this are leavings of older content.
KEPT = 8
SUM = 32  # bytes of SHA-256 in front
# A copy made by a program with other row types would decode with gaps, so the types are part of its name.
TYPES = zlib.crc32("\n".join(",".join(k.type.__struct_fields__) for k in KINDS.values()).encode())


def cache_path(folder: Path, digest: str) -> Path:
    """Where the compiled copy of this content stands."""
    return folder / f"catalogue-{digest[:24]}-{TYPES:08x}.msgpack"


def read_cache(folder: Path, digest: str) -> Catalogue | None:
    """The compiled copy, ``None`` when there is none, it is damaged, or it is of other content."""
    try:
        data = cache_path(folder, digest).read_bytes()
        # A flipped bit in a voltage decodes as another voltage: only the sum tells.
        if hashlib.sha256(data[SUM:]).digest() != data[:SUM]:
            return None
        found = msgspec.msgpack.Decoder(Catalogue, dec_hook=dec_hook).decode(memoryview(data)[SUM:])
    except (OSError, msgspec.DecodeError, ValueError, TypeError, ZeroDivisionError):
        return None
    return found if found.digest == digest else None


def write_cache(folder: Path, catalogue: Catalogue) -> None:
    """Write the compiled copy; a folder that cannot be written is no error, the next start is only slower.

    Written beside and renamed, so that another process never sees half a file. The oldest copies beyond
    ``KEPT`` are removed.
    """
    target = cache_path(folder, catalogue.digest)
    part = target.with_suffix(f".{os.getpid()}.part")
    with contextlib.suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        data = msgspec.msgpack.encode(catalogue, enc_hook=enc_hook)
        part.write_bytes(hashlib.sha256(data).digest() + data)
        part.replace(target)
        copies = sorted(folder.glob("catalogue-*.msgpack"), key=lambda p: p.stat().st_mtime, reverse=True)
        for old in copies[KEPT:]:
            old.unlink()
