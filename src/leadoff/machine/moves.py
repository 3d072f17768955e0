"""The moves between two states: one act each, in a safe order, with minutes and power-off points."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from leadoff.machine.effects import Carrier, carriers
from leadoff.machine.prices import minutes
from leadoff.machine.reach import shown
from leadoff.record.board import BoardSheet
from leadoff.record.moves import Change, Move
from leadoff.record.settings import SETTINGS, Touch, in_words

ESD = "part and fingers at the same potential: touch bare metal first, handle by the edges"
PROBES = "one hand, a probe that cannot slip: a short between two pins kills the regulator"
ORIENTATION = "pin 1 to the mark on the socket, look twice; a part turned round is killed at power-on"


def moves_for(changes: Iterable[Change], sheet: BoardSheet) -> tuple[Move, ...]:
    """The acts that make the changes: power off, jumpers, swaps, power on, set-up, software.

    Where the processor's supply changes, or another processor goes into a board with more than one supply,
    the socket is emptied first and measured before a part goes in. Measured values are no moves. A position
    that is not known before is to be written down first.
    """
    acting = {c.id: c for c in carriers(sheet)}
    todo = [c for c in changes if not c.measured and c.after is not None]
    jumpers = [c for c in todo if c.name in acting and not acting[c.name].is_option]
    entries = [c for c in todo if c.name in acting and acting[c.name].is_option]
    free = [c for c in todo if c.name not in acting and not _follows(c, todo)]
    by_touch = {touch: [c for c in free if _touch(c.name) is touch] for touch in Touch}
    hands = jumpers + by_touch[Touch.JUMPER] + by_touch[Touch.SWAP]
    socket = _Socket(todo, acting, sheet)
    out: list[Move] = []

    def add(what: str, cost: float, *, off: bool, hazard: str = "", changed: Sequence[Change] = ()) -> None:
        out.append(
            Move(
                n=len(out) + 1,
                what=what,
                minutes=cost,
                power_off=off,
                hazard=hazard,
                changes={c.name: c.after for c in changed if c.after is not None},
            )
        )

    if hands:
        add("switch off, pull the plug, wait until everything stands still", minutes("switch_off"), off=True)
    if socket.careful:
        add(socket.take_out(), minutes("take_out"), off=True, hazard=ESD)
    for change in jumpers:
        for what in _jumper_acts(change, sheet):
            add(what, minutes("jumper"), off=True, changed=(change,))
    for change in by_touch[Touch.JUMPER]:
        what = f"set the jumper for {in_words(change.name)} to {shown(change.name, change.after or '')}"
        add(f"{what} (not on this board's sheet)", minutes("jumper"), off=True, changed=(change,))
    for change in by_touch[Touch.SWAP]:
        if change.name != "cpu" or not socket.careful:
            add(_swap(change), minutes("swap"), off=True, hazard=_hazard(change.name), changed=(change,))
    if socket.careful:
        add(socket.measure(), minutes("measure_socket"), off=False, hazard=PROBES)
        fitted = () if socket.cpu is None else (socket.cpu,)
        add(socket.fit(), minutes("fit"), off=True, hazard=_hazard("cpu"), changed=fitted)
    if hands:
        add("plug in, switch on, watch it start", minutes("switch_on"), off=False)
    for change in by_touch[Touch.SWITCH]:
        add(f"{in_words(change.name)} {change.after}", minutes("switch"), off=False, changed=(change,))
    visit = entries + by_touch[Touch.SETUP]
    for number, change in enumerate(visit):
        cost = minutes("setup_visit") if number == 0 else minutes("setup_entry")
        add(_entry(change, acting.get(change.name)), cost, off=False, changed=(change,))
    for change in by_touch[Touch.SOFTWARE]:
        what = f"{in_words(change.name)}: {shown(change.name, change.after or '')}"
        add(what, minutes("software"), off=False, changed=(change,))
    return tuple(out)


class _Socket:
    """Whether the socket is to be measured empty before the part goes in, and the words for it."""

    def __init__(self, todo: Sequence[Change], acting: Mapping[str, Carrier], sheet: BoardSheet) -> None:
        self.cpu = next((c for c in todo if c.name == "cpu"), None)
        volts = [c for c in todo if c.name in acting and "core_v" in acting[c.name].sets]
        adapter = [c for c in todo if c.name == "interposer"]
        choice = len(sheet.rails) > 1 or any("core_v" in c.sets for c in acting.values())
        self.careful = bool(volts or adapter or (self.cpu is not None and choice))
        self._volts = {acting[c.name].sets["core_v"].get(c.after or "") for c in volts} - {None}

    def take_out(self) -> str:
        if self.cpu is not None and self.cpu.before is not None:
            return f"processor: take {shown('cpu', self.cpu.before)} out, if it is in"
        return "processor: take it out, if one is in"

    def measure(self) -> str:
        meant = f", {next(iter(self._volts))} V by the sheet" if len(self._volts) == 1 else ""
        return (
            f"plug in, switch on with the socket empty, measure the core volts at it{meant}; "
            "switch off, pull the plug"
        )

    def fit(self) -> str:
        if self.cpu is not None:
            return f"processor: fit {shown('cpu', self.cpu.after or '')}"
        return "processor: fit it again"


def total_minutes(moves: Iterable[Move]) -> float:
    """Minutes of a changeover."""
    return sum(m.minutes for m in moves)


def _touch(name: str) -> Touch:
    known = SETTINGS.get(name)
    if known is not None:
        return known.touch
    return Touch.SWAP if name.startswith(("ram.", "card.")) else Touch.JUMPER


def _follows(change: Change, todo: Sequence[Change]) -> bool:
    """A bus clock that follows from the oscillator swapped in the same go is no act of its own."""
    return change.name == "bus_mhz" and any(c.name == "can_mhz" for c in todo)


def _jumper_acts(change: Change, sheet: BoardSheet) -> tuple[str, ...]:
    """One act for each jumper of a group that really moves."""
    jumper = sheet.jumper(change.name)
    after = (change.after or "").split()
    if jumper is None or not jumper.members or len(after) != len(jumper.members):
        return (_one(change.name, change.before, change.after or ""),)
    before: Sequence[str | None] = (change.before or "").split()
    if len(before) != len(after):
        before = [None] * len(after)
    return tuple(
        _one(member, old, new)
        for member, old, new in zip(jumper.members, before, after, strict=True)
        if old != new
    )


def _one(name: str, before: str | None, after: str) -> str:
    if before is None:
        return f"{name}: to {after} (note first where it is now: that is not known)"
    return f"{name}: from {before} to {after}"


def _swap(change: Change) -> str:
    after = shown(change.name, change.after or "")
    if change.before is None:
        return f"{in_words(change.name)}: fit {after}"
    return f"{in_words(change.name)}: {shown(change.name, change.before)} out, {after} in"


def _hazard(name: str) -> str:
    return f"{ESD}; {ORIENTATION}" if name in ("cpu", "can_mhz", "interposer", "fpu", "l2_chips") else ESD


def _entry(change: Change, carrier: Carrier | None) -> str:
    place = carrier.label if carrier is not None and carrier.label else in_words(change.name)
    before = f"from {change.before} " if change.before is not None and carrier is not None else ""
    after = change.after or ""
    value = after if carrier is not None else shown(change.name, after)
    return f'set-up: "{place}" {before}to {value}'
