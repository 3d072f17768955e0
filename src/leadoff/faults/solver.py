"""Chooses the exact method: products for few positive findings, the chain for many, one-fault worlds if said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from leadoff.faults import chain, posterior, products, single
from leadoff.faults.evidence import Evidence, gather
from leadoff.faults.network import Network
from leadoff.faults.products import Answer


def answer(
    net: Network, levels: Mapping[str, int], symptom: str, swaps: Mapping[str, int], *, one: bool = False
) -> Answer:
    """The exact answer for findings by level; see ``solve``."""
    return solve(net, gather(net, levels, symptom, swaps), one=one)


def solve(net: Network, ev: Evidence, *, one: bool = False, limit: float = products.LIMIT) -> Answer:
    """Exact to about ``limit`` relative, by whichever method keeps that promise."""
    if one:
        return single.solve(net, ev)
    if len(ev.pairs) > products.MOST_PAIRS:
        return replace(chain.solve(net, ev), cancels=float("inf"))
    found = posterior.solve(net, ev)
    if found.error <= limit:
        return found
    return replace(chain.solve(net, ev), cancels=found.error)


def method(found: Answer, *, one: bool) -> str:
    """The name of the method that gave ``found``."""
    if one:
        return "one fault at a time"
    return "chain" if found.cancels > products.LIMIT else "products"
