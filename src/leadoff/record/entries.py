"""Entry bodies: what the book keeps, one struct per kind, versioned, never changed once written.

The book stores the exact bytes; these structs are how the rest of the house reads and writes them. Keys
may be added with a default in a later version of a body; a key is never renamed or given another meaning.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from leadoff.record.board import BoardSheet
from leadoff.record.evidence import Fact
from leadoff.record.moves import Change, Move
from leadoff.record.quantity import Quantity
from leadoff.record.runs import Run, Workload
from leadoff.record.state import Setting, State


class Body(msgspec.Struct, frozen=True, kw_only=True):
    """Root of all bodies: ``v`` is the version of the body's form."""

    v: int = 1


class BoardBody(Body, frozen=True, kw_only=True):
    """A board was added or its sheet was read again. ``file_text`` is the board file as it was written."""

    sheet: BoardSheet
    file_text: str


class RowBody(Body, frozen=True, kw_only=True):
    """A row of the user's own: a part (``table`` cpu, sram ...) or a workload (``table`` workload)."""

    table: str
    id: str
    row: Mapping[str, object]


class PartyBody(Body, frozen=True, kw_only=True):
    """A person or a firm, so that one redaction removes a name everywhere; others cite its entry."""

    name: str
    role: str = ""


class StateBody(Body, frozen=True, kw_only=True):
    """A snapshot: settings of a board, all that are listed, others untouched."""

    board: str
    settings: Mapping[str, Setting]
    said: str = ""


class DidBody(Body, frozen=True, kw_only=True):
    """Something was done to a board: a move, a test, a repair. ``what`` says which."""

    board: str
    what: str
    changes: tuple[Change, ...] = ()
    moves: tuple[Move, ...] = ()
    minutes: float | None = None
    said: str = ""
    origin: str = ""
    batch: str = ""


class RunBody(Body, frozen=True, kw_only=True):
    """A run as it was logged. ``unlike`` lists settings that the words of this run itself named.

    ``origin`` (here and in other bodies) names the cell or line of a file that it was read from, ``batch`` the one go
    in which it was read: undo takes all of that back. ``apart``: a run
    of an old table that stands on its own: all of its state is in ``unlike``, what the board file says is fitted is
    assumed, the rest is unknown; the state of the board before and after it is not touched.
    """

    run: Run
    said: str
    unlike: tuple[Change, ...] = ()
    origin: str = ""
    batch: str = ""
    apart: bool = False


class FindingBody(Body, frozen=True, kw_only=True):
    """A symptom seen, a symptom closed, or the result of a test of an ailing board."""

    board: str
    finding: str
    detail: str = ""
    closed: bool = False
    said: str = ""
    origin: str = ""
    batch: str = ""


class FactBody(Body, frozen=True, kw_only=True):
    """A measured or read value about a board, a specimen or a part (``subject`` is ``kind:id``).

    Evidence from a file is one entry for each file: ``facts`` holds all of it, ``file`` cites the kept bytes.
    """

    subject: str
    name: str
    value: Quantity
    where: str = ""
    said: str = ""
    origin: str = ""
    batch: str = ""
    file: str = ""
    facts: tuple[Fact, ...] = ()


class Expected(msgspec.Struct, frozen=True, kw_only=True):
    """What a forecast says of one workload. Scores are in the workload's unit, unrounded."""

    workload: str
    unit: str
    median: float | None
    band50: tuple[float, float] | None
    band90: tuple[float, float] | None
    lower: float | None = None
    upper: float | None = None
    undefined: str = ""
    sd_log: float | None = None


class Chance(msgspec.Struct, frozen=True, kw_only=True):
    """Chances of a state, 0 to 1; ``None`` where the tool has nothing to say."""

    start: float | None = None
    boot: float | None = None
    hold: float | None = None
    why: str = ""


class ForecastBody(Body, frozen=True, kw_only=True):
    """A sealed forecast: complete state, model and catalogue, so the chain shows what it rested on.

    ``seen_result`` is set when a run of the same state had been logged and undone before. ``origin``: the public
    file and the entry in somebody else's book that it was taken over from; such a one is not this book's own.
    """

    number: str
    state: State
    basis: str
    model: str
    catalogue: str
    expected: tuple[Expected, ...]
    chance: Chance
    seen_result: bool = False
    origin: str = ""


class GuessBody(Body, frozen=True, kw_only=True):
    """The user's own guess, beside the tool's."""

    board: str
    workload: str
    value: float
    said: str = ""


class MarkBody(Body, frozen=True, kw_only=True):
    """A film mark, a photo or a note; ``file`` is the digest of a stored file."""

    board: str
    what: str
    said: str = ""
    file: str = ""
    origin: str = ""
    batch: str = ""


class DealBody(Body, frozen=True, kw_only=True):
    """Money and parcels; parties are cited by their entry, and ``said`` names none.

    ``number`` is the parcel's, such as p3: a later body of it says what was not known before. ``holds``: the part in
    it; ``dates``: ordered, came (ISO 8601); what was not said is ``None`` or absent.
    """

    board: str
    what: str
    amounts: Mapping[str, Quantity] = {}
    party: str = ""
    said: str = ""
    number: str = ""
    carrier: str = ""
    holds: str = ""
    dates: Mapping[str, str] = {}
    promised_days: float | None = None
    damaged: bool | None = None
    abroad: bool | None = None


KINDS: Mapping[str, type[Body]] = {
    "board": BoardBody,
    "row": RowBody,
    "party": PartyBody,
    "state": StateBody,
    "did": DidBody,
    "run": RunBody,
    "finding": FindingBody,
    "fact": FactBody,
    "forecast": ForecastBody,
    "guess": GuessBody,
    "mark": MarkBody,
    "deal": DealBody,
}
"""Every kind but ``amend``, which belongs to the book itself."""


def workload_row(workload: Workload) -> RowBody:
    """A workload as the row entry that keeps it."""
    return RowBody(table="workload", id=workload.name, row=msgspec.to_builtins(workload))
