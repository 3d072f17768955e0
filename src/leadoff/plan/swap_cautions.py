"""What can go wrong when cache chips or memory modules are changed; each with how it is known."""

from __future__ import annotations

import msgspec

from leadoff.plan.swap_clocks import SURE
from leadoff.plan.swap_side import ChipsetFacts, Side
from leadoff.record.marks import Level
from leadoff.timing.layout import tag_entries

SMALL_PACKAGE_K = 32


class Caution(msgspec.Struct, frozen=True, kw_only=True):
    """A caution before a part is changed. ``certainty`` as in the data rows."""

    level: Level
    code: str
    text: str
    certainty: str


def cautions(now: Side, then: Side, chipset: ChipsetFacts | None) -> tuple[Caution, ...]:
    """All that apply, start risks first."""
    out = [*_edo(now, then), *_holds(then), *_tag(now, then), *_sockets(now, then)]
    if then.l2_kb and chipset is not None and chipset.l2_kb and then.l2_kb not in chipset.l2_kb:
        sizes = ", ".join(map(str, chipset.l2_kb))
        text = f"the chipset class is known for {sizes} KB of second level, not for {then.l2_kb} KB"
        out.append(Caution(level=Level.AMBER, code="size_not_listed", text=text, certainty="judgement"))
    return tuple(out)


def _edo(now: Side, then: Side) -> list[Caution]:
    kinds = [s.setup.state.value("ram_type") for s in (now, then)]
    if kinds[1] != "edo" or kinds[0] == "edo":
        return []
    text = (
        "start risk: EDO parts drive the data bus until the next cycle. Banks that share a bus may fight: the board "
        "may not start, or start and fail. Try one bank first, power off at once if nothing appears, and keep the "
        "old modules at hand"
    )
    return [Caution(level=Level.AMBER, code="edo_bus_fight", text=text, certainty="practice")]


def _holds(then: Side) -> list[Caution]:
    read = then.read
    if read is None or read.kept or read.pattern is None or (read.chance_hold or 1.0) >= SURE:
        return []
    slower = f"; {read.fastest_inside} is inside all maxima" if read.fastest_inside else ""
    text = (
        f"{read.pattern} holds with {round(100 * (read.chance_hold or 0.0))} % with these chips{slower}: "
        "set the slower one "
        "before the first start"
    )
    return [Caution(level=Level.AMBER, code="pattern_may_not_hold", text=text, certainty="judgement")]


def _tag(now: Side, then: Side) -> list[Caution]:
    if not then.l2_kb or then.l2_kb <= now.l2_kb:
        return []
    line = then.cache.hierarchy.l2.line_bytes if then.cache.hierarchy.l2 is not None else 16
    need = tag_entries(then.l2_kb, line)
    text = (
        f"{then.l2_kb} KB of {line}-byte lines needs {need // 1024}K tag entries: a {need // 1024}Kx8 tag chip or "
        "deeper, or the cache works at half size or not at all"
    )
    return [Caution(level=Level.NOTE, code="tag_depth", text=text, certainty="read")]


def _sockets(now: Side, then: Side) -> list[Caution]:
    old, new = _depth_k(now), _depth_k(then)
    if new is None or new <= SMALL_PACKAGE_K or (old is not None and old > SMALL_PACKAGE_K):
        return []
    text = (
        f"{new}Kx8 chips have 32 pins, 32Kx8 have 28: look whether the sockets have all 32 holes, and move the cache "
        "size jumpers with them"
    )
    return [Caution(level=Level.NOTE, code="sockets", text=text, certainty="memory")]


def _depth_k(of: Side) -> int | None:
    chips = of.setup.state.value("l2_chips")
    return of.l2_kb // int(float(chips)) if of.l2_kb and chips and float(chips) > 0 else None
