"""The chance of every cause given the findings, exact, by inclusion and exclusion over the positive findings.

Two to the number of positive findings products are summed, but a finding speaks of few faults: the others are
worked out once for all products, and what does not depend on the findings is kept with the network.

Axes: T products (last, so that the inner loops are long), C ways the start may go (one when it is the symptom
itself), L levels of the symptom, X = C x L, K clusters of faults that are not independent, S their states.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leadoff.faults.evidence import Evidence
from leadoff.faults.network import Array, Network
from leadoff.faults.products import EPSILON, Answer
from leadoff.record.tables import limit


@dataclass(frozen=True, eq=False)
class Forms:
    """One symptom's factors without any finding; level times context is the factor of a fault that is present."""

    zero: Array  # [n] lowest level
    leak: Array  # [X, 1]
    step: Array  # [singles, L] chance to draw above nothing, up to each level
    step_entry: Array  # [entries, L]
    above: Array  # [n, X] share of a fault's factor that is a draw above nothing
    on: Array  # [singles, X] chance that the fault is present, times its factor
    able: Array  # [C, singles] the same without the level
    block: Array  # [S, K x X] the same for the states, nought outside their own cluster
    block_rows: Array  # its transpose
    lone: Array  # [C, entries, 1] a state's factor with its other members silent


def forms(net: Network, context: Array, levels: Array, leak: Array) -> Forms:
    """The factors of ``net`` for ``context`` [C, n] and a symptom with cumulative draws ``levels`` [L, n] and
    ``leak`` [L]."""
    j, single = net.joints, slice(len(net.names) - len(net.single), None)
    phi = (levels * context[:, None, :]).reshape(-1, len(net.names))
    wide = np.concatenate([phi, np.ones_like(phi[:, :1])], axis=1)
    parts = (j.chance * np.multiply.reduce(wide[:, j.members], axis=-1)).T  # [S, X]
    own = np.eye(len(j.start))[j.cluster]  # [S, K]
    block = (own[:, :, None] * parts[:, None, :]).reshape(len(j.chance), -1)
    silent = np.multiply.reduce(wide[:: len(leak)][:, j.others], axis=-1)
    step = levels - levels[0]
    above = 1 - levels[0] / np.where(levels > 0, levels, 1.0)
    return Forms(
        zero=levels[0],
        leak=np.tile(leak, len(context))[:, None],
        step=step[:, single].T.copy(),
        step_entry=step[:, j.entry_fault].T.copy(),
        above=np.tile(above, (len(context), 1)).T.copy(),
        on=(net.single_p * phi[:, single]).T.copy(),
        able=net.single_p * context[:, single],
        block=block,
        block_rows=block.T.copy(),
        lone=(j.entry_chance * silent * context[:, j.entry_fault])[:, :, None],
    )


def _symptom(net: Network, ev: Evidence) -> Forms:
    """The factors for the symptom of ``ev``, kept with the network."""
    key = ev.target and (ev.target.lo.tobytes(), ev.target.hi.tobytes())
    if key not in net.memo:
        if ev.target is None:
            net.memo[key] = forms(net, np.ones((1, len(net.names))), net.stage, net.stage_leak)
        else:
            levels = np.stack([ev.target.lo, ev.target.hi])
            # A target that leaks by stage would tie its levels together; the loader of words never asks for one.
            leak = np.array([ev.target.lo_stage[0], ev.target.hi_stage[0]])
            net.memo[key] = forms(net, net.stage, levels, leak)
    kept: Forms = net.memo[key]
    return kept


add = np.add.reduce
SIGMAS = limit("faults", "rounding_sigmas")
"""How many times the root of the mean square of the roundings is taken for the error."""
SIGNS = np.array([[-1.0], [1.0]])


def _expanded(net: Network, ev: Evidence) -> tuple[Array, Array, Array]:
    """Factors of the faults [n + 1, T] (one for "no fault"), signed factors of the stages [stages, T] and signed
    weights [C, L, T]."""
    n = len(ev.fault)
    grown = ev.plain
    for p in ev.pairs:
        grown = (p.both * grown[:, None, :]).reshape(len(grown), -1)
    factor, tau = grown[: n + 1], grown[n + 1 :]
    weight = tau.copy()
    weight[:-1] -= tau[1:]
    if ev.target is None:
        return factor, tau, weight[None]
    return factor, tau, (weight * net.stage_leak[:, None])[:, None, :] * SIGNS


class _Mixed(NamedTuple):
    """What the products are made of."""

    form: Forms
    factor: Array  # [n + 1, T]
    said: NDArray[np.intp]  # singles of which a positive finding speaks
    factor_said: Array  # [said, T]
    mix: Array  # [singles, X] without the positive findings
    mix_said: Array  # [said, X, T]
    states: Array  # [S, T] factors of the findings
    joint: Array  # [K, X, T]
    base: Array  # [C, L, T] signed weights of a lone draw of the symptom


