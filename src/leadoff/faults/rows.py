"""Many further findings at once on one set of products: each changes a few faults only, the rest is one matrix.

A further finding multiplies the factor of fault i by a figure that depends neither on the term nor on the level
of the symptom. The sums over terms and levels are therefore matrix products, and only the few faults that the
finding speaks of are worked out one by one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from leadoff.faults.network import Array, Network
from leadoff.faults.products import Terms, abel, state_mix

_SIZE = 600_000
"""Figures that one step may hold: keeps the work inside the processor's cache."""


@dataclass(frozen=True, eq=False)
class _Base:
    """What holds for every row. X stands for all terms times all levels of the symptom."""

    levels: int
    leak: Array  # [X]
    mix: Array  # [X] product over single faults
    share: Array  # [X, singles] share of the present state
    draw: Array  # [X, singles] the same, drawing above nothing
    lone: Array  # [X, singles] weight of a lone draw
    parts: Array  # [X, states]
    joint_draw: Array  # [X, entries]
    joint_lone: Array  # [X, entries]


def sweep(
    net: Network, terms: Terms, fault: Array, stage: Array, *, lone: bool = True
) -> tuple[Array, Array, Array]:
    """``z`` [M], ``sole`` and ``blocks`` [M, n] with further factors ``fault`` [M, n], ``stage`` [M, stages].

    Exact, as ``posterior.solve`` is, and with the same cancellation. Without ``lone`` the array ``sole`` is
    nought: it costs half of the work.
    """
    weights, factor = _weights(net, terms, stage)
    base = _base(net, terms, factor)
    step = max(1, _SIZE // (base.mix.size * 8))
    parts = [
        _chunk(net, base, weights[k : k + step], fault[k : k + step], lone)
        for k in range(0, len(fault), step)
    ]
    z, sole, blocks = (np.concatenate(x) for x in zip(*parts, strict=True))
    return z, sole, blocks


def _weights(net: Network, terms: Terms, stage: Array) -> tuple[Array, Array]:
    """Signed weights [M, X] of all rows, and the fault factors [terms, n]; what weighs nothing is left out."""
    change = abel(stage[:, None, :] * terms.tau) * terms.coef[:, None]  # [M, T, stages]
    if not terms.target:
        return change.reshape(len(stage), -1), terms.fault
    change = (change * net.stage_leak).reshape(len(stage), -1)
    factor = (terms.fault[:, None, :] * net.stage).reshape(change.shape[1], -1)
    live = (change != 0).any(axis=0)
    live[0] = True
    signed = change[:, live, None] * np.array([-1.0, 1.0])
    return signed.reshape(len(stage), -1), factor[live]


def _base(net: Network, terms: Terms, factor: Array) -> _Base:
    j, p = net.joints, net.single_p
    phi = terms.levels * factor[:, None, :]  # [T, L, n]
    above = 1 - phi[:, :1] / np.where(phi > 0, phi, 1.0)
    on = p * phi[..., net.single]
    mix = (1 - p) + on
    share = on / mix
    step = terms.levels - terms.levels[0]  # [L, n]
    lone = step[:, net.single] * (factor[:, net.single] * p / mix[:, 0])[:, None, :]
    parts, _ = state_mix(net, phi)
    wide = np.concatenate([phi[:, 0], np.ones((len(phi), 1))], axis=1)
    rest = j.entry_chance * np.multiply.reduce(wide[:, j.others], axis=-1)  # [T, entries]
    joint_lone = step[:, j.entry_fault] * (factor[:, j.entry_fault] * rest)[:, None, :]

    def flat(x: Array) -> Array:
        return np.ascontiguousarray(x.reshape(x.shape[0] * x.shape[1], x.shape[2]))

    return _Base(
        levels=len(terms.leak),
        leak=np.tile(terms.leak, len(phi)),
        mix=np.multiply.reduce(mix, axis=-1).ravel(),
        share=flat(share),
        draw=flat(share * above[..., net.single]),
        lone=flat(lone),
        parts=flat(parts),
        joint_draw=flat(parts[..., j.entry_state] * above[..., j.entry_fault]),
        joint_lone=flat(joint_lone),
    )


def _chunk(net: Network, base: _Base, weights: Array, fault: Array, lone: bool) -> tuple[Array, Array, Array]:
    j, m, n = net.joints, len(fault), fault.shape[1]
    row, col = np.nonzero(fault[:, net.single] != 1)
    factor = fault[row, net.single[col]]
    ratio = 1 + base.share.T[col] * (factor - 1)[:, None]  # [pairs, X] new mix over old mix
    mass = np.repeat(base.mix[None], m, axis=0)
    if len(row):
        first = np.flatnonzero(np.diff(row, prepend=-1))
        mass[row[first]] *= np.multiply.reduceat(ratio, first, axis=0)
    wide = np.concatenate([fault, np.ones((m, 1))], axis=1)
    held = np.multiply.reduce(wide[:, j.members], axis=-1)  # [M, states]
    ends = [*j.start[1:], len(j.chance)]
    joint = [held[:, a:b] @ base.parts[:, a:b].T for a, b in zip(j.start, ends, strict=True)]  # [M, X] each
    for x in joint:
        mass *= x
    weighted = weights * mass * base.leak
    sole, blocks = np.zeros((m, n)), np.zeros((m, n))
    blocks[:, net.single] = weighted @ base.draw
    if len(row):
        own = (weighted[row] / ratio * base.draw.T[col]).sum(axis=1)
        blocks[row, net.single[col]] = factor * own
    states = [held[:, j.entry_state[np.flatnonzero(j.entry_cluster == c)]] for c in range(len(joint))]
    for c, x in enumerate(joint):
        inside = np.flatnonzero(j.entry_cluster == c)
        safe = np.where(x > 0, x, 1.0)
        blocks += ((weighted / safe) @ base.joint_draw[:, inside] * states[c]) @ j.entry_is[inside]
    if not lone:
        return weighted.sum(axis=1), sole, blocks
    silent = np.repeat(mass[:, :: base.levels] * base.leak[0], base.levels, axis=1) * weights
    sole[:, net.single] = silent @ base.lone
    if len(row):
        alone = silent[row] / np.repeat(ratio[:, :: base.levels], base.levels, axis=1)
        sole[row, net.single[col]] = factor * (alone * base.lone.T[col]).sum(axis=1)
    for c, x in enumerate(joint):
        inside = np.flatnonzero(j.entry_cluster == c)
        none = np.repeat(np.where(x > 0, x, 1.0)[:, :: base.levels], base.levels, axis=1)
        sole += ((silent / none) @ base.joint_lone[:, inside] * states[c]) @ j.entry_is[inside]
    return weighted.sum(axis=1), sole, blocks
