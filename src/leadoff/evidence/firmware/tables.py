"""Tables that firmware leaves for others: PnP, 32-bit services, PCI routing, SMBIOS, processors, ACPI.

A signature alone proves nothing, because it stands in code too: it must be aligned, with a length and a
version that can be. Where these fit and the sum does not, the table is filled in only at start.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import msgspec

from leadoff.evidence.firmware.image import MEMORY_DUMP, TOP, Image, byte_sum

LOW_ENDS = (0xA0000, 0x80000)
E_SEGMENT, F_SEGMENT = 0xE0000, 0xF0000


class Table(msgspec.Struct, frozen=True, kw_only=True):
    """One table: its kind, address, whether its sum is right, its version and fields as they stand."""

    kind: str
    address: int
    good: bool
    version: str
    fields: Mapping[str, int | str]
    sum: int = 0


Decoder = Callable[[Image, int], Table | None]


def _word(d: bytes, at: int) -> int:
    return int.from_bytes(d[at : at + 2], "little")


def _dword(d: bytes, at: int) -> int:
    return int.from_bytes(d[at : at + 4], "little")


def _text(d: bytes) -> str:
    return "".join(chr(c) if 32 <= c < 127 else "." for c in d).strip()


def pnp(image: Image, at: int) -> Table | None:
    """Plug and Play BIOS Specification 1.0A, section 4.4: length in bytes 21h, version 10h."""
    head = image.at(at, 0x21)
    if head is None or head[5] < 0x21 or head[4] >> 4 != 1:
        return None
    whole = image.at(at, head[5])
    if whole is None:
        return None
    fields: dict[str, int | str] = {
        "control": head[6],
        "event_flag": _dword(head, 0x09),
        "real_entry": f"{_word(head, 0x0F):04X}:{_word(head, 0x0D):04X}",
        "protected_entry": _dword(head, 0x13) + _word(head, 0x11),
        "real_data": _word(head, 0x1B),
        "protected_data": _dword(head, 0x1D),
    }
    version = f"{head[4] >> 4}.{head[4] & 15}"
    return _table("pnp", at, whole, version, fields)


def service_directory(image: Image, at: int) -> Table | None:
    """Standard BIOS 32-bit Service Directory Proposal 0.4 (from memory): one paragraph, revision 0."""
    head = image.at(at, 16)
    if head is None or head[9] != 1 or head[8] != 0:
        return None
    return _table("services32", at, head, str(head[8]), {"entry": _dword(head, 4)})


def pci_routing(image: Image, at: int) -> Table | None:
    """PCI IRQ Routing Table Specification 1.0: 32 bytes and 16 for each slot, version 1.0."""
    head = image.at(at, 32)
    if head is None or _word(head, 4) != 0x0100:
        return None
    size = _word(head, 6)
    whole = image.at(at, size)
    if size < 32 or (size - 32) % 16 or whole is None:
        return None
    fields: dict[str, int | str] = {
        "router": f"{head[8]:02x}:{head[9] >> 3:02x}.{head[9] & 7}",
        "exclusive_irqs": _word(head, 10),
        "compatible": f"{_word(head, 12):04x}:{_word(head, 14):04x}",
        "slots": (size - 32) // 16,
    }
    for n in range(min((size - 32) // 16, 32)):
        e = whole[32 + 16 * n : 48 + 16 * n]
        pins = " ".join(f"{chr(65 + k)}:{e[2 + 3 * k]:02x}/{_word(e, 3 + 3 * k):04x}" for k in range(4))
        fields[f"slot_{n}"] = f"{e[0]:02x}:{e[1] >> 3:02x} {pins} slot {e[14]}"
    return _table("pci_routing", at, whole, "1.0", fields)


def smbios(image: Image, at: int) -> Table | None:
    """SMBIOS (DMTF DSP0134), 32-bit entry point: length 1Fh, or 1Eh of some 2.1 firmware."""
    head = image.at(at, 0x1F)
    if head is None or head[5] not in (0x1E, 0x1F) or head[0x10:0x15] != b"_DMI_":
        return None
    whole = head[: head[5]]
    fields: dict[str, int | str] = {
        "table": _dword(head, 0x18),
        "length": _word(head, 0x16),
        "structures": _word(head, 0x1C),
        "largest": _word(head, 8),
    }
    table = _table("smbios", at, whole, f"{head[6]}.{head[7]}", fields)
    inner = byte_sum(head[0x10:0x1F])
    return table if not inner else msgspec.structs.replace(table, good=False, sum=table.sum or inner)


def dmi(image: Image, at: int) -> Table | None:
    """The older entry point, ``_DMI_`` alone: 15 bytes, version in BCD."""
    head = image.at(at, 15)
    if head is None or head[0x0E] >> 4 not in (0, 2):
        return None
    fields: dict[str, int | str] = {
        "table": _dword(head, 8),
        "length": _word(head, 6),
        "structures": _word(head, 0x0C),
    }
    return _table("dmi", at, head, f"{head[0x0E] >> 4}.{head[0x0E] & 15}", fields)


def processors(image: Image, at: int) -> Table | None:
    """MultiProcessor Specification 1.4, section 4.1 (from memory): one paragraph, version 1.1 or 1.4."""
    head = image.at(at, 16)
    if head is None or head[8] != 1 or head[9] not in (1, 4):
        return None
    fields: dict[str, int | str] = {
        "table": _dword(head, 4),
        "default": head[11],
        "imcr": head[12] >> 7,
    }
    return _table("mp", at, head, f"1.{head[9]}", fields)


def acpi(image: Image, at: int) -> Table | None:
    """ACPI 1.0, section 5.2.4 (from memory): sum over the first 20 bytes."""
    head = image.at(at, 20)
    if head is None or head[15] > 2:
        return None
    fields: dict[str, int | str] = {"oem": _text(head[9:15]), "rsdt": _dword(head, 16)}
    return _table("acpi", at, head, "1.0" if head[15] == 0 else "2.0", fields)


PLACES: tuple[tuple[bytes, int, Decoder, bool], ...] = (
    (b"$PnP", F_SEGMENT, pnp, False),
    (b"_32_", E_SEGMENT, service_directory, False),
    (b"$PIR", F_SEGMENT, pci_routing, False),
    (b"_SM_", F_SEGMENT, smbios, False),
    (b"_DMI_", F_SEGMENT, dmi, False),
    (b"_MP_", F_SEGMENT, processors, True),
    (b"RSD PTR ", E_SEGMENT, acpi, True),
)
"""Signature, start of the area up to FFFFFh in which it is looked for, decoder, whether low memory holds it too."""


def find_tables(image: Image) -> tuple[Table, ...]:
    """All tables of an image, those with a right sum first, then by address."""
    found: dict[tuple[str, int], Table] = {}
    for signature, start, decode, low in PLACES:
        areas = [(start, TOP)]
        if low and len(image.data) == MEMORY_DUMP:
            areas += _low_areas(image)
        for a, b in areas:
            for at in image.paragraphs(a, b, signature):
                table = decode(image, at)
                if table is not None:
                    found[table.kind, at] = table
    inside = {t.address + 16 for t in found.values() if t.kind == "smbios" and t.good}
    kept = [t for t in found.values() if not (t.kind == "dmi" and t.address in inside)]
    return tuple(sorted(kept, key=lambda t: (not t.good, t.address, t.kind)))


def _low_areas(image: Image) -> list[tuple[int, int]]:
    """The first kilobyte of the extended data area and the last one of base memory."""
    out = [(end - 1024, end) for end in LOW_ENDS]
    pointer = image.at(0x40E, 2)
    segment = _word(pointer, 0) if pointer else 0
    if 0x400 <= segment < 0xA000:
        out.append((segment << 4, (segment << 4) + 1024))
    return out


def _table(kind: str, at: int, whole: bytes, version: str, fields: dict[str, int | str]) -> Table:
    made = byte_sum(whole)
    return Table(kind=kind, address=at, good=made == 0, version=version, fields=fields, sum=made)
