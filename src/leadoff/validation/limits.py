"""Where a state stops holding: true margins by path from data-sheet budgets and this board's silicon.

A margin is the log of what there is over what is needed; near zero a state is flaky. Budgets count from the
edge that starts T1 (leadoff's note on static timing): a lead-off of N clocks covers address valid, buffers,
access, skew and set-up.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import erf, log, sqrt

import numpy as np

from leadoff.validation.columns import bus_text, one, pattern, pci_over_bus
from leadoff.validation.hidden import WARM_C, Hidden, ceiling_mhz
from leadoff.validation.rows import mhz, rows

FLAKY = 0.012  # sd of a margin from one attempt to the next
# Invented, about what timing notes of the trade assume; the controller's own delays are not published.
SKEW_NS, CONTROL_NS, EDGE_NS, DECODE_NS, BUFFER_NS, STEP_NS = 1.5, 9.0, 14.0, 12.0, 8.0, 8.0
PLACES = {
    "core": ("no_start", "fails_mid_run"),
    "bus": ("no_start", "starts"),
    "l2": ("starts", "fails_mid_run"),
    "tag": ("starts", "fails_mid_run"),
    "l2_write": ("boots", "fails_mid_run"),
    "dram": ("starts", "fails_mid_run"),
    "vlb": ("boots", "fails_mid_run"),
    "pci": ("boots", "fails_mid_run"),
    "agp": ("boots", "fails_mid_run"),
    "isa": ("starts", "boots"),
}
"""Path: outcome when far beyond its limit, and when just beyond it."""


def _at(x: float, xs: list[float], ys: list[float]) -> float:
    return float(np.interp(x, xs, ys))


def margins(board: Hidden, s: Mapping[str, str]) -> dict[str, float]:
    """Log margin by path; negative does not hold. Paths that the state does not use are absent."""
    c = one(board, s)
    cpu, table, lim = rows().cpus[s["cpu"]], rows(), board.limits
    fb, period = c["fb"], 1000.0 / c["fb"]
    ac = table.bus_ac[board.cls.bus_ac]
    address = _at(fb, ac["mhz"], ac["address_ns"]) * lim.logic + lim.buffer_ns
    setup = _at(fb, ac["mhz"], ac["setup_ns"]) * lim.logic
    volts = float(s.get("core_v", cpu.v))
    specimen = s.get("cpu_specimen", f"{board.id}:{cpu.id}")
    ceiling = ceiling_mhz(board, specimen, cpu, volts, float(s.get("temp_c", WARM_C)))
    out = {
        "core": log(ceiling / c["fc"]),
        "bus": log(lim.top_mhz / fb),
        "isa": log(lim.isa_mhz / c["f_isa"]),
    }
    if c["f_l2"] == fb and c["l2_kb"] > 0 and s.get("l2_type") != "pipelined burst":
        out |= _cache(board, s, c, address, setup, period)
    out["dram"] = _memory(board, s, c, period)
    if s["video_bus"] == "vlb":
        out["vlb"] = log(lim.vlb_mhz * (1.16 if s.get("vlb_ws") == "1" else 1.0) / fb)
    if "pci" in board.cls.buses:
        out["pci"] = log(lim.pci_mhz / (fb * mhz(pci_over_bus(board, s, bus_text(s)))))
    if s["video_bus"] == "agp":
        out["agp"] = log(lim.agp_mhz / c["f_agp"])
    return out


def _cache(
    board: Hidden, s: Mapping[str, str], c: Mapping[str, float], address: float, setup: float, period: float
) -> dict[str, float]:
    sram, lim = rows().sram, board.limits
    grade = float(s["l2_ns"])
    access = grade * lim.sram
    tag = float(s.get("tag_ns", grade)) * lim.sram
    enable = _at(grade, sram["ns"], sram["enable_ns"]) * lim.sram
    pulse = _at(grade, sram["ns"], sram["pulse_ns"]) * lim.sram
    compare = lim.compare_ns * lim.logic
    lead = c["l2_lead"]
    need = address + access + SKEW_NS + setup
    out = {"l2": log(lead * period / need)}
    if board.cls.form == "pattern":
        _, rest = pattern(s["l2_read"])
        beat = rest / 3.0
        step = CONTROL_NS * lim.logic + SKEW_NS + setup
        two = s.get("l2_banks", "2") == "2"
        burst = (
            min(2 * beat * period / (step + access), beat * period / (step + enable))
            if two
            else (beat * period / (step + access))
        )
        out["l2"] = min(out["l2"], log(burst))
    out["tag"] = log(lead * period / (address + tag + compare + setup + SKEW_NS))
    out["l2_write"] = log(c["l2_write"] * period / (address + tag + compare + pulse + SKEW_NS))
    return out


def _memory(board: Hidden, s: Mapping[str, str], c: Mapping[str, float], period: float) -> float:
    table, k = rows().dram[s["ram_type"]], board.limits.dram
    grade = float(s["ram_ns"])
    part = {n: _at(grade, table["ns"], table[n]) * k for n in ("rac", "aa", "pc", "rcd", "rp")}
    edge, decode = EDGE_NS * board.limits.logic, DECODE_NS * board.limits.logic
    if s["ram_type"] == "sdram":
        found = [
            float(s["cas"]) * period / (part["aa"] + 3.0 * board.limits.logic),
            period / part["pc"],
            c["rcd"] * period / part["rcd"],
            c["rp"] * period / part["rp"],
        ]
        return log(min(found))
    found = [
        c["d_lead"] * period / (part["aa"] + edge + decode + BUFFER_NS),
        (c["d_lead"] + c["rcd"]) * period / (part["rac"] + edge + decode + BUFFER_NS),
        (c["rp"] + 0.5) * period / part["rp"],
        c["d_write"] * period / (part["aa"] + edge),
    ]
    if c["d_tail"] > 0:
        found.append(c["d_tail"] / 3.0 * period / (part["pc"] + STEP_NS * board.limits.logic))
    return log(min(found))


def chance(found: Mapping[str, float]) -> float:
    """Chance that one attempt holds, over all paths."""
    out = 1.0
    for margin in found.values():
        out *= 0.5 * (1.0 + erf(margin / FLAKY / sqrt(2.0)))
    return out


def verdict(found: Mapping[str, float], draws: Mapping[str, float]) -> tuple[str, str]:
    """Outcome and path of one attempt; ``draws`` are standard normal, one per path. Outcome "" holds."""
    shaken = {p: m + FLAKY * draws.get(p, 0.0) for p, m in found.items()}
    worst = min(shaken, key=lambda p: shaken[p])
    if shaken[worst] >= 0:
        return "", ""
    far, near = PLACES[worst]
    return (far if shaken[worst] < -0.045 else near), worst
