"""The delays that a budget adds up: published ones by bus grade, unpublished ones as distributions.

All values come from two data files with source and certainty per row; nothing here is a constant of code.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from importlib.resources import files
from itertools import pairwise
from typing import Literal

import msgspec

from leadoff.record.errors import LeadoffError
from leadoff.timing.clocks import Clock, as_mhz

Certainty = Literal["read", "memory", "practice", "judgement", "invented"]
TermName = Literal["buffer", "compare", "control", "skew"]
_FIRMEST_FIRST: tuple[Certainty, ...] = ("read", "memory", "practice", "judgement", "invented")


class _Row(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    source: str
    certainty: Certainty


class Family(_Row, frozen=True, kw_only=True):
    """A processor bus: whether it bursts, and from when a write-data delay counts."""

    id: str
    aliases: tuple[str, ...]
    burst: bool
    shortest_cycle_clocks: int
    write_data_from_clocks: float


class BusAc(_Row, frozen=True, kw_only=True):
    """Maximum delays of a processor rated for one bus clock, ns."""

    family: str
    rated_mhz: str
    address_valid_ns: float
    data_setup_ns: float
    ready_setup_ns: float
    write_data_valid_ns: float
    plus_minus_ns: float


class Term(_Row, frozen=True, kw_only=True):
    """An unpublished delay: the figure to plan with (``lo_ns`` to ``hi_ns``) and what boards have."""

    name: TermName
    lo_ns: float
    hi_ns: float
    median_ns: float
    log_sd: float


class Scale(_Row, frozen=True, kw_only=True):
    """Real delay over marked grade: ``lo`` to ``hi`` hold 90 %, an odd share lies elsewhere."""

    lo: float
    hi: float
    odd_share: float
    odd_median: float
    odd_log_sd: float


class Derating(_Row, frozen=True, kw_only=True):
    """How delays change with chip temperature and supply."""

    room_c: float
    per_c: float
    min_c: float
    max_c: float
    volts_pct_max: float


class EvidenceRow(_Row, frozen=True, kw_only=True):
    """How far one run that held or failed can be believed."""

    noise_ns: float
    lucky_share: float
    other_cause_share: float


class ReportRow(_Row, frozen=True, kw_only=True):
    """Shares and limits used when a budget is told."""

    rest_share: float
    marginal_ns: float


class SramDelays(_Row, frozen=True, kw_only=True):
    """Maximum access, output-enable, write-pulse and data set-up times of an asynchronous SRAM, ns."""

    taa_ns: float
    toe_ns: float
    twp_ns: float
    tsd_ns: float


class Terms(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Everything a budget needs beyond the bus grade and the chips."""

    term: tuple[Term, ...]
    silicon: Scale
    processor: Scale
    derating: Derating
    evidence: EvidenceRow
    report: ReportRow
    sram: tuple[SramDelays, ...]

    def of(self, name: TermName) -> Term:
        """The term of that name."""
        return next(t for t in self.term if t.name == name)

    def at_model(self, model: Literal["A", "B"]) -> Terms:
        """The same terms without a band: A takes the short end of each, B the long one."""
        one = tuple(
            msgspec.structs.replace(t, hi_ns=t.lo_ns)
            if model == "A"
            else msgspec.structs.replace(t, lo_ns=t.hi_ns)
            for t in self.term
        )
        return msgspec.structs.replace(self, term=one)


class _BusFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    family: tuple[Family, ...]
    ac: tuple[BusAc, ...]


def worst_certainty(*found: Certainty) -> Certainty:
    """The weakest of several certainties; a result is no firmer than its weakest input."""
    return max(found, key=_FIRMEST_FIRST.index)


def bus_family(name: str) -> Family:
    """The bus family of that id or alias; ``LeadoffError`` lists the known ones."""
    wanted = name.strip().lower()
    for row in _bus_file().family:
        if wanted == row.id or wanted in row.aliases:
            return row
    known = ", ".join(f.id for f in _bus_file().family)
    raise LeadoffError.one(
        "bus-family-unknown",
        f"no bus family {name!r}; without its delays no budget can be added up",
        where="bus_family",
        do=f"use one of {known}",
    )


