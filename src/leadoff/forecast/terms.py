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

from leadoff.forecast.posted import posted
from leadoff.forecast.priors import COLUMNS
from leadoff.forecast.rows import group

Arr = NDArray[np.float64]

SHARED: tuple[tuple[str, str], ...] = tuple(
    (c, c[2:]) for c in COLUMNS if c[:2] in ("f.", "k.", "v.") and f"b.{c[2:]}" in COLUMNS
)
"""What boards of one family, chipset or display bus share: its column, and the board's factor that it goes with."""

BOTH = group("geometry", "video_slower")["both"]
"""How far display bus and card add up where both need as long: 0 is a plain maximum."""

CLUSTERED = group("geometry", "video_slower")["clustered"]
"""How far display accesses come closer together than their mean: what one entry lets show at any pace."""

TERMS = ("core", "cache", "memory", "store", "victims", "video")


def log_time(p: Mapping[str, Arr], f: Mapping[str, Arr]) -> tuple[Arr, dict[str, Arr], dict[str, Arr]]:
    """Log time, shares of the terms and derivatives by parameter (columns of ``COLUMNS``).

    ``p``: parameters in logs by column name; ``f``: fields of ``Demand``. Shares sum to one.
    """
    p = _with_shared(p)
    level = np.exp(p["w.level"])
    clocks = np.exp(f["log_clocks"] + p["c.clocks"] + p["e.clocks"] + p["cw.clocks"])
    inner, outer, wb = f["inner"], f["outer"], f["wb"]
    core = level * clocks / f["f_core"]
    rate = np.where(inner > 0.0, p["w.fills"] + p["s.halving"] * f["halvings"], p["w.refs"])
    fills = level * np.exp(rate + f["log_rate"] + p["c.fetch"])
    slope = np.exp(p["w.slope"]) * f["logit_miss"]
    bare = np.where(inner > 0.0, 0.0, p["s.outer"] + p["b.outer"])
    # What misses the second level goes little with the first: behind a larger first it is more of the misses.
    x = p["w.shift"] + bare + p["b.curve"] + slope - p["s.deeper"] * f["halvings"]
    share = 1.0 / (1.0 + np.exp(-x))
    top, marked = 1.0 / (1.0 + np.exp(-p["w.top"])), 1.0 / (1.0 + np.exp(-p["k.marked"]))
    more_beyond = f["beyond_marked"] - f["beyond"]
    past = top * (f["beyond"] + marked * more_beyond)
    missed = np.where(outer > 0.0, share + past * (1.0 - share), 1.0)
    tail = np.exp(p["s.tail"] + p["c.tail"])
    hit_scale = np.exp(p["b.cache"] + p["c.reach"]) / f["f_l2"]
    hit = (f["hit_lead"] + tail * f["hit_rest"]) * hit_scale
    mem_scale = np.exp(p["b.memory"] + np.where(inner > 0.0, 0.0, p["b.bare"])) / f["f_mem"]
    rows = np.exp(p["s.rows"] + p["s.near"] * (1.0 - outer)) * f["mem_rows"]
    more = np.exp(p["s.bare"]) * f["mem_bare"]
    look = np.exp(p["k.look"]) * outer
    mem = (f["mem_lead"] + tail * f["mem_rest"] + rows + more + look) * mem_scale
    out_of = np.where(wb > 0.0, np.exp(p["s.misses"]), 1.0)
    # With write allocation a store that misses fills a line instead of leaving.
    leaving = level * np.exp(p["w.stores"] + p["b.stores"]) * out_of * (1.0 - f["alloc"])
    stores = posted(p, f, leaving, fills, missed, core)
    store = stores.time
    through = np.exp(p["s.through"] + p["k.through"])
    # Lines that the first level throws out hide behind the fill as the core can; those of the second are the board's.
    dirty = np.exp(p["w.dirty"])
    hidden = dirty * np.exp(p["c.dirty"])
    behind = through * f["victim_through"]
    back = hidden * (f["victim"] + behind) / f["f_bus"]
    back2 = dirty * np.exp(p["b.dirty"]) * f["victim2"] / f["f_mem"] * outer
    # What write allocation brings in comes from memory: a store is no reason for the second level to hold a line.
    allocated = np.exp(p["w.alloc"]) * f["alloc"]
    read = missed + allocated
    cache = fills * (1.0 - missed) * hit
    memory = fills * read * mem
    victims = fills * (back * (1.0 + allocated) + read * back2)
    # The slower of the bus and the card's own time. Write combining spares bus clocks, not what the card needs.
    on_bus = f["video"] * np.exp(p["s.combine"] * f["combined"] + p["b.video"])
    in_card = f["video_fixed"] * np.exp(p["d.card"] + p["s.merge"] * f["combined"])
    pace, by_bus = slower(on_bus, in_card)
    feed = np.exp(-p["s.feed"]) * clocks / f["f_core"]
    shown, steep = waited(pace / feed, f["video_depth"])
    video = level * np.exp(p["w.video"]) * feed * shown
    total = core + cache + memory + store + victims + video
    inv = 1.0 / total
    by_fill = (cache + memory + victims + stores.behind) * inv
    by_miss = (outer * fills * (mem - hit + back2) + stores.by_missed) * inv
    by_rows = fills * read * rows * mem_scale * inv
    by_leaving = (stores.full + stores.by_load) * inv
    by_passing = (stores.through + fills * (1.0 + allocated) * hidden * behind / f["f_bus"]) * inv
    turn = by_miss * share * (1.0 - share) * (1.0 - past)
    by_tail = (
        tail * fills * ((1.0 - missed) * f["hit_rest"] * hit_scale + read * f["mem_rest"] * mem_scale) * inv
    )
    # Posted accesses hide behind the core's own work: a display access shows more the faster the core is.
    by_pace = video * steep * inv
    d_core = (core - stores.by_load - video * (steep - 1.0)) * inv
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
        "w.stores": by_leaving,
        "w.dirty": victims * inv,
        "w.video": video * inv,
        "s.halving": np.where(inner > 0.0, by_fill * f["halvings"], zero),
        "w.slope": turn * slope,
        "s.tail": by_tail,
        "c.tail": by_tail,
        "s.deeper": -turn * f["halvings"],
        "k.look": fills * read * look * mem_scale * inv,
        "s.rows": by_rows,
        "s.near": by_rows * (1.0 - outer),
        "w.alloc": fills * allocated * (mem + back + back2) * inv,
        "w.top": by_miss * (1.0 - share) * past * (1.0 - top),
        "s.through": by_passing,
        "k.through": by_passing,
        "s.naked": stores.naked * inv,
        "s.missing": stores.missing * inv,
        "k.marked": by_miss * (1.0 - share) * top * more_beyond * marked * (1.0 - marked),
        "s.expose": stores.by_load * inv,
        "s.behind": stores.behind * inv,
        "s.drained": np.where(wb > 0.0, stores.behind * inv, zero),
        "s.feed": video * (steep - 1.0) * inv,
        "s.refresh": refresh / (1.0 - away),
        "b.refresh": refresh / (1.0 - away),
        "s.misses": np.where(wb > 0.0, by_leaving, zero),
        "s.outer": np.where(inner > 0.0, zero, turn),
        "s.without": 1.0 - outer,
        "b.without": 1.0 - outer,
        "s.combine": by_pace * f["combined"] * by_bus,
        "s.merge": by_pace * f["combined"] * (1.0 - by_bus),
        "s.bare": fills * read * more * mem_scale * inv,
        "w.ticks": resident / (1.0 - away),
        "s.resident": np.exp(p["w.ticks"] + p["s.resident"]) * f["resident"] / (1.0 - away),
        "c.clocks": d_core,
        "e.clocks": d_core,
        "c.fetch": by_fill,
        "c.reach": cache * inv,
        "c.dirty": fills * (1.0 + allocated) * back * inv,
        "c.expose": stores.by_load * inv,
        "cw.clocks": d_core,
        "b.all": one,
        "b.memory": memory * inv,
        "b.bare": np.where(inner > 0.0, zero, memory * inv),
        "b.outer": np.where(inner > 0.0, zero, turn),
        "b.cache": cache * inv,
        "b.video": by_pace * by_bus,
        "b.curve": turn,
        "b.stores": by_leaving,
        "b.dirty": fills * read * back2 * inv,
        "d.card": by_pace * (1.0 - by_bus),
    }
    grad.update({column: grad[f"b.{name}"] for column, name in SHARED})
    made = dict(zip(TERMS, (core, cache, memory, store, victims, video), strict=True))
    shares = {name: term * inv for name, term in made.items()}
    alone = (p["s.without"] + p["b.without"]) * (1.0 - outer)
    return np.log(total) + alone + p["b.all"] - np.log1p(-away), shares, grad


