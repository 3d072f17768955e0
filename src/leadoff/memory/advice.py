"""What a change of the cache does: hit rate, mean fill, time, and where it stops paying."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np

from leadoff.memory.demand import Blend, Demand, Pages, Rate, demand
from leadoff.memory.geometry import Hierarchy
from leadoff.memory.profile import Profile
from leadoff.memory.rows import rows
from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import Quantity, Source, undefined

DRAWS = 4000
SEED = 19940401
Band = tuple[float, float]


class CacheSetup(msgspec.Struct, frozen=True, kw_only=True):
    """One side of a change. Bus clocks as (least, most) where they are not known exactly.

    ``l2_clocks``: a whole line from the second level. ``memory_clocks``: a line from memory on a page hit, the
    look into the second level included. ``row_clocks`` (tRCD) and ``precharge_clocks`` (tRP) come on top.
    ``store_clocks``: a posted store, ``victim_clocks`` a line written. ``uncached_share``: line reads beyond
    the cacheable range, as (least, most) where it is not known how the program lies.
    """

    hierarchy: Hierarchy
    bus_mhz: float
    core_mhz: float
    l2_clocks: Band
    memory_clocks: Band
    row_clocks: Band = (2.0, 3.0)
    precharge_clocks: Band = (2.0, 3.0)
    store_clocks: Band = (2.0, 3.0)
    victim_clocks: Band = (6.0, 12.0)
    uncached_share: float | Band = 0.0

    @property
    def uncached(self) -> Band:
        """The same as a band."""
        share = self.uncached_share
        return share if isinstance(share, tuple) else (share, share)

    def __post_init__(self) -> None:
        for name in (
            "l2_clocks",
            "memory_clocks",
            "row_clocks",
            "precharge_clocks",
            "store_clocks",
            "victim_clocks",
        ):
            least, most = getattr(self, name)
            if not 0.0 <= least <= most:
                raise LeadoffError.one(
                    "clock_band",
                    f"{name} from {least:g} to {most:g}: the band must rise from zero up",
                    where=name,
                )
        if not 0.0 <= self.uncached[0] <= self.uncached[1] <= 1.0:
            raise LeadoffError.one(
                "share_range",
                f"an uncached share from {self.uncached[0]:g} to {self.uncached[1]:g} must lie inside 0 to 1",
                where="uncached_share",
            )
        if not (0 < self.bus_mhz <= 250 and self.bus_mhz <= self.core_mhz <= 3000):
            raise LeadoffError.one(
                "clocks",
                f"a core of {self.core_mhz:g} MHz on a bus of {self.bus_mhz:g} MHz cannot be",
                where="core_mhz",
            )


class Advice(msgspec.Struct, frozen=True, kw_only=True):
    """The change in numbers, with bands. ``score_change_pct`` is in speed: above zero is faster.

    ``break_even_l2_clocks``: clocks of a second-level hit after the change above which it does not pay;
    ``break_even_fill_clocks`` the same for the mean fill. ``chance_faster`` over everything not known.
    """

    hit_now: Quantity
    hit_then: Quantity
    mean_fill_now: Quantity
    mean_fill_then: Quantity
    score_change_pct: Quantity
    chance_faster: float
    pays: str
    break_even_fill_clocks: Quantity
    break_even_l2_clocks: Quantity
    why: tuple[str, ...]


def advise_change(
    source: Profile | Blend,
    now: CacheSetup,
    then: CacheSetup,
    *,
    core_share: Band | None = None,
    pages: Pages | str = Pages.UNKNOWN,
) -> Advice:
    """What changing ``now`` to ``then`` does to a workload of profile ``source``.

    ``core_share``: share of the time now that neither cache nor memory can change, as (least, most); without it
    instructions of the profile are charged with clocks by prior, which is wide. Placement, families, clocks that
    are not exact and the core's share are drawn together; the same draw goes to both sides where it is common.
    """
    draw = _Draw()
    a = _side(source, now, draw, pages)
    b = _side(source, then, draw, pages)
    if core_share is None:
        core = draw.core(a["demand"])
        core = core / now.core_mhz
        core_then = core * now.core_mhz / then.core_mhz
    else:
        least, most = core_share
        if not 0.0 < least <= most < 1.0:
            raise LeadoffError.one(
                "share_range",
                f"a core share from {least:g} to {most:g} must lie inside 0 to 1",
                where="core_share",
            )
        share = draw.within("core_share", core_share)
        core = a["time"] * share / (1 - share)
        core_then = core * now.core_mhz / then.core_mhz
    gain = 100.0 * ((core + a["time"]) / (core_then + b["time"]) - 1.0)
    faster = float((gain > 0).mean())
    pays = "yes" if faster >= 0.95 else ("no" if faster <= 0.05 else "cannot tell")
    even_fill = (a["time"] + core - core_then - b["rest"]) * then.bus_mhz / b["fills"]
    hit = np.maximum(b["hit"], 1e-6)
    even_l2 = (even_fill - (1 - hit) * b["memory"]) / hit
    has_l2 = then.hierarchy.l2 is not None
    return Advice(
        hit_now=_band(a["hit"], "share"),
        hit_then=_band(b["hit"], "share"),
        mean_fill_now=_band(a["fill"], "bus clocks"),
        mean_fill_then=_band(b["fill"], "bus clocks"),
        score_change_pct=_band(gain, "%"),
        chance_faster=faster,
        pays=pays,
        break_even_fill_clocks=_band(np.maximum(even_fill, 0.0), "bus clocks"),
        break_even_l2_clocks=_band(np.maximum(even_l2, 0.0), "bus clocks")
        if has_l2
        else undefined("bus clocks", "there is no second level after the change"),
        why=_why(now, then, a, b),
    )


class _Draw:
    """Common random numbers: the same name gives the same draw to both sides."""

    def __init__(self) -> None:
        self._made: dict[str, Any] = {}
        self._generator = np.random.default_rng(SEED)

    def normal(self, name: str) -> Any:
        if name not in self._made:
            self._made[name] = self._generator.standard_normal(DRAWS)
        return self._made[name]

    def within(self, name: str, band: Band) -> Any:
        key = f"u:{name}"
        if key not in self._made:
            self._made[key] = self._generator.random(DRAWS)
        return band[0] + (band[1] - band[0]) * self._made[key]

    def rate(self, name: str, side: str, rate: Rate) -> Any:
        luck = rate.log_sd * self.normal(f"{name}:{side}")
        # What family the workload belongs to is the same before and after the change.
        return rate.value * np.exp(luck + rate.between * self.normal(f"family:{name}"))

    def core(self, d: Demand) -> Any:
        row = rows("advice")["core_clocks"]
        per = d.instructions_per_reference or row["instructions_per_reference"]
        clocks = self.within("cpi", (row["per_instruction"][0], row["per_instruction"][1]))
        return 1000.0 * per * clocks


def _side(source: Profile | Blend, setup: CacheSetup, draw: _Draw, pages: Pages | str) -> dict[str, Any]:
    d = demand(source, setup.hierarchy, pages=pages)
    fills = d.fills.value * np.exp(d.fills.between * draw.normal("family:fills"))
    share = min(1.0, d.fills_memory.value / d.fills.value) if d.fills.value > 0 else 0.0
    odds = math.log(max(share, 1e-6) / max(1 - share, 1e-6))
    # Miss shares stay inside 0 to 1: spread is put on the odds.
    # Pages lie where they lie before and after: lucky there, lucky here.
    luck = d.fills_memory.log_sd * draw.normal("placement")
    family = math.sqrt(max(0.0, d.fills_memory.between**2 - d.fills.between**2)) * draw.normal("family:share")
    miss = 1 / (1 + np.exp(-(odds + luck + family))) if setup.hierarchy.l2 is not None else np.ones(DRAWS)
    # Where the program lies is the same before and after; lines beyond the range are never held.
    miss = miss + (1 - miss) * draw.within("uncached", setup.uncached)
    row = d.row_miss.value * draw.within("row_clocks", setup.row_clocks)
    page = d.page_miss.value * (
        draw.within("row_clocks", setup.row_clocks) + draw.within("precharge_clocks", setup.precharge_clocks)
    )
    memory = draw.within("memory_clocks", setup.memory_clocks) + row + page
    fill = (1 - miss) * draw.within("l2_clocks", setup.l2_clocks) + miss * memory
    stores = draw.rate("stores", "both", d.stores) * draw.within("store_clocks", setup.store_clocks)
    victims = d.victims_passed.value + d.victims_l2.value
    back = victims * draw.within("victim_clocks", setup.victim_clocks)
    busy = rows("advice")["exposed"]
    rest = (busy["stores"] * stores + busy["victims"] * back) / setup.bus_mhz
    return {
        "demand": d, "fills": fills, "hit": 1 - miss, "memory": memory, "fill": fill, "rest": rest,
        "time": fills * fill / setup.bus_mhz + rest,
    }  # fmt: skip


def _why(now: CacheSetup, then: CacheSetup, a: dict[str, Any], b: dict[str, Any]) -> tuple[str, ...]:
    out = []
    hit = (float(np.median(a["hit"])), float(np.median(b["hit"])))
    if abs(hit[1] - hit[0]) > 0.005:
        out.append(
            f"the second level serves {100 * hit[1]:.0f} % of line reads instead of {100 * hit[0]:.0f} %"
        )
    if now.uncached != then.uncached:
        out.append(
            f"{_shares(then.uncached)} of line reads lie beyond the cacheable range instead of "
            f"{_shares(now.uncached)}"
        )
    for name, label in (("l2_clocks", "a line from the cache"), ("memory_clocks", "a line from memory")):
        was, will = getattr(now, name), getattr(then, name)
        there = name != "l2_clocks" or (now.hierarchy.l2 is not None and then.hierarchy.l2 is not None)
        if was != will and there:
            out.append(f"{label} takes {_clocks(will)} bus clocks instead of {_clocks(was)}")
    if a["demand"].outside or b["demand"].outside:
        out.append("; ".join(sorted({a["demand"].outside, b["demand"].outside} - {""})))
    return tuple(out)


def _clocks(band: Band) -> str:
    return f"{band[0]:.3g}" if band[0] == band[1] else f"{band[0]:.3g} to {band[1]:.3g}"


def _shares(band: Band) -> str:
    low, high = (f"{100 * b:.0f} %" for b in band)
    return low if low == high else f"{low} to {high}"


def _band(draws: Any, unit: str) -> Quantity:
    low, middle, high = np.quantile(draws, (0.05, 0.5, 0.95))
    return Quantity(value=float(middle), unit=unit, source=Source.COMPUTED, lo=float(low), hi=float(high))
