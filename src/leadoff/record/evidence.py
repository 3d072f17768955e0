"""What a file or a reading says, as values: facts with their place, their rank and their certainty."""

from __future__ import annotations

from enum import StrEnum

import msgspec


class Rank(StrEnum):
    """How far a kind of evidence is believed, the strongest first (judgement).

    A processor's own answer outranks what the firmware prints of it; what nobody checked comes last.
    """

    COUNTER = "counter"  # frequency counter, oscilloscope, volt meter, the eye on a marking
    TIMER = "timer"  # the processor's cycle counter against the board's timer
    IDENTITY = "identity"  # what the hardware itself returns (identification, serial data), and a sweep
    LOOP = "loop"  # a timed loop
    SETUP = "setup"  # a set-up screen, and the clock RAM behind it
    FIRMWARE = "firmware"  # what the firmware prints or has in its image
    DECLARED = "declared"
    ASSUMED = "assumed"

    @property
    def height(self) -> int:
        """0 for the weakest; larger is believed before smaller."""
        return len(Rank) - 1 - list(Rank).index(self)


class Certainty(StrEnum):
    """How sure the reading itself is: a checked field, a plain field, or a guess at what the bytes are."""

    CHECKED = "checked"  # a checksum or a second place agrees
    PLAIN = "plain"
    UNSURE = "unsure"


class Fact(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that a file says.

    ``key`` is stable, lower case, with dots (``rom.date``). ``value`` is a number in ``unit``, or text.
    ``about`` is what it is said of: ``board``, ``cpu``, ``rom``, a slot. ``offset`` counts bytes in the
    file (lines for text), ``at`` says the place as people do. A fact that bears on a setting of the board
    names it in ``setting`` and gives the canonical text it stands for in ``canonical``.
    """

    key: str
    value: float | str
    unit: str = ""
    about: str = "board"
    rank: Rank
    certainty: Certainty = Certainty.PLAIN
    file: str
    digest: str
    offset: int | None = None
    at: str = ""
    note: str = ""
    setting: str = ""
    canonical: str = ""

    @property
    def id(self) -> str:
        """The same for the same thing said at the same place of the same content, whatever its file is called."""
        return f"{self.digest[:24]}/{self.about}/{self.key}/{'' if self.offset is None else self.offset}/{self.at}"
