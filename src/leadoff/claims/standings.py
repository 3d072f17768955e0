"""All boards in one table for each workload: groups that bridges connect, ranks with ties, chance of being first."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np

from leadoff.claims.carried import log_times
from leadoff.claims.grade import Grade, grade
from leadoff.claims.pairs import Mean, Pair, mean_of, pair, pair_adjusted, reach
from leadoff.claims.rigs import Effect, Rigs, rigs_of
from leadoff.claims.rows import limit
from leadoff.claims.values import Ledger, Trial
from leadoff.forecast.repeat import Repeatability, repeatability
from leadoff.record.quantity import Quantity, Source
from leadoff.record.runs import Direction, Workload

_SHORT = (
    ("cas", "CAS {}"),
    ("l1_policy", "{}"),
    ("l2", "L2 {}"),
    ("l2_read", "L2 {}"),
    ("dram_read_ws", "read ws {}"),
    ("dram_write_ws", "write ws {}"),
    ("l2_write_ws", "L2 write ws {}"),
    ("vlb_ws", "VLB ws {}"),
    ("dram_read", "memory {}"),
    ("rcd", "RCD {}"),
    ("rp", "RP {}"),
    ("l1", "L1 {}"),
    ("l2_policy", "L2 {}"),
    ("refresh", "refresh {}"),
    ("interleave", "interleave {}"),
    ("write_combine", "write combining {}"),
    ("write_alloc", "write allocation {}"),
    ("profile", "{}"),
)
_UNSAID = frozenset(
    {
        ("l2", "on"),
        ("l1", "on"),
        ("refresh", "normal"),
        ("interleave", "on"),
        ("write_combine", "off"),
        ("write_alloc", "off"),
        ("profile", "bare"),
    }
)
"""Settings as they usually are, which go without saying."""


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One board's best state. ``score`` is as it would be under the rig of the group, with a 95 % interval;
    ``raw`` is as measured. ``adjustment_pct`` is ``None`` where nothing was adjusted."""

    board: str
    state: str
    settings: dict[str, str | None]
    score: Quantity
    raw: float
    rig: str
    grade: Grade
    rank_lo: int
    rank_hi: int
    p_first: float
    adjusted: bool
    adjustment_pct: Quantity | None
    flags: tuple[str, ...]
    runs: tuple[str, ...]


class KeptOut(msgspec.Struct, frozen=True, kw_only=True):
    """A score that stands in no ranking, and why."""

    board: str
    state: str
    score: float
    unit: str
    rig: str
    because: tuple[str, ...]
    grade: Grade
    runs: tuple[str, ...]


class Group(msgspec.Struct, frozen=True, kw_only=True):
    """Boards that can be compared in one workload, best first; ``rig`` is the one the scores are given for."""

    workload: str
    unit: str
    direction: str
    rig: str
    rigs: tuple[str, ...]
    rows: tuple[Row, ...]
    kept_out: tuple[KeptOut, ...] = ()


class Missing(msgspec.Struct, frozen=True, kw_only=True):
    """Two groups of one workload that no bridge connects, and the run that would."""

    workload: str
    a: str
    b: str
    boards_a: tuple[str, ...]
    boards_b: tuple[str, ...]
    missing: str


class Standings(msgspec.Struct, frozen=True, kw_only=True):
    """Groups, and what keeps them apart."""

    groups: tuple[Group, ...]
    not_comparable: tuple[Missing, ...]


class Cell(msgspec.Struct, frozen=True, kw_only=True):
    """One state of one board under one rig, with its grade."""

    trials: tuple[Trial, ...]
    mean: Mean
    grade: Grade

    @property
    def board(self) -> str:
        return self.trials[0].board

    @property
    def rig(self) -> str:
        return self.trials[0].rig


