"""The settings of a board: one name, one unit and one meaning each (the glossary's table, as values).

A board's own jumpers and set-up entries have names of their own (``jp7``); they act on these settings.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

import msgspec


class SettingKind(StrEnum):
    """How the canonical text of a value reads."""

    CLOCK = "clock"  # exact fraction of megahertz: "40", "100/3"
    RATIO = "ratio"  # exact fraction: "3", "5/2"
    VOLTS = "volts"  # decimal text: "3.45"
    NUMBER = "number"  # whole or decimal number
    PATTERN = "pattern"  # clocks of the four beats: "3-1-1-1"
    SWITCH = "switch"  # "on" or "off"
    POLICY = "policy"  # "wt" (write-through) or "wb" (write-back)
    TEXT = "text"  # words
    POSITION = "position"  # a position of one of the board's own jumpers or set-up entries


class Touch(StrEnum):
    """What changing a setting takes, which prices it."""

    JUMPER = "jumper"
    SETUP = "setup"
    SWAP = "swap"
    SOFTWARE = "software"
    SWITCH = "switch"


class SettingName(msgspec.Struct, frozen=True, kw_only=True):
    """One name. ``unit`` is empty where the value has none."""

    name: str
    kind: SettingKind
    unit: str
    meaning: str
    touch: Touch


def _name(name: str, kind: SettingKind, unit: str, touch: Touch, meaning: str) -> tuple[str, SettingName]:
    return name, SettingName(name=name, kind=kind, unit=unit, meaning=meaning, touch=touch)


_C, _R, _V, _N = SettingKind.CLOCK, SettingKind.RATIO, SettingKind.VOLTS, SettingKind.NUMBER
_P, _S, _W, _T = SettingKind.PATTERN, SettingKind.SWITCH, SettingKind.POLICY, SettingKind.TEXT
_J, _U, _X, _SW = Touch.JUMPER, Touch.SETUP, Touch.SWAP, Touch.SOFTWARE

SETTINGS: Mapping[str, SettingName] = MappingProxyType(
    dict(
        (
            # clocks
            _name("bus_mhz", _C, "MHz", _J, "bus clock"),
            _name("can_mhz", _C, "MHz", _X, "clock oscillator"),
            _name("ratio", _R, "", _J, "core ratio"),
            _name("core_mhz", _C, "MHz", _J, "core clock"),
            _name("pci_mhz", _C, "MHz", _J, "PCI clock"),
            _name("pci_ratio", _R, "", _J, "PCI ratio"),
            _name("agp_ratio", _R, "", _J, "AGP ratio"),
            _name("isa_ratio", _R, "", _U, "ISA ratio"),
            _name("isa_mhz", _C, "MHz", _U, "ISA clock"),
            _name("mem_mhz", _C, "MHz", _U, "memory clock"),
            _name("turbo", _S, "", Touch.SWITCH, "turbo switch"),
            # supply of the processor
            _name("core_v", _V, "V", _J, "processor core volts"),
            _name("io_v", _V, "V", _J, "processor I/O volts"),
            # parts that are fitted
            _name("cpu", _T, "", _X, "processor"),
            _name("cpu_specimen", _T, "", _X, "processor specimen: which physical one it is"),
            _name("fpu", _T, "", _X, "coprocessor"),
            _name("interposer", _T, "", _X, "adapter between socket and processor"),
            # first-level cache
            _name("l1", _S, "", _U, "first-level cache"),
            _name("l1_policy", _W, "", _U, "first-level cache write policy"),
            # second-level cache
            _name("l2", _S, "", _U, "second-level cache"),
            _name("l2_policy", _W, "", _U, "second-level cache write policy"),
            _name("l2_kb", _N, "KB", _X, "second-level cache size"),
            _name("l2_ns", _N, "ns", _X, "cache chip grade"),
            _name("l2_chips", _N, "", _X, "number of cache data chips"),
            _name("l2_banks", _N, "", _X, "cache banks"),
            _name("l2_type", _T, "", _X, "cache type: asynchronous, burst or pipelined burst"),
            _name("tag_ns", _N, "ns", _X, "tag chip grade"),
            _name("tag_bits", _N, "", _X, "tag bits used for the address"),
            _name("l2_read", _P, "bus clocks", _U, "cache read hit"),
            _name("l2_write", _P, "bus clocks", _U, "cache write hit"),
            _name("l2_read_ws", _N, "bus clocks", _U, "cache read wait states"),
            _name("l2_write_ws", _N, "bus clocks", _U, "cache write wait states"),
            # memory
            _name("ram_mb", _N, "MB", _X, "memory in all"),
            _name("ram_type", _T, "", _X, "memory type: fpm, edo or sdram"),
            _name("ram_ns", _N, "ns", _X, "memory grade"),
            _name("dram_read", _P, "bus clocks", _U, "memory read on a page hit"),
            _name("dram_write", _P, "bus clocks", _U, "memory write"),
            _name("dram_read_ws", _N, "bus clocks", _U, "memory read wait states"),
            _name("dram_write_ws", _N, "bus clocks", _U, "memory write wait states"),
            _name("cas", _N, "clocks", _U, "CAS latency"),
            _name("rcd", _N, "clocks", _U, "row to column delay"),
            _name("rp", _N, "clocks", _U, "row precharge"),
            _name("refresh", _T, "", _U, "memory refresh: normal, slow or the interval in microseconds"),
            _name("interleave", _S, "", _U, "memory banks interleaved"),
            _name("parity", _S, "", _U, "memory parity check"),
            # cards, drives and what software sets
            _name("video", _T, "", _X, "display card"),
            _name("video_bus", _T, "", _X, "bus the display card is on: isa, vlb, pci or agp"),
            _name("video_slot", _T, "", _X, "slot the display card is in"),
            _name("disk", _T, "", _X, "drive and how it is attached"),
            _name("bus_master", _S, "", _X, "a card that masters the bus is fitted"),
            _name("dma", _S, "", _U, "anything uses the board's DMA: floppy, digitised sound, some disks"),
            _name("snoop_line", _S, "", _J, "the processor's dirty-hit answer reaches the chipset"),
            _name("vlb_ws", _N, "bus clocks", _J, "local bus wait states"),
            _name("write_alloc", _S, "", _SW, "write allocation in the first-level cache"),
            _name("write_combine", _S, "", _SW, "write combining for the display memory"),
            _name("shadow", _S, "", _U, "firmware copied to memory"),
            _name("profile", _T, "", _SW, "boot profile: what is loaded"),
            _name("temp_c", _N, "C", _SW, "temperature at the processor during the run"),
        )
    )
)


SENTENCE = 44
"""Letters from which on a meaning is a sentence of its own and no name to put in front of a value."""


def in_words(name: str) -> str:
    """A setting as people name it, without its explanation; the board's own jumpers and entries keep their names."""
    known = SETTINGS.get(name)
    said = known.meaning.partition(":")[0] if known is not None else name
    return said if known is not None and len(said) < SENTENCE else name.replace("_", " ")


def kind_of(name: str) -> SettingKind:
    """The kind of a setting; the board's own jumpers and entries are positions, memory sites are text."""
    found = SETTINGS.get(name)
    if found is not None:
        return found.kind
    return SettingKind.TEXT if name.startswith(("ram.", "card.")) else SettingKind.POSITION