def bus_ac(name: str, at_mhz: Clock) -> BusAc:
    """Delays of a part of family ``name`` rated for ``at_mhz``.

    Exact where a row exists; between rows linear in the period (certainty then ``judgement``, since no
    such grade was sold); outside of the rows the end row. Linear in the period with a slope below one
    clock, so that a slower clock never has less slack.
    """
    family = bus_family(name)
    rows = sorted((r for r in _bus_file().ac if r.family == family.id), key=_period)
    period = 1000.0 / as_mhz(at_mhz)
    if period <= _period(rows[0]):
        return rows[0]
    if period >= _period(rows[-1]):
        return rows[-1]
    for fast, slow in pairwise(rows):
        share = (period - _period(fast)) / (_period(slow) - _period(fast))
        if share < 1e-3:  # a typed 33.33 is the 100/3 row
            return fast
        if share < 1.0:
            return slow if share > 1.0 - 1e-3 else _between(fast, slow, share, as_mhz(at_mhz))
    return rows[-1]


def sram_of_grade(taa_ns: float) -> SramDelays:
    """Typical delays of an asynchronous SRAM known by its grade only, 5 to 150 ns.

    Between rows interpolated; outside of them scaled with the grade from the end row.
    """
    if not 5.0 <= taa_ns <= 150.0:
        raise LeadoffError.one(
            "sram-grade-out-of-range",
            f"{taa_ns:g} ns is no grade of a cache SRAM; 5 to 150 ns is understood",
            where="sram_ns",
            do="read the grade from the marking: -15 means 15 ns",
        )
    rows = sorted(budget_terms().sram, key=lambda r: r.taa_ns)
    for row in rows:
        if row.taa_ns == taa_ns:
            return row
    if not rows[0].taa_ns < taa_ns < rows[-1].taa_ns:
        end = rows[0] if taa_ns < rows[0].taa_ns else rows[-1]
        return _mixed((end,), (taa_ns / end.taa_ns,), f"scaled from the {end.taa_ns:g} ns row")
    low = max((r for r in rows if r.taa_ns < taa_ns), key=lambda r: r.taa_ns)
    high = min((r for r in rows if r.taa_ns > taa_ns), key=lambda r: r.taa_ns)
    share = (taa_ns - low.taa_ns) / (high.taa_ns - low.taa_ns)
    return _mixed(
        (low, high), (1.0 - share, share), f"between the {low.taa_ns:g} and {high.taa_ns:g} ns rows"
    )


@lru_cache(maxsize=1)
def budget_terms() -> Terms:
    """The unpublished terms and priors, read once."""
    return msgspec.toml.decode(_data("budget_terms.toml"), type=Terms)


@lru_cache(maxsize=1)
def _bus_file() -> _BusFile:
    return msgspec.toml.decode(_data("bus_ac.toml"), type=_BusFile)


def _data(name: str) -> bytes:
    return files("leadoff.catalogue").joinpath("data", name).read_bytes()


def _period(row: BusAc) -> float:
    return 1000.0 / float(Fraction(row.rated_mhz))


def _between(fast: BusAc, slow: BusAc, share: float, mhz: float) -> BusAc:
    def mix(a: float, b: float) -> float:
        return a + (b - a) * share

    return BusAc(
        family=fast.family,
        rated_mhz=f"{mhz:g}",
        address_valid_ns=mix(fast.address_valid_ns, slow.address_valid_ns),
        data_setup_ns=mix(fast.data_setup_ns, slow.data_setup_ns),
        ready_setup_ns=mix(fast.ready_setup_ns, slow.ready_setup_ns),
        write_data_valid_ns=mix(fast.write_data_valid_ns, slow.write_data_valid_ns),
        plus_minus_ns=max(fast.plus_minus_ns, slow.plus_minus_ns),
        source=f"between the {fast.rated_mhz} and {slow.rated_mhz} MHz rows: {fast.source}; {slow.source}",
        certainty="judgement",
    )


def _mixed(rows: Sequence[SramDelays], shares: Sequence[float], how: str) -> SramDelays:
    def mix(values: Sequence[float]) -> float:
        return sum(v * s for v, s in zip(values, shares, strict=True))

    return SramDelays(
        taa_ns=mix([r.taa_ns for r in rows]),
        toe_ns=mix([r.toe_ns for r in rows]),
        twp_ns=mix([r.twp_ns for r in rows]),
        tsd_ns=mix([r.tsd_ns for r in rows]),
        source=f"{how}: {rows[-1].source}",
        certainty="judgement",
    )
