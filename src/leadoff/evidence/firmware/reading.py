"""The reader of firmware images: system firmware, option ROMs and memory dumps of one megabyte."""

from __future__ import annotations

import re

from leadoff.evidence.facts import Certainty, Hints, Rank, Reading, Source, Teller
from leadoff.evidence.firmware.dumps import LARGEST, DumpFault, dump_faults, is_chip_size
from leadoff.evidence.firmware.image import DATE, MODELS, Image, byte_sum, date, far_jump, place
from leadoff.evidence.firmware.option import OptionRom, option_roms
from leadoff.evidence.firmware.pairs import half_of
from leadoff.evidence.firmware.smbios import Told, structures, told
from leadoff.evidence.firmware.tables import Table, dmi, find_tables, smbios

TABLE_WORDS = {
    "pnp": "plug-and-play entry",
    "services32": "32-bit service directory",
    "pci_routing": "PCI interrupt routing",
    "smbios": "SMBIOS",
    "dmi": "DMI, older form",
    "mp": "multiprocessor table",
    "acpi": "ACPI pointer",
}
SIGN_ON = re.compile(rb"[\x20-\x7e]{0,60}(?:\(C\)|\(c\)|[Cc]opyright|COPYRIGHT)[\x20-\x7e]{4,60}")
MOST_SIGN_ON = 3


def sniff(source: Source) -> float:
    """By the reset vector, the date, an option ROM's beginning; a bare chip size is a weak hint."""
    d = source.data
    if _option_like(d) or _entry_of(d) is not None:
        return 0.95
    if len(d) > LARGEST + 4096 or len(d) < 2048:
        return 0.0
    jump = far_jump(d)
    if jump is not None and jump[0] >= 0xE000:
        return 0.97
    if date(d) is not None or half_of(d) is not None:
        return 0.9
    if is_chip_size(len(d)) and len(d) >= 8192:
        return 0.45 if not _texty(d) else 0.1
    if _nearly_chip(len(d)) and not _texty(d):
        return 0.4
    return 0.0


def _option_like(d: bytes) -> bool:
    return d[:2] == b"\x55\xaa" and len(d) >= 512 and 0 < d[2] * 512 <= max(len(d), 512) * 2


def _nearly_chip(n: int) -> bool:
    """Within a sixteenth of a chip's size: bytes lost or added on the way."""
    below = 1 << (n.bit_length() - 1)
    return n >= 8192 and min(n - below, 2 * below - n) <= below // 16


def _texty(d: bytes) -> bool:
    head = d[:4096]
    return sum(9 <= c < 127 and (c >= 32 or c in (9, 10, 13)) for c in head) > 0.95 * len(head)


def read(source: Source, hints: Hints) -> Reading:
    """Everything an image says of itself. A sum that fits no convention is information and not a fault."""
    d = source.data[: LARGEST + 4096]
    tell = Teller(source, Rank.FIRMWARE)
    faults = dump_faults(d)
    for f in faults:
        tell("rom.dump_fault", f.code, about="rom", certainty=Certainty.CHECKED, note=f.text)
    if _option_like(d):
        return _option_reading(source, d, tell, faults)
    entry = _entry_of(d)
    if entry is not None:
        return _table_reading(source, d, entry, tell)
    image = Image(data=d)
    lines = [_identity(tell, d, source), _sums(tell, d)]
    tables = find_tables(image) if not any(f.code == "blank" for f in faults) else ()
    for table in tables:
        _table_facts(tell, image, table)
    inside = _smbios_facts(tell, image, tables)
    lines += _table_lines(tables)
    lines += inside
    lines += _sign_on(tell, d)
    half = half_of(d)
    warnings = [f"{source.name}: {f.text}" for f in faults]
    if half is not None:
        other = "odd" if half == "even" else "even"
        warnings.append(
            f"{source.name} is the {half} half of a pair: give the {other} one in the same call, the two are put "
            "together"
        )
        tell("rom.half", half, about="rom")
    return tell.reading(
        "firmware",
        f"firmware image, {_size(len(d))}" + (" from two chips" if source.parts else ""),
        lines,
        warnings,
    )


