"""Another physics for calibration: the generator with other constants, other core designs and invented workloads.

Priors and spreads of the forecast are set on books from here and judged on books from ``World`` as it stands, with
other seeds: the judged workload is no template here (``variant.toml`` has further ones of each kind of work), every
workload and core design is drawn anew for every book, and the constants of write buffers, page placement, cache
curves, board efficiency and run noise are others.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np

from leadoff.validation import demand, hidden, score, truth
from leadoff.validation.rows import Rows, WorkloadRow, _made, rows

FURTHER: dict[str, WorkloadRow] = {
    str(r["name"]): _made(WorkloadRow, r)
    for r in tomllib.loads(Path(__file__).with_name("variant.toml").read_text(encoding="utf-8"))["workload"]
}
"""Templates beside the generator's own, so that there is more than one of each kind of work."""

TEMPLATES = ("w1", "r1", "w2", "r2", "w3", "r3", "w5", "i1", "r4", "c1", "f1", "w6", "c2", "f2")
"""Rows that invented workloads start from, kinds of work in turn; the judged one (w4) is not among them."""

CONSTANTS = (
    (score, "DRAIN", 0.80),
    (truth, "RUN_SD", 0.0028),
    (hidden, "CURVE_SD", 0.22),
    (hidden, "CLASS_SD", 0.027),
    (hidden, "BOARD_SD", 0.007),
    (demand, "PLACEMENT_SD", 0.14),
)


def invented(row: WorkloadRow, rng: np.random.Generator) -> WorkloadRow:
    """A workload like the template in kind: every rate, size and share drawn around it."""

    def by(sd: float) -> float:
        return float(np.exp(sd * rng.standard_normal()))

    def share(value: float, sd: float) -> float:
        x = np.log(value / (1.0 - value)) + sd * rng.standard_normal()
        return float(1.0 / (1.0 + np.exp(-x)))

    lines = by(0.25)
    return replace(
        row,
        kcycles=row.kcycles * by(0.2),
        sets=tuple((kb * by(0.25), rate * lines * by(0.2)) for kb, rate in row.sets),
        spatial=share(row.spatial, 0.3),
        stores=row.stores * by(0.3),
        store_miss=share(row.store_miss, 0.25),
        clustered=share(min(row.clustered, 0.9), 0.3),
        dirty=share(row.dirty, 0.25),
        locality=share(row.locality, 0.3),
        video=row.video * by(0.5),
        blit=row.blit * by(0.15),
    )


def drawn(seed: int) -> Rows:
    """The generator's rows with core designs and workloads of this seed's own."""
    rng = np.random.default_rng((seed, 77))
    base = rows()
    cores = {
        n: replace(
            c,
            integer=c.integer * float(np.exp(0.05 * rng.standard_normal())),
            fp=c.fp * float(np.exp(0.05 * rng.standard_normal())),
            copy=c.copy * float(np.exp(0.08 * rng.standard_normal())),
            tail=c.tail * float(np.exp(0.1 * rng.standard_normal())),
        )
        for n, c in base.cores.items()
    }
    workloads = {
        n: invented(w, rng) if n in TEMPLATES else w for n, w in {**base.workloads, **FURTHER}.items()
    }
    return replace(base, cores=cores, workloads=workloads)


@contextmanager
def variant(seed: int) -> Iterator[None]:
    """Worlds made inside follow the other physics; outside everything is as before."""
    made = drawn(seed)
    held = [(module, name, getattr(module, name)) for module, name, _ in CONSTANTS]
    readers = [
        m
        for n, m in sys.modules.items()
        if n.startswith("leadoff.validation") and getattr(m, "rows", 0) is rows
    ]
    for module, name, value in CONSTANTS:
        setattr(module, name, value)
    for module in readers:
        module.__dict__["rows"] = lambda: made
    try:
        yield
    finally:
        for module in readers:
            module.__dict__["rows"] = rows
        for module, name, was in held:
            setattr(module, name, was)
