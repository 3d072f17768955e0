"""Boards out of a class row: what is fitted and set when they come to the bench, and what can be set."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import numpy as np

from leadoff.validation.keyed import generator
from leadoff.validation.rows import ClassRow, CpuRow, rows
from leadoff.validation.sheets import Draft


def reach_of(cls: ClassRow, cpu: CpuRow, start: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """Setting to the values it can be given without swapping a part."""
    core = rows().cores[cpu.core]
    waits = cls.form == "waits"
    dram = {"dram_read_ws" if waits else "dram_read": cls.dram_read, "dram_write_ws": cls.dram_write}
    cache = {"l2_read_ws" if waits else "l2_read": cls.l2_read, "l2_write_ws": cls.l2_write}
    found: dict[str, tuple[str, ...]] = {"bus_mhz": cls.bus_mhz}
    ratios = tuple(r for r in cpu.ratios if not cls.ratio or r in cls.ratio)
    found["ratio"] = ratios or cpu.ratios
    found |= {k: v for k, v in dram.items() if v}
    if start.get("l2") == "on":
        found["l2"] = ("on", "off")
        found["l2_policy"] = cls.l2_policy
        if start.get("l2_type") != "pipelined burst":
            found |= {k: v for k, v in cache.items() if v}
    if core.wb and not core.own_l2_kb and core.line == 16:
        found["l1_policy"] = ("wt", "wb")
    if core.alloc_switch:
        found["write_alloc"] = ("off", "on")
    found |= {"cas": cls.cas, "rcd": cls.rcd_set, "rp": cls.rp_set, "refresh": cls.refresh}
    found |= {"isa_ratio": cls.isa_ratio, "pci_ratio": cls.pci_ratio, "write_combine": cls.write_combine}
    if start["video_bus"] == "vlb":
        found["vlb_ws"] = cls.vlb_ws
    volts = tuple(r for r in cls.rails if cpu.v * 0.99 <= float(r) <= cpu.v_max)
    found["core_v"] = volts
    found["profile"] = ("bare", "full")
    return {k: v for k, v in found.items() if len(v) > 1}


def first_state(
    cls: ClassRow, cpu: CpuRow, rng: np.random.Generator, board_id: str, video: str
) -> dict[str, str]:
    """What is fitted and set when the board comes to the bench: cautious values."""
    core = rows().cores[cpu.core]
    s: dict[str, str] = {"cpu": cpu.id, "cpu_specimen": f"{board_id}-cpu"}
    rated = Fraction(cpu.rated_mhz)
    ratios = [r for r in cpu.ratios if not cls.ratio or r in cls.ratio] or list(cpu.ratios)
    fits = [
        (b, r) for b in cls.bus_mhz for r in ratios if Fraction(b) * Fraction(r) <= rated * Fraction(101, 100)
    ]
    safe = [f for f in fits if Fraction(f[0]) <= Fraction(cls.bus_mhz[min(1, len(cls.bus_mhz) - 1)])] or fits
    bus, ratio = safe[int(rng.integers(len(safe)))] if safe else (cls.bus_mhz[0], ratios[0])
    s |= {"bus_mhz": bus, "ratio": ratio}
    if cls.clock == "can":
        s["can_mhz"] = str(Fraction(bus) * 2)
    s["fpu"] = "none" if cls.form == "waits" and rng.random() < 0.4 else "on chip" if core.l1_kb else "387"
    nearest = min(cls.rails, key=lambda v: abs(float(v) - cpu.v))
    s["core_v"] = nearest
    if core.l1_kb:
        s["l1"] = "on"
    if core.wb and not core.own_l2_kb:
        s["l1_policy"] = "wb" if core.line == 32 or rng.random() < 0.5 else "wt"
    if core.alloc_switch:
        s["write_alloc"] = "off"
    if cls.l2_kb:
        kb = cls.l2_kb[int(rng.integers(len(cls.l2_kb)))]
        ns = cls.l2_ns[int(rng.integers(len(cls.l2_ns)))]
        s |= {
            "l2": "on",
            "l2_kb": str(kb),
            "l2_ns": str(ns),
            "tag_ns": str(ns),
            "tag_bits": str(cls.tag_bits),
        }
        s |= {
            "l2_type": cls.l2_types[int(rng.integers(len(cls.l2_types)))],
            "l2_banks": str(1 + (rng.random() < 0.6)),
        }
        s["l2_policy"] = cls.l2_policy[int(rng.integers(len(cls.l2_policy)))]
        if s["l2_type"] != "pipelined burst":
            s["l2_read_ws" if cls.form == "waits" else "l2_read"] = cls.l2_read[-1]
            s["l2_write_ws"] = cls.l2_write[-1]
        else:
            s |= {"l2_read": "3-1-1-1", "l2_write_ws": "0"}
    kind = cls.ram[int(rng.integers(len(cls.ram)))]
    grades = [g for g in cls.ram_ns if kind == "sdram" or not (kind == "fpm" and g == 50)]
    s |= {"ram_type": kind, "ram_ns": str(grades[int(rng.integers(len(grades)))])}
    s["ram_mb"] = str(cls.ram_mb[int(rng.integers(len(cls.ram_mb)))])
    if cls.dram_read:
        s["dram_read_ws" if cls.form == "waits" else "dram_read"] = cls.dram_read[-1 - int(rng.integers(2))]
        s["dram_write_ws"] = cls.dram_write[-1]
    if cls.cas:
        s |= {"cas": cls.cas[-1], "rcd": cls.rcd_set[-1], "rp": cls.rp_set[-1]}
    s["refresh"] = cls.refresh[0]
    if cls.isa_ratio:
        fit = [r for r in cls.isa_ratio if Fraction(bus) * Fraction(r) <= Fraction(43, 5)] or [
            cls.isa_ratio[-1]
        ]
        s["isa_ratio"] = max(fit, key=lambda r: Fraction(r))
    if cls.pci_ratio:
        fit = [r for r in cls.pci_ratio if Fraction(bus) * Fraction(r) <= Fraction(101, 3)]
        s["pci_ratio"] = max(fit, key=lambda r: Fraction(r))
    if cls.write_combine:
        s["write_combine"] = "off"
    s |= {
        "video": video,
        "video_bus": cls.video_bus[int(rng.integers(len(cls.video_bus)))],
        "profile": "bare",
    }
    if s["video_bus"] == "vlb":
        s["vlb_ws"] = cls.vlb_ws[-1]
    return s


def make(
    seed: int, board_id: str, cls: ClassRow, *, video: str = "display-a", rig: Mapping[str, str] | None = None
) -> Draft:
    """A generated board of that class, deterministic by seed and id."""
    rng = generator(seed, "sheet", board_id)
    cpu = rows().cpus[cls.cpus[int(rng.integers(len(cls.cpus)))]]
    chipset = cls.chipsets[int(rng.integers(len(cls.chipsets)))]
    start = first_state(cls, cpu, rng, board_id, video)
    reach = reach_of(cls, cpu, start)
    confirmed = bool(rng.random() < 0.6)
    return Draft(board_id, cls, chipset, cpu, start, reach, confirmed=confirmed, rig=rig or {})
