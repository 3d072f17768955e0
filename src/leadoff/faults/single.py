"""The same answers when exactly one fault is known to be present: one product for each fault."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from leadoff.faults.evidence import Evidence
from leadoff.faults.network import Array, Network, States
from leadoff.faults.products import EPSILON, Answer, Terms, expand, weigh


def _split(net: Network, states: States) -> tuple[list[tuple[float, tuple[int, ...]]], ...]:
    """States of a cluster with no real fault, and with exactly one; what is merely fitted is no fault."""
    real = [sum(not net.names[i].startswith("fit_") for i in fs) for _, fs in states]
    none = [st for st, n in zip(states, real, strict=True) if n == 0]
    one = [st for st, n in zip(states, real, strict=True) if n == 1]
    return none, one


def hypotheses(net: Network) -> tuple[Array, NDArray[np.intp], NDArray[np.intp]]:
    """Weights [H], members [H, 2] (index n: nobody) and the fault [H] of every single-fault world."""
    parts = [_split(net, states) for states in net.clusters]
    fitted = [c for c, (none, _) in enumerate(parts) if any(fs for _, fs in none)]
    rows: list[tuple[float, tuple[int, ...], int]] = []
    for c, (none, one) in enumerate(parts):
        empty = sum(p for p, _ in none)
        for p, fs in one:
            fault = next(i for i in fs if not net.names[i].startswith("fit_"))
            if c in fitted or not fitted:
                rows.append((p / empty, fs, fault))
            else:
                kinds = parts[fitted[0]][0]
                total = sum(q for q, _ in kinds)
                rows += [(p / empty * q / total, (*fs, *ks), fault) for q, ks in kinds]
    n = len(net.names)
    members = np.array([(*fs, *([n] * (2 - len(fs)))) for _, fs, _ in rows], dtype=np.intp)
    return np.array([w for w, _, _ in rows]), members, np.array([f for _, _, f in rows], dtype=np.intp)


def _answers(net: Network, terms: Terms, tau: Array, fault: Array) -> tuple[Array, Array, Array]:
    """Per world [H]: joint with the evidence, the part in which its fault alone draws the symptom, and the
    part in which it draws it, alone or beside a cause that is in no table."""
    weight, members, own = hypotheses(net)
    part = Terms(terms.coef, fault, tau, terms.levels, terms.leak, terms.target)
    coef, factor, w = weigh(net, part, tau)
    phi = terms.levels * factor[:, None, :]
    wide = np.concatenate([phi, np.ones_like(phi[..., :1])], axis=-1)
    product = np.multiply.reduce(wide[..., members], axis=-1)  # [T, L, H]
    signed = (coef[:, None] * w)[..., None]
    total = (signed * product * terms.leak[:, None]).sum(axis=(0, 1)) * weight
    zero, here = terms.levels[0][own], terms.levels[:, own]
    drawn = np.where(here > 0, 1 - zero / np.where(here > 0, here, 1.0), 0.0)
    drawing = signed * product * drawn
    alone = drawing.sum(axis=(0, 1)) * terms.leak[0] * weight
    return total, alone, (drawing * terms.leak[:, None]).sum(axis=(0, 1)) * weight


def _by_fault(net: Network, values: Array) -> Array:
    _, _, own = hypotheses(net)
    return np.asarray(np.bincount(own, weights=values, minlength=len(net.names)), dtype=np.float64)


def _weighed(
    net: Network, ev: Evidence, terms: Terms, tau: Array, fault: Array
) -> tuple[Array, Array, Array]:
    """Present, sole and blocks [n], with the results of swaps."""
    total, alone, drawn = (_by_fault(net, x) for x in _answers(net, terms, tau, fault))
    sole = alone * ev.cures
    blocks = sole + np.maximum(drawn - alone, 0.0) * ev.others
    return sole + np.maximum(total - alone, 0.0) * ev.others, sole, blocks


def solve(net: Network, ev: Evidence) -> Answer:
    """The exact answer over the worlds with one fault."""
    terms = expand(net, ev)
    present, sole, blocks = _weighed(net, ev, terms, terms.tau, terms.fault)
    return Answer(
        z=float(present.sum()),
        sole=sole,
        blocks=blocks,
        present=present,
        error=EPSILON * len(net.names),
        unlisted=float(np.maximum(present - blocks, 0.0).sum()),
    )


def sweep(
    net: Network, ev: Evidence, fault: Sequence[Array], stage: Sequence[Array]
) -> tuple[Array, Array, Array]:
    """``z`` [M], ``sole`` and ``blocks`` [M, n] with further factors, swaps included."""
    terms = expand(net, ev)
    rows = [
        _weighed(net, ev, terms, terms.tau * s, terms.fault * f) for f, s in zip(fault, stage, strict=True)
    ]
    return (
        np.array([p.sum() for p, _, _ in rows]),
        np.array([q for _, q, _ in rows]),
        np.array([b for _, _, b in rows]),
    )
