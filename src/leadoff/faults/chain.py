"""Exact inference along a chain of clusters, for many positive findings: only sums of products, no cancellation.

Each positive finding has a bit, "its outcome has been drawn". The bit is opened at the first fault that can
draw it and closed after the last, so that the table that is carried stays as wide as the findings that share
faults (a junction tree whose cliques are the frontier). The stage is carried as cumulative levels, where a
maximum is a product; only its eight levels are subtracted, once, at the end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.faults.evidence import Evidence, Pair
from leadoff.faults.network import Array, Network, States
from leadoff.faults.products import EPSILON, Answer


class Step(NamedTuple):
    """``open`` or ``close`` a finding, or take a ``cluster``; ``bits`` are the open findings before it."""

    what: str
    n: int
    bits: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Chain:
    """The order of work and, per finding, chances to stay below (a) and to reach (b) the outcome."""

    steps: tuple[Step, ...]
    clusters: tuple[States, ...]
    a: Array  # [pairs, n]
    b: Array
    pairs: tuple[Pair, ...]
    last: tuple[int, ...]  # findings still open at the end
    loose: Array  # [singles] 1 for the faults of which no finding speaks: taken before the first step
    single: NDArray[np.intp]
    single_p: Array

    @property
    def width(self) -> int:
        """The most findings open at once: cost grows with 2 to this."""
        return max((len(s.bits) for s in self.steps), default=0)


def plan(net: Network, pairs: Sequence[Pair]) -> Chain:
    """Order the clusters so that few findings are open at once: the finding with the least left goes first."""
    clusters = net.clusters
    n = len(net.names)
    a = np.array([p.lo for p in pairs]).reshape(len(pairs), n)
    b = np.array([p.hi - p.lo for p in pairs]).reshape(len(pairs), n)
    inside = [frozenset(i for _, fs in states for i in fs) for states in clusters]
    touched = [
        {c for c, fs in enumerate(inside) if any(a[j, i] != 1 or b[j, i] != 0 for i in fs)}
        for j in range(len(pairs))
    ]
    free = [c for c in range(len(clusters)) if not any(c in t for t in touched)]
    steps = [Step("cluster", c, ()) for c in free if c >= len(net.single)]
    done, opened, left = set(free), list[int](), set(range(len(pairs)))
    while left:
        j = min(left, key=lambda j: (len(touched[j] - done), j))
        for c in sorted(touched[j] - done):
            for other in sorted(left):
                if c in touched[other] and other not in opened:
                    steps.append(Step("open", other, tuple(opened)))
                    opened.append(other)
            steps.append(Step("cluster", c, tuple(opened)))
            done.add(c)
        if j not in opened:
            steps.append(Step("open", j, tuple(opened)))
            opened.append(j)
        for other in [o for o in opened if o in left and not touched[o] - done]:
            left.discard(other)
            if not pairs[other].staged:
                steps.append(Step("close", other, tuple(opened)))
                opened.remove(other)
    loose = np.zeros(len(net.single))
    loose[[c for c in free if c < len(net.single)]] = 1.0
    return Chain(
        tuple(steps), clusters, a, b, tuple(pairs), tuple(opened), loose, net.single, net.single_p * loose
    )


class _Loose:
    """The faults of which no finding speaks: independent of all others once the level is known."""

    def __init__(self, chain: Chain, phi: Array) -> None:
        self.chain = chain
        self.phi = phi[..., chain.single]
        self.mix = 1 - chain.single_p + chain.single_p * self.phi  # [B, L, singles]; 1 for the others
        self.product = np.multiply.reduce(self.mix, axis=-1)  # [B, L]

    def draw(self, over: Array) -> Array:
        """Share of a draw above nothing, [B, L, singles], in the factors ``over``."""
        return np.asarray(self.chain.single_p * (self.phi - self.phi[:, :1]) / over)

    def add(self, out: Array, by_level: Array, share: Array) -> None:
        """Add to ``out`` [B, n] the weights of the levels [B, L] times ``share`` [B, L, singles]."""
        out[:, self.chain.single] += np.einsum("bl,bls->bs", by_level, share)

    def with_swaps(self, held: Array, ends: Array, one: Array, gain: Array) -> None:
        """Add to ``held`` [n] the joint with "one cause alone, weighted": ``ends`` [1, L] when the cause is one
        of these, ``one`` [1, 1] when it is in the chain."""
        cause = gain[self.chain.single] * self.draw(self.mix[:, :1])  # [1, L, singles]
        quiet = (self.chain.single_p * self.phi / self.mix)[:, :1]
        weight = (ends * self.product[:, :1])[..., None]
        others = cause.sum(axis=-1, keepdims=True) - cause
        joint = (weight * (others * quiet + cause)).sum(axis=1) + one * self.product[:, :1] * quiet[:, 0]
        held[self.chain.single] += joint[0] * self.chain.loose


_WHOLE: tuple[slice, ...] = (slice(None),) * 64


class _Walk:
    """One pass over the chain for fault factors ``phi`` [B, L, n]."""

    def __init__(self, chain: Chain, phi: Array) -> None:
        self.chain, self.phi = chain, phi
        self.a, self.b = chain.a.tolist(), chain.b.tolist()

    def fault(self, x: Array, i: int, bits: Sequence[int], factor: Array, back: bool) -> Array:
        x = x * factor.reshape(*factor.shape, *([1] * len(bits)))
        for axis, j in enumerate(bits, 2):
            a, b = self.a[j][i], self.b[j][i]
            if a == 1 and b == 0:
                continue
            low: tuple[slice | int, ...] = (*_WHOLE[:axis], 0)
            high: tuple[slice | int, ...] = (*_WHOLE[:axis], 1)
            out = np.empty_like(x)
            if back:
                out[low], out[high] = a * x[low] + b * x[high], (a + b) * x[high]
            else:
                out[low], out[high] = a * x[low], b * x[low] + (a + b) * x[high]
            x = out
        return x

    def state(self, x: Array, fs: Sequence[int], bits: Sequence[int], level0: bool, back: bool) -> Array:
        for i in fs:
            x = self.fault(x, i, bits, self.phi[:, :1, i] if level0 else self.phi[:, :, i], back)
        return x

    def cluster(self, x: Array, c: int, bits: Sequence[int], level0: bool, back: bool) -> Array:
        return np.asarray(
            sum(p * self.state(x, fs, bits, level0, back) for p, fs in self.chain.clusters[c]),
            dtype=np.float64,
        )

    def leak(self, j: int, b: int) -> Array:
        p = self.chain.pairs[j]
        if p.staged:  # the leak depends on the stage: added at the end
            return np.array([1.0, 0.0])
        return np.array([p.lo_stage[0], p.hi_stage[0] - p.lo_stage[0]])

    def move(self, x: Array, s: Step, level0: bool, back: bool) -> Array:
        if s.what == "cluster":
            return self.cluster(x, s.n, s.bits, level0, back)
        axis = 2 + (s.bits.index(s.n) if s.what == "close" else len(s.bits))
        if (s.what == "open") != back:  # a new axis
            vector = self.leak(s.n, 2) if s.what == "open" else np.array([0.0, 1.0])
            shape = [1] * (x.ndim + 1)
            shape[axis] = 2
            return np.asarray(np.expand_dims(x, axis) * vector.reshape(shape))
        vector = self.leak(s.n, 2) if s.what == "open" else np.array([0.0, 1.0])
        return np.asarray(np.take(x, 0, axis) * vector[0] + np.take(x, 1, axis) * vector[1])

    def forward(self, start: Array, level0: bool) -> list[Array]:
        out = [start]
        for s in self.chain.steps:
            out.append(self.move(out[-1], s, level0, back=False))
        return out

    def backward(self, end: Array, level0: bool) -> list[Array]:
        out = [end]
        for s in reversed(self.chain.steps):
            out.append(self.move(out[-1], s, level0, back=True))
        return out[::-1]

    def draws(
        self, x: Array, c: int, bits: Sequence[int], back: bool
    ) -> Iterator[tuple[int, tuple[int, ...], Array]]:
        """For each state and member i: ``x`` with i drawing above nothing and the others silent."""
        for p, fs in self.chain.clusters[c]:
            for i in fs:
                rest = tuple(j for j in fs if j != i)
                y = self.state(p * x, rest, bits, True, back)
                yield i, rest, self.fault(y, i, bits, self.phi[:, :, i] - self.phi[:, :1, i], back)


def _inner(x: Array, y: Array) -> Array:
    total = x * y
    return np.asarray(total.reshape(total.shape[0], -1).sum(axis=1))


def _terminal(chain: Chain, tau: Array) -> Array:
    """Weights [B, stages, bits...] of the ends: stage factors times the staged findings' own leaks."""
    out = tau.reshape(*tau.shape, *([1] * len(chain.last)))
    for axis, j in enumerate(chain.last, 2):
        p = chain.pairs[j]
        shape = [1] * (2 + len(chain.last))
        shape[1], shape[axis] = len(p.lo_stage), 2
        out = out * np.stack([p.hi_stage - p.lo_stage, p.hi_stage], axis=1).reshape(shape)
    return np.asarray(out - np.concatenate([out[:, 1:], np.zeros_like(out[:, :1])], axis=1))


