"""A board's state with what follows from it: its processor, its clocks, what the catalogue says of its chipset."""

from __future__ import annotations

from typing import TYPE_CHECKING

from leadoff.forecast.facts import Setup, TagFacts
from leadoff.loop.session import Session
from leadoff.machine.clocks import clocks
from leadoff.machine.fold import BoardFold
from leadoff.machine.partfacts import Processor
from leadoff.machine.processors import described_processor, processor
from leadoff.machine.straps import StrapTable

if TYPE_CHECKING:
    from leadoff.catalogue.chipsets import ChipsetRow


class PartFinder:
    """Processors by name, each looked up once; a processor described in a board file wins there."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._parts: dict[tuple[str, int], Processor | None] = {}
        self._tags: dict[str, TagFacts] = {}

    def __call__(self, name: str | None) -> Processor | None:
        if name is None:
            return None
        row = self._session.described.get(name)
        key = (name, id(row))
        if key not in self._parts:
            catalogue = self._session.catalogue
            self._parts[key] = (
                processor(name, catalogue) if row is None else described_processor(row, name, catalogue)
            )
        return self._parts[key]

    def tag(self, chipset: str | None) -> TagFacts:
        """What the catalogue says of a chipset's tag; nothing where it does not know the chipset."""
        if chipset is None:
            return TagFacts()
        if chipset not in self._tags:
            row = chipset_named(self._session, chipset)
            self._tags[chipset] = (
                TagFacts()
                if row is None
                else TagFacts(marked=_MARKED.get(row.dirty or ""), limit_mb=row.cacheable_mb)
            )
        return self._tags[chipset]


_MARKED = {"in-tag": True, "own-chip": False, "on-chip": False, "none": False}


def chipset_named(session: Session, name: str) -> ChipsetRow | None:
    """The catalogue's row of a chipset by id or trade name."""
    rows = session.catalogue.chipsets
    return rows.get(name) or next(
        (c for c in rows.values() if name.lower() in (n.lower() for n in c.names)), None
    )


def make_setup(fold: BoardFold, part: PartFinder, base: StrapTable | None) -> Setup:
    """A fold's state with its processor and clocks."""
    cpu = fold.said.get("cpu")
    fitted = part(cpu.value if cpu is not None else None)
    state = fold.state(fitted, base)
    found = clocks(state, fold.sheet, fitted)
    return Setup(
        sheet=fold.sheet,
        state=state,
        clocks={name: clock.mhz for name, clock in found.items()},
        processor=fitted,
        tag=part.tag(fold.sheet.chipset),
    )
