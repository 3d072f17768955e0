"""Fits kept by the digest of what they rest on: in the process, and on disk where a folder is given."""

from __future__ import annotations

import hashlib
import io
import os
import zipfile
from collections import OrderedDict
from collections.abc import Sequence
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

import msgspec
import numpy as np

from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.fit import Fit, Known, collect, fit
from leadoff.record.runs import Workload

_KEPT: OrderedDict[str, Fit] = OrderedDict()
_MOST = 8


def fit_of(workloads: Sequence[Workload], runs: Sequence[Observed], cache_dir: Path | None = None) -> Fit:
    """The fit of a book: from memory, from ``cache_dir``, or made now.

    The digest covers every run's content, state and clocks, the workloads and the model's data rows; the
    order in which runs are given and their identifiers in the book are no part of it.
    """
    key = digest(workloads, runs)
    found = _KEPT.get(key)
    if found is None:
        start = _read(cache_dir, key)
        found = fit(collect(workloads, runs), start)
        _KEPT[key] = found
        while len(_KEPT) > _MOST:
            _KEPT.popitem(last=False)
        if start is None and cache_dir is not None and found.modes:
            _write(cache_dir, key, found)
    _KEPT.move_to_end(key)
    return found


def digest(workloads: Sequence[Workload], runs: Sequence[Observed]) -> str:
    """SHA-256 of the content that a fit rests on."""
    told = []
    for seen in runs:
        run = seen.run
        if not run.readings and seen.fills is None:
            continue
        told.append(
            msgspec.json.encode(
                [
                    seen.when,
                    run.board,
                    run.workload,
                    run.outcome,
                    run.rig,
                    run.readings,
                    _told_of(seen.setup),
                    *(() if seen.fills is None else (seen.fills,)),
                ]
            )
        )
    whole = hashlib.sha256(_rows_digest())
    for row in sorted(msgspec.json.encode(w) for w in workloads):
        whole.update(row)
    for row in sorted(told):
        whole.update(row)
    return whole.hexdigest()


_SETUPS: dict[int, tuple[Setup, msgspec.Raw]] = {}
"""What is told of a setup, by its number in the process; the setup is kept beside it, so that no other gets that."""


def _told_of(setup: Setup) -> msgspec.Raw:
    """A state with its clocks and its part, as bytes; a command asks for the same ones several times."""
    kept = _SETUPS.get(id(setup))
    if kept is None:
        part = setup.processor
        content = [
            sorted((n, s.value or "", s.status.value) for n, s in setup.state.settings.items()),
            sorted((n, str(c)) for n, c in setup.clocks.items()),
            (part.core, part.id, part.l1_kb, part.l2_kb) if part is not None else None,
            setup.sheet.board_class,
            setup.sheet.chipset,
            setup.tag,
        ]
        if len(_SETUPS) >= 4096:
            _SETUPS.clear()
        kept = _SETUPS[id(setup)] = (setup, msgspec.Raw(msgspec.json.encode(content)))
    return kept[1]


@lru_cache(maxsize=1)
def _rows_digest() -> bytes:
    """Digest of the data rows: other priors, another fit."""
    out = hashlib.sha256()
    folder = files("leadoff.forecast").joinpath("data")
    for item in sorted(folder.iterdir(), key=lambda p: p.name):
        if item.name.endswith(".toml"):
            out.update(item.read_bytes())
    return out.digest()


def _read(folder: Path | None, key: str) -> Known | None:
    """Stored modes to start from. A file that cannot be read is a miss, never an error."""
    if folder is None:
        return None
    try:
        with np.load(folder / f"fit-{key}.npz", allow_pickle=False) as made:
            names, picks = made["boards"], made["chosen"]
            chosen = {str(n): int(c) for n, c in zip(names, picks, strict=True)}
            return Known(np.asarray(made["modes"], dtype=np.float64), chosen)
    except (OSError, ValueError, KeyError, zipfile.BadZipFile):
        return None


def _write(folder: Path, key: str, made: Fit) -> None:
    """Keep the modes. A folder that cannot be written costs time, not the answer."""
    buffer = io.BytesIO()
    np.savez(
        buffer,
        modes=np.stack([m.z for m in made.modes]),
        boards=np.array(list(made.chosen)),
        chosen=np.array(list(made.chosen.values())),
    )
    half = folder / f"fit-{key}.{os.getpid()}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        half.write_bytes(buffer.getvalue())
        os.replace(half, folder / f"fit-{key}.npz")
    except OSError:
        half.unlink(missing_ok=True)
