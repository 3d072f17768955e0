"""A plain sentence as mentions and a skeleton: ``{b0} beats {b1} in {w0} by {n0}``."""

from __future__ import annotations

import re
from collections.abc import Callable
from copy import copy
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from leadoff.claims.spoken.asides import without_asides
from leadoff.claims.spoken.cues import is_cue
from leadoff.claims.spoken.dates import dates_in
from leadoff.claims.spoken.entries import entries_in
from leadoff.claims.spoken.figures import nums_in, parts_of
from leadoff.claims.spoken.names import Names, harmless, owned
from leadoff.claims.spoken.ordinary import acting, hedging, is_ordinary, persons
from leadoff.claims.spoken.plain import Plain
from leadoff.claims.spoken.settings import wants_in
from leadoff.claims.spoken.values import Num, Want
from leadoff.claims.values import Ledger

_RUNS = re.compile(
    r"\b(?:runs?|tests?|number) #?(\d+[a-z]?)\b(?!\.\d| times\b)(?: ?(?:and|or|to|(?<=\bruns \d\d),|(?<=\bruns \d),) "
    r"(?:run )?#?(\d+[a-z]?)\b(?! ?(?:seconds?|secs?|frames?|fps|lines?|mb|%)))?|"
    r"#(\d+[a-z]?)\b"
)
_NAME = re.compile(
    r"(?<![.!?] )(?<!^)\b([A-Z][a-z]{2,})\b|^\W*The ([A-Z][a-z]{2,})\b|^([A-Z][a-z]{2,})(?='s\b)"
)
_ITS = re.compile(
    r"(?:\bits|\{b\d+\}(?:'s)?) (?:(?:own|old|big|little|older|younger|elder|good|dear|best) )*([a-z-]+)"
)
"""``its brother``, ``its old mate``: another board, and nobody says which."""
_COUNTED = re.compile(r"\{n\d+\} (?:[a-z-]+ )?([a-z-]+s)(?![\w-])")
"""``thirteen bananas``: what is counted is no talk beside the claim."""


@dataclass
class Said:
    """One sentence. Mentions are numbered by kind in the order of the sentence; ``sign`` names are ``b0`` ..."""

    plain: Plain
    low: str
    boards: list[str] = field(default_factory=list)
    groups: list[tuple[str, ...]] = field(default_factory=list)
    workloads: list[str] = field(default_factory=list)
    rigs: list[str] = field(default_factory=list)
    runs: list[str] = field(default_factory=list)
    seals: list[str] = field(default_factory=list)
    oddities: list[int] = field(default_factory=list)
    gone: list[str] = field(default_factory=list)
    dates: list[str] = field(default_factory=list)
    wants: list[Want] = field(default_factory=list)
    nums: list[Num] = field(default_factory=list)
    strangers: list[str] = field(default_factory=list)

    def has(self, pattern: str) -> bool:
        """Whether the skeleton holds this pattern."""
        return re.search(pattern, self.low) is not None

    def signs(self, kinds: str) -> list[str]:
        """Signs of these kinds in the order of the sentence."""
        return re.findall(rf"\{{([{kinds}]\d+)\}}", self.low)

    def at(self, sign: str) -> int:
        """Place of a sign in the skeleton, -1 when it is not there."""
        return self.low.find(f"{{{sign}}}")

    def num(self, sign: str) -> Num:
        return self.nums[int(sign[1:])]

    def want(self, sign: str) -> Want:
        return self.wants[int(sign[1:])]

    def hedges(self) -> list[str]:
        """Words that turn a claim from wherever they stand, and that nobody here reads."""
        return [w for w in _words(self.low) if w in hedging()]

    def leftovers(self, known: frozenset[str]) -> list[str]:
        """Words of the skeleton that nobody here knows."""
        loose = [w for w in _words(without_asides(self.low)) if not _is_passed(w, known)] + self.hedges()
        things = [*_COUNTED.findall(self.low), *acting().findall(self.low)]
        loose += [w for w in things if is_ordinary(w) and not forms_of(w) & known]
        return list(dict.fromkeys(loose + [w for w in _ITS.findall(self.low) if w in persons()]))


def _words(low: str) -> list[str]:
    found = re.findall(r"[a-z][a-z'-]*", re.sub(r"\{[a-z]\d+\}", " ", low))
    return [w for f in found if (w := f.removesuffix("'s").strip("'-"))]


def _is_passed(word: str, known: frozenset[str]) -> bool:
    return is_known(word, known) or any(is_cue(f) for f in forms_of(word))


