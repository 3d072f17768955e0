"""A board as its sheet describes it: what can be set, by which jumper, within which limits."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec


class Jumper(msgspec.Struct, frozen=True, kw_only=True):
    """A jumper, or a group of jumpers that move together, with what each position sets.

    ``sets`` maps a setting to position to value (canonical text). ``members`` names the single jumpers of a
    group; then each position's words are the positions of the members in that order. ``leave`` marks
    positions the sheet gives no meaning, which are never proposed. Coordinates are millimetres from the
    board's top left corner.
    """

    id: str
    positions: tuple[str, ...]
    sets: Mapping[str, Mapping[str, str]] = {}
    members: tuple[str, ...] = ()
    leave: bool = False
    at_mm: tuple[float, float] | None = None
    note: str = ""


class Option(msgspec.Struct, frozen=True, kw_only=True):
    """A set-up entry of the firmware, with what each choice sets and where the menu has it."""

    id: str
    choices: tuple[str, ...]
    sets: Mapping[str, Mapping[str, str]] = {}
    label: str = ""
    menu: str = ""
    note: str = ""


class Rail(msgspec.Struct, frozen=True, kw_only=True):
    """A processor supply the board can give: volts and, where the layout says, amperes."""

    v: str
    amps: float | None = None


class CacheFit(msgspec.Struct, frozen=True, kw_only=True):
    """Second-level cache as fitted. ``None`` is not known."""

    kb: int | None = None
    ns: float | None = None
    banks: int | None = None
    chips: int | None = None
    type: str | None = None
    tag_ns: float | None = None
    tag_bits: int | None = None
    text: str = ""


class MemoryFit(msgspec.Struct, frozen=True, kw_only=True):
    """What is in one memory site."""

    site: str
    mb: float | None = None
    type: str | None = None
    ns: float | None = None
    cas: int | None = None
    count: int = 1
    text: str = ""


class Card(msgspec.Struct, frozen=True, kw_only=True):
    """A card. ``master`` and ``dma``: whether it masters the bus or uses the board's DMA."""

    slot: str
    bus: str
    kind: str = ""
    master: bool | None = None
    dma: bool | None = None


class Interposer(msgspec.Struct, frozen=True, kw_only=True):
    """An adapter between socket and processor with its own regulator, perhaps its own ratio straps."""

    v: str
    ratio_straps: bool = False
    amps: float | None = None


class BoardSheet(msgspec.Struct, frozen=True, kw_only=True):
    """One board: identity, sheet, wiring and what is fitted. Absent means not known, never a default.

    ``dividers``: bus name to nominal bus clock (canonical fraction, or ``*``) to that bus's clock over the
    processor bus clock. ``ratio_pins_wired``: ``None`` when the sheet does not say. ``cpu_row`` is a
    processor described in the board file itself. ``now`` maps settings and jumpers to typed values.
    """

    id: str
    board_class: str
    buses: tuple[str, ...] = ()
    rails: tuple[Rail, ...] = ()
    sheet_confirmed: bool = False
    sheet_revision: str = ""
    chipset: str | None = None
    socket: str | None = None
    clock_source: str = ""
    clock_table_mhz: tuple[str, ...] = ()
    can_divides_by: int | None = None
    firmware: str = ""
    clock_part: str = ""
    supply_plug: str = ""
    ratio_pins_wired: tuple[str, ...] | None = None
    dividers: Mapping[str, Mapping[str, str]] = {}
    snoop_line: bool | None = None
    jumpers: tuple[Jumper, ...] = ()
    options: tuple[Option, ...] = ()
    cards: tuple[Card, ...] = ()
    memory: tuple[MemoryFit, ...] = ()
    memory_sites: tuple[str, ...] = ()
    interposer: Interposer | None = None
    cpu: str | None = None
    cpu_row: Mapping[str, object] | None = None
    cpu_specimen: str | None = None
    fpu: str | None = None
    cache: CacheFit | None = None
    cache_sites: tuple[str, ...] = ()
    rig: Mapping[str, str] = {}
    spares: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    now: Mapping[str, str] = {}
    note: str = ""

    def jumper(self, name: str) -> Jumper | None:
        """The jumper of that id, ``None`` when the sheet has none."""
        return next((j for j in self.jumpers if j.id == name), None)

    def option(self, name: str) -> Option | None:
        """The set-up entry of that id, ``None`` when the sheet has none."""
        return next((o for o in self.options if o.id == name), None)
