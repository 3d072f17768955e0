"""Names that the book gives its things: boards, kinds of boards, workloads, rigs."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import TypeVar

import msgspec

from leadoff.claims.rows import table
from leadoff.claims.spoken.plain import plain
from leadoff.claims.values import Ledger

_NOUN = r"(?:board|machine|box|system|computer|rig|type|kind|model|one|1)"
_TAIL = r"(?: (?:test|demo|bench|benchmark|workload|loop))?"
_BETWEEN = "and|through|in|on|of|by|with|for|to|from|no|over|at|into"
T = TypeVar("T")
_STEM = re.compile(r"(?:e?s|ing|ed)$")


class Names(msgspec.Struct, frozen=True, kw_only=True):
    """Patterns in the order in which they are tried. A kind that fits one board only names that board."""

    boards: tuple[tuple[str, str], ...]
    groups: tuple[tuple[str, tuple[str, ...]], ...]
    workloads: tuple[tuple[str, str], ...]
    rigs: tuple[tuple[str, str], ...]


def names_of(ledger: Ledger) -> Names:
    """Every way in which this book's things may be called, the longer first."""
    boards: dict[str, str] = {}
    for board in ledger.boards:
        for form in _id_forms(board, ledger.boards):
            boards[form] = board
    groups: dict[str, tuple[str, ...]] = {}
    for form, members, single in _kinds(ledger.boards):
        if len(members) == 1:
            boards.setdefault(form, members[0])
        elif not single:
            groups.setdefault(form, members)
    workloads: dict[str, str] = {}
    for name in ledger.workloads:
        for form in _workload_forms(name, ledger.workloads):
            workloads.setdefault(form, name)
    for form, name in _told_forms(ledger):
        workloads.setdefault(form, name)
    rigs: dict[str, str] = {}
    for rig in {t.rig for t in ledger.trials} - {""}:
        said = _phrase(rig.lower())
        rigs[said if "card" in rig.lower() else rf"{said}(?: display| video| graphics)? card"] = rig
    return Names(
        boards=_longest(boards),
        groups=_longest(groups),
        workloads=_longest(workloads),
        rigs=_longest(rigs),
    )


def _longest(forms: Mapping[str, T]) -> tuple[tuple[str, T], ...]:
    return tuple(
        sorted(forms.items(), key=lambda x: (-x[0].count("[ -]") - x[0].count(" (?:the )?"), -len(x[0])))
    )


def _phrase(words: str) -> str:
    """As a sentence in plain form would spell it."""
    return r"[ -]".join(re.escape(w) for w in re.split(r"[\s_-]+", plain(words).low) if w)


def _id_forms(board: str, boards: Mapping[str, str]) -> list[str]:
    """The id, and its first word where no other board begins alike and it is no word of the trade."""
    forms = [_phrase(board)]
    if (m := re.fullmatch(r"([a-z]{2,})(\d+[a-z]?)", board.lower())) and m[1] not in harmless():
        forms.append(rf"{m[1]}[ -]?{m[2]}")  # ``kx7`` is spoken of as the KX-7
    head = re.split(r"[\s_-]", board.lower())[0]
    alone = sum(re.split(r"[\s_-]", b.lower())[0] == head for b in boards) == 1
    if head != board.lower() and alone and head.isalpha():
        forms.append(re.escape(head) + (rf" {_NOUN}" if head in harmless() else rf"(?: {_NOUN})?"))
    digits = re.findall(r"\d+", board)
    for number in digits:
        single = sum(number in b for b in boards) == 1
        if single and len(number) > 2 and not re.fullmatch(r"[2-6]86", number):
            forms.append(rf"(?<=\bthe ){number}(?: {_NOUN})?")
    return forms


def owned(low: str, boards: Mapping[str, str]) -> str:
    """``birchs corridor`` with the apostrophe that was left out: a board's name and an s that makes no other name."""
    heads = {re.split(r"[\s_-]", b.lower())[0] for b in boards}
    plain_heads = [h for h in heads if h.isalpha() and len(h) > 2 and f"{h}s" not in heads | harmless()]
    if not plain_heads:
        return low
    return re.sub(rf"(?<![\w{{-])({'|'.join(map(re.escape, sorted(plain_heads)))})s(?![\w}}-])", r"\1's", low)


def _kinds(boards: Mapping[str, str]) -> list[tuple[str, tuple[str, ...], bool]]:
    """Kinds of boards by their classes: (pattern, members, whether the pattern speaks of a single one)."""
    out: list[tuple[str, tuple[str, ...], bool]] = []
    parts = {b: _parts(c) for b, c in boards.items()}
    for holder in ("socket", "slot"):
        held = tuple(b for b, ps in parts.items() if any(p.startswith(f"{holder}-") for p in ps))
        if held:
            out.append((rf"{holder} {_NOUN}", held, False))
    for kind in ("sx", "dx"):
        held = tuple(b for b, c in boards.items() if re.search(rf"\d86{kind}\b", c.lower()))
        if held:
            out.append((rf"(?:(?<=\bthe )|[2-6]86[ -]?){kind}(?: {_NOUN})?(?:)", held, False))
    for part in sorted({p for ps in parts.values() for p in ps}):
        members = tuple(b for b, ps in parts.items() if part in ps)
        said = re.escape(part)
        if part[0].isdigit() or "-" in part:
            out.append((rf"{said}(?:dx|sx)?(?: {_NOUN})?", members, False))
            out.append((rf"{said}(?:'?s| {_NOUN}s)", members, False))
        else:
            out.append((rf"{said} {_NOUN}", members, False))
        for other in sorted({q for b in members for q in parts[b]} - {part}):
            both = tuple(b for b in members if other in parts[b])
            out.append((rf"{said} {re.escape(other)}(?: {_NOUN})?", both, False))
    return out


