"""One side of a change of cache or memory: a state as the hierarchy and the clocks that advice is made from."""

from __future__ import annotations

import msgspec

from leadoff.forecast.facts import Fills, Setup
from leadoff.memory.advice import CacheSetup
from leadoff.memory.geometry import Cache, Hierarchy, Policy, Replacement
from leadoff.plan.swap_clocks import ReadCycle, memory_clocks, read_cycle, store_clocks
from leadoff.record.errors import LeadoffError
from leadoff.record.quantity import Quantity
from leadoff.timing.card import CardAsk, family_of, timing_card

EDO_BEATS = 3
"""Later beats of a line, each of which EDO may save a clock of where the chipset times it so."""


class FirstLevel(msgspec.Struct, frozen=True, kw_only=True):
    """The cache inside the processor; sizes of the data half where it is split. ``kb`` 0: none or off."""

    kb: float
    ways: int = 4
    line_bytes: int = 16
    policy: str = "wt"
    allocate: bool = False


class ChipsetFacts(msgspec.Struct, frozen=True, kw_only=True):
    """What the chipset class is known for; empty is not established."""

    memory_kinds: tuple[str, ...] = ()
    l2_kb: tuple[int, ...] = ()
    dirty: str | None = None
    edo_beats: bool = False


class Side(msgspec.Struct, frozen=True, kw_only=True):
    """A side with its clocks. ``beyond``: share of memory that lies beyond the cacheable range."""

    setup: Setup
    cache: CacheSetup
    l2_kb: int
    banks: int | None
    policy: str
    read: ReadCycle | None
    memory_basis: str
    range_mb: Quantity
    beyond: float
    notes: tuple[str, ...] = ()


def side(
    setup: Setup,
    card: CardAsk,
    first: FirstLevel,
    *,
    ways: int,
    kept_cache: bool,
    kept_memory: bool,
    chipset: ChipsetFacts | None,
    swept: Fills | None,
    memory_saves: tuple[float, float] = (0.0, 0.0),
) -> Side:
    """A state as one side.

    ``kept_cache``, ``kept_memory``: these parts are those that run on the board now. ``memory_saves``: bus
    clocks that other memory takes off a line, as (least, most).

    Raises:
        LeadoffError: clocks that are not known, a cache on the processor, sizes that cannot be.
    """
    bus, core = setup.clock("bus_mhz"), setup.clock("core_mhz")
    if bus is None or core is None:
        lost = [n for n, v in (("core clock", core), ("bus clock", bus)) if v is None]
        raise LeadoffError.one(
            "clocks_unknown",
            f"{' and '.join(lost)} of the state is not known, so no clocks of a line can be told",
            where=setup.board,
            do=f"say how it is set first: `leadoff move {setup.board} bus 33`",
        )
    if setup.clock("l2_mhz") is not None or family_of(card.board_class) is None:
        raise LeadoffError.one(
            "cache_on_part",
            f"the second-level cache of {setup.board} is on the processor: it cannot be changed by itself",
            where=setup.board,
            do=f'what another processor would do: `leadoff forecast {setup.board} --want "cpu PART"`',
        )
    kb = 0 if setup.state.value("l2") == "off" else (card.l2_kb or 0)
    notes: list[str] = []
    policy = setup.state.value("l2_policy")
    if policy is None and kb:
        policy = "wt"
        notes.append("policy of the second level not known: taken as write-through on both sides")
    told = timing_card(card)
    read = (
        read_cycle(setup, told.patterns, kept=kept_cache, swept=swept, single=first.kb == 0) if kb else None
    )
    memory, basis = memory_clocks(setup, looked=kb > 0, kept=kept_memory, swept=swept, single=first.kb == 0)
    if memory_saves != (0.0, 0.0):
        memory = (max(3.0, memory[0] - memory_saves[1]), max(3.0, memory[1] - memory_saves[0]))
    beyond = _beyond(setup, told.cacheable_mb) if kb else 0.0
    cache = CacheSetup(
        hierarchy=_hierarchy(kb, ways, policy or "wt", first, chipset),
        bus_mhz=bus,
        core_mhz=core,
        l2_clocks=read.clocks if read is not None else (0.0, 0.0),
        memory_clocks=memory,
        store_clocks=store_clocks(setup, told.patterns, has_l2=kb > 0, kept=kept_cache),
        uncached_share=(0.0, beyond),
    )
    return Side(
        setup=setup,
        cache=cache,
        l2_kb=kb,
        banks=card.banks if kb else None,
        policy=policy or "",
        read=read,
        memory_basis=basis,
        range_mb=told.cacheable_mb,
        beyond=beyond,
        notes=tuple(notes),
    )


def saves_of_edo(chipset: ChipsetFacts | None, now: Setup, then: Setup) -> tuple[tuple[float, float], str]:
    """Bus clocks that EDO in place of fast page takes off a line, and why; zero where nothing of the kind."""
    kinds = (now.state.value("ram_type"), then.state.value("ram_type"))
    if kinds != ("fpm", "edo") or then.state.value("dram_read") != now.state.value("dram_read"):
        return (0.0, 0.0), ""
    if chipset is not None and chipset.memory_kinds and "edo" not in chipset.memory_kinds:
        return (0.0, 0.0), "the chipset class does not time EDO: it reads it as fast page, nothing is gained"
    if chipset is not None and chipset.edo_beats:
        return (float(EDO_BEATS),) * 2, "the chipset class saves a clock on each later beat with EDO"
    why = "whether the chipset times EDO is not known: from nothing to a clock on each later beat"
    return (0.0, float(EDO_BEATS)), why


def _beyond(setup: Setup, range_mb: Quantity) -> float:
    text = setup.state.value("ram_mb")
    if text is None or range_mb.value is None or float(text) <= 0:
        return 0.0
    return max(0.0, 1.0 - range_mb.value / float(text))


def _hierarchy(kb: int, ways: int, policy: str, first: FirstLevel, chipset: ChipsetFacts | None) -> Hierarchy:
    line = max(first.line_bytes, 16)
    inner = None
    if first.kb > 0:
        tree = first.ways in (1, 2, 4, 8)
        inner = Cache(
            size_kb=first.kb,
            ways=first.ways,
            line_bytes=line,
            policy=Policy(first.policy),
            allocate=first.allocate,
            replacement=Replacement.TREE if tree else Replacement.LRU,
        )
    if not kb:
        return Hierarchy(l1=inner)
    marked = not (chipset is not None and chipset.dirty == "none")
    outer = Cache(size_kb=kb, ways=ways, line_bytes=line, policy=Policy(policy), dirty_bit=marked)
    return Hierarchy(l1=inner, l2=outer)
