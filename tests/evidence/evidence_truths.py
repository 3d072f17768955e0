"""Hidden truths about a board and the files that such a board would give: what is declared is only what was typed.

Everything here is invented; each truth departs from the declaration in one way, everything else agrees with it.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache

from evidence_files import clock_ram, firmware, megabyte, pci_header, pci_text, serial_data

from leadoff.catalogue import Catalogue, load
from leadoff.evidence.facts import Fact, Hints, Source, Teller
from leadoff.evidence.reconcile import Conflict, reconcile, sweep_facts
from leadoff.evidence.screens.telling import rank_of, tell_facts
from leadoff.evidence.screens.values import Axis, Grid, Screen
from leadoff.evidence.sniff import read_source
from leadoff.forecast.facts import Setup
from leadoff.machine.boardfile import read_board_file
from leadoff.machine.clocks import clocks
from leadoff.machine.fold import start
from leadoff.machine.processors import base_straps, processor
from leadoff.memory.sweep import parse_sweep, read_sweep

GRID = Grid(x=Axis(start=0, pitch=8, cells=80, dots=8), y=Axis(start=0, pitch=16, cells=25, dots=16))
BUSES = {"a": Fraction(25), "b": Fraction(100, 3), "c": Fraction(40), "d": Fraction(50)}
PARTS = {
    "A80486DX4-100": ("0480", 16, "486DX4"),
    "A80486DX2-66": ("0435", 8, "486DX2"),
    "A80486DX-33": ("0404", 8, "486DX"),
    "A80486DX4WB100": ("0483", 16, "486DX4"),
}


@dataclass(frozen=True)
class Truth:
    """What is declared, and where the board departs from it. ``None``: as declared."""

    seed: int
    cpu: str = "A80486DX4-100"
    bus: str = "b"
    ratio: int = 3
    l2_kb: int = 256
    ram: tuple[int, int] = (8, 8)
    turbo: str = "on"
    write_back: bool = False
    bus_master: str = ""
    # departures
    true_bus_mhz: float | None = None
    true_ratio: float | None = None
    true_cpu: str | None = None
    slowed: float = 1.0
    true_l1: bool = True
    true_l2_kb: int | None = None
    counted_l2_kb: int | None = None
    counted_ram_mb: int | None = None
    named: str | None = None
    printed_mhz: float | None = None
    setup_l1: str | None = "Enabled"
    setup_l2: str | None = "Enabled"
    slower_beyond_mb: int | None = None
    ram_data: bytes | None = None
    module: bytes | None = None
    cards: dict[str, bytes] = field(default_factory=dict)
    images: tuple[bytes, ...] = ()
    bus_counted: bool = False
    timed: bool = True

    @property
    def rng(self) -> random.Random:
        return random.Random(self.seed)


def board_file(t: Truth) -> str:
    """The declaration as a person would type it."""
    memory = ", ".join(f'{{ site = "b{n}", mb = {mb}, type = "fpm", ns = 60 }}' for n, mb in enumerate(t.ram))
    card = (
        f'[[card]]\nslot = "1"\nbus = "isa"\nkind = "display"\nmaster = {t.bus_master}\n'
        if t.bus_master
        else ""
    )
    ratio = f'JP9 = "{ {2: "closed", 3: "open"}[t.ratio] }"\n' if t.cpu.startswith("A80486DX4") else ""
    jumper = (
        '[[jumper]]\nid = "JP9"\npositions = ["open", "closed"]\nsets = { ratio = { open = 3, closed = 2 } }\n'
        if t.cpu.startswith("A80486DX4")
        else ""
    )
    return f"""
