"""What was spoken of just before, and a sentence that is to be judged in its light."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Num, Want
from leadoff.claims.values import Oddity, Trial

CLOCKS = frozenset({"bus_mhz", "ratio", "core_mhz", "clock"})


@dataclass(frozen=True)
class Act:
    """A change that was spoken of: to ``target``, from ``other`` where that was said, while ``base`` held.
    ``order``: as they were named."""

    target: Want
    other: Want | None
    base: tuple[Want, ...]
    order: tuple[Want, ...] = ()


@dataclass
class Scene:
    """The last boards (the subject first), workload, state, setting, rig, runs, symptom; ``stranger`` is a board
    just spoken of that the book does not have, ``topic`` the kind of test: soak, copy, start or forecast,
    ``asked`` the last question in plain form, ``owned`` whose each board is, ``pair`` the last two runs."""

    boards: tuple[str, ...] = ()
    workload: str | None = None
    wants: tuple[Want, ...] = ()
    effect: Want | None = None
    effects: tuple[Want, ...] = ()
    act: Act | None = None
    order: tuple[str, ...] = ()
    level: tuple[str, ...] = ()
    group: tuple[str, ...] = ()
    wants_of: Mapping[str, tuple[Want, ...]] = field(default_factory=dict)
    rigs: tuple[str, ...] = ()
    rig_swap: tuple[str, ...] = ()
    runs: tuple[str, ...] = ()
    oddity: Oddity | None = None
    forecast: bool = False
    figures: tuple[Num, ...] = ()
    spoken: bool = False
    stranger: str = ""
    topic: str = ""
    seals: tuple[str, ...] = ()
    asked: str = ""
    owned: Mapping[str, str] = field(default_factory=dict)
    pair: tuple[str, ...] = ()


@dataclass
class Ask:
    """A sentence to be judged: mentions in place, boards resolved, bare numbers as clocks or scores."""

    said: Said
    evidence: Evidence
    scene: Scene
    boards: list[str] = field(default_factory=list)
    wants: list[str] = field(default_factory=list)
    own_wants: bool = True
    workloads: list[str] = field(default_factory=list)
    rigs: list[str] = field(default_factory=list)
    named_boards: bool = True
    by_name: bool = True
    all_boards: bool = False
    same_boards: bool = False
    unclear: str = ""
    stranger: str = ""

    @property
    def low(self) -> str:
        return self.said.low

    @property
    def scope(self) -> list[str]:
        """Boards that are meant; every board where none was named."""
        return self.boards or list(self.evidence.ledger.boards)

    @property
    def workloads_named(self) -> bool:
        return bool(self.said.signs("w"))

    def want_list(self) -> list[Want]:
        own = [self.said.want(s) for s in self.wants]
        if own:
            return [*own, *self.base(own)]
        if (
            len(self.boards) == 1
            and (self.boards[0],) != self.scene.boards[:1]
            and len(self.scene.wants_of) > 1
        ):
            return list(self.scene.wants_of.get(self.boards[0], ()) if not self.own_wants else ())
        return list(self.scene.wants if not self.own_wants else ())

    def base(self, wants: Sequence[Want]) -> list[Want]:
        """What was said before of the state and still holds beside these."""
        if not self.same_boards or self.all_boards:
            return []
        named = family_names(n for w in wants for n in w.names)
        return [w for w in self.scene.wants if not family_names(w.names) & named]

    def has(self, pattern: str) -> bool:
        return self.said.has(pattern)

    def trials(self) -> list[Trial]:
        """Runs and protocols that were named, else every one of the boards meant in states as said."""
        named = [t for r in self.said.runs if (t := self.evidence.by_number.get(r)) is not None]
        return named or self.evidence.trials(self.scope, self.want_list())

    def figures(self) -> list[str]:
        """Signs of numbers that are scores."""
        return [n for n in self.said.signs("n") if self.said.num(n).kind == "value"]


def family_names(names: Iterable[str]) -> frozenset[str]:
    """Settings that speak of one thing: the clocks, the wait states."""
    out = set(names)
    if out & CLOCKS:
        out |= CLOCKS
    if "waits" in out:
        out |= {"dram_read_ws", "dram_write_ws"}
    return frozenset(out)