def _with_shared(p: Mapping[str, Arr]) -> Mapping[str, Arr]:
    """The board's factors times those that it shares."""
    out = dict(p)
    for column, name in SHARED:
        out[f"b.{name}"] = out[f"b.{name}"] + p[column]
    return out


def slower(a: Arr, b: Arr) -> tuple[Arr, Arr]:
    """The larger of two times, smoothly, and its derivative by the first, in logs; the rest is the other's."""
    # A state without a display is nothing to be slow at.
    a, b = np.maximum(a, 1e-12), np.maximum(b, 1e-12)
    half = 0.5 * (a - b)
    root = np.sqrt(half * half + BOTH * a * b)
    out = 0.5 * (a + b) + root
    return out, a * (0.5 + 0.5 * (half + BOTH * b) / root) / out


def waited(pace: Arr, depth: Arr) -> tuple[Arr, Arr]:
    """What shows of a posted access whose bus and card take ``pace`` times what lies between two of them, in units of
    that, behind a buffer of ``depth`` entries: all beyond one when the bus is behind, hardly any when it is not; and
    the derivative of its log by that of the pace."""
    half, some = 0.5 * (pace - 1.0), CLUSTERED / depth
    root = np.sqrt(half * half + some * pace)
    # The same as half + root, without taking nearly equal numbers from each other.
    shown = np.where(half > 0.0, half + root, some * pace / (root - np.minimum(half, 0.0)))
    return shown, pace * (0.5 + 0.5 * (half + some) / root) / shown