def _entry_of(d: bytes) -> Table | None:
    """The entry point of a file that is an SMBIOS table by itself: entry first, then the structures."""
    image = Image(data=d, from_zero=True)
    found = smbios(image, 0) if d[:4] == b"_SM_" else dmi(image, 0) if d[:5] == b"_DMI_" else None
    return found if found is not None and found.good else None


def _table_reading(source: Source, d: bytes, entry: Table, tell: Teller) -> Reading:
    image = Image(data=d, from_zero=True)
    _table_facts(tell, image, entry)
    lines = _smbios_facts(tell, image, (entry,))
    return tell.reading(
        "firmware", f"SMBIOS {entry.version} table, {entry.fields['structures']} structures", lines
    )


def _identity(tell: Teller, d: bytes, source: Source) -> str:
    n = len(d)
    jump = far_jump(d)
    made = date(d)
    parts = []
    if jump is not None:
        text = f"{jump[0]:04X}:{jump[1]:04X}"
        tell("rom.reset", text, offset=n - 16, at="F000:FFF0", about="rom")
        parts.append(f"starts with a jump to {text}")
    elif n >= 16:
        tell("rom.reset", d[-16:-11].hex(" "), offset=n - 16, at="F000:FFF0", about="rom", note="no far jump")
        parts.append("no far jump at the reset vector")
    if made is not None:
        tell("rom.date", made, offset=n - 11, at="F000:FFF5", about="rom")
        parts.append(f"dated {made}")
    if jump is not None or made is not None:
        model = d[-2]
        word = MODELS.get(model, "no model of the tables")
        tell("rom.model", f"{model:02X}", offset=n - 2, at="F000:FFFE", about="rom", note=word)
        parts.append(f"model byte {model:02X} ({word})")
    if source.parts:
        tell("rom.parts", " + ".join(source.parts), about="rom", note="even + odd")
    return ", ".join(parts)


def _sums(tell: Teller, d: bytes) -> str:
    ranges = {"file": d, "top_64k": d[-0x10000:], "top_32k": d[-0x8000:]}
    found = {}
    for name, part in ranges.items():
        if name != "file" and len(part) == len(d):
            continue
        if name == "top_32k" and len(d) < 0x8000:
            continue
        total = byte_sum(part)
        found[name] = total
        tell(f"rom.sum.{name}", f"{total:02X}", about="rom", note="8-bit sum")
    words = ", ".join(f"{k.replace('_', ' ')} {v:02X}" for k, v in found.items())
    zero = [k.replace("_", " ") for k, v in found.items() if v == 0]
    said = (
        f"zero over the {zero[0]}, as is usual" if zero else "none is zero, which proves nothing against it"
    )
    return f"8-bit sums: {words}: {said}"


def _table_facts(tell: Teller, image: Image, table: Table) -> None:
    certainty = Certainty.CHECKED if table.good else Certainty.UNSURE
    note = "" if table.good else f"sum {table.sum:02X}h in the image: filled in at start, or not a table"
    offset = image.offset(table.address)
    at = place(table.address)
    key = f"table.{table.kind}"
    tell(key, table.version, offset=offset, at=at, about="rom", certainty=certainty, note=note)
    if table.good:
        for name, value in table.fields.items():
            tell(f"{key}.{name}", value, offset=offset, at=at, about="rom", certainty=certainty)


def _table_lines(tables: tuple[Table, ...]) -> list[str]:
    good = [f"{TABLE_WORDS[t.kind]} {t.version} at {place(t.address)}" for t in tables if t.good]
    open_ = sorted(
        {TABLE_WORDS[t.kind] for t in tables if not t.good} - {TABLE_WORDS[t.kind] for t in tables if t.good}
    )
    out = []
    if good:
        out.append("tables with a right sum: " + "; ".join(good))
    if open_:
        out.append(
            "signatures whose sum is not right in the image (filled in at start, or code): "
            + ", ".join(open_)
        )
    return out


