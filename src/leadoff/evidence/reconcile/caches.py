"""Caches: what a sweep shows against what is declared, what set-up says, and what the firmware counts."""

from __future__ import annotations

from collections.abc import Iterator

from leadoff.evidence.facts import Rank
from leadoff.evidence.reconcile.values import Case, Claim, Draft, claim

NOT_DECLARED = "not declared"


def cache_drafts(case: Case) -> Iterator[Draft]:
    """A first level that does not show, a second level absent, smaller, larger, or short of the memory."""
    yield from _first(case)
    yield from _second(case)
    yield from _size_printed(case)
    text = "second-level write policy: {declared} declared, set-up says {seen}"
    if said := case.otherwise("second_level_policy", "l2_policy", text, Rank.SETUP, Rank.FIRMWARE):
        yield said


def _switch(case: Case, setting: str) -> bool | None:
    """What set-up says of a switch: on, off, or not seen."""
    found = case.top(setting, Rank.SETUP, Rank.FIRMWARE)
    return None if found is None else found.canonical == "on"


def _claims(case: Case, setting: str, key: str) -> tuple[Claim, ...]:
    out = [case.declared(setting)] if case.value(setting) is not None else []
    fact = case.by_key(key)
    if fact is not None:
        out.append(claim(fact))
    return (*out, *(claim(f) for f in case.by_setting(setting, Rank.SETUP, Rank.FIRMWARE)))


def _first(case: Case) -> Iterator[Draft]:
    seen = case.by_key("sweep.l1_kb")
    part = case.setup.processor
    wanted = part.l1_kb if part is not None else None
    if seen is None or not wanted or case.value("l1") == "off":
        return
    kb = float(seen.value)
    if kb == 0:
        name = case.top("cpu", Rank.FIRMWARE, Rank.SETUP)
        knows = None if name is None else bool(case.cores_of(name.canonical) & {part.core if part else ""})
        yield Draft(
            code="no_first_level",
            setting="l1",
            declared=case.value("l1") or NOT_DECLARED,
            seen="off",
            rank=seen.rank,
            text=f"first-level cache: {wanted:g} KB are in the part, the sweep shows none",
            claims=_claims(case, "l1", "sweep.l1_kb"),
            clues={"setup_on": _switch(case, "l1"), "firmware_knows_part": knows, "turbo_off": _turbo(case)},
            disputes=("l1",),
        )
    elif abs(kb / wanted - 1) > 0.3:
        yield Draft(
            code="first_level_size",
            setting="cpu",
            declared=f"{wanted:g} KB inside",
            seen=f"{kb:g} KB",
            rank=seen.rank,
            text=f"first-level cache: the declared part has {wanted:g} KB, the sweep shows {kb:g} KB",
            claims=_claims(case, "cpu", "sweep.l1_kb"),
            clues={"identity_agrees": _identity_agrees(case), "smaller": kb < wanted},
            words={"kb": f"{kb:g}"},
            disputes=("cpu",),
        )


def _turbo(case: Case) -> bool | None:
    value = case.value("turbo")
    return None if value is None else value == "off"


def _identity_agrees(case: Case) -> bool | None:
    found = case.top("cpu", Rank.IDENTITY)
    part = case.setup.processor
    if found is None or part is None or not part.core:
        return None
    return part.core in found.canonical.removeprefix("core:").split(",")


