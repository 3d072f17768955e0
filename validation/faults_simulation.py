"""Sampled dead boards, repaired by the tool, by a fixed checklist and by chance over cost alone.

    python validation/faults_simulation.py --boards 2000 --era e486 --seed 1

This tests the tables against themselves: the boards are drawn from the same tables that the tool reasons with,
so the figures say whether tables and planner separate faults, not how often the tool is right on a real bench.
``--perturb 2`` multiplies or divides every chance that the *tool* knows by a factor of up to two, at random.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field

# The products are small: threads of the linear algebra library only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np
from msgspec.structs import replace

from leadoff.faults import Bench, Finding, Knowledge, load_knowledge
from leadoff.faults.diagnosis import LOSS_MINUTES, MINUTES_PER_UNIT, UNKNOWN_BOARD, Step, decide
from leadoff.faults.needs import ALWAYS
from leadoff.faults.network import Network, Node, build
from leadoff.faults.prepared import prepare
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
    luck: str
    faults: set[int]
    stage_draw: dict[int, int]
    outcome_draw: dict[tuple[object, ...], int] = field(default_factory=dict)
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
        """The outcome level of a test, the same each time while nothing is repaired. What no fault causes (a
        misreading) is drawn again after a repair, as the tool takes it to be."""
        node = self.net.nodes[name]
        if node.swap:
            return self._swap(node)
        tries = sum(f.observation.startswith(REPAIR) for f in self.findings)
        level = self._draw((name, -1 - self.stage, tries), np.diff(node.leak[:, self.stage], prepend=0.0))
        for i in self.faults:
            level = max(level, self._draw((name, i), np.diff(node.cum[:, i], prepend=0.0)))
        return level

    def _swap(self, node: Node) -> int:
        lone = sorted(i for i in self.faults if self.stage_draw[i])
        chance = float(node.cure[lone[0]]) if len(lone) == 1 else 0.0
        luck = float(1 - node.leak[0, 0])
        return int(self.chance(node.id, *lone) < luck + (1 - luck) * chance)

    def chance(self, *key: object) -> float:
        """A number from 0 to 1 that belongs to this board and this question, whoever asks and when."""
        return uniform(self.luck, *key)

    def _draw(self, key: tuple[object, ...], row: np.ndarray) -> int:
        if key not in self.outcome_draw:
            self.outcome_draw[key] = drawn(row, self.chance(*key))
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
        tries = sum(f.observation == REPAIR + fault for f in self.findings)
        if i in self.faults and self.chance(REPAIR, fault, tries) < r.success:
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


def uniform(*key: object) -> float:
    """A number from 0 to 1 worked out from ``key``: every policy meets the same luck on the same board."""
    digest = hashlib.blake2b(repr(key).encode(), digest_size=7).digest()
    return int.from_bytes(digest) / 2**56


def drawn(row: np.ndarray, u: float) -> int:
    """The outcome that ``u`` picks from chances ``row`` (not negative, any sum)."""
    edges = np.cumsum(np.maximum(row, 0.0))
    return min(int(np.searchsorted(edges, u * edges[-1], side="right")), len(row) - 1)


def sample(net: Network, kb: Knowledge, luck: str, most: float = MOST_MINUTES) -> Board:
    """The board named ``luck``: it shows no picture, and its causes are in the tables."""
    clusters = net.clusters
    for go in range(100_000):
        faults: set[int] = set()
        for c, states in enumerate(clusters):
            u = uniform(luck, go, c)
            faults |= set(states[drawn(np.array([q for q, _ in states]), u)][1])
        draws = {
            i: drawn(np.diff(net.stage[:, i], prepend=0.0), uniform(luck, go, net.names[i])) for i in faults
        }
        board = Board(net, kb, f"{luck} {go}", faults, draws, most=most)
        if board.stage >= 2:
            board.see_start()
            if Finding(observation="o_screen", outcome="none") in board.findings:
                return board
    raise RuntimeError("no board of these tables fails to start")


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


def courses(
    boards: Sequence[int],
    era: str,
    seed: int,
    perturb: float,
    policy: str,
    most: float,
    progress: bool = False,
) -> list[Course]:
    """How the boards of these numbers go under one policy."""
    kb = load_knowledge()
    net = build(kb, era)
    known = perturbed(kb, np.random.default_rng(seed + 1), perturb)
    out: list[Course] = []
    for n in boards:
        out.append(POLICIES[policy](sample(net, kb, f"{era} {seed} {n}", most), known, era))
        if progress and len(out) % 100 == 0:
            mean = float(np.mean([c.minutes for c in out]))
            print(
                f"{era} {policy}: {len(out)} of {len(boards)}, mean {mean:.0f}", file=sys.stderr, flush=True
            )
    return out


def summary(found: Sequence[Course], tool_minutes: np.ndarray | None = None) -> dict[str, float]:
    """Means with their errors. ``saved``: minutes that the tool needs less than this policy on the same boards."""
    minutes = np.array([c.minutes for c in found])
    root = float(np.sqrt(len(found)))
    out = {
        "boards": len(found),
        "mean_minutes": float(minutes.mean()),
        "sem_minutes": float(minutes.std(ddof=1)) / root if len(found) > 1 else 0.0,
        "median_minutes": float(np.median(minutes)),
        "repaired": float(np.mean([c.fixed for c in found])),
        "first": float(np.mean([c.first for c in found])),
        "top3": float(np.mean([c.top3 for c in found])),
    }
    if tool_minutes is not None:
        less = minutes - tool_minutes
        out["saved"] = float(less.mean())
        out["sem_saved"] = float(less.std(ddof=1)) / root if len(found) > 1 else 0.0
    return out


def run(
    boards: int,
    era: str,
    seed: int,
    perturb: float = 1.0,
    policies: Sequence[str] = tuple(POLICIES),
    *,
    most: float = MOST_MINUTES,
    progress: bool = False,
    jobs: int = 1,
) -> dict[str, dict[str, float]]:
    """Mean minutes, share repaired, and the true cause first and in the first three, for each policy.

    Every policy gets the same boards with the same luck; ``first`` and ``top3`` are as of its first repair.
    """
    found: dict[str, list[Course]] = {}
    for name in policies:
        if jobs == 1:
            found[name] = courses(range(boards), era, seed, perturb, name, most, progress)
            continue
        with ProcessPoolExecutor(jobs) as pool:
            shares = [range(k, boards, jobs) for k in range(jobs)]
            work = [pool.submit(courses, s, era, seed, perturb, name, most, progress) for s in shares]
            parts = [w.result() for w in work]
        found[name] = [parts[n % jobs][n // jobs] for n in range(boards)]
    tool = np.array([c.minutes for c in found["tool"]]) if "tool" in found else None
    return {name: summary(c, None if name == "tool" else tool) for name, c in found.items()}


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
    parser.add_argument("--jobs", type=int, default=1, help="processes that share the boards")
    parser.add_argument("--progress", action="store_true", help="a line on stderr for every hundred boards")
    options = parser.parse_args(arguments)
    eras = options.era or ["e286_386", "e486", "socket7"]
    found = {}
    if not options.json:
        print(
            "tables against themselves: says whether they separate faults, not how right they are on a bench"
        )
    for era in eras:
        found[era] = run(
            options.boards,
            era,
            options.seed,
            options.perturb,
            options.policy or list(POLICIES),
            most=options.most,
            progress=options.progress,
            jobs=options.jobs,
        )
        if not options.json:
            print("\n".join(_line(era, name, r) for name, r in found[era].items()), flush=True)
    if options.json:
        print(json.dumps(found, indent=1))
    return 0


def _line(era: str, name: str, r: dict[str, float]) -> str:
    text = (
        f"{era:9} {name:17} {r['mean_minutes']:7.1f} +/- {r['sem_minutes']:.1f} min (median "
        f"{r['median_minutes']:.0f}), repaired {r['repaired']:.1%}, first {r['first']:.1%}, "
        f"first three {r['top3']:.1%}"
    )
    if "saved" in r:
        text += f"; the tool saves {r['saved']:.1f} +/- {r['sem_saved']:.1f} min on the same boards"
    return text


if __name__ == "__main__":
    sys.exit(main())
