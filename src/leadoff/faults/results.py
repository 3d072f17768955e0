"""What each open test could show, and what would then be believed: exact, for all tests in one sweep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from leadoff.faults import chain, products, single
from leadoff.faults.evidence import Evidence
from leadoff.faults.network import Array, Network, Node

# Terms times levels times faults that one sweep may hold at once: keeps the sweep inside the processor's cache.
_CHUNK = 400_000


@dataclass(frozen=True, eq=False)
class Act:
    """One test as it is done: a reading with its other side, or a swap."""

    nodes: tuple[Node, ...]

    @property
    def id(self) -> str:
        """The id of the main observation."""
        return self.nodes[0].id

    @property
    def levels(self) -> list[tuple[int, ...]]:
        """All combinations of outcomes; at most one side of a two-sided reading is out."""
        combos = product(*(range(len(n.outcomes)) for n in self.nodes))
        return [c for c in combos if sum(k > 0 for k in c) <= 1]


@dataclass(frozen=True, eq=False)
class Outlook:
    """The results of one act: levels, chances [R], joint chances with each cause [R, n] (``blocks``: alone or
    beside others). ``seen``: chance that the start gets far enough for the test to be done at all."""

    act: Act
    levels: tuple[tuple[int, ...], ...]
    chance: Array
    sole: Array
    blocks: Array
    seen: float


def outlooks(
    net: Network, ev: Evidence, acts: Sequence[Act], base: products.Answer, *, one: bool = False
) -> list[Outlook]:
    """Exact chances of every result of every act given the evidence, and of every cause with it.

    ``one``: exactly one fault is present."""
    readings = [a for a in acts if not a.nodes[0].swap]
    z, sole, blocks = _cumulative(net, ev, readings, base, one)
    found: dict[str, Outlook] = {}
    at = 0
    for act in readings:
        shape = tuple(len(n.outcomes) for n in act.nodes)
        size = int(np.prod(shape))
        zs = _differences(z[at : at + size].reshape(shape))
        soles = _differences(sole[at : at + size].reshape(*shape, -1), axes=len(shape))
        blocked = _differences(blocks[at : at + size].reshape(*shape, -1), axes=len(shape))
        at += size
        levels = act.levels
        p = np.array([max(zs[c], 0.0) for c in levels])
        q = np.array([np.maximum(soles[c], 0.0) for c in levels])
        b = np.array([np.maximum(blocked[c], 0.0) for c in levels])
        total = p.sum()
        seen = float(total / base.z)
        total = total if total > 0 else 1.0
        found[act.id] = Outlook(act, tuple(levels), p / total, q / total, b / total, seen)
    for act in acts:
        if act.nodes[0].swap:
            found[act.id] = _swap(act, base)
    return [found[a.id] for a in acts]


def _swap(act: Act, base: products.Answer) -> Outlook:
    node = act.nodes[0]
    q = base.sole / base.z
    luck = 1 - node.leak[0, 0]
    fixed = luck + (1 - luck) * node.cure
    by = np.stack([q * (1 - fixed), q * fixed])
    rest = 1 - q.sum()
    chance = by.sum(axis=1) + rest * np.array([1 - luck, luck])
    several = base.blocks / base.z - q  # a cause beside others: only luck starts the board
    blocks = np.stack([by[0] + several * (1 - luck), by[1] + several * luck])
    return Outlook(act, ((0,), (1,)), chance, by, blocks, 1.0)


def _differences(cumulative: Array, axes: int | None = None) -> Array:
    """Chances of single outcomes from chances of "at most", along the first axes."""
    out = cumulative
    for axis in range(cumulative.ndim if axes is None else axes):
        out = np.diff(out, axis=axis, prepend=0.0)
    return out


def _cumulative(
    net: Network, ev: Evidence, acts: Sequence[Act], base: products.Answer, one: bool
) -> tuple[Array, Array, Array]:
    """Joint of the evidence with "at most" each combination of levels: z [M], sole and blocks [M, n]."""
    fault, stage = [], []
    for act in acts:
        for combo in product(*(range(len(n.outcomes)) for n in act.nodes)):
            f, s = np.ones(len(net.names)), np.ones(len(net.stage_leak))
            for node, k in zip(act.nodes, combo, strict=True):
                f, s = f * node.cum[k], s * node.leak[k]
                s[node.reach + 1 :] = 0.0  # the test is done only where it can be seen
            fault.append(f)
            stage.append(s)
    if not fault:
        empty = np.zeros((0, len(net.names)))
        return np.zeros(0), empty, empty
    # "At most the worst outcome" says nothing: the same row for every act, worked out once.
    first: dict[tuple[bytes, bytes], int] = {}
    back = [
        first.setdefault((f.tobytes(), s.tobytes()), len(first)) for f, s in zip(fault, stage, strict=True)
    ]
    rows = [back.index(k) for k in range(len(first))]
    f_all, s_all = np.array([fault[r] for r in rows]), np.array([stage[r] for r in rows])
    z, sole, blocks = _rows(net, ev, f_all, s_all, base, one)
    return z[back], sole[back], blocks[back]


def seen(net: Network, ev: Evidence, act: Act, base: products.Answer, *, one: bool = False) -> float:
    """Chance that the start gets far enough for the test to be done; 1 when it does not depend on the start."""
    reach = min(n.reach for n in act.nodes)
    if reach == len(net.stage_leak) - 1:
        return 1.0
    stage = np.ones((1, len(net.stage_leak)))
    stage[:, reach + 1 :] = 0.0
    z, _, _ = _rows(net, ev, np.ones((1, len(net.names))), stage, base, one)
    return float(z[0] / base.z)


def _rows(
    net: Network, ev: Evidence, f_all: Array, s_all: Array, base: products.Answer, one: bool
) -> tuple[Array, Array, Array]:
    gain = ev.cures - ev.others
    if one:
        return single.sweep(net, ev, list(f_all), list(s_all))
    if _cancels(net, ev, base):
        part = chain.solve_batch(net, ev, ev.fault * f_all, ev.stage * s_all)
        z, sole, blocks = part.z, part.sole, part.blocks
    else:
        z, sole, blocks = _by_products(net, ev, f_all, s_all)
    return ev.others * z + sole @ gain, sole * ev.cures, ev.others * blocks + gain * sole


def _cancels(net: Network, ev: Evidence, base: products.Answer) -> bool:
    """Whether the products lose too much for a ranking; the bound of the base says it when products made it."""
    if len(ev.pairs) > products.MOST_PAIRS or base.error > products.RANK_LIMIT:
        return True
    return products.solve(net, ev).error > products.RANK_LIMIT


def _by_products(net: Network, ev: Evidence, fault: Array, stage: Array) -> tuple[Array, Array, Array]:
    terms = products.expand(net, ev)
    size = len(terms.coef) * len(terms.leak) * fault.shape[1] * (len(net.stage_leak) if terms.target else 1)
    step = max(1, _CHUNK // size)
    parts = [
        products.sweep(net, terms, fault[k : k + step], stage[k : k + step])
        for k in range(0, len(fault), step)
    ]
    z, sole, blocks = (np.concatenate(x) for x in zip(*parts, strict=True))
    return z, sole, blocks
