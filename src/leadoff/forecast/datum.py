"""Runs of one workload in one state, put together into one datum of log time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import lru_cache

import msgspec

from leadoff.forecast import scale
from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.rows import group
from leadoff.record.runs import Workload
from leadoff.record.settings import SETTINGS, SettingKind, kind_of

_CLOCKS = frozenset(
    n for n, s in SETTINGS.items() if s.kind in (SettingKind.CLOCK, SettingKind.RATIO) and n != "mem_mhz"
)
# What these do to a score goes through a clock or a pattern, which is a setting of its own.
_SCORELESS = frozenset(
    (
        *("core_v", "io_v", "temp_c", "cpu_specimen", "interposer", "video_slot", "snoop_line", "bus_master"),
        *("dma", "disk", "l2_ns", "l2_chips", "l2_banks", "tag_ns", "ram_ns"),
    )
)


class Datum(msgspec.Struct, frozen=True, kw_only=True):
    """One state's result: the interval of log time that its mean stands for, and what repeats it rests on."""

    workload: str
    setup: Setup
    key: tuple[tuple[str, str], ...]
    lo: float
    hi: float
    readings: int
    boots: int
    rig: str
    when: str
    numbers: tuple[str, ...]
    printed: float

    @property
    def mid(self) -> float:
        return 0.5 * (self.lo + self.hi)

    def noise_var(self, repeat_sd: float, boot_sd: float = 0.0) -> float:
        """Variance of the mean by repeats and boots, rounding apart."""
        return repeat_sd**2 / self.readings + boot_sd**2 / self.boots


@lru_cache(maxsize=4096)
def _moves_scores(name: str) -> bool:
    """Whether a setting of that name may move a score by itself; positions act through what they set."""
    if name in _CLOCKS or name in _SCORELESS or name.startswith(("ram.", "card.")):
        return False
    return kind_of(name) is not SettingKind.POSITION


def score_settings(setup: Setup) -> dict[str, str | None]:
    """The settings that may move a score, clocks apart: those are taken from ``clocks``."""
    return {n: s.value for n, s in setup.state.settings.items() if _moves_scores(n)}


def state_key(setup: Setup) -> tuple[tuple[str, str], ...]:
    """What makes two states the same to a workload: settings that may move a score, and every clock."""
    settings = [(n, v if v is not None else "?") for n, v in score_settings(setup).items()]
    clocks = [(n, _text(v)) for n, v in setup.clocks.items()]
    return tuple(sorted(settings + clocks))


def _text(clock: Fraction | None) -> str:
    return "?" if clock is None else f"{float(clock):.5g}"


def data(workload: Workload, runs: Iterable[Observed]) -> tuple[Datum, ...]:
    """All states with a usable result of this workload, in an order that depends on content alone."""
    found: dict[tuple[object, ...], list[Observed]] = {}
    for seen in runs:
        if seen.run.workload == workload.name and scale.usable(seen.run):
            key = (seen.setup.board, seen.run.rig, state_key(seen.setup))
            found.setdefault(key, []).append(seen)
    out = [_together(workload, key[2], group_) for key, group_ in found.items()]
    return tuple(sorted(out, key=lambda d: (d.when, d.setup.board, d.key, d.lo, d.hi, d.rig)))


def _together(workload: Workload, key: object, seen: list[Observed]) -> Datum:
    seen = sorted(seen, key=lambda o: (o.when, o.run.number))
    ends = [scale.interval(workload, r) for o in seen for r in scale.usable(o.run)]
    n = len(ends)
    mids = [0.5 * (a + b) for a, b in ends]
    half = sum(0.5 * (b - a) for a, b in ends) / n
    # Rounding errors of unequal readings average out; of equal ones they are the same error every time.
    if len(set(ends)) > 1:
        half /= n**0.5
    mid = sum(mids) / n
    return Datum(
        workload=workload.name,
        setup=seen[0].setup,
        key=key,  # type: ignore[arg-type]
        lo=mid - half,
        hi=mid + half,
        readings=n,
        boots=len(seen),
        rig=seen[0].run.rig,
        when=seen[-1].when,
        numbers=tuple(o.run.number for o in seen),
        printed=sum(r.value for o in seen for r in scale.usable(o.run)) / n,
    )


def differing(a: Setup, b: Setup) -> tuple[str, ...]:
    """Names of score settings with other values (or known in one only)."""
    one, two = score_settings(a), score_settings(b)
    return tuple(sorted(n for n in one.keys() | two.keys() if one.get(n) != two.get(n)))


def spreads() -> Mapping[str, float]:
    """How far each setting may move a log time when nothing better is known."""
    return group("two_clock", "spread")
