"""A profile: what a workload asks of caches and memory over the grid of geometries, and its file."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import msgspec
import numpy as np

from leadoff.memory.profile_grid import INNER_QUANTITIES, OUTER_QUANTITIES, inners, outers
from leadoff.record.errors import LeadoffError

FORM = 1
SHIPPED = "profiles.npz"
_META = ("name", "text", "made", "references", "units", "instructions", "form")
_ARRAYS = ("inner", "inner_log_sd", "outer", "outer_log_sd", "contiguous")


class Profile(msgspec.Struct, frozen=True, kw_only=True):
    """Rates per thousand data references.

    ``inner`` (first level, INNER_QUANTITIES) and ``outer`` (first level, second level, OUTER_QUANTITIES) are
    means over drawings of scattered pages, ``..._log_sd`` their spread; ``contiguous`` is ``outer`` with the
    program in one piece. ``instructions``: executed in the counted
    ``units``, ``None`` where not known. ``made`` is the date.
    """

    name: str
    text: str
    made: str
    references: int
    units: int
    instructions: int | None
    form: str
    inner: Any
    inner_log_sd: Any
    outer: Any
    outer_log_sd: Any
    contiguous: Any

    @property
    def instructions_per_reference(self) -> float | None:
        """Instructions executed for each data reference."""
        return None if self.instructions is None else self.instructions / self.references

    def save(self, path: str | Path) -> None:
        """Writes a NumPy archive that ``load_profile`` reads."""
        save_profiles(path, (self,), {})


def save_profiles(path: str | Path, profiles: tuple[Profile, ...], about: dict[str, str]) -> None:
    """Several profiles in one archive; ``about`` says how they were made."""
    meta = {
        "form": FORM,
        "grid": grid_digest(),
        "about": about,
        "profiles": [{k: getattr(p, k) for k in _META} for p in profiles],
    }
    stacked: dict[str, Any] = {
        a: np.stack([getattr(p, a) for p in profiles]).astype(np.float16 if a.endswith("sd") else np.float32)
        for a in _ARRAYS
    }
    with Path(path).open("wb") as f:
        np.savez_compressed(f, meta=np.array(json.dumps(meta)), **stacked)


def load_profile(path: str | Path) -> Profile:
    """The single profile of a file; raises LeadoffError for anything else."""
    found = load_profiles(Path(path).read_bytes(), str(path))
    if len(found) != 1:
        raise LeadoffError.one(
            "profile_file",
            f"{Path(path).name} holds {len(found)} profiles, one was expected",
            where=str(path),
        )
    return found[0]


def load_profiles(raw: bytes, where: str) -> tuple[Profile, ...]:
    """Profiles of an archive's bytes. Raises LeadoffError for a damaged archive or another grid."""
    try:
        with np.load(io.BytesIO(raw), allow_pickle=False) as z:
            meta = json.loads(str(z["meta"]))
            arrays = {a: np.asarray(z[a], dtype=float) for a in _ARRAYS}
    except (ValueError, KeyError, OSError, zipfile.BadZipFile, EOFError) as e:
        raise LeadoffError.one(
            "profile_file",
            f"{where} is no whole file of profiles ({e})",
            where=where,
            do="make the profile again",
        ) from e
    if meta.get("form") != FORM or meta.get("grid") != grid_digest():
        raise LeadoffError.one(
            "profile_grid",
            f"{where} was made for another grid of geometries, its numbers would be taken for other caches",
            where=where,
            do="make the profile again from its trace",
        )
    return tuple(
        Profile(**head, **{a: arrays[a][i] for a in _ARRAYS}) for i, head in enumerate(meta["profiles"])
    )


def grid_digest() -> str:
    """Digest of the grid that profiles are tied to."""
    text = repr((inners(), outers(), INNER_QUANTITIES, OUTER_QUANTITIES))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


@lru_cache(maxsize=1)
def shipped() -> tuple[dict[str, Profile], dict[str, str], str]:
    """The shipped profiles by family, how they were made, and the digest of their file."""
    raw = files("leadoff.memory.data").joinpath(SHIPPED).read_bytes()
    found = load_profiles(raw, SHIPPED)
    with np.load(io.BytesIO(raw), allow_pickle=False) as z:
        about = json.loads(str(z["meta"]))["about"]
    return {p.name: p for p in found}, about, hashlib.sha256(raw).hexdigest()
