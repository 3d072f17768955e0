"""The verb ``swap``: other cache chips, memory or policies, told before anything is pulled from its socket."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from leadoff.forecast.facts import Setup
from leadoff.loop.carding import chipset_of, timing_ask
from leadoff.loop.describing import Described, described
from leadoff.loop.history import BoardView, History, read_history
from leadoff.loop.judging import judged, warnings
from leadoff.loop.moving import route_marks
from leadoff.loop.refusal import refused
from leadoff.loop.session import Session
from leadoff.loop.views import moves_view, setup_view
from leadoff.machine.moves import moves_for
from leadoff.record.counted import counted
from leadoff.record.errors import LeadoffError
from leadoff.record.results import Result, mark, note
from leadoff.timing.card import CardAsk
from leadoff.timing.layout import layout

if TYPE_CHECKING:
    from leadoff.memory.demand import Blend
    from leadoff.memory.profile import Profile
    from leadoff.plan.swap import Part, Swap
    from leadoff.plan.swap_side import ChipsetFacts, FirstLevel, Side


def swap(
    session: Session,
    name: str,
    words: str,
    *,
    ways: int | None = None,
    like: str | None = None,
    placed: str = "unknown",
) -> Result:
    """What the described change does to hit rate, cycles, cacheable range and score, with bands and break-even.

    ``ways``: of the second level after the change (boards have 1, which is taken for the state now). ``like``: a
    shipped profile family or a profile file of one's own, in place of the blend of all families. ``placed``:
    contiguous, scattered or unknown, how programs lie in memory. Nothing is stored.

    Raises:
        LeadoffError: words about anything else, no change at all, a state whose clocks are not known.
    """
    from leadoff.memory.demand import Pages, blend
    from leadoff.plan.swap import SwapAsk
    from leadoff.plan.swap import swap as weigh

    history = read_history(session)
    board = history.board(name)
    asked = described(session, history, board, words)
    _about_memory(asked, words)
    if asked.way is not None and not asked.way.reachable:
        return refused(session, "swap", board, asked.wants, asked.way, {"board": board.id})
    then, card_then, said = _fitted(session, history, board, asked)
    if card_then.banks not in (None, 1, 2, 4):
        raise LeadoffError.one(
            "cache_banks",
            f"{card_then.banks} banks: cache chips of a board stand in 1, 2 or 4 banks",
            where=words,
            do="one bank is as many x8 chips as the bus has bytes",
        )
    if ways is None and _same(board.setup, then):
        raise LeadoffError.one(
            "no_change",
            f'"{words}" is how {board.id} is set already',
            where=words,
            do="say what would be other: `leadoff swap BOARD l2 512k 20ns`",
        )
    ask = SwapAsk(
        now=board.setup,
        then=then,
        card_now=timing_ask(session, history, board, board.setup),
        card_then=card_then,
        first_now=_first(session, board.setup),
        first_then=_first(session, then),
        source=_source(like) if like else blend(),
        pages=Pages(placed),
        chipset=_chipset_facts(session, board),
        ways=(1, ways or 1),
        swept=_swept(board),
        **_scores(session, history, board.setup),
    )
    found = weigh(ask)
    moves = moves_for(asked.changes, board.fold.sheet)
    data: dict[str, Any] = {
        "board": board.id,
        "like": like or "blend of all families",
        "now": side_view(found.now),
        "then": side_view(found.then),
        "hit_now": found.advice.hit_now,
        "hit_then": found.advice.hit_then,
        "mean_fill_now": found.advice.mean_fill_now,
        "mean_fill_then": found.advice.mean_fill_then,
        "score_change_pct": found.advice.score_change_pct,
        "chance_faster": found.advice.chance_faster,
        "pays": found.advice.pays,
        "break_even_fill_clocks": found.advice.break_even_fill_clocks,
        "break_even_l2_clocks": found.advice.break_even_l2_clocks,
        "parts": _parts_view(found.parts),
        "placed": _parts_view(found.placed),
        "workloads": [_scored_view(s) for s in found.workloads],
        "why": list(found.why),
        "state": setup_view(then),
        "moves": moves_view(moves),
        "minutes": sum(m.minutes for m in moves),
    }
    return session.result("swap", data, _marks(session, board, asked, then, found, said))


def _about_memory(asked: Described, words: str) -> None:
    from leadoff.plan.swap import SUBJECTS

    other = [w.name for w in asked.wants if w.name not in SUBJECTS and not w.name.startswith("ram.")]
    if other and len(other) == len(asked.wants):
        raise LeadoffError.one(
            "not_cache_or_memory",
            f'"{words}" changes neither cache nor memory',
            where=other[0],
            do=f'`leadoff forecast BOARD --want "{words}"` tells what it would score',
        )


def _fitted(
    session: Session, history: History, board: BoardView, asked: Described
) -> tuple[Setup, CardAsk, list[str]]:
    """The state after the change, and what timing has to know of it: banks follow from chips that were named,
    and a number of chips or banks of before does not outlive other chips."""
    then = asked.imagined
    card = timing_ask(session, history, board, then)
    now = board.setup.state
    said_again = (
        "l2_chips",
        "l2_banks",
    )  # said of other chips, they say something where they stay as they were
    wanted = {w.name for w in asked.wants if w.value != now.value(w.name) or w.name in said_again}
    said: list[str] = []
    if not wanted & {"l2_kb", "l2_chips"} or "l2_banks" in wanted or not card.l2_kb:
        return then, card, said
    bits = 64 if then.sheet.board_class.startswith(("socket", "slot")) else 32
    bits = 16 if "sx" in then.sheet.board_class or "286" in then.sheet.board_class else bits
    chips = then.state.value("l2_chips") if "l2_chips" in wanted else None
    banks = None
    if chips is not None:
        count = int(float(chips))
        try:
            banks = layout(chips=count, depth_k=card.l2_kb // count, bus_bits=bits).banks
            said.append(
                f"{count} chips of {card.l2_kb // count}Kx8 on a {bits}-bit bus: {counted(banks, 'bank')}"
            )
        except LeadoffError as error:
            said.append(error.problems[0].text)
    else:
        banks = 1
        said.append(
            f"how many chips make {card.l2_kb} KB was not said: one bank taken, which is the slower way; say "
            f"8x64k8-15, or 2 banks, where it is so"
        )
    return then, msgspec.structs.replace(card, banks=banks), said


def _same(now: Setup, then: Setup) -> bool:
    return all(
        now.state.value(n) == then.state.value(n) for n in set(now.state.settings) | set(then.state.settings)
    )


def _first(session: Session, setup: Setup) -> FirstLevel:
    """The cache inside the processor as set, by its core design."""
    from leadoff.plan.swap_side import FirstLevel

    part = setup.processor
    core = session.catalogue.find_core(part.core) if part is not None and part.core else None
    if setup.state.value("l1") == "off":
        return FirstLevel(kb=0)
    if core is None:
        wide = setup.sheet.board_class.startswith(("socket", "slot"))
        old = "386" in setup.sheet.board_class or "286" in setup.sheet.board_class
        return FirstLevel(kb=0 if old else 8, line_bytes=32 if wide else 16, policy="wb" if wide else "wt")
    whole = part.l1_kb if part is not None and part.l1_kb is not None else core.l1_kb
    kb = float(core.l1_data_kb or whole or 0)
    policy = setup.state.value("l1_policy") or ("wb" if core.l1_policy == "wb" else "wt")
    return FirstLevel(
        kb=kb,
        ways=core.l1_ways or 4,
        line_bytes=core.l1_line_bytes or 16,
        policy=policy,
        allocate=setup.state.value("write_alloc") == "on",
    )


def _chipset_facts(session: Session, board: BoardView) -> ChipsetFacts | None:
    from leadoff.plan.swap_side import ChipsetFacts

    row = chipset_of(session, board)
    if row is None:
        return None
    return ChipsetFacts(
        memory_kinds=tuple(row.memory_kinds),
        l2_kb=tuple(int(k) for k in row.l2_kb),
        dirty=row.dirty,
        edo_beats=any("EDO" in text for text in row.registers.values()),
    )


def _source(like: str) -> Profile | Blend:
    from leadoff.memory.demand import families, load_profile, profile

    if like in families():
        return profile(like)
    if Path(like).exists():
        return load_profile(Path(like))
    raise LeadoffError.one(
        "profile_unknown",
        f"{like} is neither a shipped profile nor a profile file",
        where="--like",
        do=f"shipped: {', '.join(families())}; `leadoff profile TRACE` makes a file of your own",
    )


def _swept(board: BoardView) -> Any:
    """What the last sweep bounds, where it was made in a state of the same cycles."""
    from leadoff.loop.swept import observed

    for view in reversed(board.sweeps):
        now = board.setup
        same = all(
            view.setup.state.value(n) == now.state.value(n)
            for n in ("bus_mhz", "l2", "l2_kb", "l2_read", "l2_read_ws", "dram_read", "dram_read_ws", "cas")
        )
        if same and (found := observed([view])):
            return found[0].fills
    return None


def _scores(session: Session, history: History, setup: Setup) -> dict[str, Any]:
    """What share of each workload's time cache and memory take, and how fine its score is."""
    runs = history.all_runs()
    if not any(o.run.readings for o in runs):
        return {}
    from leadoff.forecast.predict import forecast_many
    from leadoff.forecast.shares import memory_shares

    workloads = tuple(history.workloads.values())
    shares = memory_shares(workloads, runs, setup, cache_dir=session.cache)
    made = forecast_many((setup,), workloads, runs, cache_dir=session.cache, details=False)[0]
    medians = {e.workload: e.median for e in made.expected if e.median}
    steps = {}
    for w in workloads:
        step = w.resolution
        if step is None:
            ends = [r.hi - r.lo for o in runs if o.run.workload == w.name for r in o.run.readings]
            step = min(ends) if ends else None
        if step and w.name in medians:
            steps[w.name] = 100.0 * step / float(medians[w.name] or 1.0)
    return {"shares": shares, "steps": steps}