class Batch(NamedTuple):
    """Answers for several cases at once: z and unlisted [B], sole and blocks [B, n], present [n] of the first."""

    z: Array
    sole: Array
    blocks: Array
    present: Array
    unlisted: Array


def solve_batch(net: Network, ev: Evidence, fault: Array, stage: Array, *, lone: bool = True) -> Batch:
    """``fault`` [B, n] and ``stage`` [B, stages] are the product-form factors of each case.

    Swaps are not applied here; see ``solve``. Without ``lone`` the array ``sole`` is nought.
    """
    gain = np.zeros(len(net.names))
    return _solve(net, ev, fault, stage, gain, 1.0, present=False, lone=lone)


def _solve(
    net: Network,
    ev: Evidence,
    fault: Array,
    stage: Array,
    gain: Array,
    others: float,
    *,
    present: bool,
    lone: bool = True,
) -> Batch:
    chain = plan(net, ev.pairs)
    ends = _terminal(chain, stage)  # [B, stages, bits...]
    if ev.target is None:
        cases = [(net.stage, fault, ends, net.stage_leak)]
    else:
        levels = np.stack([ev.target.lo, ev.target.hi])
        leak = np.array([ev.target.lo_stage[0], ev.target.hi_stage[0]])
        sign = np.array([-1.0, 1.0]).reshape(1, 2, *([1] * len(chain.last)))
        cases = [
            (levels, fault * net.stage[e], ends[:, e : e + 1] * sign * net.stage_leak[e], leak)
            for e in range(len(net.stage_leak))
        ]
    z, sole, held = np.zeros(len(fault)), np.zeros_like(fault), np.zeros(fault.shape[1])
    blocks, unlisted = np.zeros_like(fault), np.zeros(len(fault))
    for levels, factors, weights, leak in cases:
        phi = levels * factors[:, None, :]
        part = _one(chain, phi, weights, leak, gain, others, present, lone)
        z, sole, held = z + part.z, sole + part.sole, held + part.present
        blocks, unlisted = blocks + part.blocks, unlisted + part.unlisted
    return Batch(z, sole, blocks, held, unlisted)


