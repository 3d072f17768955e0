"""What a board file says is fitted: processor, caches, memory, cards, what stands between part and socket."""

from __future__ import annotations

from collections.abc import Mapping

from leadoff.machine.processors import described_row
from leadoff.machine.tomlwalk import Walk, first
from leadoff.record.board import CacheFit, Card, Interposer, MemoryFit
from leadoff.record.errors import LeadoffError
from leadoff.words import memory_fit, setting_value


def card(walk: Walk) -> Card:
    """A card in its slot."""
    card = Card(
        slot=walk.text("slot") or "",
        bus=(walk.text("bus") or "").lower(),
        kind=(walk.text("kind") or walk.text("id") or "").lower(),
        master=walk.flag("master"),
        dma=walk.flag("dma"),
    )
    walk.raw("id")
    if not card.bus:
        walk.wrong("bus", "is missing", "write isa, vlb, pci or agp")
    walk.done()
    return card


def memory(sides: tuple[Walk, ...]) -> tuple[MemoryFit, ...]:
    """What is in the memory sites, written as words or as tables."""
    out: list[MemoryFit] = []
    for side in sides:
        raw = side.raw("memory")
        if isinstance(raw, list) and raw and all(isinstance(i, str) for i in raw):
            for number, word in enumerate(raw):
                site, _, rest = word.partition(" ")
                try:
                    out.append(memory_fit(rest or site, site.lower()))
                except LeadoffError as error:
                    side.wrong(f"memory[{number}]", error.problems[0].text, error.problems[0].do)
        elif raw is not None:
            out.extend(_memory_table(walk, number) for number, walk in enumerate(side.subs("memory")))
    return tuple(out)


def _memory_table(walk: Walk, number: int) -> MemoryFit:
    fit = MemoryFit(
        site=(walk.text("site") or str(number)).lower(),
        mb=walk.amount("mb", "MB", 0.0625, 4096),
        type=(walk.text("type") or "").lower() or None,
        ns=walk.amount("ns", "ns", 1, 200),
        cas=walk.count("cas", "clocks", 1, 4),
        count=walk.count("count", "modules", 1, 16) or 1,
    )
    walk.done()
    return fit


def interposer(sides: tuple[Walk, ...]) -> Interposer | None:
    """The adapter between part and socket."""
    walk = first(sides, "interposer", Walk.sub)
    if walk is None:
        return None
    volts = walk.amount("v", "V", 0.8, 6)
    straps = walk.flag("ratio_straps")
    made = None
    if volts is None:
        walk.wrong("v", "is missing", "write the volts it gives the processor")
    else:
        made = Interposer(v=f"{volts:g}", ratio_straps=bool(straps), amps=walk.amount("amps", "A", 0.1, 50))
    walk.done()
    return made


def cpu(fitted: Walk, board_id: str) -> tuple[str | None, dict[str, object] | None]:
    """The processor by name, and the row that describes one of the file's own."""
    raw = fitted.raw("cpu")
    if raw is None:
        return None, None
    if not isinstance(raw, Mapping):
        text = fitted.text("cpu")
        return (text, None) if text else (None, None)
    name = next((str(raw[k]) for k in ("id", "name", "marking") if raw.get(k)), f"processor of {board_id}")
    row = dict(raw)
    try:
        described_row(row, name)
    except LeadoffError as error:
        for p in error.problems:
            fitted.wrong("cpu", p.text, p.do)
    return name, row


def specimen(fitted: Walk) -> str | None:
    """Which sample of the processor it is."""
    return fitted.text("cpu_specimen") or fitted.text("specimen")


def cache(fitted: Walk) -> CacheFit | None:
    """The cache on the board; none is said, not left out."""
    raw = fitted.raw("cache")
    if raw is None or raw == "?":
        return None
    if raw in (0, "0", "none", False):
        return CacheFit(kb=0, text="none")
    walk = fitted.sub("cache")
    if walk is None:
        return None
    fit = CacheFit(
        kb=walk.count("kb", "KB", 0, 4096),
        ns=walk.amount("ns", "ns", 1, 120),
        banks=walk.count("banks", "banks", 1, 4),
        chips=walk.count("chips", "chips", 1, 36),
        type=_cache_type(walk),
        tag_ns=walk.amount("tag_ns", "ns", 1, 120),
        tag_bits=walk.count("tag_bits", "bits", 5, 16),
        text=walk.text("text") or "",
    )
    walk.done()
    return fit


def _cache_type(walk: Walk) -> str | None:
    """The kind of cache by its one name; "pipelined" and "pipelined burst" are the same chips."""
    try:
        return setting_value("l2_type", walk.text("type") or "?")
    except LeadoffError as error:
        walk.wrong("type", f"is {walk.text('type')!r}", error.problems[0].do)
        return None


def rig(top: Walk) -> dict[str, str]:
    """What is held constant beside the board."""
    walk = top.sub("rig")
    return {} if walk is None else {k: v for k in walk.table if (v := walk.text(k)) is not None}
