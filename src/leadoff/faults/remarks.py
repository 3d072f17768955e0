"""What a diagnosis says beside its tests: what forbids power, what to see first, when to stop, how it is known."""

from __future__ import annotations

from collections.abc import Sequence

from leadoff.faults.kinds import Knowledge
from leadoff.faults.prepared import Work
from leadoff.faults.values import EXACTLY_ONE, SEVERAL, Bench, Blocked, Fitted, RepairAdvice
from leadoff.record.marks import Level, Mark

NOTHING_OPEN = (
    "nothing is known to be wrong with how it runs now: no test is needed; say what you see when it is"
)


def why_stop(kb: Knowledge, pays: bool, repair: RepairAdvice | None) -> str:
    """Why to leave testing, empty while a test, with what has to come before it, saves more than it costs."""
    if pays:
        return ""
    if repair is None:
        return (
            "no open test and no repair saves more than it costs: with these tools and this skill, leave it"
        )
    name = kb.faults[repair.fault].name.lower()
    return (
        f"no open test saves more than it costs: try the repair of {name} "
        f"({repair.minutes:g} min, {_percent(repair.p_blocks)} that it is a cause)"
    )


def _percent(p: float) -> str:
    return "over 98 %" if p > 0.985 else f"{p * 100:.0f} %"


def look_first(kb: Knowledge, work: Work, fitted: Fitted) -> tuple[str, ...]:
    """What is worth a look before anything else because it rules faults in and out."""
    again = [kb.observations[n].name for n in work.held.pending]
    first = (f"See again what was there before the repair, and say it: {'; '.join(again)}",) if again else ()
    name = "o_look_clock_part"
    if fitted.clock is not None or name in work.held.levels or name not in work.net.nodes:
        return first
    weight = sum(float(work.base.sole[work.net.index[f]]) for f in kb.group_faults if f in work.net.index)
    if weight / work.base.z < 0.05:
        return first
    o = kb.observations[name]
    return (*first, f"{o.name}: {o.how}")


def marks_of(
    kb: Knowledge, work: Work, fitted: Fitted, bench: Bench, blocked: Sequence[Blocked]
) -> tuple[Mark, ...]:
    """What forbids power, the mode, where the rates come from, and which tools were taken as at hand."""
    words = {SEVERAL: "several faults may be present at once", EXACTLY_ONE: "exactly one fault, as you said"}
    mode = EXACTLY_ONE if work.one else SEVERAL
    marks = [Mark(level=Level.NOTE, code="faults.mode", text=f"mode: {words[mode]}")]
    if kb.learnt_from:
        text = f"rates moved by {kb.learnt_from} closed cases of yours; the tables count as ten boards"
    else:
        text = "all chances are judgement: no closed case of yours has moved them yet"
    marks.append(Mark(level=Level.NOTE, code="faults.rates", text=text))
    if bench.tools is None:
        text = (
            "you have not said which tools you have: taken are a multimeter and what is on a kitchen table; "
            'say it once: sick BOARD "tools: scope, post card, spare memory"'
        )
        marks.append(Mark(level=Level.NOTE, code="faults.tools", text=text))
    return (*no_power(kb, work), *marks)


def no_power(kb: Knowledge, work: Work) -> list[Mark]:
    """Readings that forbid power, with the repair that most likely opens the way again."""
    out = []
    for n, level in work.held.levels.items():
        o = kb.observations[n]
        if not level or o.phase > 5 or not any(n in r.needs for r in kb.rules.values()):
            continue
        read = o.outcomes[level].replace("_", " ")
        text = f"{o.name} read {read}: no power on this board until that is repaired"
        linked = [f for f in o.links if f in work.net.index and f in kb.faults]
        if linked:
            likely = max(linked, key=lambda f: work.base.present[work.net.index[f]])
            fault = kb.faults[likely]
            text += (
                f"; most likely {fault.name.lower()}: {fault.repair.action} ({fault.repair.minutes:g} min)"
            )
            text += ", then read it again"
        out.append(Mark(level=Level.RED, code="faults.no_power", text=text, refs=(n,)))
    return out
