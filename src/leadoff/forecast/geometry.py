"""The seam between a state and the score model: what a state means in clocks for a workload.

``demand`` is the closed-form family with documented rows; a simulated one can take its place without the
fit knowing, as long as it fills the same fields.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

import msgspec

from leadoff.forecast.core_ratio import core_key, log_core_ratio, store_buffers
from leadoff.forecast.facts import Setup
from leadoff.forecast.kinds import kind_of
from leadoff.forecast.paths import family
from leadoff.forecast.rows import group
from leadoff.record.runs import Workload


class Demand(msgspec.Struct, frozen=True, kw_only=True, array_like=True):
    """One state as the score model sees it. Clocks in MHz, costs in clocks of the bus they happen on.

    ``logit_miss`` is the second level's miss share in logit; ``inner`` is 1 with a first-level cache at work.
    ``store_through``: clocks of a store to memory that a write-through second level passes on; ``beyond``: share of
    memory outside of the cacheable range, ``beyond_marked`` the same if the dirty mark takes a bit of the tag.
    ``victim_through``: clocks of a replaced line beyond those to the second level where that passes it on; ``alloc``
    is 1 where a store that misses fills a line. ``luck``: how far one boot's pages may lie from another's in a second
    level, over those of 128 KB.
    """

    f_core: float
    f_bus: float
    f_mem: float
    f_l2: float
    log_clocks: float
    inner: float
    halvings: float
    log_rate: float
    outer: float
    logit_miss: float
    hit_lead: float
    hit_rest: float
    mem_lead: float
    mem_rest: float
    mem_rows: float
    store: float
    store_memory: float
    buffers: float
    wb: float
    victim: float
    victim2: float
    victim_through: float
    video: float
    video_fixed: float
    video_depth: float
    refresh: float
    mem_bare: float
    ticks: float
    resident: float
    combined: float
    store_through: float
    beyond: float
    beyond_marked: float
    alloc: float
    luck: float


FIELDS: tuple[str, ...] = Demand.__struct_fields__


class Gap(Exception):  # noqa: N818
    """A state lacks a clock that the model cannot do without; the message says which."""


def demand(workload: Workload, setup: Setup, over: Mapping[str, str] | None = None) -> Demand:
    """The demand of a workload in a state. ``over`` gives values to settings that are not known.

    Raises:
        Gap: when the core or bus clock is not known.
    """
    return _Reader(setup, over or {}).demand(workload)


def range_words(setup: Setup) -> str:
    """How much memory the cache on the board holds no lines of, in words; empty where all of it is inside."""
    try:
        read = _Reader(setup, {})
    except Gap:
        return ""
    ram = read.number("ram_mb") or 0.0
    least, most = (share * ram for share in read.beyond(read.value("l2") != "off"))
    if most <= 0.0:
        return ""
    text = f"{least:.0f}" if least == most else f"{least:.0f} to {most:.0f}"
    if least < most:
        text = f"{text} (by whether the dirty mark takes a bit of the tag)"
    return f"{text} of {ram:.0f} MB lie beyond the cacheable range: what runs there is read from memory"


class _Reader:
    """Reads settings of one state with usual values for what was never said."""

    def __init__(self, setup: Setup, over: Mapping[str, str]) -> None:
        self.setup = setup
        self.over = over
        self.core = core_key(setup)
        self.family = family(setup)
        self.cost = _group("cost")
        self.usual = _group("usual")
        core, bus = setup.clock("core_mhz"), setup.clock("bus_mhz")
        if core is None or bus is None:
            lost = [n for n, v in (("core_mhz", core), ("bus_mhz", bus)) if v is None]
            raise Gap(f"{' and '.join(lost)} of the state is not known")
        self.fc, self.fb = core, bus

    def value(self, name: str) -> str | None:
        return self.setup.state.value(name) or self.over.get(name)

    def number(self, name: str) -> float | None:
        return _number(self.value(name))

    @property
    def wide(self) -> bool:
        """A 64-bit bus with 32-byte lines."""
        return self.family.startswith(("socket", "slot"))

    def demand(self, workload: Workload) -> Demand:
        cost = self.cost
        inner_kb = self._inner_kb()
        inner = inner_kb > 0.0
        sync = cost["sync"] * self._off_edge()
        outer, logit, f_l2, hit_lead, hit_rest = self._second(inner, sync)
        size = self._outer_kb()
        mem_lead, mem_rest, rows = self._memory(inner, sync)
        wb = self._write_back(inner)
        scaled, fixed, depth = self._video()
        past = self.beyond(outer > 0.0)
        log_rate = (
            math.log(cost["narrow"]) if self.core == "386sx" or "sx" in self.setup.sheet.board_class else 0.0
        )
        return Demand(
            f_core=self.fc,
            f_bus=self.fb,
            f_mem=self.setup.clock("mem_mhz") or self.fb,
            f_l2=f_l2,
            log_clocks=log_core_ratio(self.setup, kind_of(workload)),
            inner=float(inner),
            halvings=math.log2(16.0 / inner_kb) if inner else 0.0,
            log_rate=math.log(cost["wide_line"]) if self.wide and inner else log_rate,
            outer=outer,
            logit_miss=logit,
            hit_lead=hit_lead,
            hit_rest=hit_rest,
            mem_lead=mem_lead,
            mem_rest=mem_rest,
            mem_rows=rows,
            store=self._beyond_own(self._store(outer > 0.0)),
            store_memory=self._beyond_own(self._to_memory()),
            buffers=store_buffers(self.core),
            wb=wb,
            victim=self._victim(outer > 0.0) if wb else 0.0,
            victim2=self._victim(False) if outer and self.value("l2_policy") == "wb" else 0.0,
            victim_through=self._victim(False) - self._victim(True)
            if wb and outer and self._passes_on()
            else 0.0,
            video=scaled,
            video_fixed=fixed,
            video_depth=depth,
            refresh=self._refresh(),
            mem_bare=float(not inner),
            ticks=self._ticks(),
            resident=self._ticks() if self._full() else 0.0,
            combined=float(self.value("write_combine") == "on"),
            store_through=self._to_memory() if outer > 0.0 and self._passes_on() else 0.0,
            beyond=past[0],
            beyond_marked=past[1],
            alloc=float(wb > 0.0 and self.value("write_alloc") == "on"),
            luck=math.sqrt(group("repeat", "house")["boot_miss_kb"] / size) if size else 0.0,
        )

    def _off_edge(self) -> float:
        """Bus clocks that a request waits for the next edge of the bus, on average: it may start on any core edge,
        and at a ratio p/q these fall p different ways on the bus clock."""
        phases = Fraction(self.fc / self.fb).limit_denominator(4).numerator
        return (phases - 1) / (2 * phases) if phases > 0 else 0.0

    def _inner_kb(self) -> float:
        if self.value("l1") == "off":
            return 0.0
        part = self.setup.processor
        if part is not None and part.l1_kb is not None:
            return float(part.l1_kb)
        return _group("l1_kb").get(self.core, 8.0)

    def _outer_kb(self) -> float:
        """Size of the second level that is at work; 0 without one."""
        part = self.setup.processor
        if self.value("l2") == "off":
            return 0.0
        return self.number("l2_kb") or (float(part.l2_kb) if part is not None and part.l2_kb else 0.0)

    def _second(self, inner: bool, sync: float) -> tuple[float, float, float, float, float]:
        """Whether there is a second level, its miss curve, its clock and the two parts of a hit."""
        on_part = self.setup.clock("l2_mhz")
        size = self._outer_kb()
        if not size:
            return 0.0, 0.0, self.fb, 0.0, 0.0
        logit = _miss("curve" if inner else "outer", size)
        if on_part is not None:
            return 1.0, logit, on_part, self.cost["part_cache"], 0.0
        lead, rest = self._beats("l2_read", self.usual["cache_lead"], self.usual["cache_rest"])
        if not inner:
            waits = self.number("l2_read_ws")
            lead = waits if waits is not None else max(0.0, lead - 2.0)
            return 1.0, logit, self.fb, lead, 0.0
        return 1.0, logit, self.fb, lead + self.cost["cache_fixed"] + sync, 3.0 * rest

    def _memory(self, inner: bool, sync: float) -> tuple[float, float, float]:
        cost = self.cost
        if (self.value("ram_type") or "") == "sdram" or self.value("cas") is not None:
            cas = self.number("cas") or cost["cas"]
            rows = cost["row_weight"] * (self.number("rcd") or cost["rcd"])
            rows += cost["precharge_weight"] * (self.number("rp") or cost["rp"])
            # ``mem_rows`` is in units of the average row cost of the model's own parameter.
            return cost["sdram_controller"] + cas + sync, 3.0, rows / _rows_centre()
        if not inner:
            waits = self.number("dram_read_ws")
            if waits is None:
                lead, _ = self._beats("dram_read", 2.0 + self.usual["read_ws"], 0.0)
                waits = max(0.0, lead - 2.0)
            return waits, 0.0, cost["bare_rows"]
        tail = "wide" if self.wide else "486"
        lead, rest = self._beats(
            "dram_read", self.usual[f"memory_lead_{tail}"], self.usual[f"memory_rest_{tail}"]
        )
        return lead + sync, 3.0 * rest, 1.0

    def _beats(self, name: str, lead: float, rest: float) -> tuple[float, float]:
        text = self.value(name)
        if text:
            words = [w for w in text.split("-") if w.isdigit()]
            if len(words) > 1:
                return float(words[0]), sum(map(float, words[1:])) / (len(words) - 1)
        waits = self.number(f"{name}_ws")
        return (2.0 + waits, rest) if waits is not None else (lead, rest)

    def _write_back(self, inner: bool) -> float:
        if not inner:
            return 0.0
        policy = self.value("l1_policy")
        if policy is not None:
            return float(policy == "wb")
        return float(self.wide or self.core in ("5x86",))

    def _store(self, outer: bool) -> float:
        cost, wait = self.cost, self.usual["write_ws"]
        if not outer:
            return self._to_memory()
        to_cache = self.number("l2_write_ws")
        if to_cache is None:
            lead, _ = self._beats("l2_write", 2.0 + wait, 1.0)
            to_cache = max(0.0, lead - 2.0)
        return cost["store_l2"] + to_cache

    def _to_memory(self) -> float:
        """Clocks of a store to memory."""
        wait = self.number("dram_write_ws")
        return self.cost["store_none"] + (self.usual["write_ws"] if wait is None else wait)

    def _passes_on(self) -> bool:
        """A write-through second level passes every store on to memory."""
        return self.value("l2_policy") != "wb" and self.setup.clock("l2_mhz") is None

    def beyond(self, outer: bool) -> tuple[float, float]:
        """Shares of memory beyond the cacheable range: the least and the most by where the dirty mark is."""
        told = self.setup.tag.marked
        marks = self.value("l2_policy") == "wb"
        return self._beyond(outer, marks and told is True), self._beyond(outer, marks and told is not False)

    def _beyond(self, outer: bool, marked: bool) -> float:
        """Share of memory that a cache on the board cannot hold lines of; 0 where tag or memory is not known."""
        size, bits, ram = (self.number(n) for n in ("l2_kb", "tag_bits", "ram_mb"))
        if not outer or self.setup.clock("l2_mhz") is not None or not (size and bits and ram):
            return 0.0
        range_mb = size / 1024.0 * float(2.0 ** (bits - marked))
        return max(0.0, 1.0 - min(range_mb, self.setup.tag.limit_mb or range_mb) / ram)

    def _beyond_own(self, clocks: float) -> float:
        """Clocks of a store beyond those that a core built without first-level cache counts as its own."""
        if _group("l1_kb").get(self.core, 8.0) > 0.0:
            return clocks
        return max(clocks - self.cost["store_contained"], self.cost["store_least"])

    def _victim(self, to_l2: bool) -> float:
        full = self.cost["victim_wide" if self.wide else "victim"]
        if to_l2:
            return full * self.cost["victim_to_l2"] + (self.number("l2_write_ws") or 0.0)
        return full + (self.number("dram_write_ws") or 0.0)

    def _video(self) -> tuple[float, float, float]:
        """Microseconds of one display access: as its bus clock goes, and at the usual clock of that bus; and how many
        accesses wait behind it while the processor goes on."""
        kinds = _group("video_clocks")
        bus = (self.value("video_bus") or "").lower()
        if bus not in kinds:
            bus = next((b for b in ("agp", "pci", "vlb") if self.setup.clock(f"{b}_mhz")), "isa")
        usual = _group("video_usual")[bus]
        clock = self.setup.clock(f"{bus}_mhz") or usual
        clocks = kinds[bus] + ((self.number("vlb_ws") or 0.0) if bus == "vlb" else 0.0)
        return clocks / clock, clocks / usual, _group("video_depth")[bus]

    def _full(self) -> bool:
        """Anything but a bare boot profile."""
        profile = self.value("profile")
        return profile is not None and profile not in ("bare", "none", "clean", "minimal")

    def _ticks(self) -> float:
        """Share of time that a million 486 clocks a second take."""
        return math.exp(log_core_ratio(self.setup, "integer")) / self.fc

    def _refresh(self) -> float:
        """Share of time that refresh takes: some clocks of the bus in every interval."""
        rows = _group("refresh")
        clocks = rows.get(self.family, rows.get(self.family.removesuffix("sx"), rows["486"]))
        told = self.value("refresh")
        every = rows["slow_us"] if told == "slow" else _number(told) or rows["every_us"]
        return clocks / (self.fb * every)


@lru_cache(maxsize=4096)
def _number(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        return float(Fraction(text))
    except (ValueError, ZeroDivisionError):
        return None


@lru_cache(maxsize=16)
def _group(name: str) -> Mapping[str, float]:
    return group("geometry", name)


@lru_cache(maxsize=1)
def _rows_centre() -> float:
    from leadoff.forecast.priors import prior

    return math.exp(prior("s", "rows").centre)


@lru_cache(maxsize=64)
def _miss(table: str, size_kb: float) -> float:
    """Logit of the miss share, between the table's sizes on a log scale, held at its ends."""
    rows = sorted((float(k), v) for k, v in _group(table).items())
    logits = [(math.log2(k), math.log(v / (1.0 - v))) for k, v in rows]
    x = min(max(math.log2(size_kb), logits[0][0]), logits[-1][0])
    for (x0, y0), (x1, y1) in pairwise(logits):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return logits[-1][1]
