"""Clocks: what was timed or counted against what the positions amount to, and which position would explain it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from leadoff.evidence.facts import Fact, Rank
from leadoff.evidence.reconcile.values import Case, Draft, claim
from leadoff.evidence.rows import limit
from leadoff.machine.effects import carriers_of

TIMED = (Rank.COUNTER, Rank.TIMER, Rank.LOOP)
PRINTED = (Rank.SETUP, Rank.FIRMWARE)


def clock_drafts(case: Case) -> Iterator[Draft]:
    """Conflicts about the bus and the core clock. One cause is told once: a bus that is off carries the core."""
    core_timed = _timed(case, "core_mhz")
    bus_timed = _timed(case, "bus_mhz")
    core, bus = case.clock("core_mhz"), case.clock("bus_mhz")
    bus_off = bus_timed is not None and bus is not None and not _near(bus_timed, bus)
    core_off = core_timed is not None and core is not None and not _near(core_timed, core)
    if bus_off and bus_timed is not None and bus is not None:
        yield _bus(case, bus_timed, bus, core_timed, core)
        if (
            core_timed is None
            or core is None
            or abs(_mhz(core_timed) / _mhz(bus_timed) / float(core / bus) - 1) < 0.01
        ):
            core_off = False
    if core_off and core_timed is not None and core is not None:
        yield _core(case, core_timed, core, bus_timed)
    printed = case.top("core_mhz", *PRINTED)
    if printed is not None and core is not None:
        told, true = (
            _mhz(printed),
            _mhz(core_timed) if core_timed is not None and not core_off else float(core),
        )
        explained = core_timed is not None and abs(told / _mhz(core_timed) - 1) <= limit("printed_fit")
        if abs(told / true - 1) > limit("printed_fit") and not explained:
            yield _firmware(case, printed, core, core_timed)


def _timed(case: Case, name: str) -> Fact | None:
    return case.top(name, *TIMED)


def _mhz(fact: Fact) -> float:
    return float(Fraction(fact.canonical))


def _near(fact: Fact, nominal: Fraction) -> bool:
    return abs(_mhz(fact) / float(nominal) - 1) <= limit(f"{fact.rank.value}_tolerance")


def _positions(case: Case, setting: str, wanted: float) -> list[tuple[str, str, str]]:
    """Positions other than the one set whose value is the wanted one: carrier, position, value."""
    out = []
    for carrier in carriers_of(case.setup.sheet, setting):
        now = case.value(carrier.id)
        for position, value in carrier.sets[setting].items():
            if position != now and abs(float(Fraction(value)) / wanted - 1) <= limit("pair_fit"):
                out.append((carrier.id, position, value))
    return out


def _words(found: list[tuple[str, str, str]], case: Case) -> dict[str, str]:
    if not found:
        return {}
    jumper, position, value = found[0]
    return {
        "jumper": jumper,
        "position": position,
        "value": f"{float(Fraction(value)):.4g}",
        "declared_position": case.value(jumper) or "?",
    }


def _core(case: Case, timed: Fact, core: Fraction, bus_timed: Fact | None) -> Draft:
    mhz, bus = _mhz(timed), case.clock("bus_mhz")
    ratio = core / bus if bus else None
    other_ratio = _positions(case, "ratio", mhz / float(bus)) if bus else []
    other_bus = _positions(case, "bus_mhz", mhz / float(ratio)) if ratio else []
    part = case.setup.processor
    made = part is not None and bus is not None and part.makes(_nearest_half(mhz / float(bus))) is True
    share = mhz / float(core)
    words = {"mhz": f"{mhz:g}", "nominal": f"{float(core):.4g}"}
    words |= {f"ratio_{k}": v for k, v in _words(other_ratio, case).items()}
    words |= {f"bus_{k}": v for k, v in _words(other_bus, case).items()}
    if bus is not None:
        words["as_ratio"] = f"{float(_nearest_half(mhz / float(bus))):g}"
    return Draft(
        code="core_clock",
        setting="core_mhz",
        declared=f"{float(core):.5g}",
        seen=f"{mhz:g}",
        rank=timed.rank,
        text=f"core clock: {float(core):.5g} MHz by the positions, {mhz:g} MHz {_how(timed)}",
        claims=(case.declared("core_mhz", f"{float(core):.5g}"), claim(timed)),
        clues={
            "ratio_position": bool(other_ratio),
            "bus_position": bool(other_bus),
            "bus_agrees": None if bus_timed is None else True,
            "ratio_of_part": made if part is not None and (part.ratios or part.locked is not None) else None,
            "slowed": share <= limit("slowed"),
            "nudged": abs(share - 1) <= limit("nudged"),
            "turbo_off": _turbo(case),
        },
        words=words,
        disputes=("core_mhz", "ratio")
        if bus_timed is not None or not other_bus
        else ("core_mhz", "ratio", "bus_mhz"),
    )


def _turbo(case: Case) -> bool | None:
    value = case.value("turbo")
    return None if value is None else value == "off"


def _nearest_half(value: float) -> Fraction:
    return Fraction(round(value * 2), 2)


def _bus(case: Case, timed: Fact, bus: Fraction, core_timed: Fact | None, core: Fraction | None) -> Draft:
    mhz = _mhz(timed)
    other = _positions(case, "bus_mhz", mhz)
    scaled = None
    if core_timed is not None and core is not None:
        scaled = abs(_mhz(core_timed) / mhz / float(core / bus) - 1) < 0.01
    return Draft(
        code="bus_clock",
        setting="bus_mhz",
        declared=f"{float(bus):.5g}",
        seen=f"{mhz:g}",
        rank=timed.rank,
        text=f"bus clock: {float(bus):.5g} MHz by the positions, {mhz:g} MHz {_how(timed)}",
        claims=(case.declared("bus_mhz"), claim(timed)),
        clues={
            "bus_position": bool(other),
            "nudged": abs(mhz / float(bus) - 1) <= limit("nudged"),
            "core_follows": scaled,
        },
        words={"mhz": f"{mhz:g}"} | {f"bus_{k}": v for k, v in _words(other, case).items()},
        disputes=("bus_mhz", "core_mhz"),
    )


def _firmware(case: Case, printed: Fact, core: Fraction, timed: Fact | None) -> Draft:
    told = _mhz(printed)
    return Draft(
        code="firmware_clock",
        setting="core_mhz",
        declared=f"{float(core):.5g}",
        seen=f"{told:g}",
        rank=printed.rank,
        text=f"core clock: {float(core):.5g} MHz by the positions, the firmware prints {told:g} MHz",
        claims=(case.declared("core_mhz", f"{float(core):.5g}"), claim(printed)),
        clues={"timed_agrees": None if timed is None else _near(timed, core)},
        words={"mhz": f"{told:g}"},
        disputes=() if timed is not None else ("core_mhz",),
        cosmetic=timed is not None,
    )


def _how(fact: Fact) -> str:
    return {
        Rank.COUNTER: "on a counter",
        Rank.TIMER: "by the cycle counter",
        Rank.LOOP: "by a timed loop",
    }.get(fact.rank, "")
