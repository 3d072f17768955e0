"""What is fitted switches faults on and off: a fault of a part that is not there is impossible."""

from __future__ import annotations

from collections.abc import Mapping

from leadoff.faults.values import Fitted
from leadoff.record.board import BoardSheet

ABSENT: Mapping[str, tuple[str, ...]] = {
    "cache": ("cache_bad", "tag_bad", "cache_fake", "cache_jumper"),
    "cache_on_processor": ("cache_bad", "tag_bad", "cache_fake", "cache_jumper"),
    "coprocessor": ("fpu_bad",),
    "keyboard_fuse": ("kbd_fuse",),
    "regulator": ("reg_dead", "reg_over"),
    "soft_power": ("atx_soft",),
    "soldered_memory": ("dram_onboard",),
    "memory_sockets": ("ram_socket", "ram_mismatch"),
    "cards": ("card_conflict",),
    "io_chip": ("superio_dead",),
    "tantalums": ("tant_short",),
}
"""Part that is not fitted to the faults that are impossible then."""


def absent_faults(fitted: Fitted) -> frozenset[str]:
    """Faults that cannot be, given the parts that are not there; unknown part names are taken as faults."""
    return frozenset(f for part in fitted.absent for f in ABSENT.get(part, (part,)))


def fitted_from_sheet(sheet: BoardSheet) -> Fitted:
    """What a board file says of the parts that matter here; what it does not say stays unknown."""
    text = sheet.clock_part.lower().replace("-", " ").replace("_", " ")
    clock = None
    if "module" in text or "sealed" in text or "128" in text:
        clock = "sealed_module"
    if "pack" in text or "nicd" in text or "rechargeable" in text or "barrel" in text:
        clock = "soldered_pack"
    if "coin" in text or "2032" in text or "external" in text or "cell" in text.split():
        clock = "external_cell" if "external" in text else "coin_cell"
    absent = set()
    plug = sheet.supply_plug.lower()
    if plug and "atx" not in plug:
        absent.add("soft_power")
    if sheet.fpu is not None and sheet.fpu.lower() in {"none", "no", "-", "empty"}:
        absent.add("coprocessor")
    if sheet.cache is not None and sheet.cache.kb == 0:
        absent.add("cache")
    why = f"clock part: {sheet.clock_part}" if sheet.clock_part else ""
    return Fitted(clock=clock, absent=frozenset(absent), why=why)


def kind_of(fitted: Fitted) -> str | None:
    """The kind of the group table; an external cell behaves as a coin cell does."""
    return "coin_cell" if fitted.clock == "external_cell" else fitted.clock
