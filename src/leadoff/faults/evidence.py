"""Findings as product forms: P(findings | faults) is a signed sum of products over the faults.

"outcome exactly k" is "at most k" minus "at most k - 1", and each of those two is a product over the present
faults times a factor of the stage reached. Normal outcomes need one product only.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from leadoff.faults.network import Array, Network, Node


@dataclass(frozen=True, eq=False)
class Pair:
    """``hi`` minus ``lo``: fault factors [faults] and stage factors [stages] of both."""

    lo: Array
    hi: Array
    lo_stage: Array
    hi_stage: Array
    staged: bool
    both: Array  # [n + 1 + stages, 2, 1] factors of ``hi``, and of ``lo`` with its stage factors below nought
    touched: NDArray[np.bool_]  # [n] faults of which it speaks


@dataclass(frozen=True, eq=False)
class Evidence:
    """All findings against one symptom. ``target`` is ``None`` when the symptom is the start itself."""

    fault: Array
    stage: Array
    pairs: tuple[Pair, ...]
    target: Pair | None
    cures: Array  # chance of the swaps' results when this fault is the only cause of the symptom
    others: float  # the same when there are several causes, or one that is in no table
    plain: Array  # [n + 1 + stages, 1] factors of what needs one product only, one for "no fault" between


@lru_cache(maxsize=4000)
def pair_of(node: Node, level: int) -> Pair:
    """The finding "outcome ``level``" of a reading, level at least 1."""
    lo, hi = node.cum[level - 1], node.cum[level]
    lo_stage, hi_stage = node.leak[level - 1], node.leak[level]
    one = np.ones(1)
    return Pair(
        lo=lo,
        hi=hi,
        lo_stage=lo_stage,
        hi_stage=hi_stage,
        staged=node.staged,
        both=np.stack([np.concatenate([hi, one, hi_stage]), np.concatenate([lo, one, -lo_stage])]).T[
            :, :, None
        ],
        touched=(lo != 1) | (hi != 1),
    )


def gather(net: Network, findings: Mapping[str, int], symptom: str, swaps: Mapping[str, int]) -> Evidence:
    """``findings`` of readings by level, ``swaps`` tried against ``symptom`` ("start" or a reading's id).

    With ``symptom`` "start" the board is known not to boot.
    """
    fault, stage = np.ones(len(net.names)), np.ones(len(net.stage_leak))
    pairs: list[Pair] = []
    target: Pair | None = None
    if symptom == "start":
        stage[0] = 0.0
    for name, level in findings.items():
        node = net.nodes[name]
        stage[node.reach + 1 :] = 0.0
        if name == symptom:
            target = pair_of(node, level)
        elif level == 0:
            fault, stage = fault * node.cum[0], stage * node.leak[0]
        elif not len(node.linked):  # only the stage speaks: no need for two products
            stage = stage * (node.leak[level] - node.leak[level - 1])
        else:
            pairs.append(pair_of(node, level))
    cures, others = np.ones(len(net.names)), 1.0
    for name, level in swaps.items():
        node = net.nodes[name]
        by_luck = 1 - node.leak[0, 0]
        fixed = by_luck + (1 - by_luck) * node.cure
        cures = cures * (fixed if level else 1 - fixed)
        others *= by_luck if level else 1 - by_luck
    return Evidence(
        fault=fault,
        stage=stage,
        pairs=tuple(pairs),
        target=target,
        cures=cures,
        others=float(others),
        plain=np.concatenate([fault, np.ones(1), stage])[:, None],
    )
