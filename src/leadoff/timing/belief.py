"""Chance that real parts hold a pattern, and what runs that held or failed teach about it.

Real delays are the published maxima times a factor of the cache chips and one of the processor, plus the
board's own unpublished terms. All five are unknown and lie on a fixed grid, so the sums are the same on any
day and any machine; at each grid point less period or more delay only ever takes slack away, which makes the
chance monotone whatever was learnt.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import msgspec

from leadoff.record.quantity import Quantity, Source
from leadoff.timing.clocks import Clock, period_ns
from leadoff.timing.delays import Scale, TermName, Terms, budget_terms, bus_ac, bus_family, sram_of_grade
from leadoff.timing.derate import delay_factor
from leadoff.timing.legs import CacheChips, Leg, read_legs, write_legs
from leadoff.timing.pattern import Pattern

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Grid = NDArray[np.float64]

_Z90 = 1.6448536269514722  # half width of 90 % of a normal, in standard deviations
_AXES: tuple[str, ...] = ("silicon", "processor", "buffer", "compare", "control")
_POINTS = {"silicon": 33, "processor": 5, "buffer": 9, "compare": 9, "control": 7}
_REACH = 2.75  # standard deviations covered on each side; 0.6 % lies beyond


class Trial(msgspec.Struct, frozen=True, kw_only=True):
    """One run on this board that says whether a pattern held. ``same_chips`` is False when the run was made
    with other cache chips: it then teaches about the board only."""

    bus_family: str
    clock_mhz: Clock
    pattern: str
    held: bool
    sram_ns: float
    tag_ns: float | None = None
    banks: int = 1
    kind: Literal["read", "write"] = "read"
    same_chips: bool = True
    match_ns: float | None = None
    rated_bus_mhz: Clock | None = None
    temp_c: float = 25.0
    volts_pct: float = 0.0
    ref: str = ""


class Belief:
    """A distribution over what this board and its chips really are. Made by ``prior`` and ``learn``."""

    def __init__(
        self, terms: Terms, values: dict[str, Grid], weights: Grid, refs: tuple[str, ...] = ()
    ) -> None:
        self.terms = terms
        self.refs = refs
        self._values = values
        self._weights = weights

    def chance(
        self, legs: Sequence[Leg], clock: Clock, *, temp_c: float = 25.0, volts_pct: float = 0.0
    ) -> float:
        """Probability that every leg holds at this clock, temperature and supply."""
        return float((self._weights * self._holds(legs, clock, temp_c, volts_pct)).sum())

    def silicon(self) -> Quantity:
        """Real access time of the cache chips over their marked grade, with a 90 % band."""
        mass = self._weights.sum(axis=(1, 2, 3, 4))
        return self._summary(self._values["silicon"].ravel(), mass)

    def term_ns(self, name: TermName) -> Quantity:
        """One of the board's unpublished delays, with a 90 % band."""
        if name not in _AXES:
            return Quantity(value=self.terms.of(name).median_ns, unit="ns", source=Source.ASSUMED)
        axis = _AXES.index(name)
        mass = self._weights.sum(axis=tuple(i for i in range(len(_AXES)) if i != axis))
        return self._summary(self._values[name].ravel(), mass, unit="ns")

    def after(self, trials: Iterable[Trial]) -> Belief:
        """The belief after more runs; the order of runs does not matter."""
        import numpy as np

        seen = list(trials)
        refs = (*self.refs, *(t.ref for t in seen if t.ref))
        # A board runs for months at few settings: what happened a hundred times is weighed once, a hundredfold.
        often = Counter(msgspec.structs.replace(t, ref="") for t in seen)
        if not often:
            return self
        logs = sum(n * np.log(self._likelihood(t)) for t, n in often.items())
        weights = self._weights * np.exp(logs - np.max(logs))
        return Belief(self.terms, self._values, weights / weights.sum(), refs)

    def _likelihood(self, trial: Trial) -> Grid:
        row = self.terms.evidence
        legs = trial_legs(trial, self.terms)
        holds = self._holds(legs, trial.clock_mhz, trial.temp_c, trial.volts_pct)
        if not trial.same_chips:
            mass = _silicon_mass(self.terms.silicon)[1].reshape(-1, 1, 1, 1, 1)
            holds = (holds * mass).sum(axis=0, keepdims=True) / mass.sum()
        if trial.held:
            return row.lucky_share + (1.0 - row.lucky_share) * holds
        return 1.0 - (1.0 - row.other_cause_share) * holds

    def _holds(self, legs: Sequence[Leg], clock: Clock, temp_c: float, volts_pct: float) -> Grid:
        import numpy as np

        factor = delay_factor(self.terms.derating, temp_c=temp_c, volts_pct=volts_pct)
        period = period_ns(clock)
        steep = 1.702 / self.terms.evidence.noise_ns  # logistic curve closest to a normal of that spread
        held: Grid = np.ones((1,) * len(_AXES))
        for leg in legs:
            delay = leg.processor_ns * self._values["processor"] + leg.chip_ns * self._values["silicon"]
            for name, share in leg.terms:
                delay = delay + share * self._values.get(name, np.array(self.terms.of(name).median_ns))
            margin = np.clip(steep * (leg.clocks * period - factor * delay), -60.0, 60.0)
            held = np.minimum(held, 1.0 / (1.0 + np.exp(-margin)))
        return held

    def _summary(self, values: Grid, mass: Grid, *, unit: str = "1") -> Quantity:
        import numpy as np

        below = np.cumsum(mass) - 0.5 * mass
        lo, mid, hi = (float(x) for x in np.interp([0.05, 0.5, 0.95], below, values))
        return Quantity(value=mid, unit=unit, source=Source.COMPUTED, lo=lo, hi=hi, level=0.9, refs=self.refs)