def _one(
    chain: Chain,
    phi: Array,
    weights: Array,
    leak: Array,
    gain: Array,
    others: float,
    present: bool,
    lone: bool,
) -> Batch:
    walk, loose = _Walk(chain, phi), _Loose(chain, phi)
    shape = [1, len(leak), *([1] * len(chain.last))]
    alpha = walk.forward(loose.product, level0=False)
    z = _inner(weights * leak.reshape(shape), alpha[-1])
    alpha0 = [x[:, :1] for x in alpha]
    sole = np.zeros((phi.shape[0], phi.shape[2]))
    beta0 = walk.backward(weights * leak[0], level0=True) if lone else []
    if lone:
        for k, s in enumerate(chain.steps):
            if s.what == "cluster":
                for i, _, y in walk.draws(alpha0[k], s.n, s.bits, back=False):
                    sole[:, i] += _inner(beta0[k + 1], y)
        loose.add(sole, beta0[0] * loose.product[:, :1], loose.draw(loose.mix[:, :1]))
    held = np.zeros(phi.shape[2])
    blocks = np.zeros_like(sole)
    beta = walk.backward(weights * leak.reshape(shape), level0=False)
    for k, s in enumerate(chain.steps):
        for p, fs in chain.clusters[s.n] if s.what == "cluster" else ():
            for i in fs:
                rest = [j for j in fs if j != i]
                y = walk.state(p * alpha[k], rest, s.bits, False, back=False)
                y = walk.fault(y, i, s.bits, phi[:, :, i] - phi[:, :1, i], back=False)
                blocks[:, i] += _inner(beta[k + 1], y)
    loose.add(blocks, beta[0] * loose.product, loose.draw(loose.mix))
    if present:
        loose.add(held[None], others * beta[0] * loose.product, chain.single_p * loose.phi / loose.mix)
        for k, s in enumerate(chain.steps):
            for p, fs in chain.clusters[s.n] if s.what == "cluster" else ():
                if fs:
                    y = walk.state(p * alpha[k], fs, s.bits, False, back=False)
                    held[list(fs)] += others * float(_inner(beta[k + 1], y)[0])
        if gain.any():
            held += _with_swaps(walk, loose, alpha0, beta0, gain)
    unlisted = _inner(weights * leak.reshape(shape), alpha0[-1])
    return Batch(z, sole, blocks, held, unlisted)


