"""Settings that are not known: which values they may have, so that a fit can go through them one by one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product

from leadoff.forecast.facts import Setup
from leadoff.machine.effects import carriers_of

MOST = 60
"""Combinations tried side by side; beyond this the setting with most values is left at its usual one."""

_MODELLED = (
    *("l2_read", "l2_read_ws", "l2_write_ws", "dram_read", "dram_read_ws", "dram_write_ws"),
    *("l2_policy", "l1_policy", "l2", "cas", "rcd", "rp", "refresh", "vlb_ws", "l2_kb", "video_bus"),
    *("write_combine",),
)

_CHOICES: Mapping[str, tuple[str, ...]] = {
    "l2_read_ws": ("0", "1"),
    "l2_write_ws": ("0", "1"),
    "dram_read_ws": ("0", "1", "2"),
    "dram_write_ws": ("0", "1"),
    "l2_policy": ("wt", "wb"),
    "l1_policy": ("wt", "wb"),
    "l2": ("on", "off"),
    "cas": ("2", "3"),
    "rcd": ("2", "3"),
    "rp": ("2", "3"),
    "refresh": ("normal", "slow"),
    "vlb_ws": ("0", "1"),
    "write_combine": ("off", "on"),
}

_PATTERNS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "l2_read": {
        "486": ("2-1-1-1", "3-1-1-1", "2-2-2-2", "3-2-2-2"),
        "wide": ("3-1-1-1", "3-2-2-2", "4-2-2-2", "4-3-3-3"),
    },
    "dram_read": {
        "486": ("3-2-2-2", "4-2-2-2", "4-3-3-3", "5-3-3-3"),
        "wide": ("5-2-2-2", "6-2-2-2", "7-2-2-2", "7-3-3-3", "8-3-3-3"),
    },
}


def unknown_names(setups: Sequence[Setup]) -> tuple[str, ...]:
    """Modelled settings that are written down as unknown in one of a board's states, or are known in some
    and not in others. One that nobody ever mentioned is left at what is usual: the board's own deviations
    cover it."""
    out = []
    for name in _MODELLED:
        values = [s.state.value(name) for s in setups]
        if all(v is not None for v in values):
            continue
        written = any(name in s.state.settings and s.state.value(name) is None for s in setups)
        if written or any(v is not None for v in values):
            out.append(name)
    return tuple(out)


def choices(name: str, setup: Setup) -> tuple[str, ...]:
    """Values a setting can have: what the board's sheet offers, else what boards of its class express."""
    offered = {v for c in carriers_of(setup.sheet, name) for v in c.sets[name].values()}
    if len(offered) > 1:
        return tuple(sorted(offered))
    if name in _PATTERNS:
        wide = setup.sheet.board_class.startswith(("socket", "slot"))
        return _PATTERNS[name]["wide" if wide else "486"]
    return _CHOICES.get(name, ())


def combinations(setups: Sequence[Setup]) -> tuple[Mapping[str, str], ...]:
    """Every combination of values of the unknown settings of one board, at most ``MOST``; at least one.

    All are taken as equally likely beforehand. The same hidden value is taken for all states of the board.
    """
    if not setups:
        return ({},)
    axes = [(n, c) for n in unknown_names(setups) if (c := choices(n, setups[0]))]
    axes.sort(key=lambda a: (len(a[1]), a[0]))
    kept: list[tuple[str, tuple[str, ...]]] = []
    size = 1
    for name, values in axes:
        if size * len(values) <= MOST:
            kept.append((name, values))
            size *= len(values)
    return tuple(dict(zip([n for n, _ in kept], v, strict=True)) for v in product(*[v for _, v in kept]))
