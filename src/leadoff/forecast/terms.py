"""The score model: log time per unit of work as a sum of terms, with its exact derivatives.

Practitioner's form (design section 5): core clocks, cache hits, memory reads, posted stores that show when
the bus is busy, victims, display. All parameters are logs (``curve`` and ``shift`` logits), all terms
positive; scaling every clock by k with equal clocks per access scales the time by exactly 1/k. Arrays
broadcast: the last axis is the run, those before it are alternatives tried side by side.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from leadoff.forecast.priors import COLUMNS
from leadoff.forecast.rows import group

Arr = NDArray[np.float64]

OF_CHIPSET: tuple[str, ...] = tuple(c[2:] for c in COLUMNS if c.startswith("k.") and f"b.{c[2:]}" in COLUMNS)
"""What boards of one chipset share beside what is a board's own: factors that multiply."""

SLOWER = group("geometry", "video_slower")["power"]
"""How sharply the slower of bus and display card rules: the larger the nearer to a plain maximum."""

TERMS = ("core", "cache", "memory", "store", "victims", "video")


def log_time(p: Mapping[str, Arr], f: Mapping[str, Arr]) -> tuple[Arr, dict[str, Arr], dict[str, Arr]]:
    """Log time, shares of the terms and derivatives by parameter (columns of ``COLUMNS``).

    ``p``: parameters in logs by column name; ``f``: fields of ``Demand``. Shares sum to one.
    """
    p = _with_chipset(p)
    level = np.exp(p["w.level"])
    clocks = np.exp(f["log_clocks"] + p["c.clocks"] + p["cw.clocks"])
    inner, outer, wb = f["inner"], f["outer"], f["wb"]
    core = level * clocks / f["f_core"]
    rate = np.where(inner > 0.0, p["w.fills"] + p["s.halving"] * f["halvings"], p["w.refs"])
    fills = level * np.exp(rate + f["log_rate"] + p["c.fetch"])
    slope = np.exp(p["w.slope"]) * f["logit_miss"]
    bare = np.where(inner > 0.0, 0.0, p["s.outer"] + p["b.outer"])
    x = p["w.shift"] + bare + p["b.curve"] + slope
    share = 1.0 / (1.0 + np.exp(-x))
    top, marked = 1.0 / (1.0 + np.exp(-p["w.top"])), 1.0 / (1.0 + np.exp(-p["k.marked"]))
    more_beyond = f["beyond_marked"] - f["beyond"]
    past = top * (f["beyond"] + marked * more_beyond)
    missed = np.where(outer > 0.0, share + past * (1.0 - share), 1.0)
    tail = np.exp(p["s.tail"])
    hit_scale = np.exp(p["b.cache"] + p["c.reach"]) / f["f_l2"]
    hit = (f["hit_lead"] + tail * f["hit_rest"]) * hit_scale
    mem_scale = np.exp(p["b.memory"] + np.where(inner > 0.0, 0.0, p["b.bare"])) / f["f_mem"]
    rows = np.exp(p["s.rows"]) * f["mem_rows"]
    more = np.exp(p["s.bare"]) * f["mem_bare"]
    mem = (f["mem_lead"] + tail * f["mem_rest"] + rows + more) * mem_scale
    out_of = np.where(wb > 0.0, np.exp(p["s.misses"]), 1.0)
    passed = np.exp(p["s.through"]) * f["store_through"]
    cost = f["store"] + passed
    lone = np.where(inner > 0.0, 0.0, p["s.lone"])
    busy = np.exp(p["s.expose"] + lone) * out_of * cost * f["f_core"] / (f["f_bus"] * clocks)
    store = level * np.exp(p["w.stores"] + p["b.stores"]) * out_of * cost / f["f_bus"] * busy / (1.0 + busy)
    dirty = np.exp(p["w.dirty"] + p["b.dirty"])
    back = dirty * f["victim"] / f["f_bus"]
    back2 = dirty * f["victim2"] / f["f_mem"] * outer
    cache = fills * (1.0 - missed) * hit
    memory = fills * missed * mem
    victims = fills * (back + missed * back2)
    # The slower of the bus and the card's own time. Write combining spares bus clocks, not what the card needs.
    on_bus = np.power(f["video"] * np.exp(p["s.combine"] * f["combined"] + p["b.video"]), SLOWER)
    in_card = np.power(f["video_fixed"] * np.exp(p["d.card"]), SLOWER)
    both = np.maximum(on_bus + in_card, 1e-30)  # a state without a display is nothing to be slow at
    pace, by_bus = np.power(both, 1.0 / SLOWER), on_bus / both
    fed = np.exp(p["s.feed"]) * pace * f["f_core"] / clocks
    video = level * np.exp(p["w.video"]) * pace * fed / (1.0 + fed)
    total = core + cache + memory + store + victims + video
    inv = 1.0 / total
    by_fill = (cache + memory + victims) * inv
    by_miss = outer * fills * (mem - hit + back2) * inv
    turn = by_miss * share * (1.0 - share) * (1.0 - past)
    # Posted accesses hide behind the core's own work: a display access shows more the faster the core is.
    by_pace = video * (1.0 + 1.0 / (1.0 + fed)) * inv
    d_core = (core - store / (1.0 + busy) - video / (1.0 + fed)) * inv
    # Resident programs and refresh take a share of all time; held below one half so that no guess stops the
    # machine.
    resident, refresh = taken(p, f)
    away = resident + refresh
    one = np.ones_like(total)
    zero = np.zeros_like(total)
    grad = {
        "w.level": one,
        "w.fills": np.where(inner > 0.0, by_fill, zero),
        "w.refs": np.where(inner > 0.0, zero, by_fill),
        "w.shift": turn,
        "w.stores": store * inv,
        "w.dirty": victims * inv,
        "w.video": video * inv,
        "s.halving": np.where(inner > 0.0, by_fill * f["halvings"], zero),
        "w.slope": turn * slope,
        "s.tail": tail
        * fills
        * ((1.0 - missed) * f["hit_rest"] * hit_scale + missed * f["mem_rest"] * mem_scale)
        * inv,
        "s.rows": fills * missed * rows * mem_scale * inv,
        "w.top": by_miss * (1.0 - share) * past * (1.0 - top),
        "s.through": store * (1.0 + 1.0 / (1.0 + busy)) * passed / np.maximum(cost, 1e-12) * inv,
        "k.marked": by_miss * (1.0 - share) * top * more_beyond * marked * (1.0 - marked),
        "s.expose": store / (1.0 + busy) * inv,
        "s.lone": np.where(inner > 0.0, zero, store / (1.0 + busy) * inv),
        "s.feed": video / (1.0 + fed) * inv,
        "s.refresh": refresh / (1.0 - away),
        "b.refresh": refresh / (1.0 - away),
        "s.misses": np.where(wb > 0.0, store * (1.0 + 1.0 / (1.0 + busy)) * inv, zero),
        "s.outer": np.where(inner > 0.0, zero, turn),
        "s.without": 1.0 - outer,
        "b.without": 1.0 - outer,
        "s.combine": by_pace * f["combined"] * by_bus,
        "s.bare": fills * missed * more * mem_scale * inv,
        "s.resident": resident / (1.0 - away),
        "c.clocks": d_core,
        "c.fetch": by_fill,
        "c.reach": cache * inv,
        "cw.clocks": d_core,
        "b.all": one,
        "b.memory": memory * inv,
        "b.bare": np.where(inner > 0.0, zero, memory * inv),
        "b.outer": np.where(inner > 0.0, zero, turn),
        "b.cache": cache * inv,
        "b.video": by_pace * by_bus,
        "b.curve": turn,
        "b.stores": store * inv,
        "b.dirty": victims * inv,
        "d.card": by_pace * (1.0 - by_bus),
    }
    grad.update({f"k.{name}": grad[f"b.{name}"] for name in OF_CHIPSET})
    made = dict(zip(TERMS, (core, cache, memory, store, victims, video), strict=True))
    shares = {name: term * inv for name, term in made.items()}
    alone = (p["s.without"] + p["b.without"]) * (1.0 - outer)
    return np.log(total) + alone + p["b.all"] - np.log1p(-away), shares, grad


