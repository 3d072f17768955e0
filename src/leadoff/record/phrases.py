"""What a typed line was understood to say. Each phrase keeps the words it was made from."""

from __future__ import annotations

from enum import StrEnum

import msgspec

from leadoff.record.runs import Outcome, Reading


class Phrase(msgspec.Struct, frozen=True, kw_only=True, tag_field="is"):
    """Root of all phrases; ``text`` is what was typed, unchanged."""

    text: str


class SetPhrase(Phrase, frozen=True, kw_only=True, tag="set"):
    """A setting was put to a value. ``value`` is ``None`` for ``?`` and for ``default`` (not known)."""

    name: str
    value: str | None
    measured: bool = False
    why: str = ""


class LikePhrase(Phrase, frozen=True, kw_only=True, tag="like"):
    """The state of an earlier run: ``as 41`` describes it, ``back to 38`` returns to it."""

    run: str
    back: bool


class ScorePhrase(Phrase, frozen=True, kw_only=True, tag="score"):
    """Readings of a workload; ``workload`` is ``None`` when the line does not name one."""

    workload: str | None
    readings: tuple[Reading, ...]
    unit: str = ""
    dropped: tuple[Reading, ...] = ()


class FailurePhrase(Phrase, frozen=True, kw_only=True, tag="failure"):
    """A run that did not end well, with where, when and how often."""

    outcome: Outcome
    what: str
    workload: str | None = None
    place: str = ""
    after_s: float | None = None
    count: int | None = None
    of: int | None = None


class ReadingPhrase(Phrase, frozen=True, kw_only=True, tag="reading"):
    """A measured figure that is no score: ``5v 4.92 slot6``, ``vbat 2.1``."""

    what: str
    value: float
    lo: float
    hi: float
    unit: str
    where: str = ""


class ProtocolPhrase(Phrase, frozen=True, kw_only=True, tag="protocol"):
    """A soak or a copy-compare: how long or how many, and how many were bad. ``failed_after_h``: how far into its
    ``hours`` a soak failed, when that was said."""

    protocol: str
    hours: float | None = None
    failed_after_h: float | None = None
    count: int | None = None
    of: int | None = None
    clean: bool = True


class SymptomPhrase(Phrase, frozen=True, kw_only=True, tag="symptom"):
    """An oddity that stays open until it is tested again, or is closed."""

    symptom: str
    closed: bool = False
    detail: str = ""


class NotePhrase(Phrase, frozen=True, kw_only=True, tag="note"):
    """Words kept as they are."""


class Ask(Phrase, frozen=True, kw_only=True, tag="ask"):
    """Something that could be meant in more than one way, or in none: a question, never a guess."""

    question: str
    choices: tuple[str, ...] = ()


AnyPhrase = (
    SetPhrase
    | LikePhrase
    | ScorePhrase
    | FailurePhrase
    | ReadingPhrase
    | ProtocolPhrase
    | SymptomPhrase
    | NotePhrase
    | Ask
)


class Understood(msgspec.Struct, frozen=True, kw_only=True):
    """A whole line: its phrases in order, and the same said back in plain words."""

    text: str
    phrases: tuple[AnyPhrase, ...]
    echo: str

    @property
    def questions(self) -> tuple[Ask, ...]:
        """What has to be answered before anything is stored."""
        return tuple(p for p in self.phrases if isinstance(p, Ask))


class WorkloadWord(msgspec.Struct, frozen=True, kw_only=True):
    """What the parser must know of a workload: its name and unit, and the scores seen so far."""

    name: str
    unit: str = ""


class Context(msgspec.Struct, frozen=True, kw_only=True):
    """What the words of a line may refer to on this board; the parser itself knows no board.

    ``positions``: the board's jumpers with their positions; ``choices``: its set-up entries with theirs.
    ``aliases``: the firmware's own label (lower case) to the setting it acts on and, where the firmware
    counts from another zero, the number to add. ``bus_over_can``: 1/2 on boards that halve the oscillator.
    """

    positions: dict[str, tuple[str, ...]] = {}
    choices: dict[str, tuple[str, ...]] = {}
    aliases: dict[str, tuple[str, float]] = {}
    workloads: tuple[WorkloadWord, ...] = ()
    runs: tuple[str, ...] = ()
    default_workload: str | None = None
    board_class: str = ""
    bus_over_can: str = "1"
    memory_sites: tuple[str, ...] = ()
    verb: str = "log"


class Verb(StrEnum):
    """The verbs that take a line; the same words, another leaning for what is doubtful."""

    MOVE = "move"
    LOG = "log"
    SICK = "sick"
    WANT = "want"
