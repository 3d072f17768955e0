"""Entries that look like slips: one run entered twice, clocks that do not multiply, a score that stands far out, a
record that is none once the rig is taken into account. Nothing is changed or left out: a doubt is a question."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

import msgspec

from leadoff.claims.expected import expected
from leadoff.claims.pairs import Pair, reach
from leadoff.claims.rows import limit
from leadoff.claims.standings import Cell, Field, Fields
from leadoff.claims.values import Ledger, Trial, number_of
from leadoff.forecast.normal import ndtr
from leadoff.record.runs import Direction


class Doubt(msgspec.Struct, frozen=True, kw_only=True):
    """One question about a run. ``kind``: entered_twice, clocks_disagree, stands_out, no_record_adjusted."""

    kind: str
    run: str
    entry: str
    board: str
    text: str
    do: str
    others: tuple[str, ...] = ()


def doubts(
    ledger: Ledger, *, only: Sequence[str] | None = None, fields: Fields | None = None
) -> tuple[Doubt, ...]:
    """All of them, or those about the runs named, in the order of the runs."""
    slips = _unlike_repeats(ledger)
    found = [*_twice(ledger), *_clocks(ledger), *slips]
    if only is None or not all(_like_a_repeat(ledger, t) for t in ledger.trials if t.number in only):
        told = {d.run for d in slips}
        found += [d for d in _far_out(ledger) if d.run not in told]
    if only is None:
        found += vanished(fields or Fields(ledger))
    order = {t.number: n for n, t in enumerate(ledger.trials)}
    kept = [d for d in found if only is None or d.run in only]
    return tuple(sorted(kept, key=lambda d: (order.get(d.run, 0), d.kind)))


def _about(t: Trial, kind: str, *, text: str, do: str, others: tuple[str, ...] = ()) -> Doubt:
    return Doubt(kind=kind, run=t.number, entry=t.entry, board=t.board, text=text, do=do, others=others)


def _twice(ledger: Ledger) -> list[Doubt]:
    """The same readings in the same state sooner than the run itself takes."""
    out = []
    last: dict[tuple[object, ...], Trial] = {}
    for t in sorted((t for t in ledger.trials if t.readings), key=lambda t: t.observed.when):
        key = (t.board, t.workload, t.rig, t.hold_key, tuple((r.value, r.hi) for r in t.readings))
        old = last.get(key)
        gap = _seconds(old, t) if old is not None else None
        if old is not None and gap is not None and gap < _takes(ledger, t):
            out.append(
                _about(
                    t,
                    "entered_twice",
                    text=(
                        f"run {t.number} has the readings of run {old.number} ({_read(t)}), in the same state and "
                        f"{gap:.0f} s later"
                    ),
                    do=f"entered twice: `leadoff undo {t.entry[:8]}`; a second run: nothing, it stays",
                    others=(old.number,),
                )
            )
        last[key] = t
    return out


def _takes(ledger: Ledger, t: Trial) -> float:
    """Seconds that the readings of a run take at least."""
    if ledger.workloads[t.workload or ""].unit == "s":
        return max(limit("twice_s"), limit("twice_share") * sum(r.value for r in t.readings))
    return limit("twice_s")


def _seconds(old: Trial, new: Trial) -> float | None:
    try:
        a, b = (datetime.fromisoformat(t.observed.when) for t in (old, new))
        return abs((b - a).total_seconds())
    except (ValueError, TypeError):
        return None


def _clocks(ledger: Ledger) -> list[Doubt]:
    """A core clock in the run's own state that is not bus clock times ratio."""
    out = []
    for t in ledger.trials:
        bus, ratio, core = t.clock("bus_mhz"), number_of(t.settings.get("ratio")), t.clock("core_mhz")
        if not bus or not ratio or not core or abs(math.log(core / (bus * ratio))) < limit("clocks_log"):
            continue
        out.append(
            _about(
                t,
                "clocks_disagree",
                text=(
                    f"run {t.number}: core {core:.4g} MHz, but bus {bus:.4g} MHz x {ratio:g} is {bus * ratio:.4g} MHz"
                ),
                do="read the ratio straps and measure the bus clock again; correct what is wrong with `leadoff move`",
            )
        )
    return out


def _unlike_repeats(ledger: Ledger) -> list[Doubt]:
    """A run far from what the same state, rig and workload read before: no scatter of a bench is as wide, so this
    needs no other runs. Of two that disagree the later one is asked about, of more the one that most speak
    against."""
    out = []
    before: dict[tuple[object, ...], list[tuple[float, Trial]]] = {}
    for t in ledger.trials:
        mine = _level(t)
        if mine is None:
            continue
        earlier = before.setdefault((t.board, t.workload, t.rig, t.hold_key), [])
        far = [(level, o) for level, o in earlier if abs(mine - level) > limit("same_state_log")]
        if 2 * len(far) > len(earlier):
            level, like = far[-1]
            out.append(_unlike(ledger, t, like, mine - level))
        earlier.append((mine, t))
    return out


