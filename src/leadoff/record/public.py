"""The public data file of one board: what it says, as frozen values. The form is in docs/public-file.md.

Nothing here knows a price, a place or a seller. Keys may be added with a default; none is renamed.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from leadoff.record.board import BoardSheet
from leadoff.record.entries import Chance, Expected
from leadoff.record.quantity import Quantity, Source
from leadoff.record.runs import Outcome, Reading, Workload
from leadoff.record.state import Status

PUBLIC = 1
"""Version of the form."""


class Value(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One setting of a published state: canonical text, ``null`` when not known."""

    value: str | None
    status: Status
    source: Source


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that the score does not say, or that speaks against it. ``kind`` is stable.

    Kinds: unsafe, void, beyond_limit, open_symptom, failed, unknown_settings, not_soaked, no_copy_compare,
    sheet_unconfirmed, rig_not_recorded, one_run, disputed, kept_out, no_score.
    """

    kind: str
    text: str


class Shown(msgspec.Struct, frozen=True, kw_only=True):
    """The score on the first screen. ``state`` is an index into ``states``; ranks are among ``boards``.

    ``clean`` is false when the score stands in no ranking.
    """

    workload: str
    unit: str
    better: str
    score: Quantity
    state: int
    words: str
    grade: str
    grade_said: str
    clean: bool
    flags: tuple[str, ...]
    runs: tuple[str, ...]
    rank_lo: int | None = None
    rank_hi: int | None = None
    boards: int | None = None


class PublicRun(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A run as it was logged, with the entry that keeps it. ``state``: an index into ``states``."""

    number: str
    entry: str
    when: str
    workload: str | None
    outcome: Outcome
    state: int
    unit: str = ""
    readings: tuple[Reading, ...] = ()
    place: str = ""
    after_s: float | None = None
    count: int | None = None
    of: int | None = None
    rig: str = ""
    flags: tuple[str, ...] = ()


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """The first run of a forecast's workload in its state after it was sealed."""

    workload: str
    run: str
    entry: str
    score: float


class PublicForecast(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A sealed forecast. That it is older than an answer is shown by the lines in ``chain``."""

    number: str
    entry: str
    when: str
    basis: str
    model: str
    catalogue: str
    state: int
    expected: tuple[Expected, ...]
    chance: Chance
    seen_result: bool = False
    withdrawn: bool = False
    answers: tuple[Answer, ...] = ()


class PublicSymptom(msgspec.Struct, frozen=True, kw_only=True):
    """An oddity that nobody has seen gone."""

    finding: str
    detail: str
    since: str
    entry: str


class SweepPoint(msgspec.Struct, frozen=True, kw_only=True):
    """One block size of a bandwidth sweep; KB is 1024 bytes."""

    size_kb: float
    us_per_kb: float


class SweepLevel(msgspec.Struct, frozen=True, kw_only=True):
    """One level of a sweep: up to which size, and its time."""

    size_kb: float | None
    us_per_kb: float | None
    mb_per_s: float | None = None
    patterns: tuple[str, ...] = ()


class FilmMark(msgspec.Struct, frozen=True, kw_only=True):
    """A chapter mark for a film, with its time of day."""

    at: str
    text: str


class Rank(msgspec.Struct, frozen=True, kw_only=True):
    """One board of the ranking that the score stands in."""

    board: str
    state: str
    score: Quantity
    rank_lo: int
    rank_hi: int
    p_first: float
    grade: str
    flags: tuple[str, ...]


class Sealed(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """An entry as the book keeps it: the exact line, and, unless it was held back, its salt and exact body.

    ``entry`` is the SHA-256 of ``line``; the line's ``body`` is the SHA-256 of the salt's bytes followed by
    ``body``. ``withheld`` says why a body is not there.
    """

    entry: str
    line: str
    salt: str = ""
    body: str = ""
    withheld: str = ""


class ShowPiece(msgspec.Struct, frozen=True, kw_only=True):
    """A workload worth showing on this board as set when the file was made.

    ``score``: the last measurement in this state, else the forecast's median, else unknown. ``foretold``: what the
    forecast says now, with its bands; ``basis``: what it rests on (runs, family, clocks). ``undefined``: why the
    board cannot run it; ``not_known``: needs that the state says nothing about; ``silent``: why nothing is foretold.
    """

    workload: str
    unit: str
    needs: tuple[str, ...]
    score: Quantity
    band90: tuple[float, float] | None
    undefined: str
    minutes: float | None
    foretold: float | None = None
    band50: tuple[float, float] | None = None
    basis: str = ""
    not_known: tuple[str, ...] = ()
    silent: str = ""


class TimeShare(msgspec.Struct, frozen=True, kw_only=True):
    """A part of the time of one unit of work in the state shown, by the score model: 0 to 1 with a 90 % band.

    ``name``: core, cache, memory, store, victims, video, refresh, resident. ``ms``: where the unit is a frame, a
    second or a millisecond.
    """

    name: str
    share: float
    ms: float | None
    lo: float | None = None
    hi: float | None = None


class PublicBoard(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that is published of one board. ``digest``: SHA-256 of the file's own canonical JSON without
    this key (keys sorted, no spaces, UTF-8)."""

    leadoff_public: int
    made_at: str
    version: str
    head: str
    catalogue: str
    board: BoardSheet
    states: tuple[Mapping[str, Value], ...]
    state_now: int
    clocks: Mapping[str, Quantity]
    shown: Shown | None
    limits: tuple[Limit, ...]
    workloads: tuple[Workload, ...]
    runs: tuple[PublicRun, ...]
    forecasts: tuple[PublicForecast, ...]
    symptoms: tuple[PublicSymptom, ...]
    repairs: tuple[str, ...]
    sweep: tuple[SweepPoint, ...]
    levels: tuple[SweepLevel, ...]
    film: tuple[FilmMark, ...]
    standings: tuple[Rank, ...]
    time_shares: tuple[TimeShare, ...]
    show_pieces: tuple[ShowPiece, ...]
    sealed: tuple[Sealed, ...]
    chain: tuple[str, ...]
    asked_for: Mapping[str, str] = {}
    digest: str = ""
