"""What a sweep and the sheet disagree about, and from what it can come. Nobody is accused on one sweep."""

from __future__ import annotations

from leadoff.memory.rows import rows
from leadoff.memory.sweep_values import Declared, Dispute, Hypothesis, SweepKind, SweepReading

SECOND_LOOK = 2
"""Sweeps that must agree before a cause that accuses somebody is listed."""

SLOWER_TOP = 1.08


def compare_sweep(reading: SweepReading, declared: Declared) -> tuple[Dispute, ...]:
    """Disputes between what the sweep shows and what is declared; nothing for what is not declared.

    The last level reaches to memory, so the levels before it are caches, those up to 64 KB inside the
    processor. Where the sweep does not go far enough to see a level, or has so few sizes that a step can hide between
    them, nothing is said of it.
    """
    if reading.too_few:
        return ()
    inside_kb = rows("sweep")["first_level"]["largest_kb"]
    caches = [float(level.size_kb.value or 0.0) for level in reading.levels[:-1]]
    has_l1 = declared.l1 is not False and (declared.l1_kb is None or declared.l1_kb > 0)
    wanted_l1 = declared.l1_kb if has_l1 else None
    first = [c for c in caches if c <= (inside_kb if wanted_l1 is None else max(inside_kb, wanted_l1))]
    if declared.l2_kb is not None and declared.l2_kb <= inside_kb and first and not has_l1:
        first = []
    inside = first[0] if first and has_l1 else None
    outer = [c for c in caches if c != inside]
    out: list[Dispute] = []
    if reading.kind is SweepKind.READ:
        out += _first_level(reading, declared, inside, wanted_l1)
        out += _second_level(reading, declared, outer)
    else:
        out += _policy(declared, inside, wanted_l1, reading)
    return tuple(out)


def _first_level(
    reading: SweepReading, declared: Declared, inside: float | None, wanted: float | None
) -> list[Dispute]:
    if wanted is None or reading.smallest_kb * 2 > wanted or reading.largest_kb < 2 * wanted:
        return []
    if inside is None:
        return [_dispute("l1", f"{wanted:g} KB", "no step there", "no_first_level", declared)]
    if inside != wanted and not _open(reading, inside, wanted):
        return [_dispute("cpu", f"{wanted:g} KB inside", f"{inside:g} KB", "first_level_size", declared)]
    return []


def _second_level(reading: SweepReading, declared: Declared, outer: list[float]) -> list[Dispute]:
    wanted = declared.l2_kb
    if declared.l2 is False or wanted == 0:
        if outer:
            return [_dispute("l2", "off", f"a level of {outer[0]:g} KB", "unexpected_second_level", declared)]
        return []
    if wanted is None:
        return []
    if not outer:
        if reading.largest_kb <= wanted:
            return []
        return [_dispute("l2", f"{wanted:g} KB, on", "no step there", "no_second_level", declared)]
    seen = outer[0]
    out = []
    if not _open(reading, seen, wanted):
        if seen < wanted:
            out.append(_dispute("l2_kb", f"{wanted:g} KB", f"{seen:g} KB", "smaller_second_level", declared))
        elif seen > wanted:
            out.append(_dispute("l2_kb", f"{wanted:g} KB", f"{seen:g} KB", "larger_second_level", declared))
    if len(outer) > 1 and outer[1] > wanted:
        out.append(
            _dispute(
                "cacheable",
                f"all cached up to {wanted:g} KB",
                f"slower beyond {outer[1]:g} KB",
                "slower_top",
                declared,
            )
        )
    return out


def _policy(
    declared: Declared, inside: float | None, wanted: float | None, reading: SweepReading
) -> list[Dispute]:
    if reading.kind is not SweepKind.WRITE or wanted is None or declared.l1_policy is None:
        return []
    if reading.smallest_kb * 2 > wanted or reading.largest_kb < 2 * wanted:
        return []
    held = inside is not None and inside <= 2 * wanted
    if declared.l1_policy == "wb" and not held:
        return [
            _dispute("l1_policy", "wb", "stores no faster inside the first level", "write_policy", declared)
        ]
    if declared.l1_policy == "wt" and held:
        seen = "stores faster inside the first level"
        return [_dispute("l1_policy", "wt", seen, "write_policy", declared)]
    return []


def _open(reading: SweepReading, seen: float, wanted: float) -> bool:
    """Whether the sizes tried leave it open that the level is as large as declared."""
    for level in reading.levels:
        if level.size_kb.value == seen and level.size_kb.lo is not None and level.size_kb.hi is not None:
            return level.size_kb.lo <= wanted < level.size_kb.hi
    return False


def _dispute(setting: str, declared: str, seen: str, code: str, sheet: Declared) -> Dispute:
    listed = [
        h
        for h in rows("sweep")["hypothesis"]
        if h["id"] == code and (sheet.sweeps >= SECOND_LOOK or not h.get("second", False))
    ]
    total = sum(h["p"] for h in listed)
    # Cheapest to rule out first: chance of being it per minute of checking.
    listed.sort(key=lambda h: -h["p"] / h["minutes"])
    return Dispute(
        setting=setting,
        declared=declared,
        seen=seen,
        code=code,
        hypotheses=tuple(
            Hypothesis(name=h["name"], p=h["p"] / total, check=h["check"], minutes=h["minutes"])
            for h in listed
        ),
    )
