"""The rows of the fault tables as frozen values. Chances are 0 to 1, minutes are hands-on, costs in coin cells."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from functools import cached_property
from typing import Any

import msgspec

STAGES = ("boots", "late", "display", "memory", "early", "no_fetch", "held_in_reset", "no_power")
"""The hidden stage a start reaches, from the best to the worst: the most severe draw of all faults wins."""

ERAS = ("e286_386", "e486", "socket7", "slot1", "socket370")


class Row(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Root of all rows: ``source`` is an id of the source table, ``judge`` for judgement."""

    id: str
    source: str


class Repair(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What mends a fault. ``skill`` 1 needs a screwdriver, 3 through-hole rework, 5 fine-pitch hot air."""

    action: str
    minutes: float
    parts_cost: float
    skill: int
    success: float
    reversible: bool


class Fault(Row, frozen=True, kw_only=True):
    """A cause. ``stage`` gives the chance that it alone stops the start at each stage; the rest: it does not."""

    name: str
    what: str
    group: str
    prior: Mapping[str, float]
    stage: Mapping[str, float]
    repair: Repair
    cautions: tuple[str, ...] = ()


class Observation(Row, frozen=True, kw_only=True):
    """A test or something told. ``outcomes`` run from normal to most severe.

    ``kind`` reading: noisy-MAX of ``baseline`` and ``links`` (chances of the outcomes after the first), or of
    ``by_stage`` and ``links``. ``kind`` swap: a proven part tried while the symptom is there; ``links`` give
    the chance that it cures the fault. ``side_of``: the other side of the same act. ``eras`` empty: all.
    ``needs_stage``: it can be seen only when the start gets that far. ``symptom``: a complaint of its own,
    the lowest number speaks for the others.
    """

    name: str
    kind: str
    phase: int
    tools: tuple[str, ...]
    minutes: float
    cost: float
    hazards: tuple[str, ...]
    requires: tuple[str, ...]
    how: str
    expect: str
    expect_source: str
    outcomes: tuple[str, ...]
    baseline: tuple[float, ...] = ()
    by_stage: Mapping[str, tuple[float, ...]] = {}
    links: Mapping[str, tuple[float, ...]] = {}
    spares: tuple[str, ...] = ()
    eras: tuple[str, ...] = ()
    side_of: str = ""
    needs_stage: str = ""
    symptom: int = 0


class Hazard(Row, frozen=True, kw_only=True):
    """A caution, ``severity`` 1 to 3."""

    severity: int
    text: str


class Rule(Row, frozen=True, kw_only=True):
    """One rule of the order of safety; see ``rules.toml`` for ``waive`` and ``run_proves``."""

    rule: str
    before: tuple[str, ...]
    needs: tuple[str, ...]
    why: str
    run_proves: bool
    waive: tuple[str, ...] = ()
    eras: tuple[str, ...] = ()


class Listing(Row, frozen=True, kw_only=True):
    """Words of a seller as factors on the prior odds of fault groups."""

    phrase: str
    odds: Mapping[str, float]
    note: str


class SourceRow(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A publication. ``status``: read, memory, practice or judgement."""

    id: str
    publication: str
    place: str
    status: str


class Kind(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One of the mutually exclusive things fitted, with the levels of its own fault."""

    id: str
    name: str
    share: Mapping[str, float]
    levels: Mapping[str, Mapping[str, float]]
    without: tuple[str, ...] = ()


class Group(Row, frozen=True, kw_only=True):
    """What excludes each other because only one of them is fitted."""

    name: str
    kind: tuple[Kind, ...] = ()


class Raises(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A fault that damages another part: the child is present with ``p`` because of the parent alone."""

    parent: str
    child: str
    p: float
    source: str


class Excludes(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Faults of which at most one can be present."""

    faults: tuple[str, ...]
    source: str


class Leak(Row, frozen=True, kw_only=True):
    """What stops a start and is in none of the tables: chances by stage."""

    stage: Mapping[str, float]


class Save(Row, frozen=True, kw_only=True):
    """What to save before an act, and what cannot be undone after it."""

    before: tuple[str, ...]
    what: str
    why: str
    undone: str = ""


class Accept(Row, frozen=True, kw_only=True):
    """Tests that close a repair of these faults, or a symptom (an observation id)."""

    of: tuple[str, ...]
    steps: tuple[str, ...]


class Wording(Row, frozen=True, kw_only=True):
    """Words of the trade for one outcome of one observation, or ``repair:<fault>`` done.

    Observation ``ask``: the words say nothing sure, ``outcome`` is the question back, not asked when a finding of
    ``settled_by`` is there.
    """

    observation: str
    outcome: str
    words: tuple[str, ...]
    settled_by: tuple[str, ...] = ()


class Tool(Row, frozen=True, kw_only=True):
    """A tool or a proven spare part by the words people use; ``id`` is the name that tests ask for."""

    words: tuple[str, ...]
    spare: bool = False


class SameWords(Row, frozen=True, kw_only=True):
    """Words (of one to three) that are read as the words ``read_as``, in what is told and in our phrases alike."""

    words: tuple[str, ...]
    read_as: str


class Band(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Outcomes of a figure below ``below`` (``None``: of all the rest)."""

    says: Mapping[str, str]
    below: float | None = None


class ReadingRule(Row, frozen=True, kw_only=True):
    """What a measured figure says, by bands of rising values in ``unit``."""

    what: tuple[str, ...]
    unit: str
    bands: tuple[Band, ...]


class Substitute(Row, frozen=True, kw_only=True):
    """Whether ``have`` may stand in for ``want``: verdict ok, part (only under ``condition``) or no."""

    kind: str
    have: str
    want: str
    verdict: str
    why: str
    condition: str
    test: str
    unknown: str


class Route(Row, frozen=True, kw_only=True):
    """One way to do a substitution: minutes, cost, whether it can be undone, years until it is due again.

    ``mends``: faults for which it is a repair.
    """

    kind: str
    name: str
    minutes: float
    cost: float
    reversible: bool
    due_years: float
    risk: str
    mends: tuple[str, ...] = ()


class PostCode(Row, frozen=True, kw_only=True):
    """A POST code or a beep pattern of one firmware family: the step that last **started**."""

    family: str
    kind: str
    code: str
    meaning: str
    observation: str
    outcome: str


class Knowledge(msgspec.Struct, frozen=True, kw_only=True, dict=True):
    """All tables. ``digest`` is over their text, so that two answers can be compared."""

    faults: Mapping[str, Fault]
    observations: Mapping[str, Observation]
    hazards: Mapping[str, Hazard]
    rules: Mapping[str, Rule]
    listing: Mapping[str, Listing]
    groups: Mapping[str, Group]
    raises: tuple[Raises, ...]
    excludes: tuple[Excludes, ...]
    leak: Mapping[str, float]
    saves: Mapping[str, Save]
    accepts: Mapping[str, Accept]
    wordings: Mapping[str, Wording]
    tools: Mapping[str, Tool]
    same_words: Mapping[str, SameWords]
    post_codes: Mapping[str, PostCode]
    reading_rules: Mapping[str, ReadingRule]
    substitutes: Mapping[str, Substitute]
    ways: Mapping[str, Route]
    sources: Mapping[str, SourceRow]
    digest: str
    learnt_from: int = 0

    @cached_property
    def kinds(self) -> Mapping[str, Kind]:
        """Every exclusive thing that may be fitted, by id."""
        return {k.id: k for g in self.groups.values() for k in g.kind}

    @cached_property
    def memo(self) -> dict[Hashable, Any]:
        """What others worked out from these tables alone; a changed copy starts with an empty one."""
        return {}

    @cached_property
    def group_faults(self) -> frozenset[str]:
        """Faults whose prior comes from what is fitted."""
        return frozenset(f for k in self.kinds.values() for f in k.levels)

    @staticmethod
    def era_of(board_class: str) -> str:
        """The era of a board class; 286 and 386 share one, unknown classes are taken as Socket 7."""
        text = board_class.lower().replace(" ", "").replace("-", "").replace("_", "")
        for part, era in (("slot1", "slot1"), ("370", "socket370"), ("486", "e486"), ("386", "e286_386")):
            if part in text:
                return era
        if "286" in text:
            return "e286_386"
        return "e486" if text in {"socket1", "socket2", "socket3"} else "socket7"
