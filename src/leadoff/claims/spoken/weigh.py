"""A claimed difference against what two states' scores show."""

from __future__ import annotations

import math

import msgspec

from leadoff.claims.pairs import Pair
from leadoff.claims.spoken.evidence import Evidence, reads
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.standings import Cell, state_words

V = Verdict


class Weighed(msgspec.Struct, frozen=True, kw_only=True):
    """First state against second: ``pair`` is ``None`` where no bridge connects their rigs."""

    first: Cell
    second: Cell
    workload: str
    pair: Pair | None

    @property
    def refs(self) -> tuple[str, ...]:
        return (*self.first.mean.runs, *self.second.mean.runs)

    @property
    def boards(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys((self.first.board, self.second.board)))


def weigh(ev: Evidence, first: Cell, second: Cell, workload: str) -> Weighed:
    """Compare two cells of one workload."""
    return Weighed(
        first=first, second=second, workload=workload, pair=ev.field(workload).compared(second, first)
    )


def judge(w: Weighed, ev: Evidence, relation: str, sizes: list[Num]) -> Finding:
    """``relation``: better, worse, tie or differs, said of the first."""
    verdict = _verdict(w, relation, sizes)
    return Finding(verdict=verdict, why=said(w, ev), refs=w.refs, boards=w.boards, true=wording(w, ev))


def _verdict(w: Weighed, relation: str, sizes: list[Num]) -> Verdict:
    p = w.pair
    if p is None:
        return V.NOT_COMPARABLE
    if relation == "tie":
        if p.shown and not p.tied:
            return V.CONTRADICTED
        return V.SUPPORTED if p.tied or _unreadable(w) else V.WITHIN_NOISE
    if not p.shown or p.tied:
        return V.WITHIN_NOISE
    if (relation == "better" and p.faster < 0) or (relation == "worse" and p.faster > 0):
        return V.CONTRADICTED
    return V.SUPPORTED if all(_size_fits(w, n) for n in sizes) else V.CONTRADICTED


def _unreadable(w: Weighed) -> bool:
    """Whether the means are nearer than one step of what the readings were read to."""
    step = max(x.hi - x.lo for x in (*w.first.mean.readings, *w.second.mean.readings))
    return w.first.rig == w.second.rig and abs(w.first.mean.value - w.second.mean.value) < step


def _size_fits(w: Weighed, n: Num) -> bool:
    """Either side may be the hundred percent; whole numbers are read within a point."""
    assert w.pair is not None
    r = math.exp(abs(math.log1p(w.pair.pct / 100.0)))
    if n.kind == "difference":
        d = abs(w.first.mean.value - w.second.mean.value)
        step = max(x.hi - x.lo for x in (*w.first.mean.readings, *w.second.mean.readings))
        whole = 0.0 if n.places or n.spoken else min(0.5, 0.17 * n.value)
        return _within(d, d, n, max(0.75 * step, 0.12 * n.value, whole))
    if n.kind == "factor":
        if n.value <= 0.0:
            return False
        f = n.value if n.value >= 1.0 else 1.0 / n.value
        return _within(r, r, msgspec.structs.replace(n, value=f), 0.06 * f)
    if n.kind == "part":
        share = 100.0 * min(r, 1.0 / r) if n.value < 100.0 else 100.0 * max(r, 1.0 / r)
        return _within(share, share, n, 0.08 * n.value if n.spoken else 0.5 * 10.0**-n.places + 0.8)
    p = n.value
    tol = 0.15 * p if n.spoken else 0.5 * 10.0**-n.places + 0.6
    off = 100.0 * (1.0 - 1.0 / r)
    return _within(off, off if n.unit == "off" else 100.0 * (r - 1.0), n, tol)


def said_fits(w: Weighed, n: Num) -> bool:
    """Whether a figure said beside a comparison is a score of one side or the difference between the two."""
    if reads(w.first, n) or reads(w.second, n):
        return True
    return w.pair is not None and _size_fits(w, msgspec.structs.replace(n, kind="difference"))


def _within(lo: float, hi: float, n: Num, tol: float) -> bool:
    p = n.value
    if n.hi is not None:
        edge = 0.5 * 10.0**-n.places if n.kind in ("pct", "factor") else 0.3 * tol
        return any(p - edge <= g <= n.hi + edge for g in (lo, hi))
    if n.mod == "just":
        return any(p < g <= 1.2 * p + tol for g in (lo, hi))
    if n.mod == "over":
        return hi > p
    if n.mod == "under":
        return lo < p
    if n.mod == "nearly":
        return any(0.85 * p <= g <= p + 0.3 * tol for g in (lo, hi))
    if n.mod == "about":
        tol += 0.06 * p
    return any(abs(g - p) <= tol for g in (lo, hi))


def said(w: Weighed, ev: Evidence) -> str:
    """What the runs give, in figures."""
    unit = ev.ledger.workloads[w.workload].unit
    one, two = w.first.mean, w.second.mean
    text = f"{w.workload}: {name(w.first)} {one.value:.4g} against {name(w.second)} {two.value:.4g} {unit}"
    p = w.pair
    if p is None:
        return f"{text}, with {w.first.rig or 'no rig recorded'} and {w.second.rig or 'no rig recorded'}: no bridge"
    over = "" if w.first.rig == w.second.rig else ", adjusted over bridging runs"
    return f"{text}: {p.pct:+.2f} % ({p.lo_pct:+.2f} to {p.hi_pct:+.2f}){over}"


def name(c: Cell) -> str:
    """A cell by its board and state."""
    return f"{c.board} ({state_words(c.trials[0])})"


def wording(w: Weighed, ev: Evidence) -> str:
    """A sentence about these two that holds."""
    p = w.pair
    if p is None:
        return (
            f"{w.first.board} and {w.second.board} ran {w.workload} with different rigs; one board in one state "
            f"run with {w.first.rig or 'the one'} and with {w.second.rig or 'the other'} would make them comparable"
        )
    a, b = name(w.first), name(w.second)
    if p.tied:
        return f"{a} and {b} are level in {w.workload}, within {max(abs(p.lo_pct), abs(p.hi_pct)):.1f} %"
    if not p.shown:
        return (
            f"no difference between {a} and {b} in {w.workload} has been shown; up to "
            f"{max(abs(p.lo_pct), abs(p.hi_pct)):.2g} % is possible"
        )
    word = "better" if p.faster > 0 else "worse"
    return f"{a} is {word} than {b} in {w.workload} by {abs(p.pct):.1f} % ({abs_band(p)})"


def abs_band(p: Pair) -> str:
    """The interval without its sign."""
    lo, hi = sorted((abs(p.lo_pct), abs(p.hi_pct)))
    return f"{lo:.1f} to {hi:.1f}"
