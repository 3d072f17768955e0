"""The catalogue as one value: rows by kind and id, and the look-ups that people and floors need."""

import difflib
import re
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction
from typing import Any, TypeVar

import msgspec

from leadoff.catalogue.chipsets import BusLimitRow, CardRow, ChipsetRow
from leadoff.catalogue.memories import DramRow, ModuleRow, SramRow, TagRow
from leadoff.catalogue.origin import Origin, SourceRow
from leadoff.catalogue.processors import CoreRow, CpuRow, SignatureRow
from leadoff.catalogue.row import Row
from leadoff.catalogue.supplies import ClockPartRow, ClockRow, InterposerRow, RegulatorRow, SupplyRow
from leadoff.record.errors import LeadoffError

R = TypeVar("R", bound=Row)
# Fewer letters of a marking than this fit too many parts to mean one.
SHORTEST_PART = 6


def folded(text: str) -> str:
    """Text for comparison: small letters and digits only, so that ``DX2-66`` and ``dx2 66`` are one."""
    return re.sub(r"[^a-z0-9.+]", "", text.lower())


class Catalogue(msgspec.Struct, frozen=True, kw_only=True):
    """All rows, ours and the user's, by id. ``digest`` names exactly this content."""

    digest: str
    sources: Mapping[str, SourceRow] = {}
    cpus: Mapping[str, CpuRow] = {}
    cores: Mapping[str, CoreRow] = {}
    signatures: Mapping[str, SignatureRow] = {}
    srams: Mapping[str, SramRow] = {}
    tags: Mapping[str, TagRow] = {}
    drams: Mapping[str, DramRow] = {}
    modules: Mapping[str, ModuleRow] = {}
    chipsets: Mapping[str, ChipsetRow] = {}
    buses: Mapping[str, BusLimitRow] = {}
    cards: Mapping[str, CardRow] = {}
    regulators: Mapping[str, RegulatorRow] = {}
    supplies: Mapping[str, SupplyRow] = {}
    interposers: Mapping[str, InterposerRow] = {}
    clocks: Mapping[str, ClockRow] = {}
    clock_parts: Mapping[str, ClockPartRow] = {}
    own_files: Mapping[str, str] = {}

    def find_cpu(self, text: str) -> list[CpuRow]:
        """Processors that the text may mean: by id, else by marking, else by name. Empty when none.

        More than one row means that the text does not settle the volts: ask for the marking. At each step
        rows that the user brought win over ours.
        """
        return _find(text, self.cpus.values())

    def cpu(self, row_id: str) -> CpuRow:
        """Processor by its exact id; raises ``LeadoffError`` naming the near ones."""
        return _get(self.cpus, row_id, "processor")

    def core(self, row_id: str) -> CoreRow:
        """Core design by id or by one of its names; raises ``LeadoffError`` naming the near ones."""
        return self.find_core(row_id) or _get(self.cores, row_id, "core design")

    def find_core(self, text: str) -> CoreRow | None:
        """Core design by id or by one of its names, ``None`` when there is none."""
        if text in self.cores:
            return self.cores[text]
        key = folded(text)
        return (
            next((c for c in self.cores.values() if key in map(folded, (c.id, *c.names))), None)
            if key
            else None
        )

    def core_of(self, cpu: CpuRow) -> CoreRow | None:
        """Core design of a processor; ``None`` when a user's row names one that the catalogue has not."""
        return self.find_core(cpu.core)

    def trait(self, cpu: CpuRow, key: str) -> tuple[Any, Origin] | None:
        """A value of the part, else of its core design, with its origin: ``l1_kb``, ``fpu``, ``needs_snoop``.

        ``None`` when neither row holds it.
        """
        for row in (cpu, self.core_of(cpu)):
            origin = row.origin_of(key) if row else None
            if row is not None and origin is not None:
                return getattr(row, key), origin
        return None

    def straps(self, cpu: CpuRow) -> dict[str, Fraction]:
        """Strap code to ratio for this part: its own table, else that of its core design.

        Empty when the ratio is locked or no straps are known. A part with a list of ratios keeps only those.
        """
        if cpu.locked is not None:
            return {}
        if cpu.straps:
            return dict(cpu.straps)
        core = self.core_of(cpu)
        table = dict(core.ratios) if core else {}
        return {c: r for c, r in table.items() if r in cpu.ratios} if cpu.ratios else table

    def ratios(self, cpu: CpuRow) -> tuple[Fraction, ...]:
        """Every ratio the part decodes, smallest first; empty when not known."""
        if cpu.locked is not None:
            return (cpu.locked,)
        core = self.core_of(cpu)
        fixed = (core.fixed_ratio,) if core and core.fixed_ratio is not None else ()
        return tuple(sorted({*cpu.ratios, *self.straps(cpu).values()} or set(fixed)))

    def ratio_at(self, cpu: CpuRow, levels: Mapping[str, str]) -> Fraction | None:
        """Ratio with these strap levels (``{"BF0": "1"}``); pins not named read as the core's open level.

        ``None`` when the code is reserved or not known.
        """
        core = self.core_of(cpu)
        if cpu.locked is not None:
            return cpu.locked
        if core is None or not core.ratio_pins:
            only = self.ratios(cpu)
            return only[0] if len(only) == 1 else None
        code = "".join(levels.get(pin, core.pin_open or "?") for pin in core.ratio_pins)
        return self.straps(cpu).get(code)

    def signature(self, code: str, vendor: str | None = None) -> list[SignatureRow]:
        """Rows for a four-digit signature; a row of the exact code outranks one of a range, per maker.

        Without the vendor string the rows of all makers: one code may belong to two.
        """
        fits = [s for s in self.signatures.values() if s.matches(code)]
        if vendor is not None:
            fits = [s for s in fits if s.vendor in ("", vendor)]
        sharpest: dict[str, int] = {}
        for s in fits:
            sharpest[s.vendor] = min(sharpest.get(s.vendor, 4), s.code.count("x"))
        return [s for s in fits if s.code.count("x") == sharpest[s.vendor]]

    def sram(self, ns: float, kind: str = "async") -> SramRow:
        """Cache SRAM of a kind by printed grade; raises ``LeadoffError`` naming the grades there are."""
        return _graded(self.srams.values(), kind, ns, "cache SRAM")

    def dram(self, kind: str, ns: float) -> DramRow:
        """DRAM of a kind by printed grade; raises ``LeadoffError`` naming the grades there are."""
        return _graded(self.drams.values(), kind, ns, "DRAM")

    def chipset(self, row_id: str) -> ChipsetRow:
        """Chipset class by id or name; raises ``LeadoffError`` naming the near ones."""
        found = _find(row_id, self.chipsets.values())
        return found[0] if len(found) == 1 else _get(self.chipsets, row_id, "chipset class")

    def bus_limit(self, bus: str) -> BusLimitRow:
        """Limits of an expansion bus: ``isa``, ``vlb``, ``pci`` or ``agp``."""
        return _get(self.buses, bus.lower(), "expansion bus")

    def clock(self, text: str) -> ClockRow | None:
        """Nominal clock by its spoken or printed form (``33``, ``33.3``), ``None`` when it is not one."""
        return next((c for c in self.clocks.values() if text.strip() in (c.id, *c.names)), None)


