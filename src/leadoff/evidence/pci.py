"""PCI configuration space as dumped: one header after the other, each after a line with its place."""

from __future__ import annotations

import re
from functools import lru_cache

import msgspec

from leadoff.evidence.facts import Hints, Rank, Reading, Source, Teller
from leadoff.evidence.lines import lines_of
from leadoff.evidence.pci_names import Names, names_of

MOST_TEXT = 8 << 20
MOST_FUNCTIONS = 512
SLOT = re.compile(
    r"^(?:(?P<dom>[0-9a-fA-F]{4,8}):)?(?P<bus>[0-9a-fA-F]{2}):(?P<dev>[01][0-9a-fA-F])\.(?P<fn>[0-7])\b(?P<rest>.*)$"
)
ROW = re.compile(r"^(?P<at>[0-9a-fA-F]{2,3}):(?P<bytes>(?:[ \t][0-9a-fA-F]{2}){1,16})[ \t]*$")
LEAST = 16
BRIDGE = 0x06
COMMAND = {0: "I/O", 1: "memory", 2: "master", 4: "write-invalidate", 6: "parity", 8: "system errors"}


class Function(msgspec.Struct, frozen=True, kw_only=True):
    """One function: its place, its line in the file, and the bytes of its header as far as dumped."""

    slot: str
    line: int
    data: bytes

    def word(self, at: int) -> int:
        return int.from_bytes(self.data[at : at + 2], "little")

    @property
    def vendor(self) -> int:
        return self.word(0)

    @property
    def device(self) -> int:
        return self.word(2)

    @property
    def class_code(self) -> int:
        """Base and sub class as one number."""
        return self.word(0x0A)

    @property
    def header(self) -> int:
        """0 device, 1 PCI bridge, 2 CardBus bridge; 0 where the dump ends before."""
        return self.data[0x0E] & 0x7F if len(self.data) > 0x0E else 0

    @property
    def subsystem(self) -> str:
        """Subsystem vendor and device, empty where there is none."""
        if self.header != 0 or len(self.data) < 0x30 or self.word(0x2C) in (0, 0xFFFF):
            return ""
        return f"{self.word(0x2C):04x}:{self.word(0x2E):04x}"


@lru_cache(maxsize=4)
def parse(data: bytes) -> tuple[Function, ...]:
    """All functions with at least 16 bytes; those with vendor FFFFh are empty places and left out."""
    if len(data) > MOST_TEXT or b"\0" in data[:4096]:
        return ()
    found: list[tuple[str, int, bytearray]] = []
    for number, line in enumerate(lines_of(data), 1):
        head = SLOT.match(line)
        row = ROW.match(line)
        if row is not None and found:
            if int(row["at"], 16) == len(found[-1][2]) and len(found[-1][2]) < 4096:
                found[-1][2].extend(bytes.fromhex(row["bytes"]))
        elif head is not None and len(found) < MOST_FUNCTIONS:
            domain = head["dom"]
            slot = f"{head['bus']}:{head['dev']}.{head['fn']}".lower()
            if domain and int(domain, 16):
                slot = f"{int(domain, 16):04x}:{slot}"
            found.append((slot, number, bytearray()))
    made = (Function(slot=s, line=n, data=bytes(d)) for s, n, d in found if len(d) >= LEAST)
    return tuple(f for f in made if f.vendor != 0xFFFF)


def sniff(source: Source) -> float:
    """A text with at least one place line and its bytes."""
    return 0.95 if parse(source.data) else 0.0


def read(source: Source, hints: Hints) -> Reading:
    """Every function with its numbers, its names where the system has a list, and who masters the bus."""
    functions = parse(source.data)
    names = names_of((f.vendor, f.device) for f in functions)
    tell = Teller(source, Rank.IDENTITY)
    lines: list[str] = []
    masters: list[str] = []
    for f in functions:
        _facts(tell, f, names)
        lines.append(f"{f.slot} {title(f, names)}")
        if f.word(4) & 4 and f.class_code >> 8 != BRIDGE:
            masters.append(f.slot)
    if masters:
        tell(
            "pci.masters",
            ", ".join(masters),
            note="functions other than bridges whose master bit is set",
            setting="bus_master",
            canonical="on",
        )
    shown = (
        lines if len(lines) <= 7 else [*lines[:6], f"and {len(lines) - 6} more functions (--json lists them)"]
    )
    if masters:
        shown = [*shown[:7], f"masters of the bus besides bridges: {', '.join(masters)}"]
    doubt = (
        ()
        if names.names or not functions
        else (
            f"{source.name}: no list of PCI names on this system, so only numbers (Debian package pci.ids has one)",
        )
    )
    return tell.reading("pci", f"PCI configuration, {len(functions)} functions", shown, doubt)


def title(f: Function, names: Names) -> str:
    """Class, maker and part as far as they have names, with the numbers."""
    kind = (
        names.classes.get(f"{f.class_code:04x}") or names.classes.get(f"{f.class_code >> 8:02x}") or "class"
    )
    who = names.names.get(f"{f.vendor:04x}", "")
    part = names.names.get(f"{f.vendor:04x}:{f.device:04x}", "")
    name = f"{who} {part}".strip() or "no name in the list"
    revision = f" revision {f.data[8]:02x}" if f.data[8] else ""
    return f"{kind}: {name} [{f.vendor:04x}:{f.device:04x}]{revision}"


def _facts(tell: Teller, f: Function, names: Names) -> None:
    def say(key: str, value: float | str, unit: str = "", note: str = "") -> None:
        tell(f"pci.{key}", value, unit, offset=f.line, about=f.slot, note=note)

    key = f"{f.vendor:04x}:{f.device:04x}"
    listed = f"names from {names.path} {names.version}".strip() if names.names else ""
    say("id", key, note=names.names.get(f"{f.vendor:04x}", ""))
    if key in names.names:
        say("name", names.names[key], note=listed)
    say("class", f"{f.class_code:04x}", note=names.classes.get(f"{f.class_code:04x}", ""))
    say("revision", f"{f.data[8]:02x}")
    say("interface", f"{f.data[9]:02x}")
    command = f.word(4)
    say("command", f"{command:04x}", note=" ".join(w for bit, w in COMMAND.items() if command >> bit & 1))
    say("latency", f.data[0x0D] if len(f.data) > 0x0D else 0, "PCI clocks")
    say("header", f.header)
    if f.subsystem:
        say("subsystem", f.subsystem)
    if len(f.data) >= 0x40 and f.data[0x3D]:
        say("interrupt", f"{chr(64 + f.data[0x3D]) if f.data[0x3D] <= 4 else '?'} line {f.data[0x3C]}")
    if f.header == 1 and len(f.data) >= 0x1B:
        say(
            "buses",
            f"{f.data[0x18]:02x} {f.data[0x19]:02x} {f.data[0x1A]:02x}",
            note="first, second, last below",
        )
