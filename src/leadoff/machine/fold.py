"""The state fold: what a board's entries, in order, say is fitted and set now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import msgspec

from leadoff.machine.adapter import adapter_from, adapter_of, adapter_rules
from leadoff.machine.effects import carriers, carriers_of, effective
from leadoff.machine.ended import ended_by_position, ended_by_value
from leadoff.machine.partfacts import Processor
from leadoff.machine.straps import StrapTable
from leadoff.record.board import BoardSheet, MemoryFit
from leadoff.record.entries import BoardBody, Body, DidBody, RunBody, StateBody
from leadoff.record.moves import Change
from leadoff.record.quantity import Source
from leadoff.record.settings import SETTINGS
from leadoff.record.state import UNKNOWN_SETTING, Setting, State, Status
from leadoff.words import memory_fit

FROM_FILE = "board file"
SITE = "ram."
WHOLE = frozenset({"ram_mb", "ram_type", "ram_ns"})
UNKNOWN_IN_FILE = "written as unknown in the board file"


class BoardFold(msgspec.Struct, frozen=True, kw_only=True):
    """A board at one point of its history: its sheet and everything that was said of its settings."""

    sheet: BoardSheet
    said: Mapping[str, Setting]

    def state(self, processor: Processor | None = None, base: StrapTable | None = None) -> State:
        """The complete state, positions worked out."""
        return State(board=self.sheet.id, settings=effective(self.said, self.sheet, processor, base))


def start(sheet: BoardSheet) -> BoardFold:
    """A board as its file declares it."""
    said = {name: _declared(value, FROM_FILE) for name, value in _fitted(sheet).items()}
    for name, value in sheet.now.items():
        said[name] = _not_known(UNKNOWN_IN_FILE) if value == "?" else _declared(value, FROM_FILE)
    return BoardFold(sheet=sheet, said=said)


def step(fold: BoardFold | None, body: Body, when: str = "") -> BoardFold | None:
    """The fold after one more entry of this board; entries that change nothing leave it as it was."""
    if isinstance(body, BoardBody):
        fresh = start(body.sheet)
        if fold is None:
            return fresh
        return _read_again(fold, fresh)
    if fold is None:
        return None
    if isinstance(body, StateBody):
        return msgspec.structs.replace(fold, said={**fold.said, **body.settings})
    if isinstance(body, DidBody):
        return msgspec.structs.replace(fold, said=after(fold, body.changes, when))
    if isinstance(body, RunBody) and body.unlike and not body.apart:
        return msgspec.structs.replace(fold, said=after(fold, body.unlike, when))
    return fold


def apart(sheet: BoardSheet, changes: Iterable[Change] = (), when: str = "") -> BoardFold:
    """A board at a time of which only a table tells: parts assumed as in its file, everything else unknown."""
    said = {
        name: Setting(
            value=value,
            status=Status.ASSUMED,
            source=Source.ASSUMED,
            said=value,
            why="an old table does not say; as in the board file",
        )
        for name, value in _fitted(sheet).items()
    }
    fold = BoardFold(sheet=sheet, said=said)
    return msgspec.structs.replace(fold, said=after(fold, changes, when)) if changes else fold


def _read_again(fold: BoardFold, fresh: BoardFold) -> BoardFold:
    """A sheet read again corrects the wiring and what the file declared; what was said since stays."""
    since = {n: s for n, s in fold.said.items() if s.why not in (FROM_FILE, UNKNOWN_IN_FILE)}
    moved = [
        Change(name=c.id, before=None, after=at.value)
        for c in carriers(fresh.sheet)
        if (at := since.get(c.id)) is not None and at.value is not None
    ]
    declared = after(fresh, moved)
    return BoardFold(sheet=fresh.sheet, said={**declared, **since})


def fold_all(bodies: Iterable[tuple[str, Body]]) -> BoardFold | None:
    """The fold over (time, body) pairs of one board in fold order."""
    fold: BoardFold | None = None
    for when, body in bodies:
        fold = step(fold, body, when)
    return fold


def after(fold: BoardFold, changes: Iterable[Change], when: str = "") -> dict[str, Setting]:
    """What is said of the settings once the changes were made.

    A jumper that was moved ends what was declared or measured of the settings it acts on, unless the new
    position agrees, and what was read of clocks that follow from them; a setting that was said by itself
    stands beside its jumper and may be disputed. Nothing named in the same go is ended by it.
    """
    changes = tuple(changes)
    named = {c.name for c in changes}
    said = dict(fold.said)
    acting = {c.id: c for c in carriers(fold.sheet)}
    ruled = _ruled_by_adapter(fold, changes)
    for change in changes:
        if change.after is None:
            said[change.name] = _not_known(f'said to be unknown ("{change.said}")' if change.said else "")
            continue
        source = Source.MEASURED if change.measured else Source.DECLARED
        said[change.name] = Setting(
            value=change.after,
            status=Status.KNOWN,
            source=source,
            said=change.said,
            why=f"{'measured' if change.measured else 'said'} {when}".strip(),
        )
        old = dict(fold.said)
        if change.name in acting:
            ended = ended_by_position(acting[change.name], change, old)
        else:
            ended = ended_by_value(change, old)
            if not change.measured and change.name not in ruled:
                # Said by what it does, not by where the jumper stands: the position follows from it.
                ended |= {c.id for c in carriers_of(fold.sheet, change.name)}
        for name in ended - named:
            said.pop(name, None)
    if any(n.startswith(SITE) for n in named):
        for name in WHOLE - named:
            said.pop(name, None)
        said.update({n: s for n, s in _whole_memory(said, when).items() if n not in named})
    return said


def _whole_memory(said: Mapping[str, Setting], when: str) -> dict[str, Setting]:
    """Size, kind and grade of all memory once the modules of a site were said. A site that is not known leaves the
    size unknown."""
    sites = {n: s.value for n, s in said.items() if n.startswith(SITE)}
    if lost := sorted(n for n, v in sites.items() if v is None):
        return {"ram_mb": _not_known(f"{', '.join(lost)} not known")}
    fits = tuple(memory_fit(v, n.removeprefix(SITE)) for n, v in sites.items() if v is not None)
    found = _memory(tuple(f for f in fits if f.count))
    why = f"from the modules said {when}".strip()
    return {n: _declared(found[n], why) for n in WHOLE if n in found}


def _ruled_by_adapter(fold: BoardFold, changes: tuple[Change, ...]) -> frozenset[str]:
    """Settings that the adapter decides once the changes were made: they say nothing of the board's jumpers."""
    fitted = next((c.after for c in changes if c.name == "interposer"), None)
    adapter = adapter_from(fitted, fold.sheet) if fitted is not None else adapter_of(fold.said, fold.sheet)
    return adapter_rules(adapter) if adapter is not None else frozenset()


