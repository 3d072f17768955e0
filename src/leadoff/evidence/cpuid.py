"""What a processor says of itself: identification leaves, DX at reset, id registers, and clocks timed with it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from itertools import islice
from typing import Any

import msgspec

from leadoff.evidence.facts import Certainty, Hints, Rank, Reading, Source, Teller
from leadoff.evidence.lines import lines_of, text_of

MOST_TEXT = 1 << 18
MOST_LEAVES = 256
HEX8 = r"(?:0[xX])?([0-9A-Fa-f]{8})h?"
LEAF_ROW = re.compile(rf"\b(?:CPUID|leaf)\W+{HEX8}\W+{HEX8}\W+{HEX8}\W+{HEX8}\W+{HEX8}", re.IGNORECASE)
LEAF_NAMED = re.compile(
    rf"{HEX8}\b.{{0,24}}?\beax\W{{1,3}}{HEX8}.{{1,6}}ebx\W{{1,3}}{HEX8}.{{1,6}}ecx\W{{1,3}}{HEX8}.{{1,6}}edx\W{{1,3}}{HEX8}",
    re.IGNORECASE,
)
RESET = re.compile(r"\b(?:E?DX)\s*(?:at|after|on)\s*reset\W+(?:0[xX])?([0-9A-Fa-f]{3,8})h?\b", re.IGNORECASE)
SIGNED = re.compile(
    r"\b(?:signature|cpu-?id)\W+(?:0[xX])?([0-9A-Fa-f]{3,4})h?\W+((?:[A-Z][A-Za-z]+){1,4}|UMC UMC UMC|Geode by NSC)\b"
)
TOGGLE = re.compile(r"\bflags?.{0,3}toggle\W+(?:0[xX])?([0-9A-Fa-f]{8})\b", re.IGNORECASE)
ID_REGISTERS = re.compile(
    r"\bDIR0\W+(?:0[xX])?([0-9A-Fa-f]{2})h?\b.{0,20}?\bDIR1\W+(?:0[xX])?([0-9A-Fa-f]{2})h?\b", re.I
)
KEYED = re.compile(r"[ \t]{0,40}([a-zA-Z][\w ]{1,24}?)[ \t]{0,40}:(.+)")
MOST_KEYED = 400
CLOCK = re.compile(
    r"\b(core|cpu|bus|fsb)\s*(?:clock)?\W{1,3}(\d{1,4}(?:[.,]\d{1,4})?)\s*MHz\b(.*)$",
    re.IGNORECASE | re.MULTILINE,
)

VENDORS = re.compile(rb"[A-Za-z ]{12}")
NO_AC, HAS_AC, HAS_ID = 0, 1 << 18, 1 << 21
FEATURES = {0: "fpu", 1: "vme", 2: "de", 3: "pse", 4: "tsc", 5: "msr", 6: "pae", 7: "mce", 8: "cx8", 9: "apic",
            11: "sep", 12: "mtrr", 13: "pge", 14: "mca", 15: "cmov", 16: "pat", 17: "pse36", 23: "mmx",
            24: "fxsr", 25: "sse"}  # fmt: skip
"""Leaf 1 EDX (source: IA-32 Software Developer's Manual 2A, table 3-15 and before)."""

DESCRIPTORS: Mapping[int, tuple[str, int]] = {
    0x06: ("l1_code", 8), 0x08: ("l1_code", 16), 0x0A: ("l1_data", 8), 0x0C: ("l1_data", 16),
    0x40: ("l2", 0), 0x41: ("l2", 128), 0x42: ("l2", 256), 0x43: ("l2", 512), 0x44: ("l2", 1024), 0x45: ("l2", 2048),
    0x82: ("l2", 256), 0x83: ("l2", 512),
}  # fmt: skip
"""Leaf 2 descriptors of the era (from memory of the same manual's table)."""

DIR_PARTS = {0: "486-class with 386 pins", 1: "486-pin S/DX class", 2: "5x86 class", 3: "6x86 class",
             4: "integrated 5x86 class", 5: "6x86MX class"}  # fmt: skip
"""High digit of id register DIR0 (source: Linux arch/x86/kernel/cpu/cyrix.c)."""


class Dump(msgspec.Struct, frozen=True, kw_only=True):
    """What was found in a text: leaves (number to EAX, EBX, ECX, EDX with the line), and single values."""

    leaves: Mapping[int, tuple[int, int, int, int, int]] = {}
    reset: tuple[int, int] | None = None
    signed: tuple[int, str, int] | None = None
    toggle: tuple[int, int] | None = None
    dirs: tuple[int, int, int] | None = None
    keyed: Mapping[str, tuple[str, int]] = {}
    clocks: tuple[tuple[str, float, str, int], ...] = ()

    @property
    def holds(self) -> bool:
        """Whether anything of a processor is in it."""
        return bool(self.leaves or self.reset or self.signed or self.toggle or self.dirs) or (
            "cpu family" in self.keyed and "model" in self.keyed
        )


@lru_cache(maxsize=4)
def parse(data: bytes) -> Dump:
    """Find everything of a processor in a text; nothing in binary data. Kept for the reading after the sniffing."""
    if len(data) > MOST_TEXT or b"\0" in data:
        return Dump()
    text = text_of(data)
    low = text.lower()
    line_of = _lines(text)
    leaves: dict[int, tuple[int, int, int, int, int]] = {}
    for pattern, words in ((LEAF_ROW, ("cpuid", "leaf")), (LEAF_NAMED, ("eax",))):
        for m in _each(pattern, text, low, *words):
            if len(leaves) >= MOST_LEAVES:
                break
            number, *regs = (int(x, 16) for x in m.groups())
            leaves.setdefault(number, (regs[0], regs[1], regs[2], regs[3], line_of(m.start())))
    reset, signed, toggle, dirs = (
        next(_each(pattern, text, low, *words), None)
        for pattern, words in (
            (RESET, ("reset",)),
            (SIGNED, ("signature", "cpuid", "cpu-id")),
            (TOGGLE, ("toggle",)),
            (ID_REGISTERS, ("dir0",)),
        )
    )
    clocks = tuple(
        (m[1].lower(), float(m[2].replace(",", ".")), m[3].strip(), line_of(m.start()))
        for m in islice(_each(CLOCK, text, low, "mhz"), 8)
    )
    return Dump(
        leaves=leaves,
        reset=(int(reset[1], 16) & 0xFFFF, line_of(reset.start())) if reset else None,
        signed=(int(signed[1], 16), signed[2], line_of(signed.start())) if signed else None,
        toggle=(int(toggle[1], 16), line_of(toggle.start())) if toggle else None,
        dirs=(int(dirs[1], 16), int(dirs[2], 16), line_of(dirs.start())) if dirs else None,
        keyed=_keyed(data),
        clocks=clocks,
    )


def _each(pattern: re.Pattern[str], text: str, low: str, *words: str) -> Iterator[re.Match[str]]:
    """Matches of a pattern, which is only tried where one of its words stands at all."""
    return pattern.finditer(text) if any(w in low for w in words) else iter(())


def _keyed(data: bytes) -> dict[str, tuple[str, int]]:
    """``name : value`` lines of a kernel's list, with their line numbers; the last of a name counts."""
    out: dict[str, tuple[str, int]] = {}
    for n, line in enumerate(lines_of(data), 1):
        found = KEYED.match(line) if ":" in line else None
        value = found[2].strip() if found else ""
        if found and value:
            out[found[1].strip().lower()] = (value, n)
        if len(out) >= MOST_KEYED:
            break
    return out


def _lines(text: str) -> Any:
    """Position to line number, from 1."""

    def line_of(at: int) -> int:
        return text.count("\n", 0, at) + 1

    return line_of


def sniff(source: Source) -> float:
    """A text with leaves, a reset signature, or a kernel's list of a processor."""
    return 0.92 if parse(source.data).holds else 0.0


def read(source: Source, hints: Hints) -> Reading:
    """Read a text; the vendor string is part of the key, because one signature belongs to several parts."""
    dump = parse(source.data)
    tell = Teller(source, Rank.IDENTITY)
    lines: list[str] = []
    warnings: list[str] = []
    foreign = _emulated(dump)
    if foreign:
        tell("cpu.emulator", foreign, about="cpu", certainty=Certainty.CHECKED)
        warnings.append(f"{source.name}: {foreign}: this is not from a bench, nothing of it bears on a board")
    _identity(tell, dump, hints, lines, bears=not foreign)
    _features(tell, dump, lines)
    _caches(tell, dump, bears=not foreign)
    _flags(tell, dump, lines)
    _clocks(tell, dump, lines, bears=not foreign)
    _clock_ram(tell, source, lines, warnings)
    return tell.reading("cpuid", "what a processor says of itself", lines, warnings)


def vendor_of(leaf: tuple[int, ...]) -> str:
    """The vendor string of leaf 0: EBX, EDX, ECX."""
    raw = b"".join(leaf[k].to_bytes(4, "little") for k in (1, 3, 2))
    return raw.decode("latin-1").rstrip("\0")


def signature_of(dump: Dump) -> tuple[int, str | None, int, str] | None:
    """Signature, vendor (``None`` where none was given), line, and where it comes from."""
    vendor = vendor_of(dump.leaves[0]) if 0 in dump.leaves else None
    if 1 in dump.leaves:
        return dump.leaves[1][0], vendor, dump.leaves[1][4], "leaf 1"
    if dump.signed is not None:
        return dump.signed[0], dump.signed[1], dump.signed[2], "as typed"
    keyed = dump.keyed
    try:
        family, model, step = (int(keyed[k][0]) for k in ("cpu family", "model", "stepping"))
    except (KeyError, ValueError):
        family = -1
    if 0 <= family <= 15:
        who = keyed.get("vendor_id", ("", 0))[0] or None
        return family << 8 | (model & 15) << 4 | step & 15, who, keyed["model"][1], "kernel list"
    if dump.reset is not None:
        return dump.reset[0], "", dump.reset[1], "DX at reset"
    return None


def _identity(tell: Teller, dump: Dump, hints: Hints, lines: list[str], *, bears: bool) -> None:
    if dump.dirs is not None:
        d0, d1, line = dump.dirs
        part = DIR_PARTS.get(d0 >> 4, "no class of the tables")
        if d0 >> 4 == 5 and d1 > 7:
            part = "MII class"
        tell("cpu.dir", f"{d0:02X} {d1:02X}", offset=line, about="cpu", note=part)
        lines.append(f"id registers {d0:02X}h {d1:02X}h: {part}")
    found = signature_of(dump)
    if found is None:
        return
    code, vendor, line, where = found
    sign = f"{code & 0x3FFF:04X}"
    if vendor:
        tell("cpu.vendor", vendor, offset=line, about="cpu", at=where)
    tell("cpu.signature", sign, offset=line, about="cpu", at=where)
    fields = {
        "type": code >> 12 & 3,
        "family": code >> 8 & 15,
        "model": code >> 4 & 15,
        "stepping": code & 15,
    }
    for name, value in fields.items():
        tell(f"cpu.{name}", value, offset=line, about="cpu", at=where)
    rows = _rows(hints.catalogue, sign, vendor)
    parts = sorted({core for r in rows for core in r.cores})
    meaning = "; ".join(dict.fromkeys(r.meaning for r in rows if r.meaning))
    who = f"{vendor} " if vendor else ""
    lines.insert(0, f"{who}{sign}h: {meaning or 'no row of ours knows this signature'}")
    if parts:
        tell(
            "cpu.core",
            ", ".join(parts),
            offset=line,
            about="cpu",
            at=where,
            note=meaning,
            setting="cpu" if bears else "",
            canonical="core:" + ",".join(parts) if bears else "",
        )
    policies = {r.cache for r in rows}
    if len(policies) == 1 and (policy := policies.pop()):
        tell(
            "cpu.write_policy_pin",
            policy,
            offset=line,
            about="cpu",
            note="the pin sampled at reset, not whether the board snoops",
            setting="l1_policy" if bears and policy == "wt" else "",
            canonical=policy if bears and policy == "wt" else "",
        )


def _rows(catalogue: Any, sign: str, vendor: str | None) -> list[Any]:
    return list(catalogue.signature(sign, vendor)) if catalogue is not None else []


def _features(tell: Teller, dump: Dump, lines: list[str]) -> None:
    if 1 not in dump.leaves:
        return
    _, _, _, edx, line = dump.leaves[1]
    names = [name for bit, name in FEATURES.items() if edx >> bit & 1]
    tell("cpu.features", " ".join(names), offset=line, about="cpu", note=f"leaf 1 EDX {edx:08X}h")
    lines.append(f"features: {' '.join(names) or 'none'}")
    brand = b"".join(
        r.to_bytes(4, "little")
        for n in (0x80000002, 0x80000003, 0x80000004)
        for r in dump.leaves.get(n, ())[:4]
    )
    text = " ".join(brand.split(b"\0")[0].decode("latin-1").split())
    if text and text.isprintable():
        tell(
            "cpu.name",
            text,
            offset=dump.leaves[0x80000002][4] if 0x80000002 in dump.leaves else None,
            about="cpu",
        )


def _caches(tell: Teller, dump: Dump, *, bears: bool) -> None:
    if 2 in dump.leaves:
        *regs, line = dump.leaves[2]
        raw = [
            b
            for n, r in enumerate(regs)
            if not r >> 31
            for b in r.to_bytes(4, "little")[1 if n == 0 else 0 :]
        ]
        for level, kb in (DESCRIPTORS[b] for b in raw if b in DESCRIPTORS):
            _cache_fact(tell, level, kb, line, bears=bears)
    if 0x80000005 in dump.leaves:
        _, _, ecx, edx, line = dump.leaves[0x80000005]
        _cache_fact(tell, "l1_data", ecx >> 24, line, bears=bears)
        _cache_fact(tell, "l1_code", edx >> 24, line, bears=bears)
    if 0x80000006 in dump.leaves and dump.leaves[0x80000006][2] >> 16:
        _cache_fact(tell, "l2", dump.leaves[0x80000006][2] >> 16, dump.leaves[0x80000006][4], bears=bears)


def _cache_fact(tell: Teller, level: str, kb: int, line: int, *, bears: bool) -> None:
    setting = "l2_kb" if level == "l2" and bears else ""
    tell(
        f"cpu.{level}_kb",
        kb,
        "KB",
        offset=line,
        about="cpu",
        setting=setting,
        canonical=f"{kb}" if setting else "",
    )


def _flags(tell: Teller, dump: Dump, lines: list[str]) -> None:
    if dump.toggle is None:
        return
    bits, line = dump.toggle
    what = (
        "486 or later with the identification instruction"
        if bits & HAS_ID
        else ("486 or later without it" if bits & HAS_AC else "386")
    )
    tell("cpu.flags", f"{bits:08X}", offset=line, about="cpu", note=what)
    if not dump.leaves:
        lines.append(f"flag bits that can be changed, {bits:08X}h: {what}")


def _clocks(tell: Teller, dump: Dump, lines: list[str], *, bears: bool) -> None:
    """A clock timed with the cycle counter against the board's timer outranks what the firmware prints."""
    found = list(dump.clocks)
    mhz = dump.keyed.get("cpu mhz")
    if mhz is not None and re.fullmatch(r"\d{1,4}(\.\d{1,6})?", mhz[0]):
        found.append(("core", float(mhz[0]), "cycle counter", mhz[1]))
    for what, value, rest, line in found:
        if not 1 <= value <= 2000:
            continue
        name = "bus_mhz" if what in ("bus", "fsb") else "core_mhz"
        low = rest.lower()
        rank = (
            Rank.COUNTER
            if any(w in low for w in ("counter at pin", "frequency counter", "scope", "oscilloscope"))
            else Rank.TIMER
            if any(w in low for w in ("tsc", "cycle counter", "timer"))
            else Rank.LOOP
        )
        tell(
            f"timed.{name}",
            value,
            "MHz",
            offset=line,
            about="cpu",
            rank=rank,
            note=rest[:80],
            setting=name if bears else "",
            canonical=f"{value:g}" if bears else "",
        )
        lines.append(f"{what} {value:g} MHz {f'({rest[:40]})' if rest else ''}".rstrip())


def _clock_ram(tell: Teller, source: Source, lines: list[str], warnings: list[str]) -> None:
    """The same text may hold the clock RAM as well, in lines that begin with CMOS."""
    from leadoff.evidence.cmos import tell_all
    from leadoff.evidence.hexdump import decoded

    rows = b"\n".join(x for x in source.data.splitlines() if x.lstrip().upper().startswith(b"CMOS "))
    bytes_ = decoded(rows) if rows else None
    if bytes_ is not None:
        own = Teller(source, Rank.SETUP)
        more, doubts = tell_all(own, bytes_, source.name)
        tell.facts += own.facts
        lines += more
        warnings += doubts


def _emulated(dump: Dump) -> str:
    """Fingerprints that no part of the era has."""
    if 1 not in dump.leaves:
        return ""
    eax, ebx, ecx, _, _ = dump.leaves[1]
    if ecx >> 31:
        return "leaf 1 ECX bit 31 says a hypervisor"
    old = eax >> 8 & 15 in (4, 5)
    return "leaf 1 EBX is not zero on a part of the 486 or 586 class: an emulator" if old and ebx else ""
