"""The verb ``card``: what a person trusts with a part that cannot be replaced."""

from __future__ import annotations

from typing import Any

from leadoff.catalogue.chipsets import ChipsetRow
from leadoff.forecast.facts import Setup
from leadoff.loop.describing import Described, described
from leadoff.loop.history import BoardView, History, read_history
from leadoff.loop.judging import judged_everywhere, warnings
from leadoff.loop.moving import route_marks
from leadoff.loop.refusal import nearest_of, nearest_view, outside, said_short
from leadoff.loop.session import Session
from leadoff.loop.setups import PartFinder, chipset_named, make_setup
from leadoff.loop.views import clocks_view, moves_view, setup_view
from leadoff.machine.fold import BoardFold, after
from leadoff.machine.moves import moves_for
from leadoff.machine.nearest import reachable_clocks
from leadoff.machine.reach import Cause
from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.marks import Level
from leadoff.record.moves import Change
from leadoff.record.results import Result, note
from leadoff.safety.judge import beyond, outside_limit
from leadoff.safety.line import Line
from leadoff.timing.card import CardAsk, TimingCard, family_of, timing_card
from leadoff.words import clock_mhz, quantity

CLOCK_TOPICS = ("core_clock", "l2_clock", "pci_clock", "agp_clock", "isa_clock", "vlb_clock", "memory_clock")
SUPPLY_CAUSES = ("core_volts", "rail_amps")


def card(session: Session, name: str, want: str | None) -> Result:
    """The card of a board's state, or of a state or a part that somebody has in mind."""
    history = read_history(session)
    board = history.board(name)
    asked = described(session, history, board, want)
    lines = judged_everywhere(session, asked.imagined)
    causes = [*asked.causes, *_supply_causes(lines, asked)]
    timing = timing_card(timing_ask(session, history, board, asked.imagined))
    moves = moves_for(asked.changes, board.fold.sheet) if not causes else ()
    near = nearest_of(session, board, asked.wants) if causes else ()
    data: dict[str, Any] = {
        "board": board.id,
        "reachable": not causes,
        "causes": [{"code": c.code, "text": c.text} for c in causes],
        "nearest": [nearest_view(n, outside(session, board, n, asked.wants)) for n in near],
        "moves": moves_view(moves),
        "minutes": sum(m.minutes for m in moves),
        "state": setup_view(asked.imagined),
        "clocks": clocks_view(asked.imagined),
        "beyond": beyond(lines),
        **_lines_and_patterns(lines, timing),
    }
    marks = [*warnings(lines)]
    if not causes and asked.way is not None:
        marks = [*route_marks(board, asked.way), *marks]
    if any(outside_limit(line) and line.topic in CLOCK_TOPICS for line in lines):
        inside = _inside_every_limit(session, board, asked.imagined)
        data["inside_every_limit"] = inside
        marks.append(note("inside_every_limit", _inside_words(inside)))
    do = f"nearest: {said_short(near[0])}" if near else "nothing on the sheet comes near it"
    errors = [Problem(code=c.code, text=f"cannot be set: {c.text}", where=board.id, do=do) for c in causes]
    return session.result("card", data, marks, errors)


def _inside_every_limit(session: Session, board: BoardView, setup: Setup) -> list[dict[str, float | None]]:
    """Clocks the sheet can set with the part in question at which no clock or memory is beyond its limit."""
    fold = board.fold
    cpu = setup.state.value("cpu")
    if cpu != board.setup.state.value("cpu"):
        fitted = Change(name="cpu", before=None, after=cpu)
        fold = BoardFold(sheet=fold.sheet, said=after(fold, (fitted,), session.at))
    part = PartFinder(session)
    out: list[dict[str, float | None]] = []
    for bus, ratio, way in reachable_clocks(fold, setup.processor, board.base):
        changed = BoardFold(sheet=fold.sheet, said=after(fold, way.changes, session.at))
        made = make_setup(changed, part, board.base)
        lines = judged_everywhere(session, made)
        if not any(outside_limit(line) and line.topic in CLOCK_TOPICS for line in lines):
            out.append({"bus_mhz": float(bus), "ratio": None if ratio is None else float(ratio)})
    return out


def _inside_words(inside: list[dict[str, float | None]]) -> str:
    """The same in words."""
    if not inside:
        return "no bus clock of this sheet is inside every clock limit with this part"
    said = [
        f"bus {_short(c['bus_mhz'])} MHz" + (f" x{_short(c['ratio'])}" if c["ratio"] is not None else "")
        for c in inside
    ]
    only = "only " if len(said) == 1 else ""
    return (
        f"{only}{', '.join(said)} {'is' if len(said) == 1 else 'are'} inside every clock limit with this part"
    )


