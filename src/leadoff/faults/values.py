"""What goes in and out of a diagnosis, as frozen values ready for the JSON contract."""

from __future__ import annotations

import msgspec

from leadoff.faults.kinds import Route
from leadoff.record.marks import Mark

SEVERAL = "several"
EXACTLY_ONE = "exactly_one"
REPAIR = "repair:"
"""Prefix of a finding that says a fault was repaired; outcomes ``done``."""

START = "start"
NO_SYMPTOM = "none"


class Fitted(msgspec.Struct, frozen=True, kw_only=True):
    """What the board carries. ``clock``: sealed_module, soldered_pack, coin_cell, external_cell or ``None``
    (not known); ``absent``: parts that are not there (see ``fitted.ABSENT``)."""

    clock: str | None = None
    absent: frozenset[str] = frozenset()
    why: str = ""


class Bench(msgspec.Struct, frozen=True, kw_only=True):
    """What the person has. ``None``: not said; then the tools of a kitchen table, and no spares."""

    tools: frozenset[str] | None = None
    spares: frozenset[str] | None = None
    skill: int = 4


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """One observation with its outcome, in the order found. ``said``: the person's own words."""

    observation: str
    outcome: str
    said: str = ""


class Case(msgspec.Struct, frozen=True, kw_only=True):
    """A closed case: what was really wrong with a board of an era, and what had been found."""

    era: str
    faults: tuple[str, ...]
    findings: tuple[Finding, ...] = ()


class Explanation(msgspec.Struct, frozen=True, kw_only=True):
    """One cause. ``p_cause``: chance that curing it alone removes the symptom; ``p_present``: that it is there;
    ``p_blocks``: that it is a cause, alone or beside others."""

    fault: str
    name: str
    p_cause: float
    p_present: float
    p_blocks: float
    what: str


class Lead(msgspec.Struct, frozen=True, kw_only=True):
    """A cause after a result: ``p`` that it is the only one, ``p_blocks`` that it is one at all."""

    fault: str
    p: float
    p_blocks: float = 0.0
    name: str = ""


class Result(msgspec.Struct, frozen=True, kw_only=True):
    """One possible result of a test: its chance, and what would lead then."""

    result: str
    p: float
    leads: tuple[Lead, ...]


class Caution(msgspec.Struct, frozen=True, kw_only=True):
    """A caution with its source; severity 3 is the worst."""

    id: str
    severity: int
    text: str
    source: str


class Proposal(msgspec.Struct, frozen=True, kw_only=True):
    """A test to do. ``needs``: tests before it in the list that must read normal first (safety).

    ``worth_per_minute``: expected drop of repair, test and loss (minutes) per minute spent, unmet needs
    included; ``opens``: tests that it clears the way for, when that is why it stands here.
    """

    test: str
    name: str
    how: str
    expect: str
    tools: tuple[str, ...]
    minutes: float
    cost: float
    worth_per_minute: float
    needs: tuple[str, ...]
    opens: tuple[str, ...]
    results: tuple[Result, ...]
    cautions: tuple[Caution, ...]
    waived: tuple[str, ...] = ()
    save_first: tuple[str, ...] = ()


class Blocked(msgspec.Struct, frozen=True, kw_only=True):
    """A test that would pay but cannot be proposed, and why."""

    test: str
    why: str
    name: str = ""


class Guard(msgspec.Struct, frozen=True, kw_only=True):
    """What to save before an act, and what cannot be undone after it."""

    what: str
    why: str
    undone: str


class RepairAdvice(msgspec.Struct, frozen=True, kw_only=True):
    """The repair to begin with: the best chance per minute, which need not be the likeliest cause.

    ``p_blocks``: chance that its fault is a cause, alone or beside others. ``accept``: tests that close it;
    ``retest``: symptoms to see again. ``ways`` to do it, ``substitute`` the kind of part to ask for.
    """

    fault: str
    action: str
    minutes: float
    parts_cost: float
    skill: int
    success: float
    p_cause: float
    p_blocks: float
    reversible: bool
    cautions: tuple[Caution, ...]
    accept: tuple[str, ...]
    retest: tuple[str, ...]
    undone: tuple[str, ...]
    ways: tuple[Route, ...] = ()
    substitute: str = ""


class Contradiction(msgspec.Struct, frozen=True, kw_only=True):
    """Findings that hardly go together: how much rarer than by chance, and what to repeat."""

    findings: tuple[str, ...]
    text: str
    lift: float | None = None


class Symptom(msgspec.Struct, frozen=True, kw_only=True):
    """A complaint that stays open until its acceptance test has been seen."""

    observation: str
    outcome: str
    name: str
    accept: tuple[str, ...]
    said: str = ""


class Diagnosis(msgspec.Struct, frozen=True, kw_only=True):
    """All that ``sick`` says. ``other_p``: no single cause of the tables: ``several_p`` several at once,
    ``unlisted_p`` something that is in no table. ``no_power``: readings that forbid power until they are mended.

    ``method``: products or chain; ``error``: how far rounding may have moved the chances.
    """

    mode: str
    era: str
    symptom: str
    explanations: tuple[Explanation, ...]
    other_p: float
    several_p: float
    unlisted_p: float
    no_power: tuple[str, ...] = ()
    tests: tuple[Proposal, ...]
    blocked: tuple[Blocked, ...]
    stop: str
    repair: RepairAdvice | None
    save_first: tuple[Guard, ...]
    contradictions: tuple[Contradiction, ...]
    open_symptoms: tuple[Symptom, ...]
    look_first: tuple[str, ...]
    set_aside: tuple[str, ...]
    marks: tuple[Mark, ...]
    method: str
    error: float
    learnt_from: int
    tables: str
