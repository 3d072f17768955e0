"""Claims, conflicts and hypotheses, as values."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

import msgspec

from leadoff.evidence.facts import Fact, Rank
from leadoff.forecast.facts import Setup


class Claim(msgspec.Struct, frozen=True, kw_only=True):
    """What one source says of one setting. ``fact`` is absent for what was declared."""

    setting: str
    value: str
    rank: Rank
    why: str
    fact: Fact | None = None


class Hypothesis(msgspec.Struct, frozen=True, kw_only=True):
    """One way in which all that was seen came about. ``p`` among those listed; ``check`` would decide."""

    id: str
    name: str
    p: float
    check: str
    minutes: float


class Conflict(msgspec.Struct, frozen=True, kw_only=True):
    """A setting of which sources disagree.

    ``declared`` and ``seen`` are canonical values or words; ``rank`` is that of what was seen. ``disputes``:
    settings of the state that are no longer sure. ``cosmetic``: the state stands, only a text is wrong.
    """

    code: str
    setting: str
    declared: str
    seen: str
    rank: Rank
    text: str
    claims: tuple[Claim, ...]
    hypotheses: tuple[Hypothesis, ...]
    disputes: tuple[str, ...] = ()
    cosmetic: bool = False


class Draft(msgspec.Struct, frozen=True, kw_only=True):
    """A conflict before it is weighed: ``clues`` are what else was seen (``None`` where nothing was), ``words``
    fill the gaps in the rows' texts."""

    code: str
    setting: str
    declared: str
    seen: str
    rank: Rank
    text: str
    claims: tuple[Claim, ...] = ()
    clues: Mapping[str, bool | None] = {}
    words: Mapping[str, str] = {}
    disputes: tuple[str, ...] = ()
    cosmetic: bool = False


CoresOf = Callable[[str], frozenset[str]]
"""Core designs that a processor's name may mean."""


class Case(msgspec.Struct, frozen=True, kw_only=True):
    """One board as set with all that was seen of it."""

    setup: Setup
    facts: tuple[Fact, ...]
    cores_of: CoresOf

    def by_setting(self, name: str, *ranks: Rank) -> tuple[Fact, ...]:
        """Facts that bear on a setting, the highest rank first, of one rank the latest first."""
        found = [f for f in self.facts if f.setting == name and (not ranks or f.rank in ranks)]
        return tuple(sorted(reversed(found), key=lambda f: -f.rank.height))

    def top(self, name: str, *ranks: Rank) -> Fact | None:
        """The fact of the highest rank that bears on a setting, of one rank the latest."""
        return next(iter(self.by_setting(name, *ranks)), None)

    def otherwise(self, code: str, setting: str, text: str, *ranks: Rank) -> Draft | None:
        """A conflict where such a fact says another value than the state; ``text`` has {declared} and {seen}."""
        found, value = self.top(setting, *ranks), self.value(setting)
        if found is None or value is None or found.canonical == value:
            return None
        return Draft(
            code=code,
            setting=setting,
            declared=value,
            seen=found.canonical,
            rank=found.rank,
            text=text.format(declared=value, seen=found.canonical),
            claims=(self.declared(setting), claim(found)),
            words={"seen": found.canonical},
            disputes=(setting,),
        )

    def by_key(self, key: str) -> Fact | None:
        """The latest fact of a key."""
        return next((f for f in reversed(self.facts) if f.key == key), None)

    def value(self, setting: str) -> str | None:
        """What the state has for a setting."""
        return self.setup.state.value(setting)

    def clock(self, name: str) -> Fraction | None:
        """A clock of the state as declared, in MHz."""
        return self.setup.clocks.get(name)

    def declared(self, setting: str, value: str = "") -> Claim:
        """The state's own claim."""
        found = self.setup.state.get(setting)
        return Claim(
            setting=setting,
            value=value or found.value or "",
            rank=Rank.ASSUMED if found.status.value == "assumed" else Rank.DECLARED,
            why=found.why,
        )


def claim(fact: Fact) -> Claim:
    """A fact as a claim."""
    place = f"{fact.file} {fact.at}".strip()
    return Claim(
        setting=fact.setting, value=fact.canonical or str(fact.value), rank=fact.rank, why=place, fact=fact
    )