def _unlike(ledger: Ledger, t: Trial, like: Trial, log: float) -> Doubt:
    unit = ledger.workloads[t.workload or ""].unit
    tens = log / math.log(10.0)
    shifted = round(tens) != 0 and abs(tens - round(tens)) < limit("shift_log") / math.log(10.0)
    guess = (
        "a decimal point left out or set wrong"
        if shifted
        else "a digit, another workload, or a setting that moved"
    )
    return _about(
        t,
        "stands_out",
        text=(
            f"run {t.number} reads {_read(t)} {unit} in {t.workload}, where run {like.number} in the same state "
            f"reads {_read(like)}"
        ),
        do=f"{guess}: look at the note; `leadoff undo {t.number}` and enter it again, or leave it if it is right",
        others=(like.number,),
    )


def _like_a_repeat(ledger: Ledger, t: Trial) -> bool:
    """Whether a run reads about what another run of the same state, rig and workload read: it cannot stand far out
    where that one does not, so one more repeat at the bench costs no fit over the whole book."""
    mine = _level(t)
    near = limit("repeat_log")
    return mine is None or any(
        o.number != t.number
        and (o.board, o.workload, o.rig, o.hold_key) == (t.board, t.workload, t.rig, t.hold_key)
        and (its := _level(o)) is not None
        and abs(its - mine) < near
        for o in ledger.trials
    )


def _level(t: Trial) -> float | None:
    values = [r.value for r in t.readings]
    return math.log(sum(values) / len(values)) if values and min(values) > 0 else None


def _far_out(ledger: Ledger) -> list[Doubt]:
    """A score that all other runs together do not expect by far: another unit, workload or state, or a slip."""
    by_number = {t.number: t for t in ledger.trials}
    out = []
    for number, e in expected(ledger).items():
        t = by_number[number]
        if abs(e.log) < max(limit("out_log"), limit("out_sds") * e.sd):
            continue
        unit = ledger.workloads[t.workload or ""].unit
        rate = unit not in ("s", "ms", "min")
        guess = "seconds typed as a rate, " if rate else "a rate typed as seconds, "
        out.append(
            _about(
                t,
                "stands_out",
                text=(
                    f"run {number} reads {_read(t)} {unit} in {t.workload}, where the other runs make about "
                    f"{e.value:.3g} likely"
                ),
                do=(
                    f"{guess}another workload, a state that was not the one noted, or a digit: look at the note; "
                    f"`leadoff undo {t.entry[:8]}` and enter it again, or leave it if it is right"
                ),
            )
        )
    return out


def vanished(fields: Fields) -> list[Doubt]:
    """The highest figure of a workload that is not likely to be first once rigs are taken into account."""
    out = []
    for w in fields.ledger.workloads.values():
        if len({t.rig for t in fields.ledger.of(w.name)}) < 2:
            continue
        field = fields.of(w.name)
        up = w.direction is Direction.HIGHER
        for rigs in field.rigs.groups:
            cells = [c for c in field.cells if c.rig in rigs and c.grade.at_least("finishes")]
            if len({c.rig for c in cells}) > 1 and (d := _no_record(field, cells, up=up)) is not None:
                out.append(d)
    return out


def _no_record(field: Field, cells: Sequence[Cell], *, up: bool) -> Doubt | None:
    best = (max if up else min)(cells, key=lambda c: c.mean.value)
    rivals = [
        (_ahead(p), c) for c in cells if c.rig != best.rig and (p := field.compared(best, c)) is not None
    ]
    chance, first = max(rivals, key=lambda x: x[0], default=(0.0, None))
    if first is None or chance < limit("ahead_chance"):
        return None
    pair = field.compared(best, first)
    assert pair is not None
    t, unit = best.trials[-1], field.workload.unit
    return _about(
        t,
        "no_record_adjusted",
        text=(
            f"{best.board} reads the {'most' if up else 'least'} in {field.workload.name}, "
            f"{best.mean.value:.4g} {unit} with {best.rig or 'no rig recorded'}; with one rig for both "
            f"{first.board} may be ahead: {pair.pct:+.1f} % ({pair.lo_pct:+.1f} to {pair.hi_pct:+.1f})"
        ),
        do=f"call it no record; run {first.board} with {best.rig or 'the same rig'} to be sure",
        others=first.mean.runs,
    )


def _ahead(p: Pair) -> float:
    """Chance that the second is the better one."""
    sd = max(1e-9, (p.hi_pct - p.lo_pct) / (2.0 * reach(1.0)))
    z = abs(p.pct) / sd
    return float(ndtr(z if p.faster > 0 else -z))


def _read(t: Trial) -> str:
    return " ".join(f"{r.value:g}" for r in t.readings)
