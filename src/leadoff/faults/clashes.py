"""Findings that hardly go together are named, not averaged away."""

from __future__ import annotations

from functools import partial

from leadoff.faults.fold import Held
from leadoff.faults.kinds import Knowledge
from leadoff.faults.network import Network
from leadoff.faults.products import Answer
from leadoff.faults.solver import answer
from leadoff.faults.values import Contradiction

RARE = 0.03  # a finding this rare given all the others is looked at
LIFT = 0.2  # two findings this much rarer together than apart are named


def contradictions(
    kb: Knowledge, net: Network, held: Held, symptom: str, base: Answer, *, one: bool
) -> tuple[Contradiction, ...]:
    """Findings that the others make unlikely, with the one each goes with worst."""
    found = list(held.clashes)
    names = [n for n in held.levels if n != symptom]
    pairs = _Pairs(net, held, symptom, one)
    seen: set[frozenset[str]] = set()
    for name in names:
        if held.levels[name] == 0 and not kb.observations[name].by_stage:
            continue  # such a normal reading is hardly ever rare; it is found as the other of a pair
        rest = {k: v for k, v in held.levels.items() if k != name}
        without = answer(net, rest, symptom, held.swaps, one=one).z
        if without <= 0 or base.z / without >= RARE:
            continue
        worst = min((n for n in names if n != name), key=partial(pairs.lift, name), default=None)
        if worst is None or frozenset((name, worst)) in seen:
            continue
        lift = pairs.lift(name, worst)
        if lift < LIFT:
            seen.add(frozenset((name, worst)))
            pair = (name, worst)
            text = (
                f"{_said(kb, held, name)} and {_said(kb, held, worst)} hardly go together "
                f"({lift:.2g} times as often as by chance): repeat {_cheaper(kb, pair)} before you trust either"
            )
            found.append(Contradiction(findings=pair, text=text, lift=lift))
    return tuple(found)


class _Pairs:
    """How much rarer two findings are together than apart, given the symptom alone; each part worked out once."""

    def __init__(self, net: Network, held: Held, symptom: str, one: bool) -> None:
        self.net, self.held, self.symptom, self.one = net, held, symptom, one
        self.known: dict[frozenset[str], float] = {}

    def chance(self, *names: str) -> float:
        key = frozenset(names)
        if key not in self.known:
            told = {n: v for n, v in self.held.levels.items() if n in key or n == self.symptom}
            self.known[key] = answer(self.net, told, self.symptom, {}, one=self.one).z
        return self.known[key]

    def lift(self, a: str, b: str) -> float:
        low = self.chance(a) * self.chance(b)
        return self.chance(a, b) * self.chance() / low if low > 0 else 1.0


def _said(kb: Knowledge, held: Held, name: str) -> str:
    o = kb.observations[name]
    return f"“{o.name}: {o.outcomes[held.levels[name]].replace('_', ' ')}”"


def _cheaper(kb: Knowledge, pair: tuple[str, str]) -> str:
    o = min((kb.observations[n] for n in pair), key=lambda o: (o.minutes, o.id))
    return f"{o.name.lower()} ({o.minutes:g} min)"
