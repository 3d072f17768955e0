"""What nobody sees of a board: registers, efficiency, cache curve, and how far its silicon really reaches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from leadoff.validation.keyed import generator, normal
from leadoff.validation.rows import ChipsetRow, ClassRow, CoreRow, CpuRow, mhz, rows

CLASS_SD, BOARD_SD = 0.0245, 0.005
CURVE_SD = 0.20  # of the log of a working set as the board's cache sees it


@dataclass(frozen=True)
class Limits:
    """True limits of one board. Silicon factors: real delay over the delay of the data sheet."""

    sram: float
    logic: float
    dram: float
    top_mhz: float
    vlb_mhz: float
    pci_mhz: float
    agp_mhz: float
    isa_mhz: float
    buffer_ns: float
    compare_ns: float


@dataclass(frozen=True)
class Hidden:
    """The truth about one board."""

    id: str
    cls: ClassRow
    chipset: ChipsetRow
    efficiency: float
    curve: dict[int, float]
    quirk: dict[str, float]
    limits: Limits
    seed: int
    reach: float = 0.0  # of the processor over its rating; 0 draws it from the specimen


def draw(seed: int, board_id: str, cls: ClassRow, chipset: ChipsetRow, *, other: bool) -> Hidden:
    """The hidden truth of a board, from the seed and its id."""
    rng = generator(seed, "limits", board_id)
    z = rng.standard_normal(10)
    limits = Limits(
        sram=float(np.clip(0.80 * np.exp(0.10 * z[0]), 0.55, 1.0)),
        logic=float(np.clip(0.82 * np.exp(0.08 * z[1]), 0.55, 1.0)),
        dram=float(np.clip(0.82 * np.exp(0.08 * z[2]), 0.55, 1.0)),
        top_mhz=float(chipset.top_mhz * np.exp(0.035 * z[3])),
        vlb_mhz=max(34.8, float(46.0 * np.exp(0.09 * z[4]))),
        pci_mhz=max(34.8, float(39.0 * np.exp(0.06 * z[5]))),
        agp_mhz=max(69.6, float(90.0 * np.exp(0.06 * z[6]))),
        isa_mhz=max(8.7, float(12.5 * np.exp(0.12 * z[7]))),
        buffer_ns=float(abs(4.0 + 2.5 * z[8])),
        compare_ns=float(12.0 * np.exp(0.12 * z[9])),
    )
    sizes = sorted({*cls.l2_kb, 128, 256, 512, 1024})
    return Hidden(
        id=board_id,
        cls=cls,
        chipset=chipset,
        efficiency=CLASS_SD * normal(seed, "class", chipset.id) + BOARD_SD * normal(seed, "board", board_id),
        curve={kb: CURVE_SD * normal(seed, "curve", board_id, kb) for kb in sizes},
        quirk={w: (0.008 if other else 0.0) * normal(seed, "quirk", board_id, w) for w in rows().workloads},
        limits=limits,
        seed=seed,
    )


WARM_C = 45.0  # what a processor runs at when nobody measured it
PER_DEGREE = 0.0012  # of the ceiling lost per degree, judgement


def ceiling_mhz(board: Hidden, specimen: str, cpu: CpuRow, volts: float, temp_c: float = WARM_C) -> float:
    """Clock up to which this specimen computes rightly at that supply and temperature, in MHz."""
    core: CoreRow = rows().cores[cpu.core]
    rated = mhz(cpu.rated_mhz)
    reach = board.reach or 1.19 * np.exp(0.075 * normal(board.seed, "specimen", specimen))
    nominal = cpu.v or core.volts
    return float(rated * max(1.04, reach) * (volts / nominal) ** 0.8 * (1.0 - PER_DEGREE * (temp_c - WARM_C)))
