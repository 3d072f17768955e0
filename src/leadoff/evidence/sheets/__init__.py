"""Tables and notes of years: cells to runs, with few questions and no silent guess."""

from __future__ import annotations

from leadoff.evidence.facts import Hints, Reading, Source

MAGIC = b"PK\x03\x04"
TABLE, TEXT = 0.55, 0.35
SNIFFED = 64 << 10


def sniff(source: Source) -> float:
    """A workbook is known by its parts; text with columns is likelier a table than running text is notes."""
    data = source.data
    if data.startswith(MAGIC):
        return 0.95 if b"xl/" in data else 0.0
    part = data[:SNIFFED]
    if part.startswith((b"\xff\xfe", b"\xfe\xff")):
        return TABLE
    if any(byte < 9 or (13 < byte < 32 and byte not in (26, 27)) for byte in part):
        return 0.0
    from leadoff.evidence.sheets.files import delimiter

    return TABLE if delimiter(part.decode("cp1252", "replace")) is not None else TEXT


def read(source: Source, hints: Hints) -> Reading:
    """Read every table or note of a file; rows become proposed runs, each standing on its own."""
    from leadoff.evidence.sheets.reading import read_sheets

    return read_sheets(source, hints)
