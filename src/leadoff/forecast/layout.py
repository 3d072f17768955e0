"""Which parameters a run depends on, and where they stand in the vector of all parameters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.forecast.core_ratio import core_key
from leadoff.forecast.datum import score_settings, spreads
from leadoff.forecast.facts import Setup
from leadoff.forecast.kinds import kind_of
from leadoff.forecast.normal import Vec
from leadoff.forecast.paths import family
from leadoff.forecast.priors import centres, priors
from leadoff.record.runs import Workload

Index = NDArray[np.intp]

SLOTS = 5
"""Generic factors (settings without physics of their own) that one run may carry."""

_GENERIC = (
    *("write_alloc", "shadow", "parity", "interleave", "turbo", "fpu", "disk", "dma", "l2_type"),
    *("ram_type", "video"),
)

BEHIND: Mapping[str, tuple[str, ...]] = {
    "cache": ("l2", "l2_read", "l2_read_ws", "l2_kb"),
    "memory": ("dram_read", "dram_read_ws", "cas", "rcd", "rp", "l2"),
    "store": ("l2", "l2_policy", "l1_policy", "l2_write_ws", "l2_write", "dram_write_ws"),
    "victims": ("l2", "l2_policy", "l1_policy", "dram_write_ws"),
    "video": ("video_bus", "vlb_ws", "write_combine", "pci_ratio", "isa_ratio", "video"),
}
"""Terms whose misfit comes back with the same settings, and these settings."""

Name = tuple[str, ...]


def deviations(setup: Setup) -> list[Name]:
    """The recurring misfits of a state, one for each term of ``BEHIND``: alike where the settings are."""
    told = {n: s.value or "?" for n, s in setup.state.settings.items()}
    return [("m", term, setup.board, *(told.get(n, "") for n in names)) for term, names in BEHIND.items()]


def generics(setup: Setup, rig: str) -> tuple[tuple[Name, float], ...]:
    """Factors whose effect is only a scatter: each value of each one has its own, alike on all boards."""
    spread = spreads()
    told = score_settings(setup)
    out = [(("x", n, v), spread.get(n, 0.02)) for n in _GENERIC if (v := told.get(n)) is not None]
    if rig:
        out.append((("x", "rig", rig), 0.01))
    return tuple(out)


def names_of(workload: str, setup: Setup) -> list[Name]:
    """The parameter behind each column of the model, in the order of ``COLUMNS``."""
    core, bus, part = core_key(setup), setup.state.value("video_bus") or "", setup.processor
    behind: Mapping[str, Name] = {
        "w": (workload,),
        "s": (),
        "c": (core,),
        "e": (core if part is None or not part.core else part.core,),
        "cw": (core, workload),
        "f": (family(setup),),
        "v": (bus,),
        "k": (setup.sheet.chipset or setup.board,),
        "d": (setup.state.value("video") or setup.board, bus),
        "b": (setup.board,),
    }
    return [(p.level, p.name, *behind[p.level]) for p in priors()]


class Columns(NamedTuple):
    """The columns of one run: places of their parameters, their spreads, and the centres of those of ``COLUMNS``."""

    at: list[int]
    sds: list[float]
    centres: Vec


class Layout:
    """A vector of parameters, each standard normal beforehand, and the columns of runs in it.

    The last index is a dummy that stands for "nothing" in unused slots and stays at zero.
    """

    def __init__(self) -> None:
        self.index: dict[Name, int] = {}

    def row(self, workload: Workload, setup: Setup, generic: Sequence[tuple[Name, float]]) -> Columns:
        """One run's columns, with the priors of its kind of work; new parameters are added as they come."""
        kind = kind_of(workload)
        at = [self.place(n) for n in names_of(workload.name, setup)]
        sds = [p.sd for p in priors(kind)]
        extra = list(generic[:SLOTS])
        none = SLOTS - len(extra) + len(BEHIND)
        at += [self.place(n) for n, _ in extra] + [-1] * none
        sds += [s for _, s in extra] + [0.0] * none
        return Columns(at, sds, centres(kind))

    def place(self, name: Name) -> int:
        return self.index.setdefault(name, len(self.index))

    def __len__(self) -> int:
        return len(self.index)

    def arrange(self) -> tuple[int, dict[str, Index]]:
        """Renumber: shared parameters first, then each board's own in column order. The count of shared ones
        and the indices of each board."""
        shared = [n for n in self.index if n[0] != "b"]
        boards = sorted({n[2] for n in self.index if n[0] == "b"})
        own = [("b", p.name, b) for b in boards for p in priors() if p.level == "b"]
        self.index = {n: i for i, n in enumerate([*shared, *own])}
        size = len(BOARD_COLUMNS)
        blocks = {
            b: np.arange(len(shared) + k * size, len(shared) + (k + 1) * size) for k, b in enumerate(boards)
        }
        return len(shared), blocks


def varying(rows: Sequence[tuple[tuple[Name, float], ...]]) -> list[tuple[tuple[Name, float], ...]]:
    """Leaves out generic factors that have one value in all rows: the level takes them."""
    seen: dict[str, set[str]] = {}
    counts: dict[str, int] = {}
    for row in rows:
        for name, _ in row:
            seen.setdefault(name[1], set()).add(name[2])
            counts[name[1]] = counts.get(name[1], 0) + 1
    keep = {n for n, values in seen.items() if len(values) > 1 or counts[n] < len(rows)}
    return [tuple(x for x in row if x[0][1] in keep) for row in rows]


BOARD_COLUMNS: tuple[int, ...] = tuple(k for k, p in enumerate(priors()) if p.level == "b")
"""Columns that are a board's own."""