def _smbios_facts(tell: Teller, image: Image, tables: tuple[Table, ...]) -> list[str]:
    told_lines: list[str] = []
    for table in tables:
        if table.kind not in ("smbios", "dmi") or not table.good:
            continue
        length, start = int(table.fields["length"]), int(table.fields["table"])
        bytes_ = image.at(start, length)
        if bytes_ is None:
            continue
        base = image.offset(start) or 0
        for s in structures(bytes_, int(table.fields["structures"])):
            for t in told(s):
                tell(
                    f"smbios.{t.key}",
                    t.value,
                    t.unit,
                    offset=base + t.offset,
                    at=f"structure {s.handle:04X}h type {s.type}",
                    setting=t.setting,
                    canonical=t.canonical,
                )
                told_lines.append(_in_words(t))
        break
    return [f"it says: {'; '.join(told_lines[:8])}"] if told_lines else []


def _in_words(t: Told) -> str:
    """``processor bus 66 MHz``."""
    name = t.key.replace(".", " ").removesuffix("_mhz").removesuffix("_kb").replace("_", " ")
    return f"{name} {t.value:g} {t.unit}" if isinstance(t.value, float | int) else f"{name} {t.value}"


def _sign_on(tell: Teller, d: bytes) -> list[str]:
    out: list[str] = []
    for n, found in enumerate(SIGN_ON.finditer(d[-0x20000:])):
        if n >= MOST_SIGN_ON:
            break
        text = " ".join(found[0].decode("latin-1").split())
        offset = len(d) - min(len(d), 0x20000) + found.start()
        tell("rom.sign_on", text, offset=offset, about="rom")
        out.append(text)
    return [f'text in it: "{out[0]}"'] if out else []


def _option_reading(source: Source, d: bytes, tell: Teller, faults: tuple[DumpFault, ...]) -> Reading:
    roms = option_roms(d)
    lines, warnings = [], []
    for n, rom in enumerate(roms):
        _option_facts(tell, n, rom)
        lines.append(_option_line(n, rom))
        if rom.cut_short:
            warnings.append(f"{source.name}: image {n + 1} says {rom.length} bytes and the file ends before")
        elif rom.sum and rom.code_type in (None, 0):
            warnings.append(f"{source.name}: image {n + 1} sums to {rom.sum:02X}h where 00h starts it")
    warnings += [f"{source.name}: {f.text}" for f in faults if f.code not in ("size", "data_line")]
    return tell.reading("firmware", f"option ROM, {_size(len(d))}", lines, warnings)


def _option_facts(tell: Teller, n: int, rom: OptionRom) -> None:
    about = f"option rom {n + 1}"
    good = Certainty.CHECKED if rom.sum == 0 else Certainty.PLAIN
    tell("option.length", rom.length, "bytes", offset=rom.offset + 2, about=about, certainty=good)
    tell("option.sum", f"{rom.sum:02X}", offset=rom.offset, about=about)
    if rom.pnp_sum is not None:
        tell("option.pnp_sum", f"{rom.pnp_sum:02X}", offset=rom.offset + 0x1A, about=about)
    if rom.pnp_product:
        tell("option.product", rom.pnp_product, offset=rom.offset + 0x1A, about=about)
    if rom.pci_id:
        tell("option.pci_id", rom.pci_id, offset=rom.offset + 0x18, about=about)
        tell("option.pci_class", f"{rom.pci_class or 0:06x}", offset=rom.offset + 0x18, about=about)


def _option_line(n: int, rom: OptionRom) -> str:
    pnp = "" if rom.pnp_sum is None else f", plug-and-play header sum {rom.pnp_sum:02X}"
    pci = f", PCI {rom.pci_id}" if rom.pci_id else ""
    name = f', "{rom.pnp_product}"' if rom.pnp_product else ""
    return f"image {n + 1}: {_size(rom.length)}, sum {rom.sum:02X}{pnp}{pci}{name}"


def _size(n: int) -> str:
    return f"{n // 1024} KiB" if n % 1024 == 0 else f"{n} bytes"


__all__ = ["DATE", "read", "sniff"]
