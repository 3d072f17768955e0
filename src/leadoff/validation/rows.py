"""The data rows a world is made from, read once from the TOML files beside this module."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from importlib.resources import files
from typing import Any


@dataclass(frozen=True)
class CoreRow:
    """A core design: clocks per unit of work over the 486's, first-level cache, write buffer entries."""

    id: str
    integer: float
    fp: float
    copy: float
    l1_kb: float
    ways: int
    line: int
    stores: int
    free: float
    bus_bytes: int
    tail: float
    volts: float
    wb: bool = False
    alloc: bool = False
    alloc_switch: bool = False
    own_l2_kb: float = 0.0
    own_l2_ratio: float = 1.0


@dataclass(frozen=True)
class CpuRow:
    """A processor: its core, rating, volts and the ratios it decodes."""

    id: str
    core: str
    rated_mhz: str
    v: float
    v_max: float
    amps: float
    watts: float
    ratios: tuple[str, ...]


@dataclass(frozen=True)
class WorkloadRow:
    """What a workload demands of a machine, per unit of work; see the notes in workloads.toml."""

    name: str
    text: str
    unit: str
    form: str
    work: float
    kcycles: float
    mix: tuple[float, ...]
    sets: tuple[tuple[float, float], ...]
    spatial: float
    stores: float
    store_miss: float
    clustered: float
    dirty: float
    locality: float
    video: float
    blit: float
    fixed_ms: float
    int_hz: float
    int_clocks: float
    resolution: float
    printing: str
    minutes: float
    top: float
    ems: float
    needs: tuple[str, ...]


@dataclass(frozen=True)
class ChipsetRow:
    """The registers of one chipset that no sheet shows."""

    id: str
    rcd: int
    rp: int
    look: float
    post: float
    hold_us: float
    banks: int
    closed: float
    burst_pci: float
    combined: bool
    top_mhz: float


@dataclass(frozen=True)
class ClassRow:
    """A class of boards: what can be set and fitted."""

    id: str
    board_class: str
    bus_ac: str
    buses: tuple[str, ...]
    socket: str
    cpus: tuple[str, ...]
    form: str
    clock: str
    bus_mhz: tuple[str, ...]
    l2_kb: tuple[int, ...]
    ram: tuple[str, ...]
    ram_ns: tuple[int, ...]
    ram_mb: tuple[int, ...]
    video_bus: tuple[str, ...]
    isa_ratio: tuple[str, ...]
    refresh: tuple[str, ...]
    rails: tuple[str, ...]
    chipsets: tuple[ChipsetRow, ...]
    ratio: tuple[str, ...] = ()
    l2_ns: tuple[int, ...] = ()
    l2_types: tuple[str, ...] = ()
    l2_read: tuple[str, ...] = ()
    l2_write: tuple[str, ...] = ()
    l2_policy: tuple[str, ...] = ()
    tag_bits: int = 8
    dram_read: tuple[str, ...] = ()
    dram_write: tuple[str, ...] = ()
    cas: tuple[str, ...] = ()
    rcd_set: tuple[str, ...] = ()
    rp_set: tuple[str, ...] = ()
    cacheable_mb: int = 0
    vlb_ws: tuple[str, ...] = ()
    pci_ratio: tuple[str, ...] = ()
    pci_fixed: str = ""
    pci_table: Mapping[str, str] = field(default_factory=dict)
    agp_table: Mapping[str, str] = field(default_factory=dict)
    write_combine: tuple[str, ...] = ()


@dataclass(frozen=True)
class Rows:
    """All rows by id, and the delay tables as they stand in the file."""

    cores: Mapping[str, CoreRow]
    cpus: Mapping[str, CpuRow]
    workloads: Mapping[str, WorkloadRow]
    classes: Mapping[str, ClassRow]
    cards: Mapping[str, Mapping[str, float]]
    bus_ac: Mapping[str, Mapping[str, list[float]]]
    sram: Mapping[str, list[float]]
    dram: Mapping[str, Mapping[str, list[float]]]


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files("leadoff.validation").joinpath("data", name).read_text(encoding="utf-8"))


def _frozen(value: Any) -> Any:
    return tuple(_frozen(v) for v in value) if isinstance(value, list) else value


def _made(kind: type[Any], row: Mapping[str, Any]) -> Any:
    return kind(**{k: _frozen(v) for k, v in row.items()})


def _class(row: Mapping[str, Any]) -> ClassRow:
    chipsets = tuple(_made(ChipsetRow, c) for c in row["chipsets"])
    rest = {k: v for k, v in row.items() if k != "chipsets"}
    made: ClassRow = _made(ClassRow, {**rest, "chipsets": list(chipsets)})
    return made


@lru_cache(maxsize=1)
def rows() -> Rows:
    """Every row, read once."""
    cards = _read("cards.toml")
    return Rows(
        cores={r["id"]: _made(CoreRow, r) for r in _read("cores.toml")["core"]},
        cpus={r["id"]: _made(CpuRow, r) for r in _read("cpus.toml")["cpu"]},
        workloads={r["name"]: _made(WorkloadRow, r) for r in _read("workloads.toml")["workload"]},
        classes={r["id"]: _class(r) for r in _read("classes.toml")["class"]},
        cards={r["id"]: r["ns"] for r in cards["card"]},
        bus_ac={r["bus"]: r for r in cards["bus_ac"]},
        sram=cards["sram"][0],
        dram={r["type"]: r for r in cards["dram"]},
    )


@lru_cache(maxsize=4096)
def mhz(text: str) -> float:
    """A clock or ratio in canonical text, as a float."""
    return float(Fraction(text))