def _second(case: Case) -> Iterator[Draft]:
    seen = case.by_key("sweep.l2_kb")
    if seen is None:
        return
    wanted = float(case.value("l2_kb") or 0)
    off = case.value("l2") == "off"
    kb = float(seen.value)
    printed = _printed_kb(case)
    clues = {
        "setup_on": _switch(case, "l2"),
        "firmware_counts_it": None if printed is None else wanted > 0 and printed >= wanted,
        "firmware_counts_seen": None if printed is None else printed == kb and kb > 0,
        "firmware_counts_none": None if printed is None else printed == 0,
    }
    code, text = "", ""
    disputes: tuple[str, ...] = ()
    words = {"kb": f"{kb:g}", "wanted": f"{wanted:g}"}
    if (off or (wanted == 0 and case.value("l2_kb") is not None)) and kb > 0:
        code, text, disputes = (
            "unexpected_second_level",
            f"none declared on, the sweep shows {kb:g} KB",
            ("l2",),
        )
    elif wanted and not off and kb == 0:
        code, text, disputes = (
            "no_second_level",
            f"{wanted:g} KB declared, the sweep shows none",
            ("l2", "l2_kb"),
        )
    elif wanted and not off and kb <= wanted * 0.75:
        code, text, disputes = (
            "smaller_second_level",
            f"{wanted:g} KB declared, the sweep shows {kb:g} KB",
            ("l2_kb",),
        )
        clues["half"] = abs(kb / wanted - 0.5) < 0.1
    elif wanted and not off and kb >= wanted * 1.5:
        code, text, disputes = (
            "larger_second_level",
            f"{wanted:g} KB declared, the sweep shows {kb:g} KB",
            ("l2_kb",),
        )
    if code:
        yield Draft(
            code=code,
            setting=disputes[-1],
            declared=f"{wanted:g} KB" + (", off" if off else ""),
            seen=f"{kb:g} KB",
            rank=seen.rank,
            text=f"second-level cache: {text}",
            claims=_claims(case, disputes[-1], "sweep.l2_kb"),
            clues=clues,
            words=words,
            disputes=disputes,
        )
    yield from _range(case)


def _range(case: Case) -> Iterator[Draft]:
    """Blocks beyond some size are slower although memory is declared to be cached."""
    found = case.by_key("sweep.slower_beyond_kb")
    if found is None:
        return
    beyond = float(found.value)
    bits = case.value("tag_bits")
    yield Draft(
        code="cacheable_range",
        setting="tag_bits",
        declared=f"{bits} tag bits" if bits else NOT_DECLARED,
        seen=f"slower beyond {beyond / 1024:g} MB",
        rank=found.rank,
        text=f"cacheable range: memory beyond {beyond / 1024:g} MB is slower than below",
        claims=_claims(case, "tag_bits", "sweep.slower_beyond_kb"),
        clues={"power_of_two": beyond > 0 and abs(beyond / 2 ** round(_log2(beyond)) - 1) < 0.02},
        words={"mb": f"{beyond / 1024:g}"},
        disputes=("tag_bits",) if bits else (),
    )


def _log2(value: float) -> float:
    import math

    return math.log2(value)


def _printed_kb(case: Case) -> float | None:
    found = case.top("l2_kb", Rank.FIRMWARE, Rank.SETUP)
    if found is not None:
        return float(found.canonical)
    none = case.by_key("screen.cache_kb")
    return float(none.value) if none is not None and not isinstance(none.value, str) else None


def _size_printed(case: Case) -> Iterator[Draft]:
    """The firmware counts another size and no sweep has shown which is right."""
    printed, wanted = _printed_kb(case), case.value("l2_kb")
    if (
        printed is None
        or wanted is None
        or case.by_key("sweep.l2_kb") is not None
        or printed == float(wanted)
    ):
        return
    found = case.by_setting("l2_kb", Rank.FIRMWARE, Rank.SETUP)
    yield Draft(
        code="cache_counted",
        setting="l2_kb",
        declared=f"{float(wanted):g} KB",
        seen=f"{printed:g} KB",
        rank=found[0].rank if found else Rank.FIRMWARE,
        text=f"second-level cache: {float(wanted):g} KB declared, the firmware counts {printed:g} KB",
        claims=_claims(case, "l2_kb", "screen.cache_kb"),
        clues={"counted_none": printed == 0, "counted_more": printed > float(wanted)},
        words={"kb": f"{printed:g}"},
        disputes=("l2_kb",),
    )
