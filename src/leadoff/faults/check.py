"""What a fault table must hold: chances inside 0 to 1 that add up, references that exist, sources that are named."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from leadoff.faults.kinds import ERAS, STAGES, Knowledge, Observation, PostCode, Wording
from leadoff.record.errors import Problem

_SUM = 1e-6  # room for decimal figures that do not add to 1 in binary


def problems_of(kb: Knowledge) -> list[Problem]:
    """Every inconsistency of the tables, empty when there is none."""
    texts = [
        *_faults(kb),
        *(t for o in kb.observations.values() for t in _observation(kb, o)),
        *_groups(kb),
        *_references(kb),
    ]
    return [Problem(code="faults.table", text=t, where=t.split(":")[0], do="correct the row") for t in texts]


def _chance(where: str, values: Iterable[float], limit: float = 1.0) -> Iterator[str]:
    values = list(values)
    if any(not 0 <= v <= 1 for v in values):
        yield f"{where}: {values} is outside 0 to 1, so it is no chance"
    elif sum(values) > limit + _SUM:
        yield f"{where}: {values} add to {sum(values):.4g}, more than {limit:g}"


def _faults(kb: Knowledge) -> Iterator[str]:
    for f in kb.faults.values():
        yield from _chance(f"fault {f.id}: stage", f.stage.values())
        if unknown := set(f.stage) - set(STAGES[1:]):
            yield f"fault {f.id}: {sorted(unknown)} are no stages; allowed are {', '.join(STAGES[1:])}"
        for era, p in f.prior.items():
            yield from _chance(f"fault {f.id}: prior of {era}", [p])
        if missing := set(ERAS) - set(f.prior):
            yield f"fault {f.id}: prior is missing for {', '.join(sorted(missing))}"
        yield from _chance(f"fault {f.id}: success", [f.repair.success])


def _observation(kb: Knowledge, o: Observation) -> Iterator[str]:
    where = f"observation {o.id}"
    for name, row in [("baseline", o.baseline), *o.by_stage.items()]:
        yield from _chance(f"{where}: {name}", row)
        if row and (len(row) != len(o.outcomes) or abs(sum(row) - 1) > _SUM):
            yield f"{where}: {name} must hold {len(o.outcomes)} chances that add to 1, not {list(row)}"
    if bool(o.baseline) == bool(o.by_stage):
        yield f"{where}: needs either baseline or by_stage"
    if o.by_stage and set(o.by_stage) != set(STAGES):
        yield f"{where}: by_stage must name all of {', '.join(STAGES)}"
    if o.kind not in ("reading", "swap") or (o.kind == "swap" and len(o.outcomes) != 2):
        yield f"{where}: kind must be reading, or swap with two outcomes"
    known = set(kb.faults) | {f"fit_{k}" for k in kb.kinds}
    for fault, row in o.links.items():
        yield from _chance(f"{where}: link {fault}", row)
        if fault not in known:
            yield f"{where}: links {fault}, which is no fault"
        if len(row) != len(o.outcomes) - 1:
            yield f"{where}: link {fault} must hold {len(o.outcomes) - 1} chances, not {len(row)}"


def _groups(kb: Knowledge) -> Iterator[str]:
    for g in kb.groups.values():
        for era in ERAS:
            total = sum(k.share.get(era, 0) for k in g.kind)
            if abs(total - 1) > _SUM:
                yield f"group {g.id}: shares of {era} add to {total:.4g}, not to 1"
        for kind in g.kind:
            for era in ERAS:
                yield from _chance(f"group {g.id}: {kind.id} {era}", [v[era] for v in kind.levels.values()])
    for r in kb.raises:
        yield from _chance(f"raises {r.parent} {r.child}: p", [r.p])


def _references(kb: Knowledge) -> Iterator[str]:
    acts = {b for r in kb.rules.values() for b in r.before}
    for o in kb.observations.values():
        yield from (
            f"observation {o.id}: requires {n}, which is neither an act nor a test"
            for n in o.requires
            if n not in acts and n not in kb.observations
        )
        yield from (f"observation {o.id}: no hazard {h}" for h in o.hazards if h not in kb.hazards)
        if o.side_of and o.side_of not in kb.observations:
            yield f"observation {o.id}: side of {o.side_of}, which is no test"
    for r in kb.rules.values():
        yield from (f"rule {r.id}: no test {n}" for n in r.needs if n not in kb.observations)
    for way in kb.ways.values():
        yield from (f"way {way.id}: no fault {f}" for f in way.mends if f not in kb.faults)
    for f in kb.faults.values():
        yield from (f"fault {f.id}: no hazard {h}" for h in f.cautions if h not in kb.hazards)
    words: list[Wording | PostCode] = [*kb.wordings.values(), *kb.post_codes.values()]
    for w in words:
        if w.observation.startswith("repair:"):
            if w.observation.removeprefix("repair:") not in kb.faults:
                yield f"words {w.id}: {w.observation} names no fault"
            continue
        if w.observation == "ask":
            continue
        o2 = kb.observations.get(w.observation)
        if o2 is None or w.outcome not in o2.outcomes:
            yield f"words {w.id}: {w.observation} has no outcome {w.outcome}"
    for rule in kb.reading_rules.values():
        for band in rule.bands:
            for name, outcome in band.says.items():
                o3 = kb.observations.get(name)
                if o3 is None or outcome not in o3.outcomes:
                    yield f"reading {rule.id}: {name} has no outcome {outcome}"
    rows = [*kb.faults.values(), *kb.observations.values(), *kb.hazards.values(), *kb.rules.values()]
    others = [*kb.listing.values(), *kb.groups.values(), *kb.saves.values(), *kb.accepts.values()]
    last = [
        *kb.wordings.values(),
        *kb.same_words.values(),
        *kb.tools.values(),
        *kb.post_codes.values(),
        *kb.reading_rules.values(),
    ]
    advice = [*kb.substitutes.values(), *kb.ways.values()]
    for row in (*rows, *others, *last, *advice):
        if row.source not in kb.sources:
            yield f"{row.id}: source {row.source} is not in the list of sources"