def _parts(board_class: str) -> tuple[str, ...]:
    """``486-vlb``: 486 and vlb; ``socket7``: socket-7; ``386dx``: 386."""
    found = []
    for word in re.split(r"[\s_-]", board_class.lower()):
        if m := re.fullmatch(r"(socket|slot)(\d)", word):
            found.append(f"{m[1]}-{m[2]}")
        elif m := re.fullmatch(r"(\d86)(vlb|pci|isa)", word):
            found += [m[1], m[2]]
        elif m := re.fullmatch(r"(\d86)[a-z]*", word):
            found.append(m[1])
        elif word:
            found.append(word)
    return tuple(found)


def _workload_forms(name: str, every: Mapping[str, object]) -> list[str]:
    """The name, its words run together, its verb, and a word of it that no other workload has."""
    words = [w for w in re.split(r"[\s_-]+", name.lower()) if w]
    tail = _TAIL
    forms = [rf"{_phrase(name)}{tail}", re.escape("".join(words)) + tail]
    if not name.isalpha() and " " not in name:
        return forms
    others = {_STEM.sub("", w) for n in every if n != name for w in re.split(r"[\s_-]+", n.lower())}
    for word in words:
        if len(word) < 4 or _STEM.sub("", word) in others:
            continue
        stem = re.escape(word)
        if len(words) == 1:
            ending = r"(?:s|ing|ed|er)?" if not word.endswith("e") else r"(?:s|d|r)?"
            forms.append(rf"{stem}{ending}{tail}")
            forms.append(rf"{stem}{stem[-1]}(?:ing|ed){tail}")
        elif word == words[0] and word not in harmless():
            forms.append(rf"{stem} (?:test|demo|bench|benchmark|run|thing|figure)s?")
        elif word == words[-1] and word not in ("test", "loop"):
            forms.append(
                rf"{stem}(?!-compare|ies|-clean)(?:s|ing)?(?:[- ](?:rate|speed|test|score|figure)s?)?"
            )
            if word.endswith("y"):
                done = (
                    r"(?= (?:at (?:\w+ ){0,3}(?:twice|double|half|[1-9a]\S* times|the (?:same )?(?:speed|rate|"
                    r"pace))|(?:\w+ )?(?:at )?\d+(?:\.\d+)?\b(?! ?(?:of|out|files|copies|times|in|/)\b)|"
                    r"(?:\w+ )?(?:faster|quicker|slower|better|worse|as fast|as slow|just as)\b|at the same))"
                )
                forms.append(rf"{stem[:-1]}ie[sd]{done}")
    if len(words) > 1:
        forms.append(rf"{re.escape(words[0])}[ -]?{re.escape(words[-1])}(?:s|ing)?{tail}")
        last = re.escape(words[-1])
        if last.endswith("e"):
            forms.append(rf"{re.escape(words[0])}[ -]?{last[:-1]}(?:er|ers|ed|ing){tail}")
            forms.append(rf"{last[:-1]}ing (?:the |of |its )*{re.escape(words[0])}s?")
            forms.append(rf"(?<=\bthe ){last[:-1]}(?:er|ing){tail}")
        verbs = rf"(?:{last}(?:ing|s)?|{last[:-1]}ies)" if last.endswith("y") else rf"{last}(?:ing|s)?"
        forms.append(rf"{verbs} (?:the )?{re.escape(words[0])}")
        forms.append(rf"{re.escape(words[0][:3])}[ -]?{re.escape(words[-1])}(?:s|ing)?{tail}")
    return forms


def _told_forms(ledger: Ledger) -> list[tuple[str, str]]:
    """What a workload's own text calls it, where no other workload's name or text says the same: its nouns, and each
    with the words before it (``flight through three rooms``: flight, rooms, three rooms)."""
    stop = frozenset(str(table("spoken")["workload_text"]["stop"]).split())
    found: list[tuple[str, str, str]] = []
    for name, workload in ledger.workloads.items():
        for piece in re.split(rf",|(?<![\w-])(?:{_BETWEEN})(?![\w-])", workload.text.lower()):
            words = re.findall(r"[a-z\d]+", plain(piece).low)
            if words and words[-1].isalpha() and len(words[-1]) > 3:
                found.append((words[-1], "[ -]".join(map(re.escape, words[:-1])), name))
    taken = {_STEM.sub("", w) for n in ledger.workloads for w in re.split(r"[\s_-]+", n.lower())}
    out: list[tuple[str, str]] = []
    for noun, before, name in found:
        others = {n for other, _, n in found if other == noun}
        if len(others) > 1 or _STEM.sub("", noun) in taken:
            continue
        if before:
            out.append((f"{before}[ -]{re.escape(noun)}{_TAIL}", name))
        if noun not in stop and noun not in harmless():
            out.append((f"{re.escape(noun)}{_TAIL}", name))
    return out


@lru_cache(maxsize=1)
def harmless() -> frozenset[str]:
    """Words that carry no claim of their own."""
    words = table("spoken")["harmless"]
    return frozenset(w for row in words.values() for w in str(row).split())


@lru_cache(maxsize=1)
def remarks() -> frozenset[str]:
    """Words of talk beside a claim, which may be names of things that the book lacks."""
    return frozenset(str(table("spoken")["remarks"]["words"]).split())


@lru_cache(maxsize=1)
def everyday() -> frozenset[str]:
    """Words of comparisons and asides, which turn no claim but may be a way of saying one."""
    return frozenset(str(table("spoken")["remarks"]["everyday"]).split())
