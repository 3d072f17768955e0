"""A change that was told: which value was and which is. A sentence after it may say no more than what it did."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import msgspec

from leadoff.claims.rows import constant, table
from leadoff.claims.search.effects_mentions import Heard, Need, heard
from leadoff.claims.search.effects_pairs import Duo, fits
from leadoff.claims.search.effects_words import moves as _words
from leadoff.claims.search.talk import Talk
from leadoff.claims.spoken.changes import family
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.settings_said import put_in, taken_out
from leadoff.claims.spoken.values import Want
from leadoff.claims.standings import Cell
from leadoff.claims.values import number_of

Test = tuple[str, str, str]
_NEAR = int(constant("told_reach"))
"""So many words before a setting may say what was done to it."""
_LEVEL = re.compile(r"\b(?:against|versus|vs|or|and|beside|next to|compared (?:to|with))(?: \w+){0,2} $")
"""Two values held up beside each other: neither was first."""
_FIRST = re.compile(
    r"\b(?:instead of|rather than|in place of|in lieu of|not|was|were|where)(?: \w+){0,2} $|"
    r"\b(?:where|instead of|rather than|in place of) (?:\w+ ){0,3}(?:\{\w+\} (?:and |, |with |at |by )*)?$"
)
_FOR = re.compile(r"\b(?:exchang|swap|trad|chang|replac|substitut|bart)\w*\b")


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """Settings or the card that were changed, ``before`` and ``after`` as far as they were told, ``signs`` where only
    more or less of one was told; ``back``: sentences back. ``ordered``: which was first is told."""

    dims: frozenset[str]
    before: tuple[Test, ...] = ()
    after: tuple[Test, ...] = ()
    signs: tuple[tuple[str, float], ...] = ()
    rigs: tuple[str, str] = ("", "")
    ordered: bool = True
    back: int = 0


def change_told(said: Sequence[Heard]) -> Change | None:
    """The latest change that was told, unless another setting or another board has been spoken of since."""
    if any(len(set(one.said.dates)) > 1 for one in said[:2]):
        return None  # one state on two days
    named: set[str] = set()
    boards: set[str] = set()
    for back, one in enumerate(said):
        found = _change_in(one, back) or _toggled(one, said[back + 1 :], back)
        if found is not None:
            if back == 0 and (whole := _change_before(said, found)) is not None:
                return whole
            about = {n.name for n in one.of("board")}
            stray = named - found.dims - {"rig"} if found.dims else named
            return None if stray or (boards and about and not boards <= about) else found
        named |= {d for n in one.of("want") if not n.place for d in n.dims}
        boards |= {n.name for n in one.of("board")}
    return None


def only_the_difference(talk: Talk) -> bool:
    """Whether every figure of a sentence on a change that was told is too small for a reading of what was run: then
    it is what the change did."""
    said = heard(talk)
    figures = [n for _, n in said[0].nums if n.kind in ("value", "difference", "bare")]
    if not figures or any(n.kind == "bare" for n in figures) or change_told(said) is None:
        return False
    boards = {n.name for one in said for n in one.of("board")}
    loads = {n.name for one in said for n in one.of("workload")}
    ran = [t for t in talk.evidence.ledger.trials if t.board in boards and t.workload in loads]
    lowest = min((r.value for t in ran for r in t.readings), default=0.0)
    return all(n.value < constant("difference_most") * lowest for n in figures)


def _change_before(said: Sequence[Heard], part: Change) -> Change | None:
    """The change that was told in full just before, of which this sentence says a part."""
    if part.before or len(said) < 2:
        return None
    for back, one in enumerate(said[1:3], start=1):
        whole = _change_in(one, back)
        if whole is not None:
            both = {t[0] for t in whole.before} & {t[0] for t in whole.after}
            return whole if part.dims and part.dims <= both else None
    return None


def _change_in(h: Heard, back: int) -> Change | None:
    wants = [n for n in h.of("want") if n.want is not None and len(n.dims) == 1]
    before: list[Test] = []
    after: list[Test] = []
    signs: list[tuple[str, float]] = []
    loose: list[tuple[Test, Test]] = []
    turned = False
    for d in dict.fromkeys(d for n in wants for d in n.dims):
        mine = [n for n in wants if d in n.dims]
        valued = [n for n in mine if n.valued]
        tests = list(dict.fromkeys(_test(n) for n in valued))
        if len(tests) > 2 and d in taken_out():
            tests = [t for t in tests if t != (d, *put_in(d))]  # its name alone
        if len(tests) == 2:
            old, new, plain = _in_order(h, valued, tests)
            if plain:
                before.append(old)
                after.append(new)
                turned = turned or old == tests[1]
            else:
                loose.append((old, new))
        elif (
            len(tests) == 1
            and not any(n.role == "ref" for n in valued)
            and (gone_to := next((t for n in valued if (t := _acted(h, n, d)) is not None), None))
        ):
            after.append(gone_to)
        elif not valued and (
            sign := next((s for n in mine if (s := step(h.low, n, d)) and _moved_it(h, n)), 0.0)
        ):
            signs.append((d, sign))
    rigs = _cards(h)
    dims = frozenset({t[0] for t in (*before, *after)} | {d for d, _ in signs} | {t[0] for t, _ in loose})
    if not dims and not rigs[0]:
        return None
    ordered = bool(before or after or signs or rigs[0])
    before += [b if turned else a for a, b in loose]
    after += [a if turned else b for a, b in loose]
    if rigs[0]:
        dims = frozenset()
        before, after, signs = [], [], []
    return Change(
        dims=dims,
        before=tuple(before),
        after=tuple(after),
        signs=tuple(signs),
        rigs=rigs,
        ordered=ordered,
        back=back,
    )


_TOGGLE = re.compile(
    r"\b(?:turn|switch|flip|flick|set|put|tak|took|pull|knock|whip|leav|left|bring|brought|go|went|throw|threw)\w* "
    r"(?:it|that|this|them|the thing)(?: right| straight)?(?: back)? (?P<which>on|off|in|out|away)\b"
)


def _toggled(h: Heard, before: Sequence[Heard], back: int) -> Change | None:
    """``Now I turn it back on``: what can be taken out and was spoken of last."""
    m = _TOGGLE.search(h.low)
    if m is None or h.of("want"):
        return None
    dims = [d for one in before for n in reversed(one.of("want")) for d in n.dims if d in taken_out()]
    if not dims:
        return None
    d = dims[0]
    after = (d, *put_in(d)) if m["which"] in ("on", "in") else (d, "is", taken_out()[d])
    return Change(dims=frozenset({d}), after=(after,), back=back)


def _test(n: Need) -> Test:
    assert n.want is not None
    return n.want.tests[0]


def _in_order(h: Heard, valued: Sequence[Need], tests: Sequence[Test]) -> tuple[Test, Test, bool]:
    """The old and the new of two values, and whether their order was told."""
    named = [max((n for n in valued if _test(n) == t), key=lambda n: n.role != "") for t in tests]
    one, two = sorted(named, key=lambda n: n.at)
    tests = [_test(one), _test(two)]
    between = h.low[one.at : two.at]
    if re.search(r"\bthen\b", between) or (two.role == "new" and one.role != "new"):
        return tests[0], tests[1], True
    if (
        _FIRST.search(between)
        or re.search(r"\bfrom (?:\w+ )?$", between)
        or (one.role == "new" and two.role == "ref")
    ):
        return tests[1], tests[0], True
    if one.role == "ref" and two.role != "ref":
        return tests[0], tests[1], True
    if re.search(r" (?:for|by|with) (?:\w+ )?$", between) and _FOR.search(h.low[: one.at]):
        turned = re.search(r"\bsubstitut\w*\b", h.low[: one.at]) is not None and " for " in between
        return (tests[1], tests[0], True) if turned else (tests[0], tests[1], True)
    return tests[0], tests[1], False


def _cards(h: Heard) -> tuple[str, str]:
    """The card that was in and the one that is, where a sentence tells of both."""
    cards = h.of("rig")
    if len({n.name for n in cards}) != 2:
        return ("", "")
    one, two = cards[0], next(n for n in cards if n.name != cards[0].name)
    between = h.low[one.at : two.at]
    if two.role == "new" or one.role == "ref" or re.search(r"\bthen\b", between):
        return (one.name, two.name)
    if _FIRST.search(between):
        return (two.name, one.name)
    after = " ".join(h.low[two.at :].split()[1:4])
    if re.search(r"\bout\b", between) and re.search(r"\bin\b", after):
        return (one.name, two.name)
    if re.search(r"\bin\b", between) and re.search(r"\bout\b", after):
        return (two.name, one.name)
    return ("", "")


_ASIDE = re.compile(
    r"[^,{]{0,25} , [^,]{1,40} , ((?:is|was|were|got|has been|had been|went|came)(?: \w+){1,3})"
)
"""What is said of it after an aside: ``the cache, the one on the board, was switched off``."""


_OWED = re.compile(
    r"\b(?:down|due|owed|owing|thanks|credited|attributed) to\b(?= (?:the |its )?\{s)|\bput (?:it )?down to\b"
)


def _around(low: str, n: Need) -> str:
    """What is said of a setting: its own words, some before it in the same breath, and two after it."""
    low = _OWED.sub(lambda m: "~" * len(m[0]), low)
    left = " ".join(re.split(r" , |\{[swgn]\d+\}", low[: n.at])[-1].split()[-_NEAR:])
    after = low[n.at :].partition("}")[2]
    right = " ".join(re.split(r" , |\{[^b]| (?:i|we|and|it|he|then|you|they|to) ", after)[0].split()[:2])
    if m := _ASIDE.match(re.sub(r"\{b\d+\}", "~", after)):
        right = m[1]
    return f"{left} ~ {n.want.text if n.want is not None else ''} ~ {right}"


def _acted(h: Heard, n: Need, d: str) -> Test | None:
    """The value that was gone over to, where it is told that it was: what is named alone was put in or taken out."""
    if n.place or n.role == "ref":
        return None
    words = _around(h.low, n)
    if _words("kept").search(words):
        return None
    if d in taken_out():
        away = (d, "is", taken_out()[d])
        out, in_ = (_words(k).search(words) is not None for k in ("out", "in"))
        out = out or (n.want is not None and n.want.text == "l2 off" and _out_of(h))
        if not out and not in_ and _words("acts").search(words):
            out, in_ = (_words(k).search(words) is not None for k in ("outward", "inward"))
            out = out or _test(n) == away
        if out == in_ or (in_ and _test(n) == away):
            return None
        return away if out else (d, *put_in(d))
    if n.role == "new" or _words("acts").search(words) or _words("out").search(words):
        return _test(n)
    return None


def _out_of(h: Heard) -> bool:
    """Whether it was said of the cache that it was pulled or killed: in the skeleton it is only off."""
    return re.search(r"\b(?:kill|pull|yank|unplug|disconnect|remov)", h.said.plain.text.lower()) is not None


DESIGNATES = re.compile(r"(?:the |its |my |that )?\w+er\b")
"""``the slower bus``: a side by what it is."""


def _moved_it(h: Heard, n: Need) -> bool:
    if n.want is not None and DESIGNATES.match(n.want.text):
        return False
    words = _around(h.low, n)
    return not n.place and _words("acts").search(words) is not None and not _words("kept").search(words)


def step(low: str, n: Need, d: str) -> float:
    """More, less or neither of a setting, by the words around it."""
    return way_of(_around(low, n), d)


def way_of(words: str, d: str) -> float:
    """More, less or neither of a setting, by what is said of it."""
    clock = 1.0 if d in clocks() else -1.0
    signs = {"more": 1.0, "less": -1.0, "quick": clock, "slow": -clock}
    found = {sign for kind, sign in signs.items() if _words(kind).search(words)}
    return found.pop() if len(found) == 1 else 0.0


@lru_cache(maxsize=1)
def clocks() -> frozenset[str]:
    return frozenset(str(table("effects")["moves"]["clocks"]).split())


def realised(c: Change, d: Duo, ev: Evidence) -> int:
    """Whether two states differ in what was changed and in nothing else: 1 where the first is the new one, -1 where
    it is the old one, 2 where that is not told, 0 where they do not."""
    if not d.within or not d.differ:
        return 0
    if c.rigs[0]:
        if d.differ != {"rig"} or {d.one.rig, d.two.rig} != set(c.rigs):
            return 0
        return 1 if d.one.rig == c.rigs[1] else -1
    if d.differ - family(c.dims) or not c.dims & d.differ:
        return 0
    two_told = {t[0] for t in c.before} & {t[0] for t in c.after}
    if not two_told <= d.differ:
        return 0
    if any(x.trials[0].settings.get(n) is None for x in (d.one, d.two) for n in d.differ):
        return 0
    if _is(c, d.two, d.one, ev):
        return 1 if c.ordered else 2
    return (-1 if c.ordered else 2) if _is(c, d.one, d.two, ev) else 0


def based(c: Change, d: Duo, wants: Sequence[Need], ev: Evidence) -> bool:
    """Whether both states are as was said of all that was not changed."""
    rest = [n for n in wants if n.valued and not n.dims & c.dims and n.owner in ("", d.one.board)]
    by_dims: dict[frozenset[str], list[Need]] = {}
    for n in rest:
        by_dims.setdefault(n.dims, []).append(n)
    return all(any(fits(n, d.one, ev) and fits(n, d.two, ev) for n in ns) for ns in by_dims.values())


def _is(c: Change, old: Cell, new: Cell, ev: Evidence) -> bool:
    """Whether the one is the state before the change and the other the one after it."""
    was = all(_fits(t, old, ev) and not _fits(t, new, ev) for t in c.before)
    now = all(_fits(t, new, ev) and not _fits(t, old, ev) for t in c.after)
    return was and now and all(sign * (amount(new, d) - amount(old, d)) > 0 for d, sign in c.signs)


def _fits(t: Test, cell: Cell, ev: Evidence) -> bool:
    return ev.as_said(cell.trials[0], [Want("", (t,))])


def amount(c: Cell, d: str) -> float:
    """The number of a setting; what is switched on has more of it than what is off."""
    value = c.trials[0].settings.get(d)
    return 1.0 if value in ("on", "wb") else number_of(value) or 0.0