def taken(p: Mapping[str, Arr], f: Mapping[str, Arr]) -> tuple[Arr, Arr]:
    """Shares of all time that interrupts, with the resident programs behind them, and refresh take."""
    ticks = np.exp(p["w.ticks"]) * (f["ticks"] + np.exp(p["s.resident"]) * f["resident"])
    resident = np.minimum(ticks, 0.4)
    return resident, np.minimum(np.exp(p["s.refresh"] + p["b.refresh"]) * f["refresh"], 0.4)


def check_columns(grad: Mapping[str, Arr]) -> bool:
    """Whether a gradient has exactly the columns of the priors file."""
    return set(grad) == set(COLUMNS)


def log_time_only(p: Mapping[str, Arr], f: Mapping[str, Arr]) -> Arr:
    """The same log time without shares and derivatives, for one set of parameters and many states: the
    exponentials of the parameters are taken once. Agrees with ``log_time`` to rounding (tested)."""
    p = _with_shared(p)
    inner, outer, wb = f["inner"], f["outer"], f["wb"]
    clocks = np.exp(f["log_clocks"]) * np.exp(p["c.clocks"] + p["e.clocks"] + p["cw.clocks"])
    rate = np.where(inner > 0.0, p["w.fills"] + p["s.halving"] * f["halvings"], p["w.refs"])
    fills = np.exp(rate + f["log_rate"] + p["c.fetch"])
    allocated = np.exp(p["w.alloc"]) * f["alloc"]
    x = np.exp(p["w.slope"]) * f["logit_miss"] + (p["w.shift"] + p["b.curve"]) - p["s.deeper"] * f["halvings"]
    x = x + (1.0 - inner) * (p["s.outer"] + p["b.outer"])
    top, marked = 1.0 / (1.0 + np.exp(-p["w.top"])), 1.0 / (1.0 + np.exp(-p["k.marked"]))
    past = top * (f["beyond"] + marked * (f["beyond_marked"] - f["beyond"]))
    missed = 1.0 - outer * (1.0 - past) / (1.0 + np.exp(x))
    tail = np.exp(p["s.tail"] + p["c.tail"])
    hit = (f["hit_lead"] + tail * f["hit_rest"]) * (np.exp(p["b.cache"] + p["c.reach"]) / f["f_l2"])
    rows = np.exp(p["s.rows"]) * np.where(f["outer"] > 0.0, 1.0, np.exp(p["s.near"])) * f["mem_rows"]
    mem = f["mem_lead"] + tail * f["mem_rest"] + rows + np.exp(p["k.look"]) * outer
    mem = (mem + np.exp(p["s.bare"]) * f["mem_bare"]) * np.exp(p["b.memory"]) / f["f_mem"]
    mem = mem * np.where(inner > 0.0, 1.0, np.exp(p["b.bare"]))
    through = np.exp(p["s.through"] + p["k.through"])
    out_of = np.where(wb > 0.0, np.exp(p["s.misses"]), 1.0)
    leaving = np.exp(p["w.stores"] + p["b.stores"]) * out_of * (1.0 - f["alloc"])
    store = posted(p, f, leaving, fills, missed, clocks / f["f_core"]).time
    back = (
        np.exp(p["c.dirty"]) * (f["victim"] + through * f["victim_through"]) / f["f_bus"] * (1.0 + allocated)
    )
    back = back + np.exp(p["b.dirty"]) * (missed + allocated) * f["victim2"] / f["f_mem"] * outer
    back = np.exp(p["w.dirty"]) * back
    spared, merged = (np.where(f["combined"] > 0.0, np.exp(p[n]), 1.0) for n in ("s.combine", "s.merge"))
    pace = slower(
        f["video"] * spared * np.exp(p["b.video"]), f["video_fixed"] * merged * np.exp(p["d.card"])
    )[0]
    feed = np.exp(-p["s.feed"]) * clocks / f["f_core"]
    shown = np.exp(p["w.video"]) * feed * waited(pace / feed, f["video_depth"])[0]
    total = (
        clocks / f["f_core"]
        + fills * ((1.0 - missed) * hit + (missed + allocated) * mem + back)
        + store
        + shown
    )
    away = sum(taken(p, f))
    alone = (p["s.without"] + p["b.without"]) * (1.0 - outer)
    return np.asarray(np.log(total) + p["w.level"] + alone + p["b.all"] - np.log1p(-away))