[board]
id = "demo-486"
class = "486-vlb"
buses = ["vlb", "isa"]
rails = [{{ v = 3.3 }}, {{ v = 5.0 }}]
sheet_confirmed = true
[[jumper]]
id = "JP1"
positions = ["a", "b", "c", "d"]
sets = {{ bus_mhz = {{ a = 25, b = 33, c = 40, d = 50 }} }}
{jumper}
{card}
[fitted]
cpu = "{t.cpu}"
cache = {{ kb = {t.l2_kb}, ns = 15, banks = 2, chips = 8, tag_ns = 15, tag_bits = 8 }}
memory = [{memory}]
[[option]]
id = "ext"
choices = ["disabled", "enabled"]
label = "External Cache"
sets = {{ l2 = {{ disabled = "off", enabled = "on" }} }}
[[option]]
id = "int"
choices = ["disabled", "enabled"]
label = "Internal Cache"
sets = {{ l1 = {{ disabled = "off", enabled = "on" }} }}
[now]
JP1 = "{t.bus}"
{ratio}ext = "enabled"
int = "enabled"
turbo = "{t.turbo}"
{'l1_policy = "wb"' if t.write_back else ""}
"""


@cache
def catalogue() -> Catalogue:
    return load()


def declared(t: Truth) -> Setup:
    """The state as declared."""
    sheet = read_board_file(board_file(t))
    fold = start(sheet)
    part = processor(t.cpu, catalogue())
    base = base_straps(sheet, catalogue())
    state = fold.state(part, base)
    found = clocks(state, sheet, part)
    return Setup(sheet=sheet, state=state, clocks={n: c.mhz for n, c in found.items()}, processor=part)


def files(t: Truth) -> list[tuple[str, bytes]]:
    """What the bench gives of the truth: an identification dump, clock RAM, and whatever the truth adds."""
    rng = t.rng
    cpu = t.true_cpu or t.cpu
    bus = t.true_bus_mhz if t.true_bus_mhz is not None else float(BUSES[t.bus])
    fixed = {"A80486DX2-66": 2, "A80486DX-33": 1}.get(cpu)
    ratio = t.true_ratio if t.true_ratio is not None else fixed or t.ratio
    core = bus * ratio * t.slowed * rng.gauss(1, 0.001)
    sign = PARTS[cpu][0]
    text = (
        "CPUID 00000000 00000001 756E6547 6C65746E 49656E69\n"
        f"CPUID 00000001 0000{sign} 00000000 00000000 00000003\n"
    )
    if t.timed:
        text += f"core {core:.2f} MHz by the cycle counter\n"
    if t.bus_counted:
        text += f"bus {bus * rng.gauss(1, 0.0005):.2f} MHz frequency counter\n"
    extended = (t.counted_ram_mb or sum(t.ram)) * 1024 - 1024
    ram = t.ram_data if t.ram_data is not None else clock_ram(extended_kb=extended, seed=t.seed)
    out = [("cpu.txt", text.encode()), ("clock.bin", ram)]
    if t.module is not None:
        out.append(("module.bin", t.module))
    if t.cards:
        out.append(("pci.txt", pci_text(t.cards)))
    out += [(f"image{n}.bin", data) for n, data in enumerate(t.images)]
    return out


def screens(t: Truth) -> list[tuple[str, ...]]:
    """The start screen, and the set-up menu, as text."""
    cpu = PARTS[t.true_cpu or t.cpu][2]
    counted = t.counted_l2_kb if t.counted_l2_kb is not None else t.l2_kb
    printed = f"CPU Type: {t.named or cpu}"
    first = [printed, f"Cache Memory: {counted} KB"]
    if t.printed_mhz:
        first.append(f"CPU Clock: {t.printed_mhz:g} MHz")
    menu = ["SETUP  ESC quit  F10 save", "Fast Gate A20   : Enabled", "Parity Check    : Disabled"]
    menu += [f"{n} Cache : {v}" for n, v in (("Internal", t.setup_l1), ("External", t.setup_l2)) if v]
    return [tuple(first), tuple(menu)]


def sweep_text(t: Truth) -> str:
    """Block sizes and microseconds for each KB, with one percent of noise."""
    rng = t.rng
    inside = PARTS[t.true_cpu or t.cpu][1] if t.true_l1 else 0
    outer = t.true_l2_kb if t.true_l2_kb is not None else t.l2_kb
    largest = 2048 if t.slower_beyond_mb is None else t.slower_beyond_mb * 4096
    rows, size = [], 1
    while size <= largest:
        if size <= inside:
            us = 10.0
        elif size <= outer:
            us = 26.0
        elif t.slower_beyond_mb is None or size <= t.slower_beyond_mb * 1024:
            us = 38.0
        else:
            us = 62.0
        rows.append(f"{size}K {us * rng.gauss(1, 0.01):.2f}us/KB")
        size *= 2
    return ", ".join(rows)


def facts(t: Truth, *, sweep: bool = True, screen: bool = True) -> list[Fact]:
    """All facts, through the readers."""
    setup = declared(t)
    hints = Hints(catalogue=catalogue())
    out: list[Fact] = []
    for name, data in files(t):
        out += read_source(Source.of(name, data), hints).facts
    for n, lines in enumerate(screens(t) if screen else ()):
        shown = Screen(
            grid=GRID,
            lines=lines,
            certainty=tuple(tuple(1.0 for _ in line) for line in lines),
        )
        tell = Teller(Source.of(f"screen{n}.png", "\n".join(lines).encode()), rank_of(shown))
        tell_facts(shown, tell)
        out += tell.facts
    if sweep:
        inside = setup.processor.l1_kb if setup.processor else None
        reading = read_sweep(parse_sweep(sweep_text(t)), bus_mhz=setup.clock("bus_mhz"), line_bytes=16)
        out += sweep_facts(reading, l1_kb=inside, l2_kb=float(t.l2_kb))
    return out


def cores_of(name: str) -> frozenset[str]:
    return frozenset(r.core for r in catalogue().find_cpu(name) if r.core)


def found(t: Truth, **which: bool) -> tuple[Conflict, ...]:
    """Conflicts of a truth."""
    return reconcile(declared(t), facts(t, **which), cores_of)


Make = Callable[[int], Truth]


def _any(seed: int) -> Truth:
    rng = random.Random(seed)
    return Truth(
        seed=seed,
        bus=rng.choice(["a", "b"]),
        ratio=rng.choice([2, 3]),
        l2_kb=rng.choice([128, 256, 512]),
        ram=rng.choice([(8, 8), (4, 16), (16, 4)]),
    )


def _other_bus(t: Truth) -> str:
    # one that no other ratio of the jumper would explain as well
    same = BUSES[t.bus] * (5 - t.ratio) / t.ratio
    options = [b for b, mhz in BUSES.items() if b != t.bus and abs(float(mhz / same) - 1) > 0.03]
    return t.rng.choice(options)


def _ratio(seed: int) -> Truth:
    t = _any(seed)
    return replace(t, true_ratio=5 - t.ratio)


def _bus(seed: int) -> Truth:
    t = _any(seed)
    return replace(t, true_bus_mhz=float(BUSES[_other_bus(t)]), bus_counted=False)


def _bus_counted(seed: int) -> Truth:
    return replace(_bus(seed), bus_counted=True)


def _turbo(seed: int) -> Truth:
    t = replace(_any(seed), ratio=2, turbo=random.Random(seed).choice(["on", "off"]))
    return replace(t, slowed=t.rng.uniform(0.12, 0.3))


def _clock_chip(seed: int) -> Truth:
    t = _any(seed)
    return replace(t, true_bus_mhz=float(BUSES[t.bus]) * t.rng.choice([0.97, 1.025, 1.035]), bus_counted=True)


def _other_cpu(seed: int) -> Truth:
    t = replace(_any(seed), cpu="A80486DX2-66", ratio=2, timed=False)
    return replace(t, true_cpu="A80486DX-33")


def _policy_pin(seed: int) -> Truth:
    return replace(_any(seed), cpu="A80486DX4WB100", write_back=True)


def _old_firmware(seed: int) -> Truth:
    return replace(_any(seed), named="486DX2", setup_l1=None)


def _old_firmware_clock(seed: int) -> Truth:
    t = _any(seed)
    return replace(t, printed_mhz=float(BUSES[t.bus]) * t.ratio * t.rng.choice([0.66, 0.8]))


def _old_firmware_no_l1(seed: int) -> Truth:
    return replace(_any(seed), named="486DX2", true_l1=False)


def _l1_off(seed: int) -> Truth:
    return replace(_any(seed), true_l1=False, setup_l1=random.Random(seed).choice(["Disabled", None]))


def _l2_off(seed: int) -> Truth:
    return replace(_any(seed), true_l2_kb=0, setup_l2="Disabled")


def _dummy(seed: int) -> Truth:
    return replace(_any(seed), true_l2_kb=0)


def _tag_missing(seed: int) -> Truth:
    return replace(_any(seed), true_l2_kb=0, counted_l2_kb=0, setup_l2="Enabled")


def _half_jumper(seed: int) -> Truth:
    t = _any(seed)
    return replace(t, true_l2_kb=t.l2_kb // 2, counted_l2_kb=t.l2_kb // 2)


def _half_dead(seed: int) -> Truth:
    t = _any(seed)
    return replace(t, true_l2_kb=t.l2_kb // 2)


def _larger(seed: int) -> Truth:
    t = replace(_any(seed), l2_kb=256)
    return replace(t, true_l2_kb=512, counted_l2_kb=512)


def _short_tag(seed: int) -> Truth:
    return replace(_any(seed), ram=(16, 16), slower_beyond_mb=random.Random(seed).choice([8, 16]))


def _module_out(seed: int) -> Truth:
    t = replace(_any(seed), ram=random.Random(seed).choice([(4, 16), (16, 4), (8, 32)]))
    return replace(t, counted_ram_mb=sum(t.ram) - t.rng.choice(t.ram))


def _one_side(seed: int) -> Truth:
    t = replace(_any(seed), ram=random.Random(seed).choice([(32,), (8, 8, 8, 8), (4, 4, 8, 8)]))
    return replace(t, counted_ram_mb=sum(t.ram) // 2)


def _more_memory(seed: int) -> Truth:
    t = _any(seed)
    return replace(t, counted_ram_mb=sum(t.ram) + t.rng.choice([4, 8, 12]))


def _flat(seed: int) -> Truth:
    t = _any(seed)
    return replace(t, ram_data=clock_ram(valid=False, good_sum=False, diagnostic=0xC0, seed=seed))


def _cleared(seed: int) -> Truth:
    return replace(_any(seed), ram_data=clock_ram(seed=seed)[:14] + b"\xff" * 114)


def _standing(seed: int) -> Truth:
    return replace(_any(seed), ram_data=clock_ram(running=False, good_sum=False, seed=seed))


def _changed_memory(seed: int) -> Truth:
    t = _any(seed)
    now = sum(t.ram) * 1024 - 1024
    return replace(t, ram_data=clock_ram(extended_kb=now, stored_kb=now - 4096, seed=seed))


def _edo(seed: int) -> Truth:
    return replace(_any(seed), module=serial_data(2, rows=11, columns=11, sides=1, banks=1, seed=seed))


def _master(seed: int) -> Truth:
    card = pci_header(0x1234, 0x1111, 0x010000, command=7, seed=seed)
    return replace(_any(seed), bus_master="false", cards={"00:0c.0": card})


def _image(seed: int) -> Truth:
    runs = megabyte(firmware(seed % 4 + 20, smbios="new"))
    bare = firmware(seed % 4 + 30, smbios="")
    return replace(_any(seed), images=(runs, bare), timed=False)


KINDS: dict[str, tuple[Make, str, str]] = {
    "ratio jumper moved": (_ratio, "core_clock", "ratio_jumper"),
    "bus jumper moved, core timed": (_bus, "core_clock", "bus_jumper"),
    "bus jumper moved, bus counted": (_bus_counted, "bus_clock", "bus_jumper"),
    "turbo off": (_turbo, "core_clock", "turbo"),
    "clock chip off its table": (_clock_chip, "bus_clock", "clock_off_nominal"),
    "another part fitted": (_other_cpu, "other_part", "other_part_fitted"),
    "write-back pin at write-through": (_policy_pin, "policy_pin", "wb_pin"),
    "firmware older than the part": (_old_firmware, "firmware_name", "firmware_older"),
    "firmware prints another clock": (_old_firmware_clock, "firmware_clock", "firmware_rounds"),
    "old firmware leaves the first level off": (
        _old_firmware_no_l1,
        "no_first_level",
        "firmware_does_not_enable",
    ),
    "first level off in set-up": (_l1_off, "no_first_level", "l1_off_in_setup"),
    "second level off in set-up": (_l2_off, "no_second_level", "l2_off_in_setup"),
    "dummy cache chips": (_dummy, "no_second_level", "dummy_chips"),
    "tag chip missing": (_tag_missing, "no_second_level", "tag_missing"),
    "size jumper for half": (_half_jumper, "smaller_second_level", "size_jumper"),
    "one bank does not answer": (_half_dead, "smaller_second_level", "bank_dead"),
    "more cache than declared": (_larger, "larger_second_level", "sheet_wrong"),
    "half-size tag": (_short_tag, "cacheable_range", "short_tag"),
    "a module not seated": (_module_out, "memory_counted", "module_not_counted"),
    "one side of the modules counted": (_one_side, "memory_counted", "one_side_counted"),
    "more memory than declared": (_more_memory, "memory_counted", "sheet_wrong"),
    "cell flat": (_flat, "setup_lost", "cell_flat"),
    "RAM cleared": (_cleared, "setup_lost", "cleared_on_purpose"),
    "clock standing": (_standing, "setup_lost", "clock_stopped"),
    "memory changed since set-up": (_changed_memory, "memory_stored", "memory_changed"),
    "module of the other kind": (_edo, "module_type", "other_module"),
    "a card masters the bus": (_master, "bus_master", "card_fitted"),
    "image of another chip": (_image, "firmware_image", "image_of_another_chip"),
}
"""Truth, the conflict that must be found, and the hypothesis that must lead."""

healthy: Make = _any
