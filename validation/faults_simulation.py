"""Sampled dead boards, repaired by the tool, by a fixed checklist and by chance over cost alone.

    python validation/faults_simulation.py --boards 2000 --era e486 --seed 1

This tests the tables against themselves: the boards are drawn from the same tables that the tool reasons with,
so the figures say whether tables and planner separate faults, not how often the tool is right on a real bench.
``--perturb 2`` multiplies or divides every chance that the *tool* knows by a factor of up to two, at random.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

# The products are small: threads of the linear algebra library only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np
from msgspec.structs import replace

from leadoff.faults import Bench, Finding, Knowledge, load_knowledge
from leadoff.faults.diagnosis import LOSS_MINUTES, MINUTES_PER_UNIT, UNKNOWN_BOARD, Step, decide, prepare
from leadoff.faults.needs import ALWAYS
from leadoff.faults.network import Network, Node, build
from leadoff.faults.values import REPAIR, SEVERAL

BENCH = Bench(
    tools=frozenset(
        {"multimeter", "load_resistor", "speaker", "diagnostic_card", "contact_cleaner", "esr_meter"}
    ),
    spares=frozenset({"memory", "display_card", "supply", "processor"}),
    skill=5,
)
MOST_MINUTES = LOSS_MINUTES
"""Work after which a board is given up, and the loss is added."""


@dataclass
class Board:
    """One sampled board: its faults, what each draws, and the clock of the work done on it."""

    net: Network
    kb: Knowledge
    rng: np.random.Generator
    faults: set[int]
    stage_draw: dict[int, int]
    outcome_draw: dict[tuple[str, int], int] = field(default_factory=dict)
    minutes: float = 0.0
    findings: list[Finding] = field(default_factory=list)
    most: float = MOST_MINUTES

    @property
    def going(self) -> bool:
        """Whether it does not start yet and is not given up."""
        return bool(self.stage) and self.minutes < self.most

    @property
    def stage(self) -> int:
        """The stage that the start reaches now."""
        return max((self.stage_draw[i] for i in self.faults), default=0)

    @property
    def blockers(self) -> set[str]:
        """Faults that stop the start now."""
        return {self.net.names[i] for i in self.faults if self.stage_draw[i]}

    def look(self, name: str) -> int:
        """The outcome level of a test, the same each time while nothing is repaired."""
        node = self.net.nodes[name]
        if node.swap:
            return self._swap(node)
        level = self._draw((name, -1 - self.stage), np.diff(node.leak[:, self.stage], prepend=0.0))
        for i in self.faults:
            level = max(level, self._draw((name, i), np.diff(node.cum[:, i], prepend=0.0)))
        return level

    def _swap(self, node: Node) -> int:
        lone = [i for i in self.faults if self.stage_draw[i]]
        chance = node.cure[lone[0]] if len(lone) == 1 else 0.0
        luck = 1 - node.leak[0, 0]
        return int(self.rng.random() < luck + (1 - luck) * chance)

    def _draw(self, key: tuple[str, int], row: np.ndarray) -> int:
        if key not in self.outcome_draw:
            self.outcome_draw[key] = int(self.rng.choice(len(row), p=np.clip(row, 0, 1) / row.sum()))
        return self.outcome_draw[key]

    def test(self, name: str) -> None:
        """Do a test with its other side and enter what it shows."""
        o = self.kb.observations[name]
        self.minutes += o.minutes + MINUTES_PER_UNIT * o.cost
        sides = [s.id for s in self.kb.observations.values() if s.side_of == name and s.id in self.net.nodes]
        for part in (name, *sides):
            level = self.look(part)
            self.findings.append(
                Finding(observation=part, outcome=self.kb.observations[part].outcomes[level])
            )

    def repair(self, fault: str) -> None:
        """Try a repair; whether it was needed or worked shows only in the next start."""
        r = self.kb.faults[fault].repair
        self.minutes += r.minutes + MINUTES_PER_UNIT * r.parts_cost + 2.0
        i = self.net.index.get(fault)
        if i in self.faults and self.rng.random() < r.success:
            self.faults.discard(int(i))
        self.findings.append(Finding(observation=REPAIR + fault, outcome="done"))
        if self.stage:
            self.see_start()

    def see_start(self) -> None:
        """What is seen for nothing at each start."""
        for name in ("o_power_signs", "o_screen"):
            self.findings.append(
                Finding(observation=name, outcome=self.kb.observations[name].outcomes[self.look(name)])
            )


def sample(net: Network, kb: Knowledge, rng: np.random.Generator, most: float = MOST_MINUTES) -> Board:
    """A board that shows no picture, with causes that are in the tables."""
    while True:
        faults: set[int] = set()
        for states in net.clusters:
            p = np.array([q for q, _ in states])
            faults |= set(states[int(rng.choice(len(p), p=p / p.sum()))][1])
        draws = {
            i: int(rng.choice(8, p=np.clip(np.diff(net.stage[:, i], prepend=0.0), 0, 1))) for i in faults
        }
        board = Board(net, kb, rng, faults, draws, most=most)
        if board.stage >= 2:
            board.see_start()
            if Finding(observation="o_screen", outcome="none") in board.findings:
                return board


def perturbed(kb: Knowledge, rng: np.random.Generator, factor: float) -> Knowledge:
    """Every prior and link multiplied by a random factor between 1/factor and factor (as odds)."""
    if factor == 1:
        return kb

    def moved(p: float) -> float:
        k = float(factor ** float(rng.uniform(-1, 1)))
        return p * k / (1 - p + p * k)

    faults = {n: replace(f, prior={e: moved(p) for e, p in f.prior.items()}) for n, f in kb.faults.items()}
    observations = {}
    for n, o in kb.observations.items():
        links = {}
        for f, tail in o.links.items():
            new = [moved(p) for p in tail]
            scale = min(1.0, 0.999 / max(sum(new), 1e-12))
            links[f] = tail if f.startswith("fit_") else tuple(p * scale for p in new)
        observations[n] = replace(o, links=links)
    return replace(kb, faults=faults, observations=observations)


@dataclass
class Course:
    """How one board went: minutes with the loss if it was given up, and where the true cause stood."""

    minutes: float
    fixed: bool
    first: bool
    top3: bool


def tool(board: Board, known: Knowledge, era: str) -> Course:
    """Follow the tool: its first test while that pays, else its repair."""
    ranks: list[tuple[bool, bool]] = []
    while board.going:
        step = _step(board, known, era)
        if step.test:
            board.test(step.test)
            if board.findings[-1].outcome == "fixed":
                break
            continue
        ranks.append(_rank(board, step.order))
        if not step.repair:
            break
        board.repair(step.repair)
    return _course(board, ranks)


def _step(board: Board, known: Knowledge, era: str) -> Step:
    """The tool's next step, worked out once for all boards on which the same was found in the same order."""
    key = ("step", era, tuple((f.observation, f.outcome) for f in board.findings))
    if key not in known.memo:
        known.memo[key] = decide(known, era, board.findings, BENCH)
    step: Step = known.memo[key]
    return step