def forms_of(word: str) -> set[str]:
    """A word and what it is a form of: ``lifts``, ``lifting`` of ``lift``; ``nearer`` is left as it is."""
    out = {word}
    for end in ("s", "es", "ed", "d", "ing", "ly"):
        left = word.removesuffix(end)
        if left != word and len(left) >= 3:
            out |= {left, f"{left}e"}
            if end in ("ed", "ing") and len(left) > 3 and left[-1] == left[-2]:
                out.add(left[:-1])
    return out


def is_known(word: str, known: frozenset[str]) -> bool:
    """Whether a word is a form of one of these, or one of ordinary talk, which turns nothing."""
    return is_ordinary(word) or bool(forms_of(word) & known)


class _Same:
    """A ledger that is looked up as this one and not by its value."""

    __slots__ = ("ledger",)

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger

    def __hash__(self) -> int:
        return id(self.ledger)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.ledger is self.ledger


def read(plain: Plain, ledger: Ledger, names: Names) -> Said:
    """Mentions of a sentence, longest names first; what is not in the book stays as words. The result is the
    caller's to change."""
    said = copy(_read(plain, _Same(ledger), names))
    for name, value in vars(said).items():
        if isinstance(value, list):
            setattr(said, name, value.copy())
    return said


@lru_cache(maxsize=256)
def _read(plain: Plain, same: _Same, names: Names) -> Said:
    ledger = same.ledger
    said = Said(plain, f" {plain.low} ")
    low = said.low

    def put(kind: str, items: list[str]) -> Callable[[str], str]:
        def made(what: str) -> str:
            items.append(what)
            return f"{{{kind}{len(items) - 1}}}"

        return made

    run = put("r", said.runs)

    def entry(kind: str, name: str) -> str:
        if kind == "o":
            said.oddities.append(int(name))
            return f"{{o{len(said.oddities) - 1}}}"
        if kind == "f":
            said.seals.append(name)
            return f"{{f{len(said.seals) - 1}}}"
        return run(name)

    low = owned(low, ledger.boards)
    low = entries_in(low, ledger, entry, said.gone.append)
    low = dates_in(low, put("d", said.dates))
    low = _RUNS.sub(lambda m: " ".join(run(g) for g in m.groups() if g), low)
    for kind, forms, items in (
        ("g", names.rigs, said.rigs),
        ("b", names.boards, said.boards),
    ):
        for form, name in forms:
            mark = put(kind, items)
            low = re.sub(rf"(?<![\w{{-]){form}(?![\w}}-])", lambda m, mark=mark, name=name: mark(name), low)  # type: ignore[misc]
        if kind == "g":
            low = _other_cards(low, names, put("g", said.rigs))
    for form, members in names.groups:

        def group(m: re.Match[str], members: tuple[str, ...] = members) -> str:
            said.groups.append(members)
            return f"{{k{len(said.groups) - 1}}}"

        low = re.sub(rf"(?<![\w{{-]){form}(?![\w}}-])", group, low)
    for form, name in names.workloads:
        mark = put("w", said.workloads)
        low = re.sub(rf"(?<![\w{{-]){form}(?![\w}}-])", lambda m, mark=mark, name=name: mark(name), low)  # type: ignore[misc]
    low = _only_there(said, low, ledger)
    low = _classes(said, low)
    low = _bare_rigs(low, names, put("g", said.rigs))
    low = _strangers(said, plain.text, low)

    def want(w: Want) -> str:
        said.wants.append(w)
        return f"{{s{len(said.wants) - 1}}}"

    def num(n: Num) -> str:
        said.nums.append(n)
        return f"{{n{len(said.nums) - 1}}}"

    low = wants_in(low, want)
    low = nums_in(low, num)
    low = parts_of(" ".join(low.split()), said.nums)
    low = re.sub(r"\{w(\d+)\} \{w(\d+)\}", lambda m: _same_workload(said, m), low)
    low = _TAKES.sub(r"beats in \1 ", low)
    low = _THESE.sub(lambda m: "" if said.nums[int(m[1])].value == 2 else m[0], low)
    said.low = _in_order(said, f" {' '.join(low.split())} ")
    return said


def _only_there(said: Said, low: str, ledger: Ledger) -> str:
    """``the 486 in the sort`` of two 486s, where only one of them ever ran it: that one."""
    ran = {(t.workload, t.board) for t in ledger.trials if t.readings}

    def one(m: re.Match[str]) -> str:
        members = said.groups[int(m[1])]
        able = [b for b in members if all((w, b) in ran for w in said.workloads)]
        if len(able) != 1:
            return m[0]
        said.boards.append(able[0])
        return f"{{b{len(said.boards) - 1}}}"

    return re.sub(r"(?<=\bthe )\{k(\d+)\}(?! (?:boards|machines|ones))", one, low) if said.workloads else low


