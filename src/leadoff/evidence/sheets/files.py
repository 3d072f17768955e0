"""Bytes of a spreadsheet, of separated values or of plain text to tables, within bounds."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from datetime import date, datetime, time, timedelta
from typing import Any

from leadoff.evidence.facts import Source
from leadoff.evidence.sheets.table import BLANK, Cell, Opened, Table, clean
from leadoff.record.errors import LeadoffError

MOST_UNPACKED = 200 << 20
MOST_CELLS = 200_000
MOST_TEXT = 4 << 20
DELIMITERS = ";\t|,"
CODE_PAGES = ["cp1252", "cp850", "cp437", "cp1250", "cp852", "cp1251", "cp866", "utf_16"]
"""What text files of the time and of today come in (common practice, no source)."""


def open_file(source: Source) -> Opened:
    """The tables of a file. Raises LeadoffError ``sheet_broken``, ``sheet_large`` or ``needs_read_extra``."""
    if source.data.startswith(b"PK\x03\x04"):
        return _workbook(source)
    text, coding = decoded(source)
    warnings = () if "\ufffd" not in text else (f"{source.name}: some signs could not be decoded",)
    mark = delimiter(text)
    if mark is None:
        rows = tuple((Cell(clean(line)),) for line in text.splitlines())
        return Opened(notes=Table(name="", rows=rows), coding=coding, warnings=warnings)
    try:
        cells = separated(text, mark)
    except csv.Error as error:
        raise _broken(source, str(error)) from None
    _bounded(source, sum(map(len, cells)))
    return Opened(tables=(Table(name="", rows=tuple(cells)),), coding=coding, warnings=warnings)


def separated(text: str, mark: str) -> list[tuple[Cell, ...]]:
    """Rows of separated values. A lone quote is a ditto mark and no quotation; one that swallows rows is neither."""
    ditto = re.sub(rf'(?m)(^|{re.escape(mark)})[ ]*"[ ]*(?={re.escape(mark)}|$)', r"\1ditto", text)

    def parsed(quoting: int) -> list[tuple[Cell, ...]]:
        reader = csv.reader(io.StringIO(ditto, newline=""), delimiter=mark, quoting=quoting)  # type: ignore[arg-type]
        return [tuple(Cell(clean(t)) for t in row) for row in reader]

    cells = parsed(csv.QUOTE_MINIMAL)
    swallowed = any(len(c.text) > 40 and c.text.count(mark) >= 3 for row in cells for c in row)
    return parsed(csv.QUOTE_NONE) if swallowed else cells


def decoded(source: Source) -> tuple[str, str]:
    """The text and its coding: UTF-8 where it is one, else the likeliest code page."""
    data = source.data
    if len(data) > MOST_TEXT:
        raise LeadoffError.one(
            "sheet_large",
            f"{source.name}: {len(data) / 1e6:.0f} MB of text, more than {MOST_TEXT >> 20} MiB",
            where=source.name,
            do="cut out what matters",
        )
    for mark, coding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            return data.decode(coding, "replace"), coding
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        pass
    try:
        from charset_normalizer import from_bytes
    except ImportError:
        return data.decode("cp1252", "replace"), "cp1252, a guess"
    best = from_bytes(data, cp_isolation=CODE_PAGES).best()
    coding = best.encoding if best is not None else "cp1252"
    return data.decode(coding, "replace"), coding


def delimiter(text: str) -> str | None:
    """The mark between values: one that most lines have, as often; ``None`` for running text."""
    lines = [re.sub(r'"[^"]*"', '""', line) for line in text.splitlines()[:200] if line.strip()]
    for mark in DELIMITERS:
        counts = [line.count(mark) for line in lines]
        having = [n for n in counts if n]
        if len(lines) < 2 or len(having) < 0.7 * len(lines):
            continue
        usual = max(set(having), key=having.count)
        # Decimal commas and commas of sentences are not columns: columns come in the same number.
        if usual >= (2 if mark == "," else 1) and having.count(usual) >= 0.5 * len(having):
            return mark
    return None


def _workbook(source: Source) -> Opened:
    try:
        import openpyxl
    except ImportError:
        raise LeadoffError.one(
            "needs_read_extra",
            f"{source.name} is a spreadsheet, and the package that opens them is not installed",
            where=source.name,
            do="pip install 'leadoff[read]', or save it as CSV",
        ) from None
    try:
        with zipfile.ZipFile(io.BytesIO(source.data)) as archive:
            unpacked = sum(i.file_size for i in archive.infolist())
        if unpacked > MOST_UNPACKED:
            raise LeadoffError.one(
                "sheet_large",
                f"{source.name} unpacks to {unpacked / 1e6:.0f} MB",
                where=source.name,
                do="save it anew",
            )
        book = openpyxl.load_workbook(io.BytesIO(source.data), data_only=True)
    except LeadoffError:
        raise
    except Exception as error:  # the library raises whatever its parts do on broken files
        raise _broken(source, f"{type(error).__name__}: {error}") from None
    tables = []
    left = MOST_CELLS
    for sheet in book.worksheets:
        left -= (sheet.max_row or 0) * (sheet.max_column or 0)
        _bounded(source, MOST_CELLS - left)
        tables.append(_sheet(sheet))
    return Opened(tables=tuple(tables), coding="xlsx", warnings=_uncounted(source, openpyxl, book))


def _uncounted(source: Source, openpyxl: Any, book: Any) -> tuple[str, ...]:
    """Formulas whose result the file does not hold: they look blank and are not."""
    if b"<f" not in _sheets_xml(source):
        return ()
    formulas = openpyxl.load_workbook(io.BytesIO(source.data))
    places = [
        f"{sheet.title}!{cell.coordinate}"
        for sheet in formulas.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f" and book[sheet.title][cell.coordinate].value is None
    ]
    if not places:
        return ()
    shown = ", ".join(places[:4]) + (" and more" if len(places) > 4 else "")
    said = f"{source.name}: {len(places)} formulas have no stored result ({shown}): open and save it in a spreadsheet"
    return (said,)


def _sheets_xml(source: Source) -> bytes:
    with zipfile.ZipFile(io.BytesIO(source.data)) as archive:
        names = [n for n in archive.namelist() if n.startswith("xl/worksheets/sheet")]
        return b"".join(archive.read(n) for n in names[:64])


def _sheet(sheet: Any) -> Table:
    rows = [[_cell(c) for c in row] for row in sheet.iter_rows()]
    for span in sheet.merged_cells.ranges:
        first = rows[span.min_row - 1][span.min_col - 1]
        for r in range(span.min_row - 1, span.max_row):
            for c in range(span.min_col - 1, span.max_col):
                if (r, c) != (span.min_row - 1, span.min_col - 1) and r < len(rows) and c < len(rows[r]):
                    rows[r][c] = Cell(first.text, first.day, True, first.clock)
    return Table(name=str(sheet.title), rows=tuple(tuple(r) for r in rows))


def _cell(cell: Any) -> Cell:
    value = cell.value
    if value is None:
        return BLANK
    if isinstance(value, datetime):
        return Cell(value.date().isoformat(), value.date().isoformat())
    if isinstance(value, date):
        return Cell(value.isoformat(), value.isoformat())
    if isinstance(value, time):
        return Cell(f"{value.hour}:{value.minute:02d}:{value.second:02d}", clock=True)
    if isinstance(value, timedelta):
        whole = int(value.total_seconds())
        return Cell(f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}", clock=True)
    if isinstance(value, bool):
        return Cell("yes" if value else "no")
    if isinstance(value, float | int):
        return Cell(shown_number(value, str(cell.number_format)))
    return Cell(clean(str(value)))


def shown_number(value: float, form: str) -> str:
    """A number as the sheet shows it: its decimals say how finely it was read."""
    if "%" in form:
        return f"{value * 100:.10g} %"
    places = re.fullmatch(r"#?,?#*0(?:\.(0+))?", form.split(";")[0])
    if places is not None:
        return f"{value:.{len(places[1] or '')}f}"
    return f"{value:.10g}"


def _bounded(source: Source, cells: int) -> None:
    if cells > MOST_CELLS:
        raise LeadoffError.one(
            "sheet_large",
            f"{source.name} has {cells} cells, more than {MOST_CELLS}",
            where=source.name,
            do="cut out what matters",
        )


def _broken(source: Source, why: str) -> LeadoffError:
    return LeadoffError.one(
        "sheet_broken",
        f"{source.name} cannot be opened: {why}",
        where=source.name,
        do="save it anew, or as CSV",
    )
