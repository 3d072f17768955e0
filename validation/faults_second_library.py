"""Small fault networks against a second general Bayesian-network library, noisy-OR nodes written out as full tables.

    python validation/faults_second_library.py --networks 12

The first library is compared in the tests; this one (pgmpy, VariableElimination) takes long to import, so it is a
command. Prints the largest difference of a chance and ends with 1 when it is above 1e-9.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from msgspec.structs import replace

from leadoff.faults.evidence import gather
from leadoff.faults.network import build
from leadoff.faults.solver import solve

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "faults"))

CAUSES = ("f7", "f8", "f2", "f3")
"""Faults of the random tables that are tied to no other."""
CLOSE = 1e-9

Row = tuple[str, Mapping[str, float], float]


def library(priors: Mapping[str, float], rows: Sequence[Row]) -> Any:
    """The network in pgmpy: every observation with its table over all combinations of its causes."""
    from pgmpy.factors.discrete import TabularCPD  # type: ignore[import-untyped,import-not-found,unused-ignore]
    from pgmpy.inference import VariableElimination  # type: ignore[import-untyped,import-not-found,unused-ignore]
    from pgmpy.models import (  # type: ignore[import-untyped,import-not-found,unused-ignore]
        DiscreteBayesianNetwork,
    )

    model = DiscreteBayesianNetwork()
    model.add_nodes_from(priors)
    model.add_cpds(*(TabularCPD(f, 2, [[1 - p], [p]]) for f, p in priors.items()))
    for name, links, leak in rows:
        parents = list(links)
        off = [
            (1 - leak) * np.prod([1 - links[f] if on else 1.0 for f, on in zip(parents, combo, strict=True)])
            for combo in np.ndindex(*([2] * len(parents)))
        ]
        model.add_node(name)
        model.add_edges_from((f, name) for f in parents)
        model.add_cpds(TabularCPD(name, 2, [off, [1 - x for x in off]], parents, [2] * len(parents)))
    return VariableElimination(model)


def gap(seed: int) -> float:
    """Largest difference of a cause's chance between the library and ours on one random network."""
    from faults_random import _observation, random_tables  # type: ignore[import-not-found,unused-ignore]

    rng = np.random.default_rng(seed)
    kb = random_tables(rng, faults=9, readings=8, swaps=0)
    plain = [
        o
        for o in kb.observations.values()
        if not o.by_stage and len(o.outcomes) == 2 and all(f in CAUSES for f in o.links)
    ]
    extra = {f: float(rng.uniform(0.1, 0.9)) for f in CAUSES}
    rows: list[Row] = [("both", extra, 0.05)]
    rows += [(o.id, {f: t[0] for f, t in o.links.items()}, o.baseline[1]) for o in plain]
    both = _observation(
        "both", "reading", ("x0", "x1"), (0.95, 0.05), {}, {f: (p,) for f, p in extra.items()}
    )
    kb = replace(kb, observations={**kb.observations, "both": both})
    net = build(kb, "e486")
    levels = {"both": 1, **{o.id: int(rng.integers(0, 2)) for o in plain}}
    ours = solve(net, gather(net, levels, "none", {}))
    theirs = library({f: kb.faults[f].prior["e486"] for f in CAUSES}, rows)
    worst: float = max(
        abs(
            float(theirs.query([f], evidence=levels, show_progress=False).values[1])
            - ours.present[net.index[f]] / ours.z
        )
        for f in CAUSES
    )
    return worst


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--networks", type=int, default=12)
    parser.add_argument("--seed", type=int, default=300)
    options = parser.parse_args(arguments)
    worst = max(gap(options.seed + n) for n in range(options.networks))
    print(
        f"{options.networks} networks, {len(CAUSES)} causes each: largest difference {worst:.1e} (goal {CLOSE:g})"
    )
    return 0 if worst <= CLOSE else 1


if __name__ == "__main__":
    sys.exit(main())
