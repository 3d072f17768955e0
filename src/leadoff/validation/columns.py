"""Settings as typed text to columns of numbers, one row per state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from leadoff.validation.hidden import Hidden
from leadoff.validation.rows import mhz, rows

Array = NDArray[np.float64]
REFRESH_US = {"normal": 15.625, "slow": 62.5}
ISA_OWN_MHZ = 7.159  # 14.318/2, for boards whose expansion bus has a clock of its own


@dataclass(frozen=True)
class Columns:
    """One number per state and quantity; every array has the shape (states, 1)."""

    values: dict[str, Array]

    def __getattr__(self, name: str) -> Array:
        try:
            return self.values[name]
        except KeyError as missing:
            raise AttributeError(name) from missing


@lru_cache(maxsize=4096)
def pattern(text: str) -> tuple[float, float]:
    """Lead-off and the sum of the later beats."""
    lead, *rest = (float(p) for p in text.split("-"))
    return lead, sum(rest)


@lru_cache(maxsize=4096)
def phases(ratio: str) -> float:
    """Core clock edges that a bus clock edge can be reached from, the numerator of the ratio."""
    return float(Fraction(ratio).numerator)


def bus_text(settings: Mapping[str, str]) -> str:
    """The bus clock in canonical text; on boards with a can of twice the clock it may come from the can."""
    if "bus_mhz" in settings:
        return settings["bus_mhz"]
    return str(Fraction(settings["can_mhz"]) / 2)


def one(board: Hidden, s: Mapping[str, str]) -> dict[str, float]:
    """The numbers of one complete state."""
    cls, table = board.cls, rows()
    cpu = table.cpus[s["cpu"]]
    core = table.cores[cpu.core]
    bus = bus_text(s)
    fb = mhz(bus)
    ratio = s.get("ratio", cpu.ratios[0])
    fc = fb * mhz(ratio)
    own = core.own_l2_kb > 0
    l2_on = s.get("l2", "on") == "on" and (own or bool(cls.l2_kb))
    l2_kb = (core.own_l2_kb if own else float(s.get("l2_kb", "0"))) if l2_on else 0.0
    if own:
        l2_lead, l2_tail, f_l2 = 4.0, 3.0, fc * core.own_l2_ratio
    elif cls.form == "waits":
        l2_lead, l2_tail, f_l2 = 2.0 + float(s.get("l2_read_ws", "0")), 0.0, fb
    elif s.get("l2_type") == "pipelined burst":
        l2_lead, l2_tail, f_l2 = 3.0, 3.0, fb
    else:
        (l2_lead, l2_tail), f_l2 = pattern(s.get("l2_read", "3-2-2-2")), fb
    if cls.form == "waits":
        d_lead = 2.0 + float(s["dram_read_ws"])
        d_tail = 0.0
    elif cls.form == "sdram":
        d_lead, d_tail = 4.0 + float(s["cas"]), 3.0
    else:
        d_lead, d_tail = pattern(s["dram_read"])
    tag_bits = float(s.get("tag_bits", cls.tag_bits))
    l2_wb = own or s.get("l2_policy", "wb") == "wb"
    if l2_wb and board.chipset.combined and not own:
        tag_bits -= 1
    ram = float(s["ram_mb"])
    reach = min(l2_kb * 2.0**tag_bits / 1024.0, float(cls.cacheable_mb or 1e9)) if l2_on and not own else 1e9
    f_pci = mhz(s["pci_mhz"]) if "pci_mhz" in s else fb * mhz(pci_over_bus(board, s, bus))
    f_isa = fb * mhz(s["isa_ratio"]) if "isa_ratio" in s else ISA_OWN_MHZ
    f_agp = fb * mhz(cls.agp_table.get(bus, "1")) if cls.agp_table else 66.7
    video_bus = s["video_bus"]
    combine = s.get("write_combine", "off") == "on"
    if video_bus == "isa":
        v_clocks, f_v, v_depth = 6.0, f_isa, 1.0
    elif video_bus == "vlb":
        v_clocks, f_v, v_depth = 2.0 + float(s.get("vlb_ws", "0")), fb, 2.0
    elif video_bus == "pci":
        v_clocks, f_v, v_depth = board.chipset.burst_pci, f_pci, 4.0
    else:
        v_clocks, f_v, v_depth = board.chipset.burst_pci, f_agp, 4.0
    if cls.write_combine:
        v_clocks *= 0.7 if combine else 1.6
    refresh = s.get("refresh", "normal")
    return {
        "fb": fb,
        "fc": fc,
        "edges": phases(ratio),
        "integer": core.integer,
        "fp": core.fp if s.get("fpu", "on chip") != "none" else np.nan,
        "copy": core.copy,
        "l1_kb": core.l1_kb if s.get("l1", "on") == "on" else 0.0,
        "l1_ways": float(core.ways),
        "line": float(core.line),
        "l1_wb": float(core.wb and s.get("l1_policy", "wb") == "wb" and s.get("l1", "on") == "on"),
        "alloc": float(core.alloc or (core.alloc_switch and s.get("write_alloc", "off") == "on")),
        "depth": float(core.stores),
        "free": core.free,
        "tail": core.tail,
        "bus_bytes": float(core.bus_bytes),
        "l2_kb": l2_kb,
        "l2_ways": 4.0 if own else 1.0,
        "l2_wb": float(l2_wb),
        "l2_lead": l2_lead,
        "l2_tail": l2_tail,
        "f_l2": f_l2,
        "l2_write": 2.0 + float(s.get("l2_write_ws", "0")),
        "curve": board.curve.get(int(l2_kb), 0.0),
        "uncached": max(0.0, 1.0 - reach / ram),
        "d_lead": d_lead,
        "d_tail": d_tail,
        "d_write": 3.0 + float(s.get("dram_write_ws", "0")),
        "f_mem": mhz(s["mem_mhz"]) if "mem_mhz" in s else fb,
        "rcd": float(s.get("rcd", board.chipset.rcd)),
        "rp": float(s.get("rp", board.chipset.rp)),
        "banks": board.chipset.banks * (2.0 if s.get("interleave") == "on" else 1.0),
        "refresh_us": REFRESH_US.get(refresh) or float(refresh),
        "f_pci": f_pci,
        "f_isa": f_isa,
        "f_agp": f_agp,
        "v_clocks": v_clocks,
        "f_v": f_v,
        "v_depth": v_depth,
        "card_ns": table.cards[s["video"]][video_bus],
        "full": float(s.get("profile", "bare") == "full"),
    }


def pci_over_bus(board: Hidden, s: Mapping[str, str], bus: str) -> str:
    """PCI clock over bus clock in canonical text: set, fixed by the chipset, or by the bus clock."""
    cls = board.cls
    return s.get("pci_ratio") or cls.pci_fixed or cls.pci_table.get(bus, "1")


def columns(board: Hidden, states: Sequence[Mapping[str, str]]) -> Columns:
    """Columns of complete states of one board."""
    found = [one(board, s) for s in states]
    table = np.array([list(f.values()) for f in found])
    return Columns({k: table[:, i : i + 1] for i, k in enumerate(found[0])})
