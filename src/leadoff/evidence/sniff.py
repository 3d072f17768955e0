"""What a file is, by its content and never by its name: the reader that is surest of the bytes reads them."""

from __future__ import annotations

import importlib
from typing import Any

import msgspec

from leadoff.evidence.facts import Hints, Reading, Source
from leadoff.evidence.hexdump import decoded
from leadoff.evidence.lines import MOST_LETTERS, cut_short
from leadoff.record.errors import LeadoffError

MOST_BYTES = 64 << 20
SURE_ENOUGH = 0.3
"""Below this nobody reads the file (judgement)."""


class ReaderRow(msgspec.Struct, frozen=True, kw_only=True):
    """A reader: its kind (what ``--kind`` takes), its module, and the beginnings of files that alone concern it.

    The module has ``sniff(source) -> float`` (0 to 1: how sure it is that the bytes are its own) and
    ``read(source, hints) -> Reading``. With ``magic`` it is only asked, and imported, for files that begin so.
    """

    kind: str
    module: str
    magic: tuple[bytes, ...] = ()
    at: int = 0

    def concerned(self, data: bytes) -> bool:
        """Whether the module is worth asking."""
        return not self.magic or data[self.at : self.at + 64].startswith(self.magic)


PICTURES = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"BM", b"P6", b"GIF8", b"II*\x00", b"MM\x00*")

READERS: tuple[ReaderRow, ...] = (
    ReaderRow(kind="firmware", module="leadoff.evidence.firmware"),
    ReaderRow(kind="pci", module="leadoff.evidence.pci"),
    ReaderRow(kind="cpuid", module="leadoff.evidence.cpuid"),
    ReaderRow(kind="spd", module="leadoff.evidence.spd"),
    ReaderRow(kind="cmos", module="leadoff.evidence.cmos"),
    ReaderRow(kind="post", module="leadoff.evidence.post"),
    ReaderRow(kind="screen", module="leadoff.evidence.screens", magic=PICTURES),
    ReaderRow(kind="sheet", module="leadoff.evidence.sheets"),
)

BY_LINES = ("pci", "cpuid", "post")
"""Kinds that are read line by line."""


def is_video(head: bytes) -> bool:
    """By the first bytes: Matroska and WebM, MP4 and QuickTime, AVI, MPEG streams (source: the
    containers' specifications)."""
    return (
        head.startswith(b"\x1a\x45\xdf\xa3")
        or head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide")
        or (head.startswith(b"RIFF") and head[8:12] == b"AVI ")
        or head.startswith(b"\0\0\1\xba")
    )


def kinds() -> tuple[str, ...]:
    """Every kind of file that can be read."""
    return tuple(r.kind for r in READERS)


def reader_of(source: Source, kind: str = "") -> tuple[ReaderRow, Source] | None:
    """The reader for these bytes, or the one named; ``None`` when nobody knows them.

    A dump in text is read as the bytes it stands for where those are surer to be something.
    """
    forms = [source]
    inner = decoded(source.data)
    if inner is not None:
        forms.append(Source.of(source.name, inner, source.parts))
    best: tuple[ReaderRow, Source] | None = None
    sure = SURE_ENOUGH
    for form in forms:
        for row in READERS:
            if not row.concerned(form.data) or (kind and row.kind != kind):
                continue
            found = float(_module(row).sniff(form))
            if found > sure:
                best, sure = (row, form), found
    if best is None and kind:
        named = next((r for r in READERS if r.kind == kind), None)
        return (named, forms[-1]) if named is not None else None
    return best


def read_source(source: Source, hints: Hints) -> Reading:
    """Read a file with the reader that knows it.

    Raises:
        LeadoffError: empty, too large, or of no known kind.
    """
    if not source.data:
        raise _no("file_empty", f"{source.name} is empty", source, "read the chip or the screen again")
    if len(source.data) > MOST_BYTES:
        size = f"{len(source.data) / 1e6:.0f} MB, more than {MOST_BYTES / 1e6:.0f} MB"
        raise _no("file_large", f"{source.name} has {size}", source, "cut out what matters")
    if hints.kind and hints.kind not in kinds():
        there = ", ".join(kinds())
        raise _no("kind_unknown", f'"{hints.kind}" is no kind of file', source, f"--kind takes {there}")
    chosen = reader_of(source, hints.kind)
    if chosen is None:
        known = ", ".join(kinds())
        raise _no(
            "file_unknown",
            f"{source.name} ({len(source.data)} bytes) is nothing that can be read here: its content fits none of "
            f"{known}",
            source,
            "say what it is with --kind, or type what it says: `leadoff log` or `leadoff move`",
        )
    row, form = chosen
    reading: Reading = _module(row).read(form, hints)
    if row.kind in BY_LINES and (cut := cut_short(form.data)):
        said = f"{source.name}: {cut} lines are longer than {MOST_LETTERS} letters: the rest of them was not read"
        reading = msgspec.structs.replace(reading, warnings=(*reading.warnings, said))
    return reading


def _module(row: ReaderRow) -> Any:
    return importlib.import_module(row.module)


def _no(code: str, text: str, source: Source, do: str) -> LeadoffError:
    return LeadoffError.one(code, text, where=source.name, do=do)