def chance_over_cost(board: Board, known: Knowledge, era: str) -> Course:
    """No tests: always the repair of the highest chance of being a cause over its minutes."""
    ranks: list[tuple[bool, bool]] = []
    while board.going:
        order = _by_rate(board, known, era)
        ranks.append(_rank(board, _by_chance(board, known, era)))
        board.repair(order[0])
    return _course(board, ranks)


def checklist(board: Board, known: Knowledge, era: str) -> Course:
    """Every test that the tools allow in the order of phases; the leading repair after each reading that is out."""
    ranks: list[tuple[bool, bool]] = []
    allowed = (BENCH.tools or frozenset()) | ALWAYS
    order = sorted(known.observations.values(), key=lambda o: (o.phase, o.id))
    for o in order:
        usable = all(set(t.split("|")) & allowed for t in o.tools) and set(o.spares) <= (
            BENCH.spares or frozenset()
        )
        if o.side_of or o.needs_stage or o.phase in (0, 8, 9) or o.id not in board.net.nodes or not usable:
            continue
        if not board.going:
            break
        board.test(o.id)
        if board.findings[-1].outcome == "fixed":
            return _course(board, ranks, fixed=True)
        last = [f for f in board.findings if f.observation == o.id][-1]
        if o.kind == "reading" and last.outcome != o.outcomes[0] and o.links:
            ranked = [f for f in _by_chance(board, known, era) if f in o.links]
            if ranked:
                ranks.append(_rank(board, _by_chance(board, known, era)))
                board.repair(ranked[0])
    while board.going:
        ranks.append(_rank(board, _by_chance(board, known, era)))
        board.repair(_by_rate(board, known, era)[0])
    return _course(board, ranks)


def _by_chance(board: Board, known: Knowledge, era: str) -> list[str]:
    work = prepare(known, era, board.findings, UNKNOWN_BOARD, SEVERAL, ())
    return [work.net.names[i] for i in np.argsort(-work.base.sole) if work.net.names[i] in known.faults]