class Field(msgspec.Struct, frozen=True, kw_only=True):
    """One workload over all boards."""

    workload: Workload
    house: Repeatability
    rigs: Rigs
    cells: tuple[Cell, ...]

    def compared(self, a: Cell, b: Cell) -> Pair | None:
        """``b`` against ``a``: like for like, adjusted over bridges, or ``None`` when nothing connects them."""
        if a.rig == b.rig:
            return pair(a.mean, b.mean, self.workload, self.house)
        effect = self.rigs.effect(a.rig, b.rig, a.mean.value)
        if effect is None:
            return None
        return pair_adjusted(a.mean, b.mean, self.workload, effect.log, effect.one_sd)

    def adjusted(self, cell: Cell, rig: str) -> tuple[float, Effect]:
        """The score of a cell as under another rig of its group, and the effect that carried it there."""
        effect = self.rigs.effect(cell.rig, rig, cell.mean.value)
        assert effect is not None, "only rigs that bridges connect are asked for"
        return cell.mean.value * math.exp(effect.log), effect


def field_of(ledger: Ledger, workload: Workload) -> Field:
    """All cells of a workload. The grade comes from every run in the state, whatever the workload or rig."""
    trials = ledger.of(workload.name)
    house = repeatability(workload, (t.run for t in ledger.trials))
    groups: dict[tuple[object, ...], list[Trial]] = {}
    for t in trials:
        groups.setdefault((t.board, t.key, t.hold_key, t.rig), []).append(t)
    holds: dict[tuple[object, ...], list[Trial]] = {}
    for t in ledger.trials:
        holds.setdefault((t.board, t.hold_key), []).append(t)
    cells = tuple(
        Cell(trials=tuple(ts), mean=mean_of(ts, house), grade=grade(holds[key[0], key[2]]))
        for key, ts in groups.items()
    )
    return Field(workload=workload, house=house, rigs=rigs_of(trials, house, workload), cells=cells)