def learn(trials: Iterable[Trial], *, terms: Terms | None = None) -> Belief:
    """What the given runs of one board teach, starting from the prior."""
    return prior(terms or budget_terms()).after(trials)


@lru_cache(maxsize=8)
def prior(terms: Terms) -> Belief:
    """The belief before any run: typical silicon, typical board."""
    import numpy as np

    values: dict[str, Grid] = {}
    weights: Grid = np.ones((1,) * len(_AXES))
    for axis, name in enumerate(_AXES):
        points, mass = _axis(name, terms)
        shape = tuple(-1 if i == axis else 1 for i in range(len(_AXES)))
        values[name] = points.reshape(shape)
        weights = weights * (mass / mass.sum()).reshape(shape)
    return Belief(terms, values, weights)


def trial_legs(trial: Trial, terms: Terms) -> tuple[Leg, ...]:
    """The paths that a run has tried."""
    family = bus_family(trial.bus_family)
    ac = bus_ac(family.id, trial.rated_bus_mhz or trial.clock_mhz)
    tag_ns = trial.sram_ns if trial.tag_ns is None else trial.tag_ns
    chips = CacheChips(
        sram=sram_of_grade(trial.sram_ns), tag_ns=tag_ns, banks=trial.banks, match_ns=trial.match_ns
    )
    pattern = Pattern.parse(trial.pattern)
    if trial.kind == "write":
        return write_legs(pattern.lead, family=family, ac=ac, chips=chips, terms=terms)
    return read_legs(pattern, family=family, ac=ac, chips=chips, terms=terms)


def _axis(name: str, terms: Terms) -> tuple[Grid, Grid]:
    import numpy as np

    if name == "silicon":
        return _silicon_mass(terms.silicon)
    z = np.linspace(-_REACH, _REACH, _POINTS[name])
    mass = np.exp(-0.5 * z * z)
    if name == "processor":
        middle, log_sd = _log_middle(terms.processor)
        return np.exp(middle + log_sd * z), mass
    term = next(t for t in terms.term if t.name == name)
    return term.median_ns * np.exp(term.log_sd * z), mass


def _silicon_mass(scale: Scale) -> tuple[Grid, Grid]:
    """Factor and mass: the bulk of the chips, and an odd share that is slower than marked."""
    import numpy as np

    middle, log_sd = _log_middle(scale)
    odd = math.log(scale.odd_median)
    low = middle - 3.5 * log_sd
    high = max(odd + _REACH * scale.odd_log_sd, middle + 3.5 * log_sd)
    x = np.linspace(low, high, _POINTS["silicon"])
    bulk = np.exp(-0.5 * ((x - middle) / log_sd) ** 2) / log_sd
    rare = np.exp(-0.5 * ((x - odd) / scale.odd_log_sd) ** 2) / scale.odd_log_sd
    return np.exp(x), (1.0 - scale.odd_share) * bulk + scale.odd_share * rare


def _log_middle(scale: Scale) -> tuple[float, float]:
    lo, hi = math.log(scale.lo), math.log(scale.hi)
    return 0.5 * (lo + hi), 0.5 * (hi - lo) / _Z90
