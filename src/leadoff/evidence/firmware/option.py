"""Option ROMs: 55 AA images, the PnP expansion header and the PCI data that they point to."""

from __future__ import annotations

import msgspec

from leadoff.evidence.firmware.image import byte_sum

MOST_IMAGES = 16


class OptionRom(msgspec.Struct, frozen=True, kw_only=True):
    """One image of an option ROM. Sums are 8-bit; 0 is right. ``None``: there is no such header."""

    offset: int
    length: int
    sum: int
    pnp_sum: int | None = None
    pnp_product: str = ""
    pci_id: str = ""
    pci_class: int | None = None
    code_type: int | None = None
    last: bool = True
    cut_short: bool = False


def option_roms(data: bytes) -> tuple[OptionRom, ...]:
    """The images that stand one after the other from the first byte on."""
    out: list[OptionRom] = []
    at = 0
    while len(out) < MOST_IMAGES and data[at : at + 2] == b"\x55\xaa" and at + 3 <= len(data):
        rom = _one(data, at)
        out.append(rom)
        if rom.last or rom.length == 0:
            break
        at += rom.length
    return tuple(out)


def _one(data: bytes, at: int) -> OptionRom:
    length = data[at + 2] * 512
    pci = _pci(data, at)
    pnp = _pnp(data, at)
    if pci is not None and pci["length"]:
        length = max(length, int(pci["length"]))
    checked = (
        data[at : at + data[at + 2] * 512] if pci is None or pci["code"] == 0 else data[at : at + length]
    )
    return OptionRom(
        offset=at,
        length=length,
        sum=byte_sum(checked),
        pnp_sum=pnp[0] if pnp is not None else None,
        pnp_product=pnp[1] if pnp is not None else "",
        pci_id=f"{pci['vendor']:04x}:{pci['device']:04x}" if pci is not None else "",
        pci_class=int(pci["class"]) if pci is not None else None,
        code_type=int(pci["code"]) if pci is not None else None,
        last=bool(pci["last"]) if pci is not None else True,
        cut_short=at + length > len(data),
    )


def _pointer(data: bytes, at: int, where: int) -> int:
    return at + int.from_bytes(data[at + where : at + where + 2], "little")


def _pci(data: bytes, at: int) -> dict[str, int] | None:
    """PCI 2.1, section 6.3.1: the pointer at 18h leads to ``PCIR``."""
    p = _pointer(data, at, 0x18)
    if data[p : p + 4] != b"PCIR" or p + 0x18 > len(data):
        return None
    return {
        "vendor": int.from_bytes(data[p + 4 : p + 6], "little"),
        "device": int.from_bytes(data[p + 6 : p + 8], "little"),
        "class": int.from_bytes(data[p + 0x0D : p + 0x10], "little"),
        "length": int.from_bytes(data[p + 0x10 : p + 0x12], "little") * 512,
        "code": data[p + 0x14],
        "last": data[p + 0x15] >> 7,
    }


def _pnp(data: bytes, at: int) -> tuple[int, str] | None:
    """Plug and Play BIOS Specification 1.0A, section 3.2: the pointer at 1Ah leads to ``$PnP``."""
    p = _pointer(data, at, 0x1A)
    if data[p : p + 4] != b"$PnP" or p + 6 > len(data):
        return None
    length = data[p + 5] * 16
    return byte_sum(data[p : p + length]), _string_at(data, at, p + 0x10) if p + 0x12 <= len(data) else ""


def _string_at(data: bytes, at: int, where: int) -> str:
    start = int.from_bytes(data[where : where + 2], "little")
    if not start:
        return ""
    raw = data[at + start : at + start + 64].split(b"\0", 1)[0]
    return raw.decode("latin-1") if raw and all(32 <= c < 127 for c in raw) else ""