def card_from_figures(
    session: Session,
    *,
    board_class: str | None,
    bus: str | None,
    sram: str | None,
    tag: str | None,
    banks: int | None,
    kb: int | None,
    tag_bits: int | None,
) -> Result:
    """Patterns and cacheable range from figures alone, without a board."""
    if board_class is None:
        raise LeadoffError.one(
            "usage",
            "card needs a board, or a class with figures",
            do="`leadoff card BOARD`, or `leadoff card --class 486 --bus 50 --sram 15 --banks 2`",
        )
    if family_of(board_class) is None:
        raise LeadoffError.one(
            "class_unknown",
            f'class "{board_class}" has no cache budget here',
            where="--class",
            do="one of 386, 486, socket5, socket7",
        )
    ask = CardAsk(
        board_class=board_class,
        bus_mhz=clock_mhz(bus) if bus is not None else None,
        sram_ns=quantity(sram, "access").value if sram is not None else None,
        tag_ns=quantity(tag, "access").value if tag is not None else None,
        banks=banks,
        l2_kb=kb,
        tag_bits=tag_bits,
    )
    data = {
        "board": None,
        "reachable": None,
        "causes": [],
        "nearest": [],
        "moves": [],
        "clocks": {},
        "beyond": [],
        **_lines_and_patterns((), timing_card(ask)),
    }
    return session.result("card", data)


def _lines_and_patterns(lines: tuple[Line, ...], timing: TimingCard) -> dict[str, Any]:
    return {
        "lines": [
            {
                "topic": line.topic,
                "verdict": line.verdict.value,
                "value": line.value,
                "limit": line.limit,
                "over_pct": line.over_pct,
                "power_pct": line.power_pct,
                "why": line.why,
                "caution": line.caution,
                "certainty": line.certainty,
            }
            for line in lines
        ],
        "patterns": [
            {
                "kind": p.kind,
                "pattern": p.pattern,
                "slack_ns": p.slack_ns,
                "inside_max": p.inside_max,
                "marginal": p.marginal,
                "chance_hold": p.chance_hold,
                "binding": p.binding,
                "certainty": p.certainty,
                "assumed": list(p.assumed),
            }
            for p in timing.patterns
        ],
        "cacheable_mb": timing.cacheable_mb,
        "timing_notes": list(timing.notes),
    }


def _supply_causes(lines: tuple[Line, ...], asked: Described) -> list[Cause]:
    """Where every supply the board can give is red for the part asked for, the supply is a cause too."""
    if not asked.wants:
        return []
    volts = [line for line in lines if line.topic == "core_volts"]
    if not volts or any(line.verdict is not Level.RED for line in volts):
        return []
    red = [line for line in lines if line.topic in SUPPLY_CAUSES and line.verdict is Level.RED]
    return [Cause(code=line.topic, text=line.why) for line in red]


def timing_ask(session: Session, history: History, board: BoardView, setup: Setup) -> CardAsk:
    """What the timing floor has to know, with what held and failed on this board."""
    state = setup.state
    chipset = chipset_of(session, board)
    core = session.catalogue.find_core(setup.processor.core) if setup.processor is not None else None
    mine = [r for r in board.runs if r.run.readings or r.run.workload is not None or r.run.place]
    return CardAsk(
        board_class=core.family if core is not None else setup.sheet.board_class,
        bus_mhz=setup.clocks.get("bus_mhz"),
        sram_ns=_number(state.value("l2_ns")),
        tag_ns=_number(state.value("tag_ns")),
        banks=_whole(state.value("l2_banks")),
        l2_kb=_whole(state.value("l2_kb")),
        l2_type=state.value("l2_type") or "",
        tag_bits=_whole(state.value("tag_bits")),
        l2_policy=state.value("l2_policy"),
        line_bytes=core.l1_line_bytes if core is not None else None,
        expressible=chipset.reads("async") if chipset is not None else (),
        tag_modes=tuple((m.policy, m.tag, m.dirty) for m in chipset.tag_modes) if chipset is not None else (),
        chipset_limit_mb=chipset.cacheable_mb if chipset is not None else None,
        limit_by_tag=dict(chipset.cacheable_mb_by_tag) if chipset is not None else {},
        trials=tuple(
            (
                float(clock),
                pattern,
                r.run.outcome.held,
                float(ns),
                _number(r.setup.state.value("tag_ns")),
                _whole(r.setup.state.value("l2_banks")) or 1,
                r.entry,
            )
            for r in mine
            if (clock := r.setup.clocks.get("bus_mhz")) is not None
            and (pattern := r.setup.state.value("l2_read")) is not None
            and (ns := r.setup.state.value("l2_ns")) is not None
        ),
    )


def chipset_of(session: Session, board: BoardView) -> ChipsetRow | None:
    name = board.fold.sheet.chipset
    return None if name is None else chipset_named(session, name)


def _number(text: str | None) -> float | None:
    return float(text) if text is not None else None


def _whole(text: str | None) -> int | None:
    return int(float(text)) if text is not None else None


def _short(value: float | None) -> str:
    return "?" if value is None else f"{value:.4g}"
