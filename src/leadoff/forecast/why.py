"""Why two runs differ: what changed between their states, and what can be said of each change."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

import msgspec

from leadoff.forecast.compare import Comparison, compare
from leadoff.forecast.datum import score_settings
from leadoff.forecast.facts import Observed, Setup
from leadoff.forecast.repeat import repeatability
from leadoff.machine.effects import same_value
from leadoff.machine.prices import minutes
from leadoff.record.quantity import Quantity, Source
from leadoff.record.runs import Workload
from leadoff.record.settings import SETTINGS, Touch

CORE, BUS = "core clock", "bus clock"
SIDES = ("pci", "agp", "isa", "mem")


def side_setting(side: str) -> str:
    """The setting that gives a side clock its own ratio (memory: its own clock)."""
    return "mem_mhz" if side == "mem" else f"{side}_ratio"


class Factor(msgspec.Struct, frozen=True, kw_only=True):
    """One changed factor. ``share`` is its part of the change of the score in percent, where it can be told.

    ``verdict``: ``shown`` by the runs, ``expected`` from physics and not shown, ``cannot_tell``.
    """

    factor: str
    before: str | None
    after: str | None
    share: Quantity
    verdict: str


class Group(msgspec.Struct, frozen=True, kw_only=True):
    """Factors that the runs do not separate, with the effect of all of them together in percent."""

    factors: tuple[str, ...]
    because: str
    total: Quantity | None = None


class Separating(msgspec.Struct, frozen=True, kw_only=True):
    """The cheapest run that would separate them: the second state with these settings as in the first."""

    settings: Mapping[str, str | None]
    minutes: float
    why: str


class Why(msgspec.Struct, frozen=True, kw_only=True):
    """The answer. ``remainder_pct`` is what the model leaves unexplained, ``None`` without a model."""

    comparison: Comparison
    factors: tuple[Factor, ...]
    cannot_tell: tuple[Group, ...] = ()
    cheapest_run: Separating | None = None
    remainder_pct: Quantity | None = None
    hints: tuple[str, ...] = ()


class Changed(msgspec.Struct, frozen=True, kw_only=True):
    """A factor that differs, with the settings (or clocks) behind it."""

    factor: str
    before: str | None
    after: str | None
    settings: tuple[str, ...]


def changed_factors(a: Setup, b: Setup) -> tuple[Changed, ...]:
    """What differs between two states: core clock and bus clock as such, then every other setting.

    Core and bus are the factors, not bus and ratio: with those, large effects of opposite sign would appear
    that nobody can see. A side bus that only follows the bus clock is not named again, nor are positions.
    """
    out = []
    for factor, clock, behind in (
        (CORE, "core_mhz", ("ratio", "core_mhz")),
        (BUS, "bus_mhz", ("bus_mhz", "can_mhz")),
    ):
        one, two = a.clocks.get(clock), b.clocks.get(clock)
        if not _same_clock(one, two):
            out.append(Changed(factor=factor, before=_mhz(one), after=_mhz(two), settings=behind))
    for side in SIDES:
        name = side_setting(side)
        one, two = _over_bus(a, side), _over_bus(b, side)
        # A divider that comes with the bus clock, from the sheet's table, is part of the bus clock.
        said = a.state.value(name) is not None or b.state.value(name) is not None
        if said and one != two and one is not None and two is not None:
            out.append(Changed(factor=name, before=str(one), after=str(two), settings=(name,)))
    first, second = score_settings(a), score_settings(b)
    for name in sorted(first.keys() | second.keys()):
        before, after = first.get(name), second.get(name)
        if before == after or name == "mem_mhz":
            continue
        if before is not None and after is not None and same_value(name, before, after):
            continue
        out.append(Changed(factor=name, before=before, after=after, settings=(name,)))
    return tuple(out)


def why_first_form(a: Observed, b: Observed, workload: Workload, runs: Sequence[Observed]) -> Why:
    """What changed; a single change takes the whole difference, several are not split.

    Raises:
        LeadoffError: when one of the runs has no score of this workload.
    """
    compared = compare(a.run, b.run, workload, repeatability(workload, (o.run for o in runs)))
    found = changed_factors(a.setup, b.setup)
    if a.run.rig != b.run.rig:
        found = (*found, Changed(factor="rig", before=a.run.rig, after=b.run.rig, settings=("rig",)))
    whole = compared.ratio_pct
    if not found:
        because = "no recorded setting differs: noise, or something that was not written down"
        group = Group(factors=(), because=because, total=whole)
        return Why(comparison=compared, factors=(), cannot_tell=(group,))
    if len(found) == 1:
        verdict = "shown" if compared.verdict == "shown" else "cannot_tell"
        factor = _factor(found[0], whole, verdict)
        groups = () if verdict == "shown" else (_within_noise(found[0].factor, whole),)
        return Why(comparison=compared, factors=(factor,), cannot_tell=groups)
    because = f"{len(found)} things changed at once and these two runs measure only their sum"
    names = tuple(f.factor for f in found)
    return Why(
        comparison=compared,
        factors=tuple(_factor(f, _untold(because), "cannot_tell") for f in found),
        cannot_tell=(Group(factors=names, because=because, total=whole),),
        cheapest_run=cheapest_separating(found, a.setup, b.setup),
    )


def cheapest_separating(found: Sequence[Changed], a: Setup, b: Setup) -> Separating | None:
    """The second state with one factor back, by the factor that costs least and can be put back by itself;
    ``None`` when none is known."""
    ways = [
        (way_minutes(back), f, back)
        for f in found
        if f.factor != "rig" and (back := way_back(f, a, b)) is not None
    ]
    if not ways:
        return None
    cost, best, back = min(ways, key=lambda w: (w[0], w[1].factor))
    names = ", ".join(f.factor for f in found if f is not best)
    text = f"with {best.factor} back at {best.before}, what is left of the difference belongs to {names}"
    return Separating(settings=back, minutes=cost + minutes("run"), why=text)


def way_back(factor: Changed, a: Setup, b: Setup) -> Mapping[str, str | None] | None:
    """Settings that put one factor of ``b`` back as in ``a`` and leave the others; ``None`` when that cannot be
    done. Core and bus clock hang together by the ratio: the one is put back by another ratio, the other by
    another bus clock and another ratio, where the processor makes it."""
    if factor.factor not in (CORE, BUS):
        return None if factor.before is None else {factor.settings[0]: factor.before}
    core = (a if factor.factor == CORE else b).clocks.get("core_mhz")
    bus = (b if factor.factor == CORE else a).clocks.get("bus_mhz")
    if not core or not bus:
        return None
    ratio = core / bus
    part = b.processor
    whole = ratio.limit_denominator(2)
    made = part.makes(whole) if part is not None else None
    if not same_value("bus_mhz", str(ratio), str(whole)) or whole < 1 or made is False:
        return None
    same_ratio = _same_clock(b.clocks.get("core_mhz"), None if whole is None else bus * whole)
    out: dict[str, str | None] = {} if same_ratio and factor.factor == CORE else {"ratio": str(whole)}
    if factor.factor == BUS:
        out["bus_mhz"] = str(bus)
    return out or None


def way_minutes(settings: Mapping[str, str | None]) -> float:
    """Minutes of setting these in one go: the dearest touch, and what each further one adds."""
    costs = sorted((touch_minutes(n) for n in settings), reverse=True)
    return costs[0] + minutes("jumper") * (len(costs) - 1) if costs else 0.0


def touch_minutes(name: str) -> float:
    """Minutes of changing one setting and coming back to a running machine, by the price rows."""
    known = SETTINGS.get(name)
    off = minutes("switch_off") + minutes("switch_on")
    if known is None or known.touch is Touch.JUMPER:
        return minutes("jumper") + off
    prices = {
        Touch.SWAP: minutes("swap") + off,
        Touch.SETUP: minutes("setup_visit"),
        Touch.SOFTWARE: minutes("software"),
        Touch.SWITCH: minutes("switch"),
    }
    return prices[known.touch]


def _factor(changed: Changed, share: Quantity, verdict: str) -> Factor:
    return Factor(
        factor=changed.factor, before=changed.before, after=changed.after, share=share, verdict=verdict
    )


def _untold(because: str) -> Quantity:
    return Quantity(value=None, unit="%", source=Source.UNKNOWN, why=because)


def _within_noise(name: str, whole: Quantity) -> Group:
    return Group(factors=(name,), because="the difference is within the noise of these runs", total=whole)


def _same_clock(a: Fraction | None, b: Fraction | None) -> bool:
    if a is None or b is None:
        return a is b
    return same_value("bus_mhz", str(a), str(b))


def _mhz(clock: Fraction | None) -> str | None:
    return None if clock is None else str(clock)


def _over_bus(setup: Setup, side: str) -> Fraction | None:
    clock, bus = setup.clocks.get(f"{side}_mhz"), setup.clocks.get("bus_mhz")
    return None if clock is None or bus is None else (clock / bus).limit_denominator(60)