def _in_order(said: Said, low: str) -> str:
    """Signs numbered as they stand; a mention whose sign is gone comes last."""
    kinds: dict[str, list[Any]] = {
        **{"b": said.boards, "k": said.groups, "w": said.workloads, "g": said.rigs, "r": said.runs},
        **{"f": said.seals, "o": said.oddities, "d": said.dates, "s": said.wants, "n": said.nums},
        "u": said.strangers,
    }
    place: dict[str, dict[int, int]] = {}
    for kind, items in kinds.items():
        seen = dict.fromkeys(int(i) for i in re.findall(rf"\{{{kind}(\d+)\}}", low))
        order = [*seen, *(i for i in range(len(items)) if i not in seen)]
        items[:] = [items[i] for i in order]
        place[kind] = {old: new for new, old in enumerate(order)}
    return re.sub(r"\{([a-z])(\d+)\}", lambda m: f"{{{m[1]}{place[m[1]][int(m[2])]}}}", low)


_TAKES = re.compile(
    r"\b(?:takes?|took|wins?|won|snatch(?:es|ed)?|steals?|stole|grabs?|grabbed) (?:the )?(\{w\d+\}) (?:from|off) "
    r"(?=(?:the |my )?\{[bk])"
)
"""``takes the sort from the Cedar``: beats it there."""
_THESE = re.compile(
    r"\{n(\d+)\} (?:of the |of my )?(?:boards|machines) ,? ?(?=(?:the )?\{b\d+\} ,? ?and (?:the )?\{b\d+\})"
)
"""``two boards, the Alder and the Birch``."""


def _same_workload(said: Said, m: re.Match[str]) -> str:
    same = said.workloads[int(m[1])] == said.workloads[int(m[2])]
    return f"{{w{m[1]}}}" if same else m[0]


def _other_cards(low: str, names: Names, mark: Callable[[str], str]) -> str:
    """``17.4 with the ISA card, 24.9 with the PCI one``: after a card one is a card, if no board comes between."""
    first = re.search(r"\{g\d+\}", low)
    if first is None:
        return low
    head, rest = low[: first.end()], low[first.end() :]
    for _, name in names.rigs:
        short = re.escape(name.lower().split()[0])
        m = re.search(rf"(?<=\bthe ){short} (?:one|1)(?![\w}}-])", rest)
        if m is not None and not _BOARDS.search(rest[: m.start()]):
            rest = f"{rest[: m.start()]}{mark(name)}{rest[m.end() :]}"
    return head + rest


def _bare_rigs(low: str, names: Names, mark: Callable[[str], str]) -> str:
    """``VLB beats PCI``: a rig by its short name alone, where no board goes by it."""
    for _, name in names.rigs:
        if re.fullmatch(r"[a-z0-9]{2,6}", name.lower()):
            low = re.sub(rf"(?<![\w{{-]){re.escape(name.lower())}(?![\w}}-])", lambda m, n=name: mark(n), low)  # type: ignore[misc]
    return low


_BOARDS = re.compile(r"\b(?:boards?|machines?|\d86|socket|slot)\b")
_CLASS = re.compile(
    r"^ ((?:socket|slot)-\d+)\b|"
    r"(?<=\bmy )(\d86|(?:socket|slot)-\d+)\b|\b(\d86|(?:socket|slot)-\d+)(?= (?:board|machine|box|system|one)\b)|"
    r"(?<=\bthe )(\d86|(?:socket|slot)-\d+)\b(?! (?:card|cpu|chip|socket|bus|connector))"
)


def _classes(said: Said, low: str) -> str:
    """A class of boards that this book has none of."""

    def made(m: re.Match[str]) -> str:
        said.strangers.append(next(g for g in m.groups() if g))
        return f"{{u{len(said.strangers) - 1}}}"

    return _CLASS.sub(made, low)


_ADDRESSED = re.compile(
    r"\b(?:dear|hi|hello|hey|thanks|thank you|sorry|cheers|mr\.?|mrs\.?|ms\.?|uncle|aunt|cousin|"
    r"friend|neighbour|yes|no|well|listen|look),? $",
    re.I,
)
"""``Dear Karl``: a person."""


def _strangers(said: Said, text: str, low: str) -> str:
    """Names with a capital letter that the book does not know."""
    for m in _NAME.finditer(text):
        name = next(g for g in m.groups() if g)
        word = name.lower()
        if (
            word in harmless()
            or _ADDRESSED.search(text[: m.start()])
            or not re.search(rf"(?<![\w{{]){word}(?![\w}}-])", low)
        ):
            continue
        said.strangers.append(name)
        low = re.sub(rf"(?<![\w{{]){word}(?![\w}}-])", f"{{u{len(said.strangers) - 1}}}", low, count=1)
    return low
