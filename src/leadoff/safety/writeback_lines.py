"""Write-back in the processor beside masters and DMA: data that is lost without a sound."""

from __future__ import annotations

from collections.abc import Iterator

from leadoff.catalogue import Catalogue
from leadoff.machine.partfacts import Processor
from leadoff.record.board import BoardSheet
from leadoff.record.marks import Level
from leadoff.record.quantity import Quantity, Source
from leadoff.record.state import State
from leadoff.safety.line import Line

COPIES = 60


def zero_of_n_limit(n: int, confidence: float = 0.95) -> float:
    """Upper limit of a failure rate after 0 failures of ``n``, one-sided and exact: 1 - (1 - c)^(1/n)."""
    return 1.0 - float((1.0 - confidence) ** (1.0 / n))


def writeback_lines(
    state: State, sheet: BoardSheet, part: Processor | None, catalogue: Catalogue
) -> list[Line]:
    """Warnings before and after write-back is switched on; ISA masters above their reach."""
    out = list(_writeback(state, sheet, part, catalogue))
    out += _reach(state, sheet, catalogue)
    return out


def _writeback(
    state: State, sheet: BoardSheet, part: Processor | None, catalogue: Catalogue
) -> Iterator[Line]:
    if state.value("l1_policy") != "wb" or state.value("l1") == "off":
        return
    snoop = state.value("snoop_line")
    if snoop == "on":
        yield Line(
            topic="write_back",
            verdict=Level.GREEN,
            why="write-back with the dirty-hit line wired: masters get the processor's copy",
        )
        return
    masters = [c for c in sheet.cards if c.master and state.value("bus_master") != "off"]
    dma = state.value("dma")
    clean = state.value("bus_master") == "off" and dma == "off"
    check = _signature_words(part, catalogue)
    limit = zero_of_n_limit(COPIES) * 100
    protocol = (
        f"Then copy-compare {COPIES} times: 0 bad of {COPIES} bounds the failure rate below {limit:.1f} % "
        "(one-sided 95 %)."
    )
    if clean:
        yield Line(
            topic="write_back",
            verdict=Level.AMBER,
            why="write-back without the dirty-hit line, with no bus master and no DMA said to be in use",
            caution=f"{check} {protocol}".strip(),
        )
        return
    who = ", ".join(f"{c.kind or 'card'} in {c.slot or c.bus} ({c.bus.upper()})" for c in masters)
    known = "no" if snoop == "off" else "no known"
    yield Line(
        topic="write_back",
        verdict=Level.RED if snoop == "off" else Level.AMBER,
        why=(
            f"write-back with {known} dirty-hit line from the processor"
            + (f" and a bus master ({who})" if who else " while a bus master or DMA may be in use")
            + ": the master reads stale memory, or a late line write overwrites what it wrote. A score made "
            "like this is unsafe whatever it is"
        ),
        caution=f"{check} {' '.join(safe_way(sheet))} {protocol}".strip(),
    )


def safe_way(sheet: BoardSheet) -> tuple[str, ...]:
    """What has to go before write-back is used without snooping: no master and no DMA at all."""
    steps = ["Safe way, power off and plug pulled:"]
    number = 0
    for card in sheet.cards:
        if card.master or card.dma:
            number += 1
            steps.append(f"({number}) take out the {card.kind or 'card'} in {card.slot or card.bus};")
    steps.append(f"({number + 1}) attach the disk by programmed input and output;")
    steps.append(f"({number + 2}) leave the floppy unused and digitised sound off: both use the board's DMA.")
    return tuple(steps)


def _signature_words(part: Processor | None, catalogue: Catalogue) -> str:
    """The CPU-id reading that tells whether write-back is really on."""
    if part is None or not part.core:
        return "First read the CPU-id signature: it tells whether write-back is really on."
    rows = [s for s in catalogue.signatures.values() if part.core in s.cores and s.cache is not None]
    on = sorted({s.code for s in rows if s.cache == "wb"})
    off = sorted({s.code for s in rows if s.cache == "wt"})
    if not on or not off:
        return "First read the CPU-id signature: it tells whether write-back is really on."
    return (
        f"First read the CPU-id signature: {' or '.join(on)} means write-back is really on; "
        f"{' or '.join(off)} means it never switched and a gain has another cause."
    )


def _reach(state: State, sheet: BoardSheet, catalogue: Catalogue) -> Iterator[Line]:
    """ISA masters and the board's DMA see only the first 16 MB."""
    row = catalogue.buses.get("isa")
    reach_mb = row.master_reach_mb if row is not None and row.master_reach_mb is not None else None
    ram = state.value("ram_mb")
    masters = [c for c in sheet.cards if c.bus == "isa" and c.master]
    if state.value("bus_master") == "off":
        return
    if reach_mb is None or ram is None or not masters or float(ram) <= reach_mb:
        return
    yield Line(
        topic="isa_reach",
        verdict=Level.AMBER,
        why=f"ISA masters reach only {reach_mb:g} MB; {float(ram):g} MB is fitted",
        value=Quantity(value=float(ram), unit="MB", source=Source.DECLARED),
        limit=Quantity(value=float(reach_mb), unit="MB", source=Source.READ),
        caution="Transfers above it need buffers below it, or go wrong.",
        certainty=row.certainty("master_reach_mb") if row is not None else "",
    )