def _with_swaps(walk: _Walk, loose: _Loose, alpha0: list[Array], beta0: list[Array], gain: Array) -> Array:
    """Joint with each fault of "one cause alone, weighted by ``gain`` of that cause"."""
    steps = walk.chain.steps
    held = np.zeros(len(gain))
    drawn = (gain[loose.chain.single] * loose.draw(loose.mix[:, :1])).sum(axis=-1)
    alpha1: list[Array] = [drawn * loose.product[:, :1]]
    for k, s in enumerate(steps):
        x = walk.move(alpha1[-1], s, True, back=False)
        if s.what == "cluster":
            x = x + sum(gain[i] * y for i, _, y in walk.draws(alpha0[k], s.n, s.bits, back=False))
        alpha1.append(np.asarray(x))
    beta1 = [np.zeros_like(beta0[-1][:, :1])]
    for k, s in reversed(list(enumerate(steps))):
        x = walk.move(beta1[-1], s, True, back=True)
        if s.what == "cluster":
            parts = [gain[i] * y for i, _, y in walk.draws(beta0[k + 1], s.n, s.bits, back=True)]
            x = x + np.sum(np.asarray(sum(parts)), axis=1, keepdims=True) if parts else x
        beta1.append(np.asarray(x))
    beta1 = beta1[::-1]
    for k, s in enumerate(steps):
        if s.what != "cluster":
            continue
        for p, fs in walk.chain.clusters[s.n]:
            if fs:
                before = walk.state(p * alpha1[k], fs, s.bits, True, back=False)
                silent = walk.state(p * alpha0[k], fs, s.bits, True, back=False)
                total = _inner(beta0[k + 1], before) + _inner(beta1[k + 1], silent)
                held[list(fs)] += float(total[0])
        for i, rest, y in walk.draws(alpha0[k], s.n, s.bits, back=False):
            held[[i, *rest]] += gain[i] * float(_inner(beta0[k + 1], y)[0])
    loose.with_swaps(held, beta0[0], beta1[0], gain)
    return held


def solve(net: Network, ev: Evidence) -> Answer:
    """The exact answer, with swaps, for any number of positive findings whose frontier can be carried."""
    gain = ev.cures - ev.others
    part = _solve(net, ev, ev.fault[None], ev.stage[None], gain, ev.others, present=True)
    z = ev.others * float(part.z[0]) + float(part.sole[0] @ gain)
    return Answer(
        z=z,
        sole=part.sole[0] * ev.cures,
        blocks=ev.others * part.blocks[0] + gain * part.sole[0],
        present=part.present,
        unlisted=ev.others * float(part.unlisted[0]),
        error=EPSILON * len(net.names) * len(net.stage_leak) if z > 0 else float("inf"),
    )
