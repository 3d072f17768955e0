"""The structures of SMBIOS (DMTF DSP0134): firmware, processor, caches and memory, as far as they tell of a board."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import msgspec

MOST_STRUCTURES = 512


class Structure(msgspec.Struct, frozen=True, kw_only=True):
    """One structure: its type, handle, formatted bytes and strings."""

    type: int
    handle: int
    offset: int
    data: bytes
    strings: tuple[str, ...]

    def text(self, at: int) -> str:
        """The string that the byte at ``at`` numbers; empty where there is none."""
        n = self.data[at] if at < len(self.data) else 0
        return self.strings[n - 1].strip() if 0 < n <= len(self.strings) else ""

    def word(self, at: int) -> int | None:
        """A 16-bit field, ``None`` where the structure is too short for it."""
        return int.from_bytes(self.data[at : at + 2], "little") if at + 2 <= len(self.data) else None

    def byte(self, at: int) -> int | None:
        """An 8-bit field."""
        return self.data[at] if at < len(self.data) else None


def structures(table: bytes, count: int) -> Iterator[Structure]:
    """The structures of a table, up to ``count`` or to the first that is broken."""
    at = 0
    for _ in range(min(count, MOST_STRUCTURES)):
        if at + 4 > len(table) or table[at + 1] < 4 or at + table[at + 1] > len(table):
            return
        length = table[at + 1]
        end = table.find(b"\0\0", at + length)
        if end < 0:
            return
        raw = table[at + length : end]
        strings = tuple(s.decode("latin-1") for s in raw.split(b"\0")) if raw else ()
        yield Structure(
            type=table[at],
            handle=int.from_bytes(table[at + 2 : at + 4], "little"),
            offset=at,
            data=table[at : at + length],
            strings=strings,
        )
        if table[at] == 127:
            return
        at = end + 2


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """One thing a structure tells: key, value, unit, offset in the table, and the setting it bears on."""

    key: str
    value: float | str
    unit: str = ""
    offset: int
    setting: str = ""
    canonical: str = ""


def told(s: Structure) -> Iterator[Told]:
    """What one structure tells; nothing for types that say nothing of tuning."""
    if s.type == 0:
        yield from _texts(s, {"firmware.vendor": 4, "firmware.version": 5, "firmware.date": 8})
        size = s.byte(9)
        if size is not None and size != 0xFF:
            yield Told(key="firmware.rom_kb", value=64 * (size + 1), unit="KB", offset=s.offset + 9)
    elif s.type in (1, 2):
        name = {1: "system", 2: "baseboard"}[s.type]
        yield from _texts(s, {f"{name}.manufacturer": 4, f"{name}.product": 5, f"{name}.version": 6})
    elif s.type == 4:
        yield from _processor(s)
    elif s.type == 7:
        yield from _cache(s)
    elif s.type in (6, 17):
        yield from (_module if s.type == 6 else _device)(s)


def _texts(s: Structure, fields: Mapping[str, int]) -> Iterator[Told]:
    for key, at in fields.items():
        if text := s.text(at):
            yield Told(key=key, value=text, offset=s.offset + at)


def _processor(s: Structure) -> Iterator[Told]:
    yield from _texts(s, {"processor.socket": 4, "processor.manufacturer": 7, "processor.version": 0x10})
    bus, core = s.word(0x12), s.word(0x16)
    if bus:
        yield Told(
            key="processor.bus_mhz",
            value=bus,
            unit="MHz",
            offset=s.offset + 0x12,
            setting="bus_mhz",
            canonical=_nominal(bus),
        )
    if core:
        yield Told(
            key="processor.core_mhz",
            value=core,
            unit="MHz",
            offset=s.offset + 0x16,
            setting="core_mhz",
            canonical=_nominal(core),
        )


def _nominal(mhz: int) -> str:
    """Firmware rounds clocks: 33 stands for 33 1/3, 66 or 67 for 66 2/3 (common practice, no source)."""
    for thirds in range(3 * mhz - 2, 3 * mhz + 3):
        if thirds % 100 == 0 and thirds % 300:
            return f"{thirds}/3"
    return str(mhz)


def _cache(s: Structure) -> Iterator[Told]:
    config, size = s.word(5), s.word(9)
    if config is None or size is None:
        return
    level = (config & 7) + 1
    kb = (size & 0x7FFF) * (64 if size & 0x8000 else 1)
    on = bool(config & 0x80)
    mode = {0: "wt", 1: "wb"}.get(config >> 8 & 3)
    if level == 2:
        yield Told(
            key="cache.l2_kb", value=kb, unit="KB", offset=s.offset + 9, setting="l2_kb", canonical=str(kb)
        )
    else:
        yield Told(key=f"cache.l{level}_kb", value=kb, unit="KB", offset=s.offset + 9)
    word = "on" if on else "off"
    setting = f"l{level}" if level <= 2 else ""
    yield Told(
        key=f"cache.l{level}",
        value=word,
        offset=s.offset + 5,
        setting=setting,
        canonical=word if setting else "",
    )
    if mode and on:
        yield Told(
            key=f"cache.l{level}_policy",
            value=mode,
            offset=s.offset + 5,
            setting=f"{setting}_policy" if setting else "",
            canonical=mode if setting else "",
        )


def _module(s: Structure) -> Iterator[Told]:
    """Type 6: installed size as a power of two of megabytes, 7Dh and above are no size."""
    socket = s.text(4) or f"{s.handle:04X}"
    size = s.byte(9)
    if size is not None and size & 0x7F < 0x7D:
        yield Told(key=f"memory.{socket}", value=float(1 << (size & 0x7F)), unit="MB", offset=s.offset + 9)


def _device(s: Structure) -> Iterator[Told]:
    """Type 17: size in MB, or in KB with bit 15 set."""
    socket = s.text(0x10) or f"{s.handle:04X}"
    size = s.word(0x0C)
    if size and size != 0xFFFF:
        mb = (size & 0x7FFF) / 1024 if size & 0x8000 else float(size)
        yield Told(key=f"memory.{socket}", value=mb, unit="MB", offset=s.offset + 0x0C)