def _with_chipset(p: Mapping[str, Arr]) -> Mapping[str, Arr]:
    """The board's factors times those of its chipset."""
    return {**p, **{f"b.{name}": p[f"b.{name}"] + p[f"k.{name}"] for name in OF_CHIPSET}}


def taken(p: Mapping[str, Arr], f: Mapping[str, Arr]) -> tuple[Arr, Arr]:
    """Shares of all time that resident programs and refresh take."""
    resident = np.minimum(np.exp(p["s.resident"]) * f["resident"], 0.4)
    return resident, np.minimum(np.exp(p["s.refresh"] + p["b.refresh"]) * f["refresh"], 0.4)


def check_columns(grad: Mapping[str, Arr]) -> bool:
    """Whether a gradient has exactly the columns of the priors file."""
    return set(grad) == set(COLUMNS)


def log_time_only(p: Mapping[str, Arr], f: Mapping[str, Arr]) -> Arr:
    """The same log time without shares and derivatives, for one set of parameters and many states: the
    exponentials of the parameters are taken once. Agrees with ``log_time`` to rounding (tested)."""
    p = _with_chipset(p)
    inner, outer, wb = f["inner"], f["outer"], f["wb"]
    clocks = np.exp(f["log_clocks"]) * np.exp(p["c.clocks"] + p["cw.clocks"])
    rate = np.where(inner > 0.0, p["w.fills"] + p["s.halving"] * f["halvings"], p["w.refs"])
    fills = np.exp(rate + f["log_rate"] + p["c.fetch"])
    x = np.exp(p["w.slope"]) * f["logit_miss"] + (p["w.shift"] + p["b.curve"])
    x = x + (1.0 - inner) * (p["s.outer"] + p["b.outer"])
    top, marked = 1.0 / (1.0 + np.exp(-p["w.top"])), 1.0 / (1.0 + np.exp(-p["k.marked"]))
    past = top * (f["beyond"] + marked * (f["beyond_marked"] - f["beyond"]))
    missed = 1.0 - outer * (1.0 - past) / (1.0 + np.exp(x))
    tail = np.exp(p["s.tail"])
    hit = (f["hit_lead"] + tail * f["hit_rest"]) * (np.exp(p["b.cache"] + p["c.reach"]) / f["f_l2"])
    mem = f["mem_lead"] + tail * f["mem_rest"] + np.exp(p["s.rows"]) * f["mem_rows"]
    mem = (mem + np.exp(p["s.bare"]) * f["mem_bare"]) * np.exp(p["b.memory"]) / f["f_mem"]
    mem = mem * np.where(inner > 0.0, 1.0, np.exp(p["b.bare"]))
    cost = f["store"] + np.exp(p["s.through"]) * f["store_through"]
    cost = np.where(wb > 0.0, np.exp(p["s.misses"]), 1.0) * cost / f["f_bus"]
    lone = np.where(inner > 0.0, 1.0, np.exp(p["s.lone"]))
    busy = np.exp(p["s.expose"]) * lone * cost * f["f_core"] / clocks
    store = np.exp(p["w.stores"] + p["b.stores"]) * cost * busy / (1.0 + busy)
    dirty = np.exp(p["w.dirty"] + p["b.dirty"])
    back = dirty * (f["victim"] / f["f_bus"] + missed * f["victim2"] / f["f_mem"] * outer)
    spared = np.where(f["combined"] > 0.0, np.exp(p["s.combine"]), 1.0)
    on_bus = np.power(f["video"] * spared * np.exp(p["b.video"]), SLOWER)
    pace = np.power(on_bus + np.power(f["video_fixed"] * np.exp(p["d.card"]), SLOWER), 1.0 / SLOWER)
    fed = np.exp(p["s.feed"]) * pace * f["f_core"] / clocks
    shown = np.exp(p["w.video"]) * pace * fed / (1.0 + fed)
    total = clocks / f["f_core"] + fills * ((1.0 - missed) * hit + missed * mem + back) + store + shown
    away = sum(taken(p, f))
    alone = (p["s.without"] + p["b.without"]) * (1.0 - outer)
    return np.asarray(np.log(total) + p["w.level"] + alone + p["b.all"] - np.log1p(-away))