def _by_rate(board: Board, known: Knowledge, era: str) -> list[str]:
    work = prepare(known, era, board.findings, UNKNOWN_BOARD, SEVERAL, ())
    price = {n: f.repair.minutes + MINUTES_PER_UNIT * f.repair.parts_cost for n, f in known.faults.items()}
    names = [n for n in work.net.names if n in price]
    return sorted(names, key=lambda n: -work.base.blocks[work.net.index[n]] / max(price[n], 0.5))


def _rank(board: Board, names: Sequence[str]) -> tuple[bool, bool]:
    return names[0] in board.blockers, bool(set(names[:3]) & board.blockers)


def _course(board: Board, ranks: Sequence[tuple[bool, bool]], *, fixed: bool = False) -> Course:
    swapped = bool(board.findings) and board.findings[-1].outcome == "fixed"
    done = fixed or swapped or not board.stage
    first = ranks[0] if ranks else (done, done)
    return Course(board.minutes + (0.0 if done else LOSS_MINUTES), done, first[0], first[1])


POLICIES: dict[str, Callable[[Board, Knowledge, str], Course]] = {
    "tool": tool,
    "checklist": checklist,
    "chance_over_cost": chance_over_cost,
}


def run(
    boards: int,
    era: str,
    seed: int,
    perturb: float = 1.0,
    policies: Sequence[str] = tuple(POLICIES),
    *,
    most: float = MOST_MINUTES,
    progress: bool = False,
) -> dict[str, dict[str, float]]:
    """Mean minutes, share repaired, and the true cause first and in the first three, for each policy.

    Every policy gets the same boards; ``first`` and ``top3`` are as of its first repair.
    """
    kb = load_knowledge()
    net = build(kb, era)
    known = perturbed(kb, np.random.default_rng(seed + 1), perturb)
    out: dict[str, dict[str, float]] = {}
    for name in policies:
        policy = POLICIES[name]
        courses: list[Course] = []
        for n in range(boards):
            courses.append(policy(sample(net, kb, np.random.default_rng([seed, n]), most), known, era))
            if progress and (n + 1) % 100 == 0:
                mean = float(np.mean([c.minutes for c in courses]))
                print(f"{era} {name}: {n + 1} of {boards}, mean {mean:.0f} min", file=sys.stderr, flush=True)
        minutes = np.array([c.minutes for c in courses])
        out[name] = {
            "boards": boards,
            "mean_minutes": float(minutes.mean()),
            "sem_minutes": float(minutes.std(ddof=1) / np.sqrt(boards)) if boards > 1 else 0.0,
            "median_minutes": float(np.median(minutes)),
            "repaired": float(np.mean([c.fixed for c in courses])),
            "first": float(np.mean([c.first for c in courses])),
            "top3": float(np.mean([c.top3 for c in courses])),
        }
    return out


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line; prints a table, or JSON with ``--json``."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--boards", type=int, default=2000)
    parser.add_argument(
        "--era", action="append", choices=["e286_386", "e486", "socket7", "slot1", "socket370"]
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--perturb", type=float, default=1.0)
    parser.add_argument("--policy", action="append", choices=list(POLICIES))
    parser.add_argument("--json", action="store_true")
    parser.add_argument(
        "--most", type=float, default=MOST_MINUTES, help="minutes after which a board is given up"
    )
    parser.add_argument("--progress", action="store_true", help="a line on stderr for every hundred boards")
    options = parser.parse_args(arguments)
    eras = options.era or ["e286_386", "e486", "socket7"]
    chosen = options.policy or list(POLICIES)
    if options.json:
        found = {
            e: run(options.boards, e, options.seed, options.perturb, chosen, most=options.most) for e in eras
        }
        print(json.dumps(found, indent=1))
        return 0
    print("tables against themselves: says whether they separate faults, not how right they are on a bench")
    for era in eras:
        for name, r in run(
            options.boards,
            era,
            options.seed,
            options.perturb,
            chosen,
            most=options.most,
            progress=options.progress,
        ).items():
            print(
                f"{era:9} {name:17} {r['mean_minutes']:7.1f} +/- {r['sem_minutes']:.1f} min (median "
                f"{r['median_minutes']:.0f}), repaired {r['repaired']:.0%}, first {r['first']:.0%}, "
                f"first three {r['top3']:.0%}"
            )
    return 0


if __name__ == "__main__":
    sys.exit(main())
