"""The grade of a state: what its runs, soaks and copy-compares have shown, and what makes it void."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from leadoff.claims import binomial
from leadoff.claims.values import Trial
from leadoff.record.runs import Outcome, Run

ORDER = ("none", "finishes", "repeats", "soaked", "copy_clean", "soaked_copy_clean")


class Grade(msgspec.Struct, frozen=True, kw_only=True):
    """``name``: one of ``ORDER``, or ``void`` with the reasons in ``void_by`` (unsafe, bad_copies, soak_failed,
    failed). ``copies`` is (bad, of) over all copy-compares; ``failures`` are run numbers."""

    name: str
    void_by: tuple[str, ...] = ()
    soak_hours: float = 0.0
    copies: tuple[int, int] | None = None
    starts: tuple[int, int] | None = None
    flags: tuple[str, ...] = ()
    failures: tuple[str, ...] = ()
    said: str = ""

    @property
    def clean(self) -> bool:
        """Nothing speaks against it."""
        return not self.void_by

    def at_least(self, wanted: str) -> bool:
        """Clean, and of this grade or a higher one."""
        return self.clean and ORDER.index(self.name) >= ORDER.index(wanted)


def is_soak(trial: Trial) -> bool:
    return trial.run.outcome is Outcome.SOAKED or trial.run.place == "soak"


def is_copy(trial: Trial) -> bool:
    return trial.run.outcome is Outcome.COPY_CLEAN or trial.run.place == "copy"


def is_start(trial: Trial) -> bool:
    """A count of starts: so many good of so many."""
    run = trial.run
    return run.of is not None and not is_copy(trial) and run.outcome in (Outcome.STARTS, Outcome.NO_START)


def failed(trial: Trial) -> bool:
    """It ended badly. A workload that the state cannot run at all is no failure of the state."""
    if is_start(trial):
        return (trial.run.count or 0) < (trial.run.of or 0)
    return not trial.run.outcome.held and not undefined(trial)


def unbacked(trials: Sequence[Trial]) -> str:
    """Why a denial of failures stays untested where none is in the book and no soak was passed."""
    if not trials:
        return "no run in such a state"
    none = "no such failure" if any(failed(t) for t in trials) else "nothing failed"
    return f'{none} so far, and no passed soak backs "never"'


def undefined(trial: Trial) -> bool:
    """The workload does not exist in that state, such as one that needs a coprocessor."""
    return trial.run.outcome is Outcome.BOOTS and "cannot run" in trial.run.place


def grade(trials: Sequence[Trial]) -> Grade:
    """The grade of the state that all these runs were made in."""
    soaks, copies = [t for t in trials if is_soak(t)], [t for t in trials if is_copy(t)]
    starts = [t for t in trials if is_start(t)]
    plain = [t for t in trials if not (is_soak(t) or is_copy(t))]
    bad, of = sum(t.run.count or 0 for t in copies), sum(t.run.of or 0 for t in copies)
    unsafe = any("unsafe" in t.run.flags for t in trials)
    soak_failed = [t for t in soaks if t.run.outcome is not Outcome.SOAKED]
    bad_copies = [t for t in copies if t.run.outcome is not Outcome.COPY_CLEAN]
    failures = [t for t in plain if failed(t)]
    void = [
        name
        for name, is_so in (
            ("unsafe", unsafe),
            ("bad_copies", bool(bad_copies)),
            ("soak_failed", bool(soak_failed)),
            ("failed", bool(failures)),
        )
        if is_so
    ]
    hours = sum((t.run.after_s or 0.0) / 3600 for t in soaks if t.run.outcome is Outcome.SOAKED)
    done = bool(soaks) and not soak_failed
    copied = bool(copies) and not bad_copies
    return Grade(
        name="void" if void else _name(done, copied, plain),
        void_by=tuple(void),
        soak_hours=hours,
        copies=(bad, of) if of else None,
        starts=(sum(t.run.count or 0 for t in starts), sum(t.run.of or 0 for t in starts))
        if starts
        else None,
        flags=_flags(trials, unsafe=unsafe, soaked=done, copied=copied),
        failures=tuple(t.number for t in (*failures, *soak_failed, *bad_copies)),
        said=_said(hours, bool(soaks), soak_failed, bad, of, failures, unsafe),
    )


def _name(soaked: bool, copied: bool, plain: Sequence[Trial]) -> str:
    if soaked and copied:
        return "soaked_copy_clean"
    if copied:
        return "copy_clean"
    if soaked:
        return "soaked"
    if any(len(t.readings) > 1 for t in plain):
        return "repeats"
    return "finishes" if any(t.run.outcome.held for t in plain) else "none"


def _flags(trials: Sequence[Trial], *, unsafe: bool, soaked: bool, copied: bool) -> tuple[str, ...]:
    settings = trials[0].settings if trials else {}
    write_back = settings.get("l1_policy") == "wb" and settings.get("l1") != "off"
    out = ["unsafe"] if unsafe else []
    out += [] if soaked else ["not_soaked"]
    out += ["no_copy_compare"] if write_back and not copied else []
    out += ["unknown_settings"] if any(v is None for v in settings.values()) else []
    return tuple(out)


def _said(
    hours: float,
    any_soak: bool,
    soak_failed: Sequence[Trial],
    bad: int,
    of: int,
    failures: Sequence[Trial],
    unsafe: bool,
) -> str:
    parts = ["write-back without snooping is unsafe whatever it scored"] if unsafe else []
    if not any_soak:
        parts.append("not soaked")
    elif hours:
        parts.append(f"soaked {hours:g} h")
    elif not soak_failed:
        parts.append("soaked, for how long was not said")
    parts += ["soak failed" for _ in soak_failed[:1]]
    if of:
        parts.append(binomial.said(bad, of))
    parts += [f"run {t.number}: {_ended(t.run)}" for t in failures[:3]]
    return "; ".join(parts)


def _ended(run: Run) -> str:
    share = f" {run.count} of {run.of}" if run.of else ""
    place = f", {run.place}" if run.place else ""
    return run.outcome.value.replace("_", " ") + share + place
