"""Text traces: valgrind's lackey (``--trace-mem=yes``) and the two-column din form, recognised by content."""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import chain, islice
from pathlib import Path
from typing import Any

import numpy as np

from leadoff.memory.traces import CODE, LOAD, STORE, Progress, Trace, compact, from_records, open_records
from leadoff.record.errors import LeadoffError

_LACKEY = re.compile(rb"(I | [LSM]) ([0-9a-fA-F]{1,16}),([0-9]{1,3})\s*")
_DIN = re.compile(rb"\s*([0-4])\s+(?:0x)?([0-9a-fA-F]{1,16})(?:\s.*)?")
_TALK = re.compile(rb"==\d+==|--\d+--|\*\*\d+\*\*")
KINDS = {b"I ": (CODE,), b" L": (LOAD,), b" S": (STORE,), b" M": (LOAD, STORE)}
DIN_BYTES = 4
"""The din form has no size: a 32-bit access is taken, and said."""

BATCH = 1 << 17
MAX_BYTES = 64


def read_trace(
    path: str | Path, *, form: str | None = None, code: bool = True, progress: Progress | None = None
) -> Trace:
    """The trace in a file: own form, lackey text or din text, told apart by content unless ``form`` says so.

    ``code`` False leaves instruction fetches out. Lines of the tracer's own talk are passed over; a line that
    is neither, a last line without its end, two forms in one file and an empty file raise LeadoffError.
    """
    file = Path(path)
    with file.open("rb") as f:
        head = f.read(6)
    if form == "npy" or (form is None and head == b"\x93NUMPY"):
        return from_records(open_records(file), file.stem)
    with file.open("rb") as f:
        return read_lines(f, name=file.stem, form=form, code=code, progress=progress, where=str(file))


def read_lines(
    lines: Iterable[bytes],
    *,
    name: str,
    form: str | None = None,
    code: bool = True,
    progress: Progress | None = None,
    where: str = "",
) -> Trace:
    """As ``read_trace`` from an iterable of lines, such as a pipe."""
    feed = iter(lines)
    first: list[bytes] = []
    if form is None:
        for line in feed:
            first.append(line)
            if line.strip() and not _TALK.match(line):
                form = _guess(line, where)
                break
    if form not in ("lackey", "din"):
        raise _empty(where) if form is None else _no_form(form, where)
    parse = _lackey if form == "lackey" else _din
    parts_addr, parts_info = [], []
    number = 0
    whole = chain(first, feed)
    while batch := list(islice(whole, BATCH)):
        addr, info = parse(batch, number, code, where)
        parts_addr.append(addr)
        parts_info.append(info)
        number += len(batch)
        if progress is not None:
            progress(number, None)
    addr64 = np.concatenate(parts_addr) if parts_addr else np.empty(0, np.uint64)
    if not addr64.size:
        raise _empty(where)
    addr32, runs = compact(addr64)
    said = [f"read as {form} text", f"{runs} runs of pages moved next to each other"]
    if form == "din":
        said.append(f"the form has no sizes: accesses taken as {DIN_BYTES} bytes, on their own boundary")
        addr32 &= np.uint32(~(DIN_BYTES - 1) & 0xFFFFFFFF)
    return Trace(name=name, form=form, addr=addr32, info=np.concatenate(parts_info), said=tuple(said))


def _guess(line: bytes, where: str) -> str:
    if _LACKEY.fullmatch(line):
        return "lackey"
    if _DIN.fullmatch(line.rstrip()):
        return "din"
    raise _bad_line(line, 1, "lackey or din", where)


def _lackey(batch: list[bytes], number: int, code: bool, where: str) -> tuple[Any, Any]:
    addr: list[int] = []
    info: list[int] = []
    for offset, line in enumerate(batch):
        found = _LACKEY.fullmatch(line)
        if found is None:
            if _TALK.match(line) or not line.strip():
                continue
            raise _bad_line(line, number + offset + 1, "lackey", where)
        if not line.endswith(b"\n"):
            raise _cut(line, number + offset + 1, where)
        what, at, size = found.groups()
        length = int(size)
        if not 1 <= length <= 512:
            raise _bad_line(line, number + offset + 1, "lackey", where)
        if what == b"I " and not code:
            continue
        start = int(at, 16)
        for kind in KINDS[what]:
            # A state save of the coprocessor is one line of up to 512 bytes: cut into what an info byte holds.
            for begin in range(0, length, MAX_BYTES):
                addr.append(start + begin)
                info.append(kind | (min(MAX_BYTES, length - begin) - 1) << 2)
    return np.array(addr, dtype=np.uint64), np.array(info, dtype=np.uint8)


def _din(batch: list[bytes], number: int, code: bool, where: str) -> tuple[Any, Any]:
    addr: list[int] = []
    info: list[int] = []
    for offset, line in enumerate(batch):
        found = _DIN.fullmatch(line.rstrip())
        if found is None:
            if not line.strip():
                continue
            raise _bad_line(line, number + offset + 1, "din", where)
        if not line.endswith(b"\n"):
            raise _cut(line, number + offset + 1, where)
        label = int(found[1])
        if label > 2 or (label == 2 and not code):
            continue  # 3 and 4 are "escape": unknown access and flush, no references
        addr.append(int(found[2], 16))
        info.append((CODE if label == 2 else label) | (DIN_BYTES - 1) << 2)
    return np.array(addr, dtype=np.uint64), np.array(info, dtype=np.uint8)


def _bad_line(line: bytes, number: int, form: str, where: str) -> LeadoffError:
    text = line[:60].decode("ascii", "replace").strip()
    shown = text if text.isprintable() and "\ufffd" not in text else "bytes that are no text"
    other = "" if "or" in form else (" It looks like the other form." if _other(line, form) else "")
    return LeadoffError.one(
        "trace_line",
        f"line {number} is not {form} text: {shown!r}.{other} Counts from a mixed or damaged trace would be wrong.",
        where=f"{where}:{number}",
        do="keep the tracer's output apart from the program's own (--log-file), one form in a file",
    )


def _other(line: bytes, form: str) -> bool:
    return bool((_DIN if form == "lackey" else _LACKEY).fullmatch(line if form == "din" else line.rstrip()))


def _cut(line: bytes, number: int, where: str) -> LeadoffError:
    return LeadoffError.one(
        "trace_cut",
        f"the last line, {number}, has no end: the trace was cut off and its last address may be short",
        where=f"{where}:{number}",
        do="trace again, or take the last line away",
    )


def _empty(where: str) -> LeadoffError:
    return LeadoffError.one(
        "trace_empty", "there are no references in it", where=where, do="lackey needs --trace-mem=yes"
    )


def _no_form(form: str, where: str) -> LeadoffError:
    return LeadoffError.one(
        "trace_form", f"no form {form!r} of traces is known", where=where, do="lackey, din or npy"
    )
