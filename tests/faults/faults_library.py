"""The fault model built a second time in a general Bayesian-network library (pyAgrum), from the tables alone.

Two-outcome readings with few causes use ``addNoisyORNet`` (the leak is a cause of its own; the library's other,
compound, form folds the leak into the weights and is another model). Everything else is a chain of maxima. The
swap rule is no noisy-OR node: it is a chain that counts blockers and remembers whether a lone one is cured.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import pyagrum as gum

from leadoff.faults.kinds import STAGES, Knowledge, Observation

NOISY_OR_PARENTS = 8
LEVELS = len(STAGES)


@dataclass
class Library:
    kb: Knowledge
    era: str
    absent: frozenset[str] = frozenset()
    kind: str | None = None
    net: gum.BayesNet = field(default_factory=gum.BayesNet)
    faults: list[str] = field(default_factory=list)

    def add(self, name: str, states: int, parents: Sequence[str] = ()) -> None:
        self.net.add(gum.LabelizedVariable(name, name, states))
        for p in parents:
            self.net.addArc(p, name)

    def table(self, name: str, parents: Sequence[str], fill) -> None:
        """``fill(parent states by name)`` gives the row of the node."""
        sizes = [self.net.variable(p).domainSize() for p in parents]
        rows = np.array([fill(*combo) for combo in np.ndindex(*sizes)]).reshape(*sizes, -1)
        assert tuple(self.net.cpt(name).names) == (name, *parents)
        # The library stores the node's own states next to each other, then those of its first parent.
        self.net.cpt(name).fillWith(rows.transpose(*reversed(range(len(sizes))), len(sizes)).ravel().tolist())

    # -- causes ----------------------------------------------------------------------------------------------
    def causes(self) -> None:
        kb = self.kb
        grouped = set(kb.group_faults)
        excluded = {f for e in kb.excludes for f in e.faults}
        raised = {r.child for r in kb.raises}
        for g in kb.groups.values():
            self._group(g.kind)
        live = [
            f.id
            for f in kb.faults.values()
            if f.prior[self.era] > 0 and f.id not in self.absent and f.id not in grouped
        ]
        for f in live:
            if f not in excluded and f not in raised:
                self.add(f, 2)
                p = kb.faults[f].prior[self.era]
                self.net.cpt(f).fillWith([1 - p, p])
                self.faults.append(f)
        for f in live:
            if f in raised:
                self.net.addNoisyORNet(gum.LabelizedVariable(f, f, 2), kb.faults[f].prior[self.era])
                for r in kb.raises:
                    if r.child == f and r.parent in live:
                        self.net.addWeightedArc(r.parent, f, r.p)
                self.faults.append(f)
        for e in kb.excludes:
            self._exclusive([f for f in e.faults if f in live])

    def _group(self, kinds) -> None:
        names = [k for k in kinds if self.kind in (None, k.id)]
        states: list[tuple[float, str | None, str | None]] = []
        for k in names:
            share = 1.0 if self.kind else k.share[self.era]
            levels = {f: p[self.era] for f, p in k.levels.items() if f not in self.absent}
            states.append((share * (1 - sum(levels.values())), k.id, None))
            states += [(share * p, k.id, f) for f, p in levels.items()]
        self.add("supply", len(states))
        self.net.cpt("supply").fillWith([p for p, _, _ in states])
        for k in names:
            self._flag(f"fit_{k.id}", "supply", [s[1] == k.id for s in states])
        for f in dict.fromkeys(s[2] for s in states if s[2]):
            self._flag(f, "supply", [s[2] == f for s in states])
            self.faults.append(f)

    def _flag(self, name: str, parent: str, on: Sequence[bool]) -> None:
        self.add(name, 2, [parent])
        self.table(name, [parent], lambda i: (1 - on[i], 1.0 * on[i]))

    def _exclusive(self, faults: Sequence[str]) -> None:
        if not faults:
            return
        p = [self.kb.faults[f].prior[self.era] for f in faults]
        odds = [1.0, *(x / (1 - x) for x in p)]
        name = "only_" + faults[0]
        self.add(name, len(odds))
        self.net.cpt(name).fillWith([o / sum(odds) for o in odds])
        for i, f in enumerate(faults, 1):
            self._flag(f, name, [j == i for j in range(len(odds))])
            self.faults.append(f)

    # -- the start, with counted blockers ----------------------------------------------------------------------
    def start(self, bits: Sequence[Mapping[str, float]]) -> None:
        """The chain of stages. ``bits``: for each swap (or question) the chance to cure each lone blocker."""
        kb = self.kb
        states = [(0, "none", ())]
        combos = list(np.ndindex(*([2] * len(bits)))) if bits else [()]
        for s in range(1, LEVELS):
            states += [(s, "one", b) for b in combos]
            states.append((s, "many", tuple([0] * len(bits))))
        index = {st: i for i, st in enumerate(states)}
        leak = [kb.leak.get(s, 0.0) for s in STAGES]
        self.add("k0", len(states))
        row = np.zeros(len(states))
        row[0] = 1 - sum(leak)
        for s in range(1, LEVELS):
            row[index[(s, "one", tuple([0] * len(bits)))]] = leak[s]
        self.net.cpt("k0").fillWith(list(row))
        last = "k0"
        for f in self.faults:
            stage = [kb.faults[f].stage.get(s, 0.0) for s in STAGES]
            if sum(stage) == 0:
                continue
            draw, k = f"d_{f}", f"k_{f}"
            self.add(draw, LEVELS, [f])
            self.table(
                draw, [f], lambda on, stage=stage: [1 - sum(stage), *stage[1:]] if on else [1, *[0] * 7]
            )
            self.add(k, len(states), [last, draw])
            cure = [b.get(f, 0.0) for b in bits]

            def fill(before: int, d: int, cure=cure) -> np.ndarray:
                row = np.zeros(len(states))
                s, status, _ = states[before]
                if d == 0:
                    row[before] = 1
                elif status == "none":
                    for b in combos:
                        p = np.prod([c if x else 1 - c for c, x in zip(cure, b, strict=True)])
                        row[index[(d, "one", b)]] += p
                else:
                    row[index[(max(s, d), "many", tuple([0] * len(bits)))]] = 1
                return row

            self.table(k, [last, draw], fill)
            last = k
        self.add("stage", LEVELS, [last])
        self.table("stage", [last], lambda i: np.eye(LEVELS)[states[i][0]])
        for n in range(len(bits)):
            self.add(f"bit{n}", 2, [last])
            self.table(f"bit{n}", [last], lambda i, n=n: np.eye(2)[states[i][2][n] if states[i][0] else 0])

    def swap(self, o: Observation, n: int) -> None:
        luck = o.baseline[1]
        self.add(o.id, 2, [f"bit{n}"])
        self.table(o.id, [f"bit{n}"], lambda b: (0.0, 1.0) if b else (1 - luck, luck))

    # -- readings ----------------------------------------------------------------------------------------------
    def reading(self, o: Observation) -> None:
        known = set(self.faults) | {n for n in self.net.names() if n.startswith("fit_")}
        links = {f: tail for f, tail in o.links.items() if f in known}
        size = len(o.outcomes)
        if size == 2 and not o.by_stage and len(links) <= NOISY_OR_PARENTS:
            self.net.addNoisyORNet(gum.LabelizedVariable(o.id, o.id, 2), o.baseline[1])
            for f, tail in links.items():
                self.net.addWeightedArc(f, o.id, tail[0])
            return
        names = [f"{o.id}_{n}" for n in range(len(links))] + [o.id]
        if o.by_stage:
            self.add(names[0], size, ["stage"])
            self.table(names[0], ["stage"], lambda s: o.by_stage[STAGES[s]])
        else:
            self.add(names[0], size)
            self.net.cpt(names[0]).fillWith(list(o.baseline))
        order = [f for f in self.faults if f in links] + [f for f in links if f not in self.faults]
        for before, after, f in zip(names, names[1:], order, strict=False):
            tail = links[f]

            def fill(x: int, on: int, tail=tail) -> np.ndarray:
                row = np.zeros(size)
                own = [1 - sum(tail), *tail] if on else [1.0, *[0.0] * (size - 1)]
                for y, p in enumerate(own):
                    row[max(x, y)] += p
                return row

            self.add(after, size, [before, f])
            self.table(after, [before, f], fill)

    # -- answers -----------------------------------------------------------------------------------------------
    def cells(self) -> int:
        """Size of the largest clique of the library's junction tree: what its inference needs of memory."""
        tree = gum.JunctionTreeGenerator().junctionTree(self.net)
        sizes = ([self.net.variable(v).domainSize() for v in tree.clique(n)] for n in tree.nodes())
        return max(int(np.prod(s)) for s in sizes)

    def infer(self, evidence: Mapping[str, object], targets: Sequence[str]) -> dict[str, np.ndarray]:
        engine = gum.LazyPropagation(self.net)
        engine.setEvidence(dict(evidence))
        for t in targets:
            engine.addTarget(t)
        engine.makeInference()
        return {t: np.asarray(engine.posterior(t)[:]).copy() for t in targets}