class Fields:
    """The fields of a ledger, each worked out once."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self._made: dict[str, Field] = {}

    def of(self, workload: str) -> Field:
        """All cells of a workload of the ledger."""
        if workload not in self._made:
            self._made[workload] = field_of(self.ledger, self.ledger.workloads[workload])
        return self._made[workload]


def standings(
    ledger: Ledger, *, workload: str | None = None, least: str = "finishes", fields: Fields | None = None
) -> Standings:
    """Every workload with a score. ``least`` is the grade that a state needs to stand in a ranking."""
    kept = fields or Fields(ledger)
    groups: list[Group] = []
    missing: list[Missing] = []
    for w in sorted(ledger.workloads.values(), key=lambda w: w.name):
        if workload not in (None, w.name) or not ledger.of(w.name):
            continue
        field = kept.of(w.name)
        made = [_group(field, rigs, least) for rigs in field.rigs.groups]
        groups += made
        missing += [_missing(a, b) for n, a in enumerate(made) for b in made[n + 1 :]]
    return Standings(groups=tuple(groups), not_comparable=tuple(missing))


def _group(field: Field, rigs: tuple[str, ...], least: str) -> Group:
    inside = [c for c in field.cells if c.rig in rigs]
    fit = [c for c in inside if c.grade.at_least(least)]
    reference = max(rigs, key=lambda r: (len({c.board for c in fit if c.rig == r}), r))
    up = field.workload.direction is Direction.HIGHER

    def rank_key(c: Cell) -> tuple[float, str]:
        value = field.adjusted(c, reference)[0]
        return -value if up else value, c.board

    # A state that ran under this very rig stands with that run and is not carried over as well.
    ran = {(c.board, c.trials[0].key, c.trials[0].hold_key) for c in fit if c.rig == reference}
    best: dict[str, Cell] = {}
    for c in sorted(fit, key=rank_key):
        if c.rig == reference or (c.board, c.trials[0].key, c.trials[0].hold_key) not in ran:
            best.setdefault(c.board, c)
    order = list(best.values())
    first = _chance_first(field, order, reference)
    return Group(
        workload=field.workload.name,
        unit=field.workload.unit,
        direction=field.workload.direction.value,
        rig=reference,
        rigs=rigs,
        rows=tuple(_row(field, c, order, reference, first[n]) for n, c in enumerate(order)),
        kept_out=tuple(_kept_out(field, c, least) for c in inside if c not in fit),
    )


def _row(field: Field, c: Cell, order: Sequence[Cell], reference: str, p_first: float) -> Row:
    found = [p for other in order if other is not c and (p := field.compared(c, other)) is not None]
    better = sum(p.shown and p.faster > 0 for p in found)
    worse = sum(p.shown and p.faster < 0 for p in found)
    value, effect = field.adjusted(c, reference)
    half = reach(math.hypot(c.mean.sd_log, effect.one_sd))
    adjusted = bool(effect.runs)
    more = ([] if c.rig else ["rig_not_recorded"]) + (["adjusted"] if adjusted else [])
    return Row(
        board=c.board,
        state=state_words(c.trials[0]),
        settings=dict(c.trials[0].settings),
        score=Quantity(
            value=value,
            unit=field.workload.unit,
            source=Source.COMPUTED if adjusted else Source.MEASURED,
            lo=value * math.exp(-half),
            hi=value * math.exp(half),
            level=limit("level"),
            refs=c.mean.runs,
        ),
        raw=c.mean.value,
        rig=c.rig,
        grade=c.grade,
        rank_lo=1 + better,
        rank_hi=len(order) - worse,
        p_first=p_first,
        adjusted=adjusted,
        adjustment_pct=_adjustment(effect) if adjusted else None,
        flags=(*c.grade.flags, *more),
        runs=c.mean.runs,
    )


def _adjustment(effect: Effect) -> Quantity:
    half = reach(effect.one_sd)
    return Quantity(
        value=100.0 * math.expm1(effect.log),
        unit="%",
        source=Source.COMPUTED,
        lo=100.0 * math.expm1(effect.log - half),
        hi=100.0 * math.expm1(effect.log + half),
        level=limit("level"),
        refs=effect.runs,
        why="by bridging runs",
    )


def _chance_first(field: Field, order: Sequence[Cell], reference: str) -> list[float]:
    """Chance of being first by draws from one fixed stream; boards under one rig share its error."""
    if not order:
        return []
    rng = np.random.default_rng(20)
    draws = int(limit("draws"))
    shared = field.rigs.carries[reference].drawn(reference, draws, rng)
    z = np.stack(
        [
            shared.log_time(
                c.rig,
                log_times((c.mean.value,), field.rigs.sign) + c.mean.sd_log * rng.standard_normal(draws),
                rng,
            )
            for c in order
        ]
    )
    counts = np.bincount(z.argmin(axis=0), minlength=len(order))
    return [float(n) / draws for n in counts]


def _kept_out(field: Field, c: Cell, least: str) -> KeptOut:
    return KeptOut(
        board=c.board,
        state=state_words(c.trials[0]),
        score=c.mean.value,
        unit=field.workload.unit,
        rig=c.rig,
        because=c.grade.void_by or (f"grade {c.grade.name}, wanted {least}",),
        grade=c.grade,
        runs=c.mean.runs,
    )


def _missing(a: Group, b: Group) -> Missing:
    boards = [sorted({r.board for r in g.rows} | {k.board for k in g.kept_out}) for g in (a, b)]
    names = [" + ".join(r or "no rig recorded" for r in g.rigs) for g in (a, b)]
    one, two = (g.rig or "the rig that was not recorded" for g in (a, b))
    return Missing(
        workload=a.workload,
        a=names[0],
        b=names[1],
        boards_a=tuple(boards[0]),
        boards_b=tuple(boards[1]),
        missing=f"one board in one state that ran {a.workload} with {one} and with {two}",
    )


def state_words(trial: Trial) -> str:
    """A state in a few words: clocks first, then what else was said."""
    bus, core, ratio = trial.clock("bus_mhz"), trial.clock("core_mhz"), trial.settings.get("ratio")
    parts = []
    if bus is not None and core is not None:
        parts.append(f"{core / bus:.4g} x {bus:.4g} MHz")
    elif bus is not None:
        parts.append(f"bus {bus:.4g} MHz" + (f" x {ratio}" if ratio else ""))
    for name, form in _SHORT:
        value = trial.settings.get(name)
        if value is not None and (name, value) not in _UNSAID:
            parts.append(form.format(value))
    return ", ".join(parts) or "nothing known"
