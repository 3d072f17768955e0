"""Memory traces: references as arrays, the own file form, and reading of the common open forms.

Own form: a NumPy file (``.npy``) of little-endian records of 5 bytes, ``addr`` (32 bits, bytes) and ``info``
(bits 0-1: 0 load, 1 store, 3 instruction fetch; bits 2-7: bytes minus one). ``info`` 255 is a mark: a unit of
work begins there and ``addr`` is its number. Any program that reads NumPy files reads it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from leadoff.memory.placement import PAGE_SHIFT
from leadoff.record.errors import LeadoffError

RECORD = np.dtype([("addr", "<u4"), ("info", "u1")])
MARK = 255
LOAD, STORE, CODE = 0, 1, 3
BASE_PAGE = 256
"""Traces start at 1 MB, above what real mode keeps for itself."""

GAP_PAGES = 64
"""A longer hole in the address space is closed up: it stands for a far-away segment, not for distance."""

U32 = NDArray[np.uint32]
U8 = NDArray[np.uint8]
Progress = Callable[[int, int | None], None]


class Trace(msgspec.Struct, frozen=True, kw_only=True):
    """References in order. ``marks``: index of the first reference of each unit of work. ``said``: what was
    interpreted in reading, to be shown."""

    name: str
    form: str
    addr: Any
    info: Any
    marks: tuple[int, ...] = ()
    said: tuple[str, ...] = ()

    def __len__(self) -> int:
        return int(self.addr.size)

    @property
    def top(self) -> int:
        """Highest address referred to."""
        return int(self.addr.max()) if len(self) else 0

    def unit(self, first: int, last: int | None = None) -> Trace:
        """The references of units ``first`` to ``last`` (exclusive; None: to the end)."""
        start = self.marks[first]
        stop = len(self) if last is None or last >= len(self.marks) else self.marks[last]
        marks = tuple(m - start for m in self.marks if start <= m < stop)
        return msgspec.structs.replace(
            self, addr=self.addr[start:stop], info=self.info[start:stop], marks=marks
        )

    def save(self, path: str | Path) -> None:
        """Writes the own form."""
        records = np.empty(len(self) + len(self.marks), dtype=RECORD)
        at = np.asarray(self.marks, dtype=np.int64) + np.arange(len(self.marks))
        is_mark = np.zeros(records.size, dtype=bool)
        is_mark[at] = True
        records["addr"][~is_mark], records["info"][~is_mark] = self.addr, self.info
        records["addr"][is_mark], records["info"][is_mark] = np.arange(len(self.marks)), MARK
        np.save(path, records)


def from_records(records: Any, name: str) -> Trace:
    """A trace from records of the own form (an array, a memory map)."""
    info = np.ascontiguousarray(records["info"])
    addr = np.ascontiguousarray(records["addr"])
    is_mark = info == MARK
    at = np.flatnonzero(is_mark)
    if at.size:
        addr, info = addr[~is_mark], info[~is_mark]
    wrong = np.flatnonzero((info & 3) == 2)
    if wrong.size:
        raise LeadoffError.one(
            "trace_kind",
            f"reference {int(wrong[0]) + 1} is neither load, store nor fetch (info {int(info[wrong[0]])})",
            where=name,
            do="write info as kind + 4 * (bytes - 1), kind 0, 1 or 3",
        )
    marks = tuple(int(x) for x in at - np.arange(at.size))
    return Trace(name=name, form="npy", addr=addr, info=info, marks=marks)


def stream(path: str | Path, size: int = 1 << 20) -> Iterator[tuple[U32, U8]]:
    """Chunks of a file of the own form, marks left out; memory does not grow with the file."""
    records = open_records(path)
    for start in range(0, records.size, size):
        part = records[start : start + size]
        info = np.ascontiguousarray(part["info"])
        addr = np.ascontiguousarray(part["addr"])
        keep = info != MARK
        yield (addr, info) if keep.all() else (addr[keep], info[keep])


def open_records(path: str | Path) -> Any:
    """The records of a file of the own form as a memory map. Raises LeadoffError for any other file."""
    try:
        records = np.load(path, mmap_mode="r", allow_pickle=False)
    except (ValueError, EOFError) as e:
        raise LeadoffError.one(
            "trace_file",
            f"{Path(path).name} is no whole NumPy file ({e}); a cut-off trace would give wrong rates",
            where=str(path),
            do="write it again",
        ) from e
    if not isinstance(records, np.ndarray) or records.dtype != RECORD or records.ndim != 1:
        raise LeadoffError.one(
            "trace_file",
            f"{Path(path).name} does not hold records of addr (32 bits) and info (8 bits)",
            where=str(path),
            do="see the own form in the documentation of leadoff.memory.traces",
        )
    return records


def compact(addr: NDArray[np.uint64]) -> tuple[U32, int]:
    """64-bit addresses as 32-bit ones: runs of pages keep their inner distances, holes between runs close.

    Returns the addresses and the number of runs.
    """
    pages = np.unique(addr >> np.uint64(PAGE_SHIFT))
    step = np.diff(pages.astype(np.int64), prepend=pages[:1].astype(np.int64) if pages.size else 0)
    far = step > GAP_PAGES
    moved = BASE_PAGE + np.cumsum(np.where(far, 1, step))
    new = moved[np.searchsorted(pages, addr >> np.uint64(PAGE_SHIFT))] if addr.size else moved
    if pages.size and int(moved[-1]) >= 1 << (32 - PAGE_SHIFT - 1):
        raise LeadoffError.one(
            "trace_span",
            f"the trace spans {int(moved[-1]) * 4 // 1024} MB of pages, more than such a machine holds",
            do="trace a smaller program",
        )
    return ((new << PAGE_SHIFT) | (addr & np.uint64(4095)).astype(np.int64)).astype(np.uint32), int(
        far.sum()
    ) + 1


def from_hooks(path: str | Path, name: str | None = None) -> Trace:
    """A trace from the raw file of the kit's access hooks: 8 bytes a record (workloads/hooks.c)."""
    size = os.path.getsize(path)
    raw = np.fromfile(path, dtype="<u8")
    label = name or Path(path).stem
    if size % 8 or not raw.size:
        raise LeadoffError.one(
            "trace_cut",
            f"{Path(path).name} has {size} bytes, no whole number of records of 8: it was cut off",
            where=str(path),
            do="trace again",
        )
    kind = (raw >> np.uint64(56)).astype(np.uint8)
    is_mark = kind == MARK
    at = np.flatnonzero(is_mark)
    body = raw[~is_mark]
    addr, runs = compact(body & np.uint64((1 << 48) - 1))
    size_less_one = ((body >> np.uint64(48)) & np.uint64(255)).astype(np.uint8) - np.uint8(1)
    info = (kind[~is_mark] & 3) | ((size_less_one & 63) << 2)
    marks = tuple(int(x) for x in at - np.arange(at.size))
    said = (f"{runs} runs of pages moved next to each other",)
    return Trace(name=label, form="hooks", addr=addr, info=info.astype(np.uint8), marks=marks, said=said)
