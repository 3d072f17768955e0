"""How hard a state drives each path of a board: log of clock over what the path is made for."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache

import msgspec

from leadoff.forecast.facts import Setup
from leadoff.forecast.rows import group, values
from leadoff.record.board import BoardSheet


class Load(msgspec.Struct, frozen=True, kw_only=True):
    """One path's load. ``whose`` names the thing whose limit it is: a specimen keeps its own from board to
    board. ``doubt``: extra standard deviation of the reference, where it had to be assumed."""

    path: str
    whose: str
    log_load: float
    doubt: float
    why: str


def loads(setup: Setup) -> tuple[Load, ...]:
    """The paths of a state whose clock is known; a path that nothing is known of is left out."""
    return tuple(load for made in (_core, _cartridge, _bus, _cache, _memory, _sides) for load in made(setup))


def family(setup: Setup) -> str:
    """Class of board as far as limits go: the longest family name that the class starts with."""
    return _family(setup.sheet.board_class, setup.sheet.socket or "")


@lru_cache(maxsize=256)
def _family(board_class: str, socket: str) -> str:
    word = f"{board_class} {socket}".lower().replace(" ", "").replace("-", "")
    names = sorted(group("hold", "bus"), key=len, reverse=True)
    return next((n for n in names if word.startswith(n)), next((n for n in names if n in word), "486"))


def specimen(setup: Setup) -> str:
    """Which physical processor it is, as far as known: the specimen, else the part on this board."""
    name = setup.state.value("cpu_specimen")
    return f"cpu:{name}" if name else f"cpu:{setup.board}:{setup.state.value('cpu') or '?'}"


def _core(setup: Setup) -> Iterator[Load]:
    clock = setup.clock("core_mhz")
    if clock is None:
        return
    part, row = setup.processor, group("hold", "core")
    doubt = values("hold")["unknown_reference"]
    rated, why = group("hold", "rated")[family(setup)], "usual rating of the class"
    if part is not None and part.rated_mhz:
        rated, doubt, why = float(part.rated_mhz), 0.0, f"rated {float(part.rated_mhz):.4g} MHz"
    load = math.log(clock / rated)
    volts = _number(setup.state.value("core_v"))
    if volts and part is not None and part.v_typ:
        load -= row["volts_exponent"] * math.log(volts / part.v_typ)
        why += f" at {part.v_typ:g} V, here {volts:g} V"
    degrees = _number(setup.state.value("temp_c"))
    if degrees is not None:
        load -= row["per_kelvin"] * (degrees - row["at_c"])
    yield Load(
        path="core", whose=specimen(setup), log_load=load, doubt=doubt, why=f"core {clock:.4g} MHz, {why}"
    )


def _cartridge(setup: Setup) -> Iterator[Load]:
    part, clock = setup.processor, setup.clock("l2_mhz")
    if part is not None and part.l2_rated_mhz and clock is not None:
        rated = float(part.l2_rated_mhz)
        yield Load(
            path="cartridge",
            whose=specimen(setup),
            log_load=math.log(clock / rated),
            doubt=0.0,
            why=f"cache on the part {clock:.4g} MHz, rated {rated:.4g}",
        )


def _bus(setup: Setup) -> Iterator[Load]:
    clock = setup.clock("bus_mhz")
    if clock is not None:
        made_for, who = group("hold", "bus")[family(setup)], "boards of the class are"
        if (wired := _divided_for(setup.sheet)) > made_for:
            made_for, who = wired, "this board, by its PCI divider, is"
        why = f"bus {clock:.4g} MHz, {who} made for {made_for:.4g}"
        yield Load(path="bus", whose="board", log_load=math.log(clock / made_for), doubt=0.0, why=why)


def _divided_for(sheet: BoardSheet) -> float:
    """The fastest bus clock for which the sheet has a PCI divider of three or more that keeps PCI inside its
    limit, MHz; 0 when there is none. Nobody wires a third divider but for a clock the board is meant to run."""
    most = group("hold", "side")["pci"] * 1.01
    rows = ((float(Fraction(k)), Fraction(v)) for k, v in sheet.dividers.get("pci", {}).items() if k != "*")
    return max((bus for bus, by in rows if by <= Fraction(1, 3) and bus * float(by) <= most), default=0.0)


def _sides(setup: Setup) -> Iterator[Load]:
    for name, limit in group("hold", "side").items():
        clock = setup.clock(f"{name}_mhz")
        if clock is not None:
            why = f"{name.upper()} {clock:.4g} MHz, limit {limit:.4g}"
            yield Load(path=name, whose="board", log_load=math.log(clock / limit), doubt=0.0, why=why)


def _cache(setup: Setup) -> Iterator[Load]:
    """Board cache, one path for each setting that may be the tight one: the lead-off of a read against address, tag
    and compare, later beats against the data chips, a write hit against a pulse that fires after the compare."""
    clock = setup.clock("bus_mhz")
    size = _number(setup.state.value("l2_kb"))
    if clock is None or setup.state.value("l2") == "off" or not size or setup.clock("l2_mhz") is not None:
        return
    kind = family(setup)
    wide = kind.startswith(("socket", "slot"))
    over = group("hold", "overhead")
    grade = _number(setup.state.value("l2_ns"))
    ns = grade or group("hold", "assumed")["sram_64bit" if wide else "sram"]
    fixed = over["64bit"] if wide else over["386"] if kind.startswith("386") else over["486"]
    doubt = 0.0 if grade else values("hold")["unknown_reference"]
    chips = f"cache of {ns:g} ns{'' if grade else ' (assumed)'} at {clock:.4g} MHz"
    if (setup.state.value("l2_type") or "async") not in ("async", "asynchronous"):
        return  # a clocked cache keeps its pattern or fails with the bus: the bus path covers it
    read = _beats(setup, "l2_read")
    if read is not None:
        need = (ns + fixed) * clock / (1000.0 * read[0])
        yield _board("cache", need, doubt, f"{chips}, read lead-off {read[0]:g}")
        if read[1] > 0:
            banks = _number(setup.state.value("l2_banks")) or 1.0
            need = (ns + over["beat"]) * clock / (1000.0 * read[1] * min(banks, 2.0))
            yield _board("cache beat", need, doubt, f"{chips}, later beats {read[1]:g}")
    write = _number(setup.state.value("l2_write_ws"))
    if write is not None:
        need = (ns + fixed + over["pulse"]) * clock / (1000.0 * (2.0 + write))
        yield _board("cache write", need, doubt, f"{chips}, write wait states {write:g}")


def _memory(setup: Setup) -> Iterator[Load]:
    """Memory, one path for each setting: lead-off, later beats and write, or latency, row and precharge."""
    clock = setup.clock("mem_mhz") or setup.clock("bus_mhz")
    if clock is None:
        return
    kind = (setup.state.value("ram_type") or "").lower()
    grade = _number(setup.state.value("ram_ns"))
    ns = grade or group("hold", "assumed").get(kind or "fpm", 60.0)
    doubt = 0.0 if grade else values("hold")["unknown_reference"]
    chips = f"memory of {ns:g} ns at {clock:.4g} MHz"
    over = group("hold", "overhead")
    if kind == "sdram":
        latency = _number(setup.state.value("cas")) or 3.0
        # A part graded by its period at CL3 needs about 10 ns at CL2 when it is a 10 ns part, 15 when slower.
        need = ns * clock / 1000.0 * (1.0 if latency >= 3.0 else 1.25)
        yield _board("memory", need, doubt, f"{chips}, CL{latency:g}")
        for name, what in (("rcd", "row to column"), ("rp", "precharge")):
            given = _number(setup.state.value(name))
            if given:
                need = over["row"] * clock / (1000.0 * given)
                yield _board(f"memory {name}", need, doubt, f"{chips}, {what} {given:g}")
        return
    beats = _beats(setup, "dram_read")
    if beats is not None:
        need = (0.5 * ns + over["memory"]) * clock / (1000.0 * beats[0])
        yield _board("memory", need, doubt, f"{chips}, read lead-off {beats[0]:g}")
        if beats[1] > 0:
            need = (0.6 * ns) * clock / (1000.0 * beats[1])
            yield _board("memory beat", need, doubt, f"{chips}, later beats {beats[1]:g}")
    write = _number(setup.state.value("dram_write_ws"))
    if write is not None:
        need = (0.5 * ns + over["memory"]) * clock / (1000.0 * (3.0 + write))
        yield _board("memory write", need, doubt, f"{chips}, write wait states {write:g}")


def _board(path: str, need: float, doubt: float, why: str) -> Load:
    return Load(path=path, whose="board", log_load=math.log(need), doubt=doubt, why=why)


def _beats(setup: Setup, name: str) -> tuple[float, float] | None:
    """Lead-off and later beats in clocks: a pattern, or wait states over a two-clock access."""
    text = setup.state.value(name)
    if text:
        words = [w for w in text.split("-") if w.isdigit()]
        if len(words) > 1:
            return float(words[0]), float(words[1])
    waits = _number(setup.state.value(f"{name}_ws"))
    return (2.0 + waits, 0.0) if waits is not None else None


@lru_cache(maxsize=4096)
def _number(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        return float(Fraction(text))
    except (ValueError, ZeroDivisionError):
        return None
