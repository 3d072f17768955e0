"""A difference across two rigs: the rig is a factor of its own, known only from runs of one state under both."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import msgspec

from leadoff.forecast.compare import compare
from leadoff.forecast.facts import Observed
from leadoff.forecast.normal import quantile
from leadoff.forecast.repeat import repeatability
from leadoff.forecast.rows import values
from leadoff.forecast.scale import usable
from leadoff.forecast.why import Factor, Group, Separating, Why, way_minutes, why_first_form
from leadoff.machine.prices import minutes
from leadoff.machine.same import same_state
from leadoff.record.quantity import Quantity, Source
from leadoff.record.runs import Run, Workload
from leadoff.record.state import State

_Z90 = quantile(0.95)
_RIG = frozenset({"video", "video_bus", "video_slot", "disk"})


class Bridged(msgspec.Struct, frozen=True, kw_only=True):
    """Log of the score under the second rig over that under the first, its error, and the runs."""

    log: float
    sd: float
    runs: tuple[str, ...]


def across_rigs(
    a: Observed,
    b: Observed,
    workload: Workload,
    runs: Sequence[Observed],
    explain: Callable[[Observed, Observed], Why],
) -> Why:
    """The rig's part by bridging runs, the rest explained as if ``b`` had run under the rig of ``a``; without a
    bridge nothing is attributed, and the run that would make one is named.

    Raises:
        LeadoffError: when one of the runs has no score of this workload.
    """
    first = why_first_form(a, b, workload, runs)
    found = bridged(a, b, workload, runs)
    if found is None or not a.run.rig or not b.run.rig:
        if not first.cannot_tell or len(first.factors) < 2:
            return first
        text = (
            f"the state of run {b.run.number} once more with {a.run.rig or 'the rig of the first run'}: what is left "
            "of the difference then belongs to the settings, the rest to the rig"
        )
        back = Separating(settings={}, minutes=way_minutes({"video": None}) + minutes("run"), why=text)
        because = "the rig changed too, and no state was run under both: settings cannot be told from it"
        group = msgspec.structs.replace(first.cannot_tell[0], because=because)
        return msgspec.structs.replace(first, cheapest_run=back, cannot_tell=(group, *first.cannot_tell[1:]))
    inner = explain(a, _under(b, a.run.rig, found.log))
    ends = sorted(100.0 * math.expm1(found.log + s * _Z90 * found.sd) for s in (-1.0, 1.0))
    share = Quantity(
        value=100.0 * math.expm1(found.log),
        unit="%",
        source=Source.MEASURED,
        lo=ends[0],
        hi=ends[1],
        refs=found.runs,
        why="by bridging runs",
    )
    shown = abs(found.log) > 1.96 * found.sd
    rig = Factor(
        factor="rig",
        before=a.run.rig,
        after=b.run.rig,
        share=share,
        verdict="shown" if shown else "cannot_tell",
    )
    group = Group(factors=("rig",), because="the bridging runs do not fix its sign", total=share)
    return msgspec.structs.replace(
        inner,
        comparison=compare(a.run, b.run, workload, repeatability(workload, (o.run for o in runs))),
        factors=(rig, *inner.factors),
        cannot_tell=inner.cannot_tell if shown else (group, *inner.cannot_tell),
    )


def bridged(a: Observed, b: Observed, workload: Workload, runs: Sequence[Observed]) -> Bridged | None:
    """The effect of ``b``'s rig over ``a``'s from every state that ran this workload under both."""
    house = repeatability(workload, (o.run for o in runs)).sd_log
    scored = [o for o in runs if o.run.workload == workload.name and usable(o.run)]
    one = [o for o in scored if o.run.rig == a.run.rig]
    two = [o for o in scored if o.run.rig == b.run.rig]
    logs, used = [], []
    for x in one:
        for y in two:
            if x.setup.board == y.setup.board and same_state(_bare(x), _bare(y)):
                logs.append(math.log(_mean(y.run) / _mean(x.run)))
                used += [x, y]
    if not logs:
        return None
    mean = sum(logs) / len(logs)
    # In the state of the two runs themselves the effect is measured; carried to another one it differs by a share.
    own = any(
        same_state(_bare(o), _bare(end)) and o.setup.board == end.setup.board for o in used for end in (a, b)
    )
    carried = 0.0 if own else values("explain")["rig_share"] * abs(mean) / math.sqrt(len(logs))
    noise = math.hypot(house, BOOT) * math.sqrt(2.0 / len(logs))
    return Bridged(
        log=mean, sd=math.hypot(noise, carried), runs=tuple(dict.fromkeys(o.run.number for o in used))
    )


BOOT = next(v for n, v in values("repeat").items() if n.endswith("boot"))


def _bare(o: Observed) -> State:
    """The state without what belongs to the rig."""
    kept = {n: s for n, s in o.setup.state.settings.items() if n not in _RIG}
    return msgspec.structs.replace(o.setup.state, settings=kept)


def _mean(run: Run) -> float:
    found = usable(run)
    return sum(r.value for r in found) / len(found)


def _under(o: Observed, rig: str, log: float) -> Observed:
    """The run as it would have read under another rig."""
    k = math.exp(-log)
    readings = tuple(
        msgspec.structs.replace(r, value=r.value * k, lo=r.lo * k, hi=r.hi * k) for r in o.run.readings
    )
    return msgspec.structs.replace(o, run=msgspec.structs.replace(o.run, rig=rig, readings=readings))
