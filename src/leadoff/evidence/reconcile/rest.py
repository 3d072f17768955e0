"""Memory, clock RAM, cards and firmware: what was counted, kept, mastered, dumped."""

from __future__ import annotations

from collections.abc import Iterator

from leadoff.evidence.facts import Fact, Rank
from leadoff.evidence.reconcile.values import Case, Claim, Draft, claim
from leadoff.evidence.rows import limit


def rest_drafts(case: Case) -> Iterator[Draft]:
    """Conflicts that are not about clocks, the processor or its caches."""
    yield from _memory(case)
    text = "memory: {declared} declared, the module's serial data say {seen}"
    if said := case.otherwise("module_type", "ram_type", text, Rank.IDENTITY):
        yield said
    yield from _clock_ram(case)
    yield from _stored(case)
    yield from _masters(case)
    yield from _image(case)


def _memory(case: Case) -> Iterator[Draft]:
    counted = case.top("ram_mb", Rank.FIRMWARE, Rank.SETUP)
    wanted = case.value("ram_mb")
    if counted is None or wanted is None:
        return
    seen, declared = float(counted.canonical), float(wanted)
    if abs(seen - declared) <= 0.5:  # 384 KB above base memory may be left out of the count
        return
    modules = {fit.mb for fit in case.setup.sheet.memory if fit.mb}
    sites = {fit.mb * fit.count for fit in case.setup.sheet.memory if fit.mb and fit.count}
    missing = declared - seen
    half = abs(seen / declared - 0.5) < 0.03
    yield Draft(
        code="memory_counted",
        setting="ram_mb",
        declared=f"{declared:g} MB",
        seen=f"{seen:g} MB",
        rank=counted.rank,
        text=f"memory: {declared:g} MB declared, {seen:g} MB counted",
        claims=(case.declared("ram_mb"), claim(counted)),
        clues={
            "more": seen > declared,
            "one_module": any(abs(missing - m) < 0.6 for m in modules | sites),
            "half": half,
            "at_limit": any(abs(seen - m) < 0.1 for m in (limit("isa_count"), limit("field_count"))),
        },
        words={"mb": f"{seen:g}", "missing": f"{missing:g}"},
        disputes=("ram_mb",),
    )


def _clock_ram(case: Case) -> Iterator[Draft]:
    kept = case.by_key("cmos.kept")
    if kept is None or kept.value != "no":
        return
    valid, running, date = (case.by_key(k) for k in ("clock.valid_ram", "clock.running", "clock.date"))
    diagnostic = case.by_key("cmos.diagnostic")
    entries = tuple(o.id for o in case.setup.sheet.options if case.value(o.id) is not None)
    if not entries:
        return
    carried = {s for o in case.setup.sheet.options for s in o.sets if case.value(s) is not None}
    cleared = "all FFh" in kept.note
    yield Draft(
        code="setup_lost",
        setting=", ".join(entries),
        declared="as entered",
        seen="lost",
        rank=kept.rank,
        text="set-up: entries are declared, the clock RAM was not kept",
        claims=(claim(kept),),
        clues={
            "flag_low": _is(valid, "no"),
            "cleared": cleared if valid is None else _ones(case),
            "standing": _is(running, "no"),
            "began_again": None if date is None else "began again" in kept.note,
            "power_noted": None if diagnostic is None else "lost power" in diagnostic.note,
        },
        disputes=tuple(sorted({*entries, *carried})),
    )


def _is(fact: Fact | None, value: str) -> bool | None:
    return None if fact is None else fact.value == value


def _ones(case: Case) -> bool:
    """General RAM all FFh, which is what a clear pin leaves."""
    found = case.by_key("cmos.checksum")
    return found is not None and "stored FFFFh" in found.note


def _stored(case: Case) -> Iterator[Draft]:
    """Memory as stored by set-up and as found at start, in a RAM that was kept."""
    kept = case.by_key("cmos.kept")
    stored, found = case.by_key("cmos.extended_kb"), case.by_key("cmos.extended_found_kb")
    if kept is None or kept.value != "yes" or stored is None or found is None or stored.value == found.value:
        return
    if isinstance(stored.value, str) or isinstance(found.value, str):
        return
    yield Draft(
        code="memory_stored",
        setting="ram_mb",
        declared=f"{stored.value:g} KB stored by set-up",
        seen=f"{found.value:g} KB found at start",
        rank=found.rank,
        text=f"memory: set-up stored {stored.value:g} KB above 1 MB, the start found {found.value:g} KB",
        claims=(claim(stored), claim(found)),
        clues={"less": found.value < stored.value},
    )


def _masters(case: Case) -> Iterator[Draft]:
    found = case.top("bus_master", Rank.IDENTITY)
    if found is None or case.value("bus_master") != "off":
        return
    back = case.value("l1_policy") == "wb"
    yield Draft(
        code="bus_master",
        setting="bus_master",
        declared="off",
        seen="on",
        rank=found.rank,
        text=f"bus masters: none declared, {found.value} has its master bit set",
        claims=(case.declared("bus_master"), claim(found)),
        clues={"write_back": back},
        words={"slots": str(found.value)},
        disputes=("bus_master",),
    )


def _image(case: Case) -> Iterator[Draft]:
    """The image in hand against the firmware that printed its date."""
    image = case.by_key("rom.date")
    printed = case.by_key("smbios.firmware.date") or case.by_key("screen.firmware_date")
    if image is None or printed is None or image.digest == printed.digest:
        return
    if _date(str(image.value)) == _date(str(printed.value)):
        return
    claims: tuple[Claim, ...] = (claim(image), claim(printed))
    yield Draft(
        code="firmware_image",
        setting="firmware",
        declared=str(image.value),
        seen=str(printed.value),
        rank=printed.rank,
        text=f"firmware: the image is dated {image.value}, what runs says {printed.value}",
        claims=claims,
        words={"image": image.file},
    )


def _date(text: str) -> str:
    """``07/15/1997`` and ``07/15/97`` are the same day."""
    parts = text.replace("-", "/").split("/")
    return "/".join([*parts[:2], parts[2][-2:]]) if len(parts) == 3 else text
