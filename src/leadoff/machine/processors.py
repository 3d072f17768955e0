"""From catalogue rows and board files to what the machine has to know of a processor."""

from __future__ import annotations

from collections.abc import Mapping

from leadoff.catalogue import Catalogue, CpuRow
from leadoff.catalogue.check import read_row
from leadoff.machine.partfacts import Processor
from leadoff.machine.straps import StrapTable
from leadoff.record.board import BoardSheet
from leadoff.record.errors import LeadoffError

_TABLE_KEYS = (
    "v_min", "v_typ", "v_max", "v_abs", "amps", "watts", "locked", "case_max_c", "rated_mhz", "l2_rated_mhz"
)  # fmt: skip

_DECISIVE = frozenset({"v_min", "v_typ", "v_max", "locked", "ratios", "straps"})
"""What must be the same in all rows of a name for the name to be enough."""

_LAID_OUT_FOR = {
    "p54c": (
        "socket5",
        "socket7",
        "socket-5",
        "socket-7",
        "socket 5",
        "socket 7",
        "s5",
        "s7",
        "586",
        "pentium",
    ),
    "486dx4": ("486", "socket3", "socket-3", "socket 3"),
}
"""Core design whose ratios the sheets of a class of boards name (common practice, no source)."""


def processor(name: str | None, catalogue: Catalogue) -> Processor | None:
    """The processor a user means: by row id, marking or name.

    A name that several rows share gives a part with only what all of them agree on. Where they differ in volts
    or ratios ``ambiguous`` lists the rows: the marking outranks the name.
    Text that no row knows gives a part with nothing known.
    """
    if name is None:
        return None
    rows = catalogue.find_cpu(name)
    if not rows:
        return Processor(id=name)
    parts = [_of_row(row, catalogue) for row in rows]
    if len(parts) == 1:
        return parts[0]
    agreed = {
        field: getattr(parts[0], field)
        for field in Processor.__struct_fields__
        if field not in ("id", "ambiguous", "certainty")
        and all(getattr(p, field) == getattr(parts[0], field) for p in parts)
    }
    if set(agreed) >= _DECISIVE:
        return Processor(id=name, **agreed)
    return Processor(id=name, ambiguous=tuple(p.id for p in parts), **agreed)


def described_row(row: Mapping[str, object], name: str, catalogue: Catalogue | None = None) -> CpuRow:
    """A processor written out in a board file, as the row it is.

    Raises:
        LeadoffError: every key of it that is not understood.
    """
    sources = catalogue.sources if catalogue is not None else {}
    # A sheet that came through the book may hold 16.0 where a whole number was written.
    typed = {
        k: int(v) if isinstance(v, float) and v.is_integer() else v
        for k, v in row.items()
        if k not in ("id", "name", "marking")
    }
    made, problems = read_row("board file", "cpu", name, typed, own=True, sources=sources)
    if problems or not isinstance(made, CpuRow):
        raise LeadoffError(*problems)
    return made


def described_processor(row: Mapping[str, object], name: str, catalogue: Catalogue) -> Processor:
    """The same as a part."""
    return _of_row(described_row(row, name, catalogue), catalogue)


def _of_row(row: CpuRow, catalogue: Catalogue) -> Processor:
    core = catalogue.core_of(row)
    codes = catalogue.straps(row)
    straps = None
    if core is not None and core.ratio_pins and codes:
        straps = StrapTable(
            pins=tuple(p.upper() for p in core.ratio_pins), codes=codes, open_level=core.pin_open or "1"
        )
    locked = row.locked
    if locked is None and core is not None and core.fixed_ratio is not None and not codes:
        locked = core.fixed_ratio
    l1_kb = row.l1_kb if row.l1_kb is not None else (core.l1_kb if core else None)
    return Processor(
        id=row.id,
        core=row.core or "",
        locked=locked,
        ratios=catalogue.ratios(row),
        straps=straps,
        v_typ=row.v_typ,
        v_min=row.v_min,
        v_max=row.v_max,
        v_abs=row.v_abs,
        amps=row.amps,
        watts=row.watts,
        rated_mhz=row.rated_mhz,
        rated_bus_mhz=row.rated_bus_mhz,
        case_max_c=row.case_max_c,
        l2_clock=row.l2_per_core,
        l2_rated_mhz=row.l2_rated_mhz,
        l2_kb=row.l2_kb,
        l1_kb=l1_kb,
        fpu=row.fpu if row.fpu is not None else (core.fpu if core else None),
        certainty={key: str(row.certainty(key)) for key in _TABLE_KEYS if row.holds(key)},
    )


def base_straps(sheet: BoardSheet, catalogue: Catalogue) -> StrapTable | None:
    """The strap table of the parts for which boards of this class were laid out, where it has one.

    Sheets of 3.3 V 64-bit boards name ratios for the first parts of that socket, sheets of 486 boards those of
    the tripled 3.3 V part.
    """
    words = f"{sheet.socket or ''} {sheet.board_class}".lower()
    name = next((core for core, marks in _LAID_OUT_FOR.items() if any(m in words for m in marks)), None)
    core = catalogue.find_core(name) if name is not None else None
    if core is None or not core.ratio_pins:
        return None
    return StrapTable(
        pins=tuple(p.upper() for p in core.ratio_pins), codes=core.ratios, open_level=core.pin_open or "1"
    )