def solve(net: Network, ev: Evidence) -> Answer:
    """The exact answer over all sets of faults. Rounding grows with the cancellation, which ``error`` tells."""
    form, j, first = _symptom(net, ev), net.joints, len(net.names) - len(net.single)
    factor, tau, weight = _expanded(net, ev)
    fault, levels, size, many = ev.fault[first:, None], weight.shape[1], len(form.leak), weight.shape[2]
    touched = np.zeros(len(fault), dtype=bool)
    for p in ev.pairs:
        touched |= p.touched[first:]
    said = touched.nonzero()[0]
    factor_said, on_said = factor.take(said + first, axis=0), form.on.take(said, axis=0)
    mix = net.single_off[:, None] + form.on * fault
    mix_said = on_said[:, :, None] * factor_said[:, None, :]
    mix_said += net.single_off.take(said)[:, None, None]
    states = np.multiply.reduce(factor.take(j.members.T, axis=0), axis=0)
    joint = (form.block_rows @ states).reshape(-1, size, many)
    a = np.multiply.reduce(joint, axis=0) * np.multiply.reduce(mix_said, axis=0)
    a *= np.multiply.reduce(mix.take((~touched).nonzero()[0], axis=0), axis=0)[:, None]
    flat = weight.reshape(size, many) * form.leak
    reached = a * form.leak
    if ev.target is not None:
        reached = net.stage_leak[:, None] * (reached[1::2] - reached[::2])
    weighted = flat * a
    z = float(add(weighted, axis=None))
    # Present: the share of each factor in its cluster, summed over the products before the levels.
    over = (weighted / joint).reshape(-1, many)
    shares = (states @ over.T) * form.block  # [S, K x X]
    held = j.held.T @ add(shares.reshape(len(shares), -1, size), axis=1)  # [n, X]
    alone = add(weighted, axis=1) * form.on / mix * fault
    if len(said):
        alone[said] = ((weighted / mix_said) @ factor_said[:, :, None])[:, :, 0] * on_said
    held[first:] += alone
    present = add(held, axis=1)
    blocks = add(held * form.above, axis=1)
    # One draw above nothing, the others silent.
    quiet = a[::levels, None, :]
    base = weight * (quiet * form.leak[0])
    m = _Mixed(form, factor, said, factor_said, mix, mix_said, states, joint, base)
    by_entry = _lone_entries(net, m)
    sole = add(by_entry, axis=(0, 2)) @ j.entry_is
    sole[first:] += _lone_singles(ev.fault[first:], m)
    gain = ev.cures - ev.others
    total = ev.others * z + float(sole @ gain)
    present = ev.others * present
    swapped = bool(gain.any())
    if swapped:
        present = present + _with_swaps(net, m, by_entry, gain)
    noise = SIGMAS * sqrt(len(net.names) * float(add(weighted * weighted, axis=None))) * EPSILON / 2
    error = noise / total if total > 0 else float("inf")
    silent = float(add(flat.reshape(weight.shape) * quiet, axis=None))
    return Answer(
        z=total,
        sole=sole * ev.cures,
        blocks=ev.others * blocks + gain * sole,
        present=present,
        error=error,
        cancels=error,
        unlisted=ev.others * silent,
        by_stage=None if swapped else partial(_by_stage, tau, reached * ev.others),
    )


def _by_stage(tau: Array, reached: Array) -> Array:
    """[stages] joint with "the start ends at this stage", from products up to each stage [stages, T]."""
    out = add(tau * reached, axis=1)
    out[1:] -= add(tau[1:] * reached[:-1], axis=1)
    return np.asarray(out)


def _lone_entries(net: Network, m: _Mixed) -> Array:
    """[C, entries, T] weight of a lone draw by each member of each state of the clusters."""
    return np.asarray((m.form.step_entry @ m.base) * _quiet_entries(net, m))


def _quiet_entries(net: Network, m: _Mixed) -> Array:
    joint = m.joint[:, :: m.base.shape[1]].transpose(1, 0, 2).take(net.joints.entry_cluster, axis=1)
    return np.asarray(m.states.take(net.joints.entry_state, axis=0) * (m.form.lone / joint))


def _lone_singles(fault: Array, m: _Mixed) -> Array:
    """[singles] weight of a lone draw by each fault that is in no cluster; ``fault``: factors of the singles."""
    form, levels, said = m.form, m.base.shape[1], m.said
    draw = form.step @ add(m.base, axis=2).T  # [singles, C]
    out = fault * add(draw * form.able.T / m.mix[:, ::levels], axis=1)
    if len(said):
        draw = (form.step.take(said, axis=0) @ m.base).transpose(1, 0, 2) / m.mix_said[:, ::levels]
        by_way = (draw @ m.factor_said[:, :, None])[:, :, 0]  # [said, C]
        out[said] = add(by_way * form.able.T.take(said, axis=0), axis=1)
    return np.asarray(out)


def _with_swaps(net: Network, m: _Mixed, by_entry: Array, gain: Array) -> Array:
    """[n] joint of each fault with "one cause alone", weighted by what the swaps say of that cause."""
    form, j, first = m.form, net.joints, len(net.names) - len(net.single)
    factor = m.factor[first:-1] * form.able[:, :, None]  # [C, singles, T]
    mix = net.single_off[:, None] + form.zero[first:, None] * factor
    sole = j.entry_is.T @ by_entry
    sole[:, first:] += (form.step @ m.base) * factor / mix
    quiet = j.entry_is.T @ (_quiet_entries(net, m) * form.zero[j.entry_fault, None])
    quiet[:, first:] += form.zero[first:, None] * factor / mix
    own = sole * gain[:, None]
    # With one cause weighted by the swaps' results, the other faults may be present and silent.
    apart = own.sum(axis=1)[:, None, :] - own - j.same @ own
    inside = j.entry_with.T @ (by_entry * gain[j.entry_fault, None])
    return np.asarray((own + apart * quiet + inside).sum(axis=(0, 2)))
