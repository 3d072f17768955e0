"""The processor: what it says of itself against what is declared, and what the firmware calls it."""

from __future__ import annotations

from collections.abc import Iterator

from leadoff.evidence.facts import Fact, Rank
from leadoff.evidence.reconcile.values import Case, Draft, claim

CORE = "core:"


def part_drafts(case: Case) -> Iterator[Draft]:
    """Another part than declared, the write policy sampled at reset, a firmware that does not know the part."""
    identity = case.top("cpu", Rank.IDENTITY)
    declared = _declared(case)
    seen = _cores(case, identity) if identity is not None else frozenset[str]()
    other = bool(identity is not None and declared and seen and not declared & seen)
    policy_only = other and {_plain(c) for c in declared} & {_plain(c) for c in seen}
    if other and not policy_only and identity is not None:
        yield _other_part(case, identity, declared, seen)
    pin = case.by_key("cpu.write_policy_pin")
    wants_back = case.value("l1_policy") == "wb"
    if pin is not None and pin.value == "wt" and wants_back and not (other and not policy_only):
        yield _policy_pin(case, pin)
    name = case.top("cpu", Rank.FIRMWARE, Rank.SETUP)
    true = seen or declared
    if name is not None and true:
        named = _cores(case, name)
        if named and not ({_plain(c) for c in named} & {_plain(c) for c in true}):
            yield _firmware_name(case, name, identity)


def _declared(case: Case) -> frozenset[str]:
    part = case.setup.processor
    if part is not None and part.core:
        return frozenset({part.core})
    name = case.value("cpu")
    return case.cores_of(name) if name else frozenset()


def _cores(case: Case, fact: Fact) -> frozenset[str]:
    if fact.canonical.startswith(CORE):
        return frozenset(fact.canonical.removeprefix(CORE).split(","))
    return case.cores_of(fact.canonical)


def _plain(core: str) -> str:
    """A core without what only its cache mode tells apart."""
    return core.removesuffix("-wb").removesuffix("-second")


def _other_part(case: Case, identity: Fact, declared: frozenset[str], seen: frozenset[str]) -> Draft:
    named = case.top("cpu", Rank.FIRMWARE, Rank.SETUP)
    agrees = None
    if named is not None and (cores := _cores(case, named)):
        agrees = bool(cores & seen)
    text = f"processor: {case.value('cpu')} declared, it calls itself {', '.join(sorted(seen))}"
    return Draft(
        code="other_part",
        setting="cpu",
        declared=case.value("cpu") or "",
        seen=", ".join(sorted(seen)),
        rank=identity.rank,
        text=text,
        claims=(case.declared("cpu"), claim(identity)),
        clues={"firmware_names_seen": agrees},
        words={"seen": ", ".join(sorted(seen)), "declared": ", ".join(sorted(declared))},
        disputes=("cpu",),
    )


def _policy_pin(case: Case, pin: Fact) -> Draft:
    said = case.top("l1_policy", Rank.SETUP)
    return Draft(
        code="policy_pin",
        setting="l1_policy",
        declared="wb",
        seen="wt",
        rank=pin.rank,
        text="first-level write policy: write-back declared, the part started in write-through",
        claims=(case.declared("l1_policy"), claim(pin)),
        clues={"setup_says_back": None if said is None else said.canonical == "wb"},
        disputes=("l1_policy",),
    )


def _firmware_name(case: Case, name: Fact, identity: Fact | None) -> Draft:
    level = case.by_key("sweep.l1_kb")
    seen = None if level is None else float(level.value) > 0
    return Draft(
        code="firmware_name",
        setting="cpu",
        declared=case.value("cpu") or "",
        seen=name.canonical,
        rank=name.rank,
        text=f'processor: the firmware calls it "{name.canonical}", '
        + ("the part itself says otherwise" if identity is not None else f"declared is {case.value('cpu')}"),
        claims=(case.declared("cpu"), claim(name), *((claim(identity),) if identity is not None else ())),
        clues={
            "part_says_declared": None if identity is None else True,
            "first_level_seen": seen,
        },
        words={"name": name.canonical},
        disputes=() if identity is not None else ("cpu",),
        cosmetic=identity is not None and seen is not False,
    )
