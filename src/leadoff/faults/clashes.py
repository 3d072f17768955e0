"""Findings that hardly go together are named, not averaged away."""

from __future__ import annotations

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
    """Findings that the others make unlikely, with the one they go with worst."""
    found = list(held.clashes)
    names = [n for n in held.levels if n != symptom]
    seen: set[frozenset[str]] = set()
    for name in names:
        rest = {k: v for k, v in held.levels.items() if k != name}
        without = answer(net, rest, symptom, held.swaps, one=one).z
        if without <= 0 or base.z / without >= RARE:
            continue
        worst = min(
            (other for other in names if other != name),
            key=lambda other: _lift(net, held, symptom, name, other, one),
            default=None,
        )
        if worst is None or frozenset((name, worst)) in seen:
            continue
        lift = _lift(net, held, symptom, name, worst, one)
        if lift < LIFT:
            seen.add(frozenset((name, worst)))
            pair = (name, worst)
            text = (
                f"{_said(kb, held, name)} and {_said(kb, held, worst)} hardly go together "
                f"({lift:.2g} times as often as by chance): repeat {_cheaper(kb, pair)} before you trust either"
            )
            found.append(Contradiction(findings=pair, text=text, lift=lift))
    return tuple(found)


def _lift(net: Network, held: Held, symptom: str, a: str, b: str, one: bool) -> float:
    levels = held.levels
    base = {symptom: levels[symptom]} if symptom in levels else {}

    def z(*names: str) -> float:
        return answer(net, {**base, **{n: levels[n] for n in names}}, symptom, {}, one=one).z

    low = z(a) * z(b)
    return z(a, b) * z() / low if low > 0 else 1.0


def _said(kb: Knowledge, held: Held, name: str) -> str:
    o = kb.observations[name]
    return f"“{o.name}: {o.outcomes[held.levels[name]].replace('_', ' ')}”"


def _cheaper(kb: Knowledge, pair: tuple[str, str]) -> str:
    o = min((kb.observations[n] for n in pair), key=lambda o: (o.minutes, o.id))
    return f"{o.name.lower()} ({o.minutes:g} min)"
