"""What is wanted, made precise before the wiring is asked: a core clock is a bus clock and a ratio."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

import msgspec

from leadoff.machine.effects import effective, same_value
from leadoff.machine.fold import BoardFold
from leadoff.machine.offers import offered_buses, offered_ratios
from leadoff.machine.partfacts import Processor
from leadoff.machine.straps import StrapTable, translate
from leadoff.record.quantity import Source


class Want(msgspec.Struct, frozen=True, kw_only=True):
    """One setting somebody asks for; ``value`` is canonical text, ``None`` leaves it unknown."""

    name: str
    value: str | None
    said: str = ""
    measured: bool = False


class Cause(msgspec.Struct, frozen=True, kw_only=True):
    """One reason why a state cannot be set. ``code`` is stable."""

    code: str
    text: str


def without_stale_ratio(
    wants: tuple[Want, ...], fold: BoardFold, was: Processor | None, part: Processor | None
) -> tuple[Want, ...]:
    """The wants of a change of processor, with the ratio left unknown that was said for the part before, where the
    new one reads other straps for it or does not make it. A ratio that follows from positions is read anew anyway,
    and one that is wanted in the same go stands."""
    said = fold.said.get("ratio")
    fitted = next((w for w in wants if w.name == "cpu"), None)
    told = said is not None and said.value is not None and said.source is not Source.MEASURED
    asked = {"ratio", "core_mhz"} & {w.name for w in wants}
    if not told or asked or fitted is None or part is None or was is None or part.id == was.id:
        return wants
    if part.locked is not None:
        return wants
    assert said is not None
    assert said.value is not None
    ratio = Fraction(said.value)
    why = f"x{float(ratio):g} was said with {was.id} fitted"
    if was.locked is not None:
        why += ", whose ratio is its own"
    elif was.straps is not None and part.straps is not None and was.straps != part.straps:
        made = translate(ratio, was.straps, part.straps)
        if made == ratio:
            return wants
        reads = f"x{float(made):g}" if made is not None else "another ratio, or none"
        why += f"; {part.id} reads the same straps as {reads}"
    elif part.makes(ratio) is False:
        why += f"; {part.id} does not make it"
    else:
        return wants
    return (*wants, Want(name="ratio", value=None, said=why))


def core_wanted(wants: Iterable[Want]) -> Want | None:
    """The core clock that is asked for, not one that was measured."""
    return next((w for w in wants if w.name == "core_mhz" and w.value is not None and not w.measured), None)


def without_core(
    wants: tuple[Want, ...], fold: BoardFold, part: Processor | None, base: StrapTable | None
) -> tuple[tuple[tuple[Want, ...], ...], tuple[Cause, ...]]:
    """Ways to ask for the same without naming the core clock, the one that moves least first.

    A cause comes back where bus clock and ratio are named too and give another core clock, or where no bus
    clock and ratio of the sheet give it.
    """
    core = core_wanted(wants)
    if core is None or core.value is None:
        return (wants,), ()
    rest = tuple(w for w in wants if w is not core)
    given = {
        w.name: Fraction(w.value) for w in rest if w.name in ("bus_mhz", "ratio") and w.value is not None
    }
    mhz = Fraction(core.value)
    if len(given) == 2:
        made = given["bus_mhz"] * given["ratio"]
        if same_value("core_mhz", str(made), core.value):
            return (rest,), ()
        text = f"{float(given['bus_mhz']):.4g} MHz x {float(given['ratio']):g} is {float(made):.5g} MHz"
        return (), (Cause(code="conflict", text=f"{text}, not a core of {float(mhz):.5g} MHz"),)
    if "bus_mhz" in given:
        return ((*rest, _ratio(mhz / given["bus_mhz"], core)),), ()
    if "ratio" in given:
        return ((*rest, _bus(mhz / given["ratio"], core)),), ()
    return _either(core, mhz, rest, fold, part, base)


def _either(
    core: Want,
    mhz: Fraction,
    rest: tuple[Want, ...],
    fold: BoardFold,
    part: Processor | None,
    base: StrapTable | None,
) -> tuple[tuple[tuple[Want, ...], ...], tuple[Cause, ...]]:
    now = effective(fold.said, fold.sheet, part, base)
    buses, ratios = offered_buses(fold.sheet), offered_ratios(fold, part, base)
    bus_now = now["bus_mhz"].value if "bus_mhz" in now else None
    ratio_now = now["ratio"].value if "ratio" in now else None
    if not buses and bus_now is not None:
        buses = {Fraction(bus_now)}
    if not ratios and ratio_now is not None:
        ratios = {Fraction(ratio_now)}
    if not buses or not ratios:
        # Nothing is known of what makes the core clock here: it is taken as said.
        return ((*rest, core),), ()
    pairs = [(b, r) for b in buses for r in ratios if same_value("core_mhz", str(b * r), str(mhz))]
    if not pairs:
        made = sorted({b * r for b in buses for r in ratios}, key=lambda c: abs(c - mhz))[:3]
        near = ", ".join(f"{float(c):.5g}" for c in made)
        text = f"no bus clock and ratio of this board give a core of {float(mhz):.5g} MHz; the nearest are {near}"
        return (), (Cause(code="core_clock", text=text),)
    pairs.sort(key=lambda p: ((str(p[0]) != bus_now) + (str(p[1]) != ratio_now), -p[0], p[1]))
    return tuple((*rest, _bus(b, core), _ratio(r, core)) for b, r in pairs), ()


def _ratio(value: Fraction, core: Want) -> Want:
    return Want(name="ratio", value=str(value.limit_denominator(12)), said=core.said)


def _bus(value: Fraction, core: Want) -> Want:
    return Want(name="bus_mhz", value=str(value), said=core.said)
