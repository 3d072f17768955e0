"""The page of limits: everything that a score does not say, gathered before it is shown."""

from __future__ import annotations

from leadoff.loop.history import BoardView, RunView
from leadoff.machine.effects import carriers
from leadoff.record.marks import Mark
from leadoff.record.public import Limit, PublicBoard, Shown
from leadoff.record.runs import Outcome
from leadoff.record.settings import in_words
from leadoff.record.state import Status

MANY = 6


def limits_of(
    board: BoardView, shown: Shown | None, at: RunView | None, judged: list[Mark]
) -> tuple[Limit, ...]:
    """In the order of weight: what makes the score void first, what is merely not known last.

    ``at``: a run of the state shown; ``judged``: the judge's marks on that state.
    """
    out: list[Limit] = []
    if shown is None:
        out.append(Limit(kind="no_score", text="no run has finished with a score"))
    else:
        out += _of_score(shown)
    out += [Limit(kind="beyond_limit", text=m.text.split(". ")[0]) for m in judged]
    for s in board.open_symptoms:
        text = f"open: {s.finding}" + (f", {s.detail}" if s.detail else "") + f" (since {s.when[:10]})"
        out.append(Limit(kind="open_symptom", text=text))
    out += _unknown(board, at)
    if (board.fold.sheet.jumpers or board.fold.sheet.options) and not board.fold.sheet.sheet_confirmed:
        text = "the jumper sheet is not confirmed for this board: positions give assumed values"
        out.append(Limit(kind="sheet_unconfirmed", text=text))
    return tuple(out)


def owed(public: PublicBoard) -> list[str]:
    """Kinds of limits that follow from a public file itself, so that one taken out of it is missed."""
    s, state = public.shown, public.states[_at(public)] if public.states else {}
    out = ["open_symptom"] * len(public.symptoms)
    statuses = {v.status for v in state.values()}
    out += ["unknown_settings"] if Status.UNKNOWN in statuses else []
    out += ["disputed"] if Status.DISPUTED in statuses else []
    if (public.board.jumpers or public.board.options) and not public.board.sheet_confirmed:
        out.append("sheet_unconfirmed")
    if s is None:
        return [*out, "no_score"]
    runs = [r for r in public.runs if r.number in s.runs]
    unsafe = "unsafe" in s.flags or any("unsafe" in r.flags for r in runs)
    out += ["unsafe"] if unsafe else [] if s.clean else ["void"]
    if "not_soaked" in s.flags or not any(r.outcome is Outcome.SOAKED for r in public.runs):
        out.append("not_soaked")
    out += ["one_run"] if len(s.runs) == 1 else []
    return out + [f for f in ("no_copy_compare", "rig_not_recorded") if f in s.flags]


def _at(public: PublicBoard) -> int:
    at = public.shown.state if public.shown is not None else public.state_now
    return min(max(at, 0), len(public.states) - 1)


def _of_score(shown: Shown) -> list[Limit]:
    out = []
    if "unsafe" in shown.flags:
        out.append(Limit(kind="unsafe", text="made in an unsafe state: it stands in no ranking"))
    elif not shown.clean:
        out.append(Limit(kind="void", text=f"void: {shown.grade_said}"))
    if "not_soaked" in shown.flags:
        out.append(Limit(kind="not_soaked", text="not soaked: nobody has seen it hold for hours"))
    if "no_copy_compare" in shown.flags:
        text = "write-back without a copy-compare: nobody has seen that it keeps data whole"
        out.append(Limit(kind="no_copy_compare", text=text))
    if "rig_not_recorded" in shown.flags:
        out.append(
            Limit(kind="rig_not_recorded", text="the rig (display card, disk, drivers) was not recorded")
        )
    if len(shown.runs) == 1:
        out.append(Limit(kind="one_run", text=f"one run only (run {shown.runs[0]})"))
    return out


def _unknown(board: BoardView, at: RunView | None) -> list[Limit]:
    state = at.setup.state if at is not None else board.setup.state
    unknown = {n for n, s in state.settings.items() if s.status is Status.UNKNOWN}
    same = {c.id for c in carriers(board.setup.sheet) if not c.sets.keys().isdisjoint(unknown)}
    names = [in_words(n) for n in sorted(unknown - same)]
    disputed = [in_words(n) for n, s in sorted(state.settings.items()) if s.status is Status.DISPUTED]
    out = []
    if names:
        more = f" and {len(names) - MANY} more" if len(names) > MANY else ""
        text = f"not known in this state: {', '.join(names[:MANY])}{more}"
        out.append(Limit(kind="unknown_settings", text=text))
    if disputed:
        out.append(Limit(kind="disputed", text=f"disputed: {', '.join(disputed)}"))
    return out
