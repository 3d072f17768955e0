"""What each open test could show, and what would then be believed: exact, for all tests in one sweep."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from math import prod
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.faults import chain, products, rows, single
from leadoff.faults.evidence import Evidence
from leadoff.faults.network import Array, Network, Node


@dataclass(frozen=True, eq=False)
class Act:
    """One test as it is done: a reading with its other side, or a swap."""

    nodes: tuple[Node, ...]

    @property
    def id(self) -> str:
        """The id of the main observation."""
        return self.nodes[0].id

    @cached_property
    def levels(self) -> tuple[tuple[int, ...], ...]:
        """All combinations of outcomes; at most one side of a two-sided reading is out."""
        combos = product(*(range(len(n.outcomes)) for n in self.nodes))
        return tuple(c for c in combos if sum(k > 0 for k in c) <= 1)

    @cached_property
    def shape(self) -> tuple[int, ...]:
        """How many outcomes each of its nodes has."""
        return tuple(len(n.outcomes) for n in self.nodes)

    @cached_property
    def factors(self) -> tuple[Array, Array]:
        """Factors of "at most" each combination of levels: of the faults [M, n] and of the stages [M, stages]."""
        fault, stage = [], []
        for combo in product(*(range(len(n.outcomes)) for n in self.nodes)):
            f, s = np.ones(self.nodes[0].cum.shape[1]), np.ones(self.nodes[0].leak.shape[1])
            for node, k in zip(self.nodes, combo, strict=True):
                f, s = f * node.cum[k], s * node.leak[k]
                s[node.reach + 1 :] = 0.0  # the test is done only where it can be seen
            fault.append(f)
            stage.append(s)
        return np.array(fault), np.array(stage)


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
    swaps = [a for a in acts if a.nodes[0].swap]
    found = _swaps(swaps, base) if swaps else {}
    if readings:
        z, sole, blocks = (_single(readings, x) for x in _cumulative(net, ev, readings, base, one))
        ends = np.cumsum([len(a.levels) for a in readings])
        total = np.add.reduceat(z, ends - [len(a.levels) for a in readings])
        for act, end, whole in zip(readings, ends, total, strict=True):
            part = slice(end - len(act.levels), end)
            by = float(whole) if whole > 0 else 1.0
            found[act.id] = Outlook(
                act, act.levels, z[part] / by, sole[part] / by, blocks[part] / by, float(whole / base.z)
            )
    return [found[a.id] for a in acts]


class Ahead(NamedTuple):
    """What all ``acts`` could show, for ranking: R results, ``first`` of each act, ``chance`` [R] given that it
    can be seen, ``blocks`` [R, n] joint with each cause, ``seen`` [acts]."""

    acts: tuple[Act, ...]
    first: NDArray[np.intp]
    chance: Array
    blocks: Array
    seen: Array


@dataclass(frozen=True, eq=False)
class _Sheet:
    """The factors of many acts in one array, and every result as a difference of two of its rows.

    The row before the last says nothing (factor 1); the last stands for "never" (0) and is not worked out.
    """

    at: Mapping[Act, int]
    fault: Array  # [M, n]
    stage: Array  # [M, stages]
    owner: NDArray[np.intp]  # [M] act of each row
    high: NDArray[np.intp]  # [R]
    low: NDArray[np.intp]  # [R]
    results: tuple[NDArray[np.intp], ...]  # those of each act


def _sheet(net: Network, acts: Sequence[Act]) -> _Sheet:
    """The sheet of the network, made again with more acts when it lacks one of ``acts``."""
    kept: _Sheet | None = net.memo.get("sheet")
    if kept is not None and all(a in kept.at for a in acts):
        return kept
    wanted = list(dict.fromkeys([*(kept.at if kept else ()), *acts]))
    factors = [a.factors for a in wanted]
    fault, stage = (np.concatenate([f[k] for f in factors]) for k in (0, 1))
    says = (fault != 1).any(axis=1) | (stage != 1).any(axis=1)
    place = np.where(says, np.cumsum(says) - 1, says.sum())
    owner = np.repeat(np.arange(len(wanted)), [len(f[0]) for f in factors])
    high: list[int] = []
    low: list[int] = []
    results, start = [], 0
    for k, act in enumerate(wanted):
        results.append(np.arange(len(high), len(high) + len(act.levels)))
        for levels in act.levels:
            below = [max(x - 1, 0) for x in levels]
            high.append(place[start + np.ravel_multi_index(levels, act.shape)])
            nothing = all(x == 0 for x in levels)
            low.append(says.sum() + 1 if nothing else place[start + np.ravel_multi_index(below, act.shape)])
        start += len(factors[k][0])
    made = _Sheet(
        at={a: k for k, a in enumerate(wanted)},
        fault=np.concatenate([fault[says], np.ones((1, fault.shape[1]))]),
        stage=np.concatenate([stage[says], np.ones((1, stage.shape[1]))]),
        owner=owner[says],
        high=np.array(high, dtype=np.intp),
        low=np.array(low, dtype=np.intp),
        results=tuple(results),
    )
    net.memo["sheet"] = made
    return made


def ahead(
    net: Network, ev: Evidence, acts: Sequence[Act], base: products.Answer, *, one: bool = False
) -> Ahead:
    """Exact, as ``outlooks``, without what only the words need. Readings come first in ``acts`` of the answer."""
    swaps = [a for a in acts if a.nodes[0].swap]
    readings = [a for a in acts if not a.nodes[0].swap]
    parts = [_readings(net, ev, readings, base, one)] if readings else []
    if swaps:
        looks = _swaps(swaps, base).values()
        chance, blocks = (np.concatenate(x) for x in zip(*((k.chance, k.blocks) for k in looks), strict=True))
        parts.append(Ahead(tuple(swaps), np.arange(0, len(chance), 2), chance, blocks, np.ones(len(swaps))))
    if not parts:
        none = np.zeros(0)
        return Ahead((), none.astype(np.intp), none, np.zeros((0, len(net.names))), none)
    starts = np.cumsum([0, *(len(p.chance) for p in parts[:-1])])
    return Ahead(
        tuple(a for p in parts for a in p.acts),
        np.concatenate([p.first + s for p, s in zip(parts, starts, strict=True)]),
        np.concatenate([p.chance for p in parts]),
        np.concatenate([p.blocks for p in parts]),
        np.concatenate([p.seen for p in parts]),
    )


def _readings(net: Network, ev: Evidence, acts: Sequence[Act], base: products.Answer, one: bool) -> Ahead:
    sheet = _sheet(net, acts)
    asked = np.zeros(len(sheet.at), dtype=bool)
    order = np.array([sheet.at[a] for a in acts], dtype=np.intp)
    asked[order] = True
    rows_on = np.append(asked[sheet.owner].nonzero()[0], len(sheet.fault) - 1)
    z, _, blocks = _rows(net, ev, sheet.fault[rows_on], sheet.stage[rows_on], base, one, lone=False)
    where = np.full(len(sheet.fault) + 1, -1, dtype=np.intp)
    where[rows_on] = np.arange(len(rows_on))
    z, blocks = np.append(z, 0.0), np.concatenate([blocks, np.zeros((1, blocks.shape[1]))])
    inside = [sheet.results[k] for k in order]
    found = np.concatenate(inside)
    high, low = where[sheet.high[found]], where[sheet.low[found]]
    chance = np.maximum(z[high] - z[low], 0.0)
    first = np.cumsum([0, *(len(x) for x in inside[:-1])])
    whole = np.add.reduceat(chance, first)
    by = np.repeat(np.where(whole > 0, whole, 1.0), [len(x) for x in inside])
    joint = np.maximum(blocks[high] - blocks[low], 0.0)
    return Ahead(tuple(acts), first, chance / by, joint / by[:, None], whole / base.z)


def _single(acts: Sequence[Act], cumulative: Array) -> Array:
    """Chances of the single results of all acts, from those of "at most" each combination of levels."""
    out = cumulative.copy()
    out[1:] -= cumulative[:-1]
    keep, odd = np.ones(len(out), dtype=bool), []
    at = 0
    for act in acts:
        size = prod(act.shape)
        if len(act.shape) == 1:
            out[at] = cumulative[at]
        else:
            full = cumulative[at : at + size].reshape(*act.shape, *cumulative.shape[1:])
            full = _differences(full, len(act.shape))
            odd.append((at, [full[c] for c in act.levels]))
            keep[at + len(act.levels) : at + size] = False
        at += size
    for start, values in odd:
        out[start : start + len(values)] = values
    return np.asarray(np.maximum(out[keep], 0.0))


def _swaps(acts: Sequence[Act], base: products.Answer) -> dict[str, Outlook]:
    """All swaps at once: a lone cause is cured with its own chance, else only luck starts the board."""
    q = base.sole / base.z
    luck = np.array([1 - a.nodes[0].leak[0, 0] for a in acts])
    fixed = luck[:, None] + (1 - luck)[:, None] * np.stack([a.nodes[0].cure for a in acts])
    by = np.stack([q * (1 - fixed), q * fixed], axis=1)  # [acts, 2, n]
    outcome = np.stack([1 - luck, luck], axis=1)
    chance = by.sum(axis=2) + (1 - q.sum()) * outcome
    several = base.blocks / base.z - q  # a cause beside others
    blocks = by + several * outcome[:, :, None]
    rows = zip(acts, chance, by, blocks, strict=True)
    return {a.id: Outlook(a, ((0,), (1,)), c, s, b, 1.0) for a, c, s, b in rows}


def _differences(cumulative: Array, axes: int) -> Array:
    """Chances of single outcomes from chances of "at most", along the first axes."""
    out = cumulative
    for axis in range(axes):
        out = np.diff(out, axis=axis, prepend=0.0)
    return out


def _cumulative(
    net: Network, ev: Evidence, acts: Sequence[Act], base: products.Answer, one: bool
) -> tuple[Array, Array, Array]:
    """Joint of the evidence with "at most" each combination of levels: z [M], sole and blocks [M, n]."""
    if not acts:
        empty = np.zeros((0, len(net.names)))
        return np.zeros(0), empty, empty
    fault = np.concatenate([act.factors[0] for act in acts])
    stage = np.concatenate([act.factors[1] for act in acts])
    # "At most the worst outcome" says nothing: the same row for nearly every act, worked out once.
    says = (fault != 1).any(axis=1) | (stage != 1).any(axis=1)
    f_all = np.concatenate([fault[says], np.ones((1, fault.shape[1]))])
    s_all = np.concatenate([stage[says], np.ones((1, stage.shape[1]))])
    back = np.where(says, np.cumsum(says) - 1, len(f_all) - 1)
    z, sole, blocks = _rows(net, ev, f_all, s_all, base, one)
    return z[back], sole[back], blocks[back]


def seen(
    net: Network, ev: Evidence, reaches: Sequence[int], base: products.Answer, *, one: bool = False
) -> dict[int, float]:
    """Chance that the start gets at least as far as each stage; 1 for what does not depend on the start."""
    worst = len(net.stage_leak) - 1
    asked = [r for r in dict.fromkeys(reaches) if r < worst]
    found = {worst: 1.0}
    if base.by_stage is not None:
        upto = np.cumsum(base.by_stage()) / base.z
        return found | {r: float(upto[r]) for r in asked}
    if asked:
        stage = np.array([[float(s <= r) for s in range(worst + 1)] for r in asked])
        z, _, _ = _rows(net, ev, np.ones((len(asked), len(net.names))), stage, base, one)
        found.update({r: float(x / base.z) for r, x in zip(asked, z, strict=True)})
    return found


def _rows(
    net: Network,
    ev: Evidence,
    f_all: Array,
    s_all: Array,
    base: products.Answer,
    one: bool,
    *,
    lone: bool = True,
) -> tuple[Array, Array, Array]:
    gain = ev.cures - ev.others
    lone = lone or bool(gain.any())
    if one:
        return single.sweep(net, ev, list(f_all), list(s_all))
    if base.cancels > products.RANK_LIMIT or len(ev.pairs) > products.MOST_RANKED:
        part = chain.solve_batch(net, ev, ev.fault * f_all, ev.stage * s_all, lone=lone)
        z, sole, blocks = part.z, part.sole, part.blocks
    else:
        z, sole, blocks = rows.sweep(net, products.expand(net, ev), f_all, s_all, lone=lone)
    return ev.others * z + sole @ gain, sole * ev.cures, ev.others * blocks + gain * sole
