"""What the wiring can reach: a wanted state as positions, or every cause why not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

import msgspec

from leadoff.machine.adapter import adapter_from, adapter_of
from leadoff.machine.can import can_divisor
from leadoff.machine.effects import Carrier, carriers, carriers_of, effective, same_value
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.offers import as_read
from leadoff.machine.partfacts import Processor
from leadoff.machine.straps import StrapTable
from leadoff.machine.wanted import Cause, Want, without_core
from leadoff.record.board import BoardSheet, Interposer
from leadoff.record.moves import Change
from leadoff.record.settings import SETTINGS, SettingKind, in_words, kind_of
from leadoff.record.state import State

__all__ = ["Cause", "Reach", "Want", "reach", "shown"]


class Reach(msgspec.Struct, frozen=True, kw_only=True):
    """The answer: ``changes`` lead to ``state`` when there is no cause, otherwise both are empty.

    ``by_hand`` lists wanted settings that no jumper or entry of the sheet acts on: they are taken as
    something the person does (a swap, a program), not as something the wiring confirms.
    """

    causes: tuple[Cause, ...]
    changes: tuple[Change, ...] = ()
    state: State | None = None
    by_hand: tuple[str, ...] = ()

    @property
    def reachable(self) -> bool:
        return not self.causes


def reach(
    fold: BoardFold,
    wants: Iterable[Want],
    *,
    part: Processor | None = None,
    base: StrapTable | None = None,
) -> Reach:
    """Positions that give everything wanted, from the board as it is.

    ``part`` is the processor as it would be fitted then; ``base`` the strap table the sheet is written for.
    All causes are collected before anything is refused.
    """
    options, causes = without_core(tuple(wants), fold, part, base)
    if causes:
        rest = tuple(w for w in wants if w.name != "core_mhz")
        return Reach(causes=(*causes, *_way(fold, rest, part, base).causes))
    ways = [_way(fold, option, part, base) for option in options]
    return next((way for way in ways if way.reachable), ways[0])


def _way(fold: BoardFold, wants: tuple[Want, ...], part: Processor | None, base: StrapTable | None) -> Reach:
    solver = _Solver(fold, part, base, _adapter(fold, wants))
    for want in wants:
        solver.add(want)
    if solver.causes:
        return Reach(causes=tuple(solver.causes))
    changes = solver.changes()
    said = after(fold, changes)
    state = State(board=fold.sheet.id, settings=effective(said, fold.sheet, part, base))
    return Reach(causes=(), changes=changes, state=state, by_hand=tuple(solver.by_hand))


def _adapter(fold: BoardFold, wants: tuple[Want, ...]) -> Interposer | None:
    """The adapter as it would be fitted then."""
    for want in wants:
        if want.name == "interposer":
            return adapter_from(want.value, fold.sheet)
    return adapter_of(fold.said, fold.sheet)


class _Solver:
    def __init__(
        self,
        fold: BoardFold,
        part: Processor | None,
        base: StrapTable | None,
        adapter: Interposer | None,
    ) -> None:
        self.fold = fold
        self.adapter = adapter
        self.sheet: BoardSheet = fold.sheet
        self.part = part
        self.base = base
        self.causes: list[Cause] = []
        self.by_hand: list[str] = []
        self._positions: dict[str, tuple[set[str], list[str]]] = {}
        self._free: dict[str, Change] = {}
        self._carriers = {c.id: c for c in carriers(self.sheet)}

    def add(self, want: Want) -> None:
        if want.measured and want.name in SETTINGS:
            self._free[want.name] = _change(self.fold, want)
        elif want.name in self._carriers:
            self._position(self._carriers[want.name], want)
        elif want.measured or want.value is None:
            self._free[want.name] = _change(self.fold, want)
        elif want.name == "ratio":
            self._ratio(want)
        elif want.name == "core_v" and self.adapter is not None:
            self._adapter_volts(want, self.adapter)
        elif acting := carriers_of(self.sheet, want.name):
            self._carried(want, acting, {})
        else:
            self._by_hand(want)

    def _position(self, carrier: Carrier, want: Want) -> None:
        if want.value is None:
            self._free[carrier.id] = _change(self.fold, want)
            return
        value = want.value.lower()
        if carrier.positions and value not in carrier.positions:
            self._cause(
                "position",
                f"{carrier.id} has no position {value}; the sheet lists {', '.join(carrier.positions)}",
            )
            return
        if carrier.leave:
            self._cause("leave", f"the sheet says to leave {carrier.id} as it was found")
            return
        self._narrow(carrier, {value}, f"{carrier.id} {value}")

    def _ratio(self, want: Want) -> None:
        assert want.value is not None
        ratio = Fraction(want.value)
        part = self.part
        if part is not None and part.locked is not None:
            if ratio != part.locked:
                self._cause(
                    "ratio_locked",
                    f"x{_n(ratio)} asked, but {part.id} has a fixed ratio of x{_n(part.locked)}",
                )
            return
        if part is not None and part.makes(ratio) is False:
            known = sorted(set(part.ratios) or set(part.straps.codes.values() if part.straps else ()))
            self._cause(
                "ratio_part",
                f"{part.id} does not make x{_n(ratio)}; it makes {', '.join('x' + _n(r) for r in known)}",
            )
        if self.adapter is not None and self.adapter.ratio_straps:
            if not self.causes:
                self._by_hand(want)
            return
        straps = (part.straps if part is not None else None) or self.base
        wired = self.sheet.ratio_pins_wired
        lacking = straps.missing(ratio, wired) if straps is not None else ()
        if lacking:
            have = ", ".join(wired or ()) or "none"
            self._cause(
                "ratio_pin",
                f"ratio {_n(ratio)} needs ratio pin {' and '.join(lacking)} driven, "
                f"which this board does not wire (wired: {have})",
            )
            return
        acting = carriers_of(self.sheet, "ratio")
        if acting:
            self._carried(want, acting, self._translated(acting))
        elif straps is not None and self._strap_jumpers(straps):
            self._by_straps(ratio, straps)
        elif part is None or part.makes(ratio) is not False:
            self._by_hand(want)

    def _adapter_volts(self, want: Want, adapter: Interposer) -> None:
        assert want.value is not None
        if not same_value("core_v", want.value, adapter.v, measured=True):
            text = f"the adapter gives the part {adapter.v} V, whatever the board's jumpers say; {want.value} V asked"
            self._cause("adapter_volts", text)

    def _translated(self, acting: tuple[Carrier, ...]) -> dict[str, str | None]:
        """Sheet ratio to the ratio this part makes of the same straps, ``None`` where it defines none."""
        values = {v for c in acting for v in c.sets["ratio"].values()}
        made = {v: as_read(Fraction(v), self.part, self.base) for v in values}
        return {v: str(m) if m is not None else None for v, m in made.items()}

    def _strap_jumpers(self, straps: StrapTable) -> bool:
        return any(carriers_of(self.sheet, f"pin.{pin.lower()}") for pin in straps.pins)

    def _by_straps(self, ratio: Fraction, straps: StrapTable) -> None:
        codes = straps.codes_of(ratio)
        if not codes:
            self._cause("ratio_part", f"no strap code gives x{_n(ratio)}")
            return
        for pin, bit in zip(straps.pins, codes[0], strict=True):
            name = f"pin.{pin.lower()}"
            if acting := carriers_of(self.sheet, name):
                self._carried(Want(name=name, value=bit), acting, {})

    def _carried(self, want: Want, acting: tuple[Carrier, ...], made: Mapping[str, str | None]) -> None:
        assert want.value is not None
        offered: set[str] = set()
        found = False
        for carrier in acting:
            read = {p: made.get(v, v) for p, v in carrier.sets[want.name].items()}
            values = {p: v for p, v in read.items() if v is not None}
            offered.update(values.values())
            fits = {p for p, v in values.items() if same_value(want.name, v, want.value)}
            if fits and not carrier.leave:
                found = True
                self._narrow(carrier, fits, f"{want.name} {want.value}")
        if not found:
            ids = ", ".join(c.id for c in acting)
            self._cause(
                "not_on_sheet",
                f"the sheet has no position of {ids} for {in_words(want.name)} {shown(want.name, want.value)}; "
                f"it has {', '.join(shown(want.name, v) for v in _sorted(want.name, offered)) or 'none'}",
            )

    def _by_hand(self, want: Want) -> None:
        if want.name == "bus_mhz" and want.value is not None:
            value = Fraction(want.value)
            table = [Fraction(c) for c in self.sheet.clock_table_mhz]
            if table and not any(same_value("bus_mhz", str(value), str(c)) for c in table):
                self._cause(
                    "clock_source",
                    f"the clock source gives {', '.join(_n(c) for c in table)} MHz, not {_n(value)}",
                )
                return
            if (by := can_divisor(self.sheet)) is not None and "can_mhz" not in self._free:
                can = Want(name="can_mhz", value=str(value * by), said=want.said)
                self._free[can.name] = _change(self.fold, can)
                self.by_hand.append(can.name)
        self._free[want.name] = _change(self.fold, want)
        self.by_hand.append(want.name)

    def _narrow(self, carrier: Carrier, fits: set[str], wanted: str) -> None:
        old, asked = self._positions.get(carrier.id, (set(carrier.positions) or fits, []))
        both = old & fits
        if not both:
            self._cause(
                "conflict",
                f"{carrier.id} cannot give {wanted} and {' and '.join(asked)} at once",
            )
            return
        self._positions[carrier.id] = (both, [*asked, wanted])

    def _cause(self, code: str, text: str) -> None:
        self.causes.append(Cause(code=code, text=text))

    def changes(self) -> tuple[Change, ...]:
        """What has to change from the board as it is, in one order."""
        current = effective(self.fold.said, self.sheet, self.part, self.base)
        out: list[Change] = []
        for name, (fits, _asked) in self._positions.items():
            before = current[name].value
            if before in fits:
                continue
            order = self._carriers[name].positions
            position = min(fits, key=lambda p: order.index(p) if p in order else 0)
            out.append(Change(name=name, before=before, after=position))
        for change in self._free.values():
            if change.measured or change.before != change.after or change.after is None:
                out.append(change)
        return tuple(sorted(out, key=lambda c: (c.name not in self._carriers, c.name)))


def _change(fold: BoardFold, want: Want) -> Change:
    old = fold.said.get(want.name)
    return Change(
        name=want.name,
        before=old.value if old is not None else None,
        after=want.value,
        said=want.said,
        measured=want.measured,
    )


def _n(value: Fraction) -> str:
    """A clock or ratio as a person writes it."""
    return f"{float(value):.6g}" if value.denominator in (1, 2, 4, 5, 8, 10) else f"{float(value):.4g}"


def shown(name: str, value: str) -> str:
    """A canonical value as a person writes it, with its unit."""
    kind = kind_of(name)
    if kind in (SettingKind.CLOCK, SettingKind.RATIO):
        exact = Fraction(value)
        if kind is SettingKind.CLOCK:
            return f"{_n(exact)} MHz"
        return f"x{_n(exact)}" if exact >= 1 else str(exact)  # a divider is read as 1/5, never as 0.2
    known = SETTINGS.get(name)
    return f"{value} {known.unit}".strip() if known is not None else value


def _sorted(name: str, values: Iterable[str]) -> list[str]:
    numeric = kind_of(name) in (
        SettingKind.CLOCK,
        SettingKind.RATIO,
        SettingKind.VOLTS,
        SettingKind.NUMBER,
    )
    return sorted(values, key=(lambda v: (Fraction(v), v)) if numeric else (lambda v: (Fraction(0), v)))
