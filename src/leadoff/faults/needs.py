"""The order of safety: what has to read normal before a test, and what stands in its way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from leadoff.faults.kinds import Knowledge, Observation
from leadoff.faults.values import Bench

KITCHEN_TABLE = frozenset(
    [
        "eyes",
        "light",
        "magnifier",
        "needle",
        "hands",
        "sheet",
        "multimeter",
        "display",
        "keyboard",
        "speaker",
        "drive",
        "load_resistor",
        "contact_cleaner",
        "test_program",
    ]
)
"""Tools taken as at hand when the person has said nothing. Judgement."""
ALWAYS = frozenset(["eyes", "light", "magnifier", "needle", "hands", "sheet", "display", "keyboard"])
"""What a person who lists tools does not list. Judgement."""


@dataclass(frozen=True)
class Way:
    """What stands before a test: ``needs`` still to be done, in order; ``blocked`` why it cannot be at all."""

    needs: tuple[str, ...]
    waived: tuple[str, ...]
    blocked: str


@dataclass(frozen=True)
class Safety:
    """The state the rules are applied to. ``running``: the board shows a picture from this supply."""

    kb: Knowledge
    era: str
    levels: Mapping[str, int]
    done: frozenset[str]
    bench: Bench
    running: bool

    @cached_property
    def known(self) -> dict[str, Way]:
        """Ways worked out before in the same state: only what the rules ask for, tools and era decide them."""
        gates: frozenset[str] = self.kb.memo.setdefault(
            "gates",
            frozenset(n for r in self.kb.rules.values() for n in r.needs)
            | {n for o in self.kb.observations.values() for n in o.requires},
        )
        state = frozenset((n, v) for n, v in self.levels.items() if n in gates)
        ways: dict[object, dict[str, Way]] = self.kb.memo.setdefault("ways", {})
        return ways.setdefault((self.era, self.running, self.done, self.bench, state), {})

    @cached_property
    def lacks(self) -> dict[str, str]:
        """Answers of ``missing`` so far for these tools and spares."""
        found: dict[str, str] = self.kb.memo.setdefault(("lacks", self.bench), {})
        return found

    def missing(self, o: Observation) -> str:
        """The tool or spare that a test lacks, empty when it can be done."""
        if o.id not in self.lacks:
            self.lacks[o.id] = self._missing(o)
        return self.lacks[o.id]

    def _missing(self, o: Observation) -> str:
        tools = KITCHEN_TABLE if self.bench.tools is None else self.bench.tools | ALWAYS
        for need in o.tools:
            if not set(need.split("|")) & tools:
                return need.replace("|", " or ").replace("_", " ")
        for spare in o.spares:
            if spare not in (self.bench.spares or frozenset()):
                return f"proven {spare.replace('_', ' ')}"
        return ""

    def open(self, o: Observation) -> bool:
        """Whether the person can do the test and nothing stands in its way for good."""
        return not self.missing(o) and not self.way(o).blocked

    def way(self, o: Observation) -> Way:
        """Everything required before ``o``, each need's own needs first."""
        if o.id not in self.known:
            self.known[o.id] = self._way(o)
        return self.known[o.id]

    def _way(self, o: Observation) -> Way:
        needs: list[str] = []
        waived: list[str] = []
        blocked = self._collect(o, needs, waived, frozenset({o.id}))
        order = sorted(set(needs), key=lambda n: (self.kb.observations[n].phase, needs.index(n)))
        return Way(tuple(order), tuple(dict.fromkeys(waived)), blocked)

    def _collect(self, o: Observation, needs: list[str], waived: list[str], seen: frozenset[str]) -> str:
        for name, waivable in self._required(o):
            if name in seen:
                continue
            need = self.kb.observations[name]
            level = self.levels.get(name)
            if level:
                return f"{need.name} read {need.outcomes[level].replace('_', ' ')}: repair that first"
            if level == 0 or name in self.done:
                continue
            if self.missing(need):
                if waivable:
                    waived.append(name)
                    continue
                return f"needs {need.name.lower()} first, and that needs: {self.missing(need)}"
            if blocked := self._collect(need, needs, waived, seen | {name}):
                return blocked
            needs.append(name)
        return ""

    def _required(self, o: Observation) -> list[tuple[str, bool]]:
        """(test, may be waived) for all rules before this test; acts are opened into their rules."""
        key = ("required", self.era, self.running, o.requires)
        if key not in self.kb.memo:
            self.kb.memo[key] = self._rules(o)
        found: list[tuple[str, bool]] = self.kb.memo[key]
        return found

    def _rules(self, o: Observation) -> list[tuple[str, bool]]:
        out: list[tuple[str, bool]] = []
        acts = [r for r in o.requires if r not in self.kb.observations]
        if "cpu_fitted" in acts or "other_cpu" in acts:
            acts = ["first_power", *acts]
        for rule in self.kb.rules.values():
            applies = set(rule.before) & set(acts) and (not rule.eras or self.era in rule.eras)
            if applies and not (self.running and rule.run_proves):
                out += [(n, n in rule.waive) for n in rule.needs]
        out += [(r, False) for r in o.requires if r in self.kb.observations and not self.running]
        known = self.kb.observations
        return [(n, w) for n, w in out if not known[n].eras or self.era in known[n].eras]

    def powered(self, o: Observation) -> bool:
        """Whether the test is done with the board under power."""
        return any(r in ("first_power", "cpu_fitted", "other_cpu") for r in o.requires)
