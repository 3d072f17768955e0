"""The tables of one era and one set of fitted parts as arrays, ready for exact inference.

A *cluster* is a set of faults that are not independent: its joint states are listed with their chances. All
other faults are clusters of one. Between clusters there is independence, so that any product over present
faults sums to a product over clusters.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leadoff.faults.kinds import STAGES, Knowledge, Observation

Array = NDArray[np.float64]
States = tuple[tuple[float, tuple[int, ...]], ...]


@dataclass(frozen=True, eq=False)
class Node:
    """One observation: ``leak`` cumulative by stage, ``cum`` cumulative by fault; both [outcomes, ...].

    P(outcome <= k | faults, stage s) = leak[k, s] x product over present faults of cum[k, fault].
    For a swap ``cum`` is not used and ``cure`` holds the chance to cure each fault.
    """

    id: str
    outcomes: tuple[str, ...]
    leak: Array
    cum: Array
    cure: Array
    staged: bool
    swap: bool
    linked: NDArray[np.intp]
    reach: int  # index of the worst stage at which it can be seen


@dataclass(frozen=True, eq=False)
class Joints:
    """All states of the clusters of more than one fault, flat. Index n stands for "no fault", factor 1.

    ``entries``: one for each (state, present fault): the other members of the state, its chance, its cluster.
    """

    members: NDArray[np.intp]  # [states, 4]
    chance: Array  # [states]
    start: NDArray[np.intp]  # first state of each cluster
    cluster: NDArray[np.intp]  # [states] the cluster of each
    held: Array  # [states, n] 1 where the state holds the fault
    others: NDArray[np.intp]  # [entries, 3]
    entry_state: NDArray[np.intp]
    entry_chance: Array
    entry_cluster: NDArray[np.intp]
    entry_fault: NDArray[np.intp]
    entry_is: Array  # [entries, n] 1 at the entry's fault
    entry_with: Array  # [entries, n] 1 at the other members
    same: Array  # [n, n] 1 for two faults of one cluster


@dataclass(frozen=True, eq=False)
class Network:
    """Faults in a fixed order, clusters over them, the stage node and all observations."""

    names: tuple[str, ...]
    index: Mapping[str, int]
    single: NDArray[np.intp]
    single_p: Array
    single_off: Array  # 1 - single_p
    joint: tuple[States, ...]
    joints: Joints
    stage: Array  # [stages, faults] cumulative, rows in the order of STAGES
    stage_leak: Array
    nodes: Mapping[str, Node]

    @cached_property
    def memo(self) -> dict[Hashable, Any]:
        """What others worked out from this network alone; a changed copy starts with an empty one."""
        return {}

    @property
    def clusters(self) -> tuple[States, ...]:
        """Every cluster, singles included, as lists of (chance, present faults)."""
        singles = zip(self.single, self.single_p, strict=True)
        return (*(((1 - p, ()), (p, (int(i),))) for i, p in singles), *self.joint)

    @property
    def prior(self) -> Array:
        """Chance of each fault before anything is known of this board."""
        out = np.zeros(len(self.names))
        for states in self.clusters:
            for p, present in states:
                out[list(present)] += p
        return out


NOTHING_DONE: Mapping[str, float] = {}


def build(
    kb: Knowledge,
    era: str,
    *,
    kind: str | None = None,
    absent: Iterable[str] = (),
    odds: Mapping[str, float] | None = None,
    left: Mapping[str, float] = NOTHING_DONE,
) -> Network:
    """The network of ``era``. ``kind``: what keeps the clock alive, when known; ``absent``: impossible faults;
    ``odds``: factors on prior odds by fault (a seller's words); ``left``: the share of a fault's chance that its
    repairs leave."""
    gone = set(absent)
    if kind is not None:
        gone |= set(kb.kinds[kind].without)
    odds = odds or {}
    prior = {f.id: _odds(f.prior[era], odds.get(f.id, 1.0)) * left.get(f.id, 1.0) for f in kb.faults.values()}
    prior = {f: p for f, p in prior.items() if p > 0 and f not in gone and f not in kb.group_faults}
    pieces = [_fitted(kb, era, kind, gone, odds, left), *_tied(kb, prior)]
    tied = {f for piece in pieces for _, present in piece for f in present}
    names = tuple(sorted(tied)) + tuple(f for f in prior if f not in tied)
    index = {f: i for i, f in enumerate(names)}
    joint = tuple(tuple((p, tuple(index[f] for f in fs)) for p, fs in piece) for piece in pieces)
    single = [f for f in prior if f not in tied]
    return Network(
        names=names,
        index=index,
        single=np.array([index[f] for f in single], dtype=np.intp),
        single_p=np.array([prior[f] for f in single]),
        single_off=1 - np.array([prior[f] for f in single]),
        joint=joint,
        joints=_joints(joint, len(names)),
        stage=_stage(kb, names),
        stage_leak=np.array(_cumulative([kb.leak.get(s, 0.0) for s in STAGES[1:]])),
        nodes=_nodes(kb, era, names, index),
    )


def _nodes(kb: Knowledge, era: str, names: tuple[str, ...], index: Mapping[str, int]) -> Mapping[str, Node]:
    """The observations as nodes, kept with the tables: they do not depend on the priors."""
    key = ("nodes", era, names)
    if key not in kb.memo:
        known = [o for o in kb.observations.values() if not o.eras or era in o.eras]
        kb.memo[key] = {o.id: _node(o, index) for o in known}
    nodes: Mapping[str, Node] = kb.memo[key]
    return nodes


def _joints(joint: Sequence[States], n: int) -> Joints:
    width = max((len(fs) for states in joint for _, fs in states), default=1)
    width = max(width, 2)

    def padded(rows: list[tuple[int, ...]], size: int) -> NDArray[np.intp]:
        return np.array([(*r, *([n] * (size - len(r)))) for r in rows], dtype=np.intp).reshape(
            len(rows), size
        )

    def marked(rows: list[tuple[int, ...]]) -> Array:
        out = np.zeros((len(rows), n))
        for r, members in zip(out, rows, strict=True):
            r[list(members)] = 1
        return out

    flat = [(p, fs, c) for c, states in enumerate(joint) for p, fs in states]
    entries = [(p, i, tuple(j for j in fs if j != i), c) for p, fs, c in flat for i in fs]
    states = [s for s, (_, fs, _) in enumerate(flat) for _ in fs]
    same = np.zeros((n, n))
    for piece in joint:
        inside = sorted({i for _, fs in piece for i in fs})
        same[np.ix_(inside, inside)] = 1
    np.fill_diagonal(same, 0)
    return Joints(
        members=padded([fs for _, fs, _ in flat], width),
        chance=np.array([p for p, _, _ in flat]),
        start=np.cumsum([0, *(len(s) for s in joint[:-1])]).astype(np.intp),
        cluster=np.array([c for _, _, c in flat], dtype=np.intp),
        held=marked([fs for _, fs, _ in flat]),
        others=padded([o for _, _, o, _ in entries], width - 1),
        entry_state=np.array(states, dtype=np.intp),
        entry_chance=np.array([p for p, _, _, _ in entries]),
        entry_cluster=np.array([c for _, _, _, c in entries], dtype=np.intp),
        entry_fault=np.array([i for _, i, _, _ in entries], dtype=np.intp),
        entry_is=marked([(i,) for _, i, _, _ in entries]),
        entry_with=marked([o for _, _, o, _ in entries]),
        same=same,
    )


def _odds(p: float, factor: float) -> float:
    return p * factor / (1 - p + p * factor) if p < 1 else p


def _cumulative(tail: Sequence[float]) -> list[float]:
    """P(level <= k) from the chances of the levels after the first. Plain Python: the rows are tiny and many."""
    out = [1.0]
    above = 0.0
    for p in reversed(tail):
        above += p
        out.append(1.0 - above)
    return out[::-1]


def _stage(kb: Knowledge, names: Sequence[str]) -> Array:
    rows = [kb.faults[f].stage if f in kb.faults else {} for f in names]
    return np.array([_cumulative([r.get(s, 0.0) for s in STAGES[1:]]) for r in rows]).T.copy()


def _node(o: Observation, index: Mapping[str, int]) -> Node:
    levels = len(o.outcomes)
    cum = np.ones((levels, len(index)))
    cure = np.zeros(len(index))
    linked = [index[f] for f in o.links if f in index]
    for fault, tail in o.links.items():
        if fault in index:
            cum[:, index[fault]] = _cumulative(tail)
            cure[index[fault]] = tail[0]
    if o.by_stage:
        leak = np.array([_cumulative(o.by_stage[s][1:]) for s in STAGES]).T.copy()
    else:
        leak = np.repeat(np.array(_cumulative(o.baseline[1:]))[:, None], len(STAGES), axis=1)
    return Node(
        id=o.id,
        outcomes=o.outcomes,
        leak=leak,
        cum=cum,
        cure=cure,
        staged=bool(o.by_stage),
        swap=o.kind == "swap",
        linked=np.array(sorted(linked), dtype=np.intp),
        reach=STAGES.index(o.needs_stage) if o.needs_stage else len(STAGES) - 1,
    )


def _fitted(
    kb: Knowledge,
    era: str,
    kind: str | None,
    gone: set[str],
    odds: Mapping[str, float],
    left: Mapping[str, float],
) -> list[tuple[float, tuple[str, ...]]]:
    """States of what keeps the clock alive: which kind is fitted, and which of its levels is present."""
    states: list[tuple[float, tuple[str, ...]]] = []
    for k in kb.kinds.values():
        share = k.share[era] if kind is None else float(k.id == kind)
        if share == 0:
            continue
        levels = {f: p[era] * odds.get(f, 1.0) for f, p in k.levels.items() if f not in gone}
        none = 1 - sum(p[era] for f, p in k.levels.items() if f not in gone)
        total = none + sum(levels.values())
        still = {f: p / total * left.get(f, 1.0) for f, p in levels.items()}
        states.append((share * (1 - sum(still.values())), (f"fit_{k.id}",)))
        states += [(share * p, (f"fit_{k.id}", f)) for f, p in still.items()]
    return states


def _tied(kb: Knowledge, prior: Mapping[str, float]) -> list[list[tuple[float, tuple[str, ...]]]]:
    """Joint states of faults that damage one another or exclude each other."""
    pieces = []
    family: list[set[str]] = []
    for pair in [*({r.parent, r.child} for r in kb.raises), *(set(e.faults) for e in kb.excludes)]:
        pair = {f for f in pair if f in prior}
        if len(pair) < 2:
            continue
        touching = [s for s in family if s & pair]
        family = [s for s in family if not s & pair] + [pair.union(*touching)]
    for faults in family:
        order = _parents_first(kb, sorted(faults))
        states = [
            (p, tuple(f for f, on in zip(order, bits, strict=True) if on))
            for bits in product((False, True), repeat=len(order))
            if (p := _joint(kb, prior, order, bits)) > 0
        ]
        total = sum(p for p, _ in states)
        pieces.append([(p / total, fs) for p, fs in states])
    return pieces


def _parents_first(kb: Knowledge, faults: list[str]) -> list[str]:
    children = {r.child for r in kb.raises}
    return sorted(faults, key=lambda f: (f in children, f))


def _joint(kb: Knowledge, prior: Mapping[str, float], order: list[str], bits: Sequence[bool]) -> float:
    on = {f for f, bit in zip(order, bits, strict=True) if bit}
    if any(len(on & set(e.faults)) > 1 for e in kb.excludes):
        return 0.0
    total = 1.0
    for fault, bit in zip(order, bits, strict=True):
        off = 1 - prior[fault]
        for r in kb.raises:
            if r.child == fault and r.parent in on:
                off *= 1 - r.p
        total *= 1 - off if bit else off
    return total