def _own_first(rows: list[R]) -> list[R]:
    own = [r for r in rows if r.own]
    return own or rows


def _find(text: str, rows: Iterable[R]) -> list[R]:
    key, every = folded(text), list(rows)
    if not key:
        return []
    bare = key.lstrip("abcdefghijklmnopqrstuvwxyz")
    steps: tuple[Callable[[R], bool], ...] = (
        lambda r: folded(r.id) == key,
        lambda r: key in _folded(r, "markings"),
        lambda r: key in _folded(r, "names"),
        lambda r: r.id.lower().startswith(text.strip().lower() + "-"),
        # the first letters of a marking, then a marking with a maker or a stepping round it, then a name so
        lambda r: len(key) >= SHORTEST_PART and any(m.startswith(key) for m in _folded(r, "markings")),
    )
    for step in steps:
        found = [r for r in every if step(r)]
        if found:
            return _own_first(found)
    inside = {id(r): max((len(m) for m in _folded(r, "markings") if m in key), default=0) for r in every}
    longest = max(inside.values(), default=0)
    found = [r for r in every if inside[id(r)] == longest and longest] or [
        r for r in every if bare not in ("", key) and bare in (folded(r.id), *_folded(r, "names"))
    ]
    return _own_first(found)


def _folded(row: Row, field: str) -> list[str]:
    return [folded(x) for x in getattr(row, field, ())]


def _get(rows: Mapping[str, R], row_id: str, what: str) -> R:
    if row_id in rows:
        return rows[row_id]
    near = difflib.get_close_matches(row_id, rows, 4, 0.4)
    raise LeadoffError.one(
        "catalogue.not_found",
        f"there is no {what} {row_id!r} in the catalogue, so its limits are not known",
        where=row_id,
        do=f"near: {', '.join(near)}" if near else "give a row of your own with --rows",
    )


def _graded(rows: Iterable[R], kind: str, ns: float, what: str) -> R:
    same = [r for r in rows if getattr(r, "kind", "") == kind]
    found = _own_first([r for r in same if getattr(r, "ns", None) == ns])
    if found:
        return found[0]
    grades = sorted({getattr(r, "ns", 0.0) for r in same})
    raise LeadoffError.one(
        "catalogue.no_grade",
        f"no {kind} {what} of {ns:g} ns in the catalogue, so its times are not known",
        where=f"{kind} {ns:g}",
        do=f"grades there are: {', '.join(f'{g:g}' for g in grades) or 'none'}",
    )