def _declared(value: str, why: str) -> Setting:
    return Setting(value=value, status=Status.KNOWN, source=Source.DECLARED, said=value, why=why)


def _not_known(why: str) -> Setting:
    return msgspec.structs.replace(UNKNOWN_SETTING, why=why)


def _fitted(sheet: BoardSheet) -> dict[str, str]:
    """Settings that follow from what the file says is fitted; absent keys give none."""
    out: dict[str, str] = {}
    plain = {"cpu": sheet.cpu, "cpu_specimen": sheet.cpu_specimen, "fpu": sheet.fpu}
    out.update({k: v for k, v in plain.items() if v})
    if sheet.cache is not None:
        cache = sheet.cache
        numbers = {
            "l2_kb": cache.kb,
            "l2_ns": cache.ns,
            "l2_banks": cache.banks,
            "l2_chips": cache.chips,
            "tag_ns": cache.tag_ns,
            "tag_bits": cache.tag_bits,
        }
        out.update({k: f"{v:g}" for k, v in numbers.items() if v is not None})
        if cache.type:
            out["l2_type"] = cache.type
    out.update(_memory(sheet.memory))
    if sheet.interposer is not None:
        straps = " with ratio straps" if sheet.interposer.ratio_straps else ""
        out["interposer"] = f"{sheet.interposer.v} V{straps}"
    if sheet.snoop_line is not None:
        out["snoop_line"] = "on" if sheet.snoop_line else "off"
    if sheet.cards:
        masters = [c.master for c in sheet.cards]
        if any(masters):
            out["bus_master"] = "on"
        elif all(m is False for m in masters):
            out["bus_master"] = "off"
        if any(c.dma for c in sheet.cards):
            out["dma"] = "on"
        display = [c for c in sheet.cards if c.kind in ("display", "video", "graphics")]
        if len(display) == 1:
            out["video_bus"] = display[0].bus
            if display[0].slot:
                out["video_slot"] = display[0].slot
    out.update({k: v for k, v in sheet.rig.items() if k in SETTINGS})
    return out


def _memory(fits: tuple[MemoryFit, ...]) -> dict[str, str]:
    out: dict[str, str] = {}
    for fit in fits:
        if (text := memory_text(fit)) is not None:
            out[f"ram.{fit.site}"] = text
    sizes = [f.mb * f.count for f in fits if f.mb is not None]
    if fits and len(sizes) == len(fits):
        out["ram_mb"] = f"{sum(sizes):g}"
    for name, values in (
        ("ram_type", {f.type for f in fits}),
        ("ram_ns", {f"{f.ns:g}" if f.ns is not None else None for f in fits}),
    ):
        if len(values) == 1 and (value := values.pop()) is not None:
            out[name] = value
    return out


def memory_text(fit: MemoryFit) -> str | None:
    """A memory site as canonical text, such as ``4x8 fpm60``; ``None`` while its size is not known."""
    if fit.mb is None:
        return None
    if fit.count == 0 or fit.mb == 0:
        return "empty"
    grade = f"{fit.ns:g}" if fit.ns is not None else ""
    kind = f" {fit.type}{grade}" if fit.type else f" {grade}" if grade else ""
    cas = f" cl{fit.cas}" if fit.cas is not None else ""
    return f"{fit.count}x{fit.mb:g}{kind}{cas}"
