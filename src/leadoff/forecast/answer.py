"""What a forecast answers, as values."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from leadoff.forecast.split import Part
from leadoff.record.entries import Chance, Expected

MODEL_CLOCKS = "two clocks 1"
"""Name and version of the two-clock arithmetic, kept in sealed forecasts."""


class Widening(msgspec.Struct, frozen=True, kw_only=True):
    """A setting that is not known, and by how many percent of the score it widens the 90 % band."""

    workload: str
    setting: str
    pct: float
    reading: str = ""
    minutes: float | None = None


class FamilyOdds(msgspec.Struct, frozen=True, kw_only=True):
    """Odds of a profile family: with the runs there are, and before any."""

    family: str
    odds: float
    before: float


class Forecast(msgspec.Struct, frozen=True, kw_only=True):
    """A forecast for one setup.

    ``basis``: ``runs`` (the model, with runs of this board), ``family`` (no run of this board), ``clocks``
    (the two-clock arithmetic). ``best_first_run`` is empty unless a run would tell more than anything else.
    ``bound_noise``: by workload, by how many percent two runs alone may carry a score past the bounds by clocks (5 %
    beyond each). ``taught``: what the runs of this board taught and what is prior, in words. ``time_split``: by
    workload, where the time of one unit of work goes. ``families``: by workload the profile families it may be like,
    likeliest first.
    """

    basis: str
    model: str
    expected: tuple[Expected, ...]
    best_first_run: str = ""
    widened_by: tuple[Widening, ...] = ()
    taught: str = ""
    chance: Chance = Chance()
    bound_noise: Mapping[str, float] = {}
    families: Mapping[str, tuple[FamilyOdds, ...]] = {}
    time_split: Mapping[str, tuple[Part, ...]] = {}