def side_view(side: Side) -> dict[str, Any]:
    """One side, as the contract prints it."""
    read = side.read
    return {
        "l2_kb": side.l2_kb,
        "l2_banks": side.banks,
        "l2_policy": side.policy or None,
        "ways": side.cache.hierarchy.l2.ways if side.cache.hierarchy.l2 is not None else None,
        "read": None
        if read is None
        else {
            "pattern": read.pattern,
            "chance_hold": read.chance_hold,
            "fastest_inside_maxima": read.fastest_inside,
            "clocks": list(read.clocks),
            "basis": read.basis,
        },
        "memory": {"clocks": list(side.cache.memory_clocks), "basis": side.memory_basis},
        "store_clocks": list(side.cache.store_clocks),
        "cacheable_mb": side.range_mb,
        "beyond_share": side.beyond,
    }


def _parts_view(parts: tuple[Part, ...]) -> list[dict[str, Any]]:
    return [{"what": p.what, "score_change_pct": p.score_change_pct} for p in parts]


def _scored_view(scored: Any) -> dict[str, Any]:
    return {
        "workload": scored.workload,
        "score_change_pct": scored.score_change_pct,
        "chance_faster": scored.chance_faster,
        "pays": scored.pays,
        "step_pct": scored.step_pct,
        "seen": scored.seen,
    }


def _marks(
    session: Session, board: BoardView, asked: Described, then: Setup, found: Swap, said: list[str]
) -> list[Any]:
    marks = [mark(c.level, c.code, f"{c.text} ({_known(c.certainty)})") for c in found.cautions]
    if asked.way is not None:
        marks += route_marks(board, asked.way)
    old = {(m.code, m.text) for m in warnings(judged(session, board.setup))}
    marks += [m for m in warnings(judged(session, then)) if (m.code, m.text) not in old]
    level = (
        "profiles foretell the change by another size better than the hit rate itself: its band is the spread "
        "of the families (`leadoff profile` lists the errors)"
    )
    told = dict.fromkeys((*said, *found.now.notes, *found.then.notes, level))
    return [*marks, *(note("taken_as", text) for text in told)]


def _known(certainty: str) -> str:
    return {
        "practice": "common practice, no source",
        "memory": "from memory of data sheets",
        "judgement": "computed from judged terms",
        "read": "by arithmetic",
    }.get(certainty, certainty)
