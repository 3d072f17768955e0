"""Seconds per unit of work: cycle by cycle rules of data sheets, in terms that add up."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from leadoff.validation.columns import Columns
from leadoff.validation.demand import Mill, demand
from leadoff.validation.hidden import Hidden
from leadoff.validation.storequeue import backlog, stall

Array = NDArray[np.float64]
DRAIN = 0.95  # of fills that find a store miss in the buffer, write-through part; invented


def parts(
    board: Hidden,
    c: Columns,
    mill: Mill,
    *,
    placement: Array | float = 0.0,
    other: bool = False,
    rates: float = 1.0,
    fixed: float = 1.0,
) -> dict[str, Array]:
    """Exposed seconds per unit of work by part, shape (states, workloads), before refresh and interrupts.

    ``rates`` scales what runs at a rate of its own (interrupts), ``fixed`` the constant time of a unit; both
    are for the identity check. ``other``: other physics, see World. Keys of shares end in ``_share``.
    """
    chip = board.chipset
    place = np.asarray(placement, dtype=float).reshape(-1, 1) + np.zeros_like(c.fb)
    mix = mill.mix
    ratio = c.integer * mix[:, 0] + np.where(mill.uses_fp, c.fp * mix[:, 1], 0.0) + c.copy * mix[:, 2]
    core = mill["kcycles"] * ratio / c.fc
    d = demand(c, mill, place, chip.combined)

    # Requests start on any core edge and wait for the next edge of the bus: (p-1)/2p of a clock on average.
    wait = (c.edges - 1.0) / (2.0 * c.edges)
    tail = c.tail
    busy_share = np.where(c.free > 0, 0.75, 1.0)
    hit_clocks = np.maximum(c.l2_lead + tail * c.l2_tail - c.free, 0.0) * busy_share + wait
    l2 = (d.fills - d.misses) * hit_clocks / c.f_l2

    # Row of the bank: open and the same, open and another (precharge first), or closed (activate only).
    local = mill["locality"]
    same = local * (1.0 - 0.55 / (1.0 + 0.5 * c.banks))
    closed = (1.0 - same) * chip.closed
    other_row = 1.0 - same - closed
    rows_clocks = (closed + other_row) * c.rcd + other_row * c.rp
    look = np.where((c.l2_kb > 0) & (c.f_l2 == c.fb), chip.look, np.where(c.l2_kb > 0, 1.0, 0.0))
    lead = np.maximum(c.d_lead + rows_clocks + look - c.free, 0.0) * busy_share
    drift = (c.fb / 50.0) ** 0.25 if other else 1.0
    dram_clocks = (lead + tail * c.d_tail) * drift + wait
    dram = d.misses * dram_clocks / c.f_mem
    busy_fill = (d.fills - d.misses) * (c.l2_lead + c.l2_tail) / c.f_l2
    busy_fill = (
        np.where(c.f_l2 == c.fb, busy_fill, 0.0) + d.misses * (c.d_lead + c.d_tail + rows_clocks) / c.f_mem
    )

    # A line is written back a beat at a time; Pentium-class parts hide most of it behind the fill.
    beats = c.line / c.bus_bytes
    behind = np.where(c.l1_kb >= 16, 0.3, 0.6)
    to_l2 = np.where(c.l2_kb > 0, (c.l2_write + beats - 1.0) / c.f_l2, (c.d_write + beats - 1.0) / c.f_mem)
    back = d.victims * behind * to_l2
    back = back + d.victims_l2 * chip.post * (c.d_write + beats + 0.5 * c.rcd) / c.f_mem

    # Stores that leave the processor are posted; the bus serves them between fills.
    posted_write = (c.d_write + 0.3 * c.rcd) * (0.5 + 0.5 * chip.post) / c.f_mem
    hit_write = np.where(c.l2_wb > 0, c.l2_write / c.f_l2, c.l2_write / c.f_l2 + 0.35 * posted_write)
    in_l2 = np.where(c.l2_kb > 0, 1.0 - 0.5 * d.misses / np.maximum(d.fills, 1e-12), 0.0)
    service = in_l2 * hit_write + (1.0 - in_l2) * np.maximum(posted_write, 2.0 / c.fb)
    stores = d.stores * (0.7 if other else 1.0)
    service = np.maximum(service - 0.8 * c.free / c.fb, 0.1 / c.fb)  # what the core's clocks contain
    base = core + l2 + dram + back
    fill_load = np.minimum(busy_fill / base, 0.9)
    slowed = service / (1.0 - 0.8 * fill_load)
    gap = base / np.maximum(stores, 1e-12)
    runs = mill["clustered"]
    queue = stores * gap * stall(slowed / gap, c.depth, runs)
    # A fill may pass queued stores only when all of them were hits; otherwise it waits for them to drain.
    behind_write = d.fills * gap * backlog(service / gap, c.depth, runs) * np.where(c.l1_wb > 0, 0.3, DRAIN)
    store = queue + behind_write

    # The display takes a write at its own pace or the bus's, whichever is slower, and the loop feeds it.
    n_v = mill["video"]
    pace = np.maximum(c.v_clocks / c.f_v, c.card_ns * 1e-3) * (1.0 + 0.35 * fill_load)
    feed = mill["blit"] * c.copy / c.fc
    video = n_v * feed * stall(pace / feed, c.v_depth, np.full_like(n_v, 0.2))
    overhead = mill["fixed_ms"] * 1e-3 * fixed * np.ones_like(core)

    hold = np.minimum(chip.hold_us * 33.3 / c.f_mem, 3.0)
    refresh = hold / c.refresh_us * np.ones_like(core)
    hz = mill["int_hz"] * rates * (1.0 + 2.0 * c.full)
    ints = hz * mill["int_clocks"] * 1e-6 * ratio / c.fc + mill["ems"] * c.full
    return {
        "core": core,
        "l2": l2,
        "dram": dram,
        "writeback": back,
        "store": store,
        "video": video,
        "fixed": overhead,
        "refresh_share": refresh,
        "interrupt_share": ints,
    }


def seconds(board: Hidden, found: dict[str, Array], mill: Mill) -> Array:
    """Seconds per unit of work, shape (states, workloads)."""
    total = sum(v for k, v in found.items() if not k.endswith("_share"))
    share = found["refresh_share"] + found["interrupt_share"]
    quirk = np.array([[board.quirk[w.name] for w in mill.rows]])
    out: Array = total / (1.0 - share) * np.exp(board.efficiency + quirk)
    return out
