"""What a sentence and the ones before it mention: boards, workloads, rigs, settings, figures; of whom each was
said and how far back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.effects_numbers import SMALL, as_setting, beside
from leadoff.claims.search.effects_roles import owner_of, role_of, want_role
from leadoff.claims.search.effects_skeleton import even
from leadoff.claims.search.effects_text import worded
from leadoff.claims.search.effects_words import Hit, hits_in
from leadoff.claims.search.talk import Talk
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names, names_of
from leadoff.claims.spoken.plain import Plain
from leadoff.claims.spoken.reading import Said, read
from leadoff.claims.spoken.values import Num, Want

SIZES = ("pct", "part", "factor", "difference")
_PLACE = re.compile(r"\b(?:at|same|still at|again at|both at|on an?) (?:the |a |an |its |bus |\{s\d+\} )*$")
_DIMS = {"waits": ("dram_read_ws", "dram_write_ws"), "core_mhz": ("bus_mhz", "ratio"), "clock": ("bus_mhz",)}
_COMMENT = re.compile(
    r"(?:and )?(?:just )?(?:as|which|should|whatever|no matter|mind|i|you|we|if (?:you|anyone|i|we)|believe|trust|"
    r"thank|for what|that is (?:all|it)|who)\b(?! (?:fast|quick|slow|long|good|near|level|close|much|well|many))"
)
"""How a comment begins that is no part of a claim: ``as anyone can see``, ``which tells you something``."""
_DENIES = re.compile(
    r"\b(?:untrue|false|wrong|lies?|lied|myth|nonsense|rubbish|mistaken|mistake|incorrect|error|legend|fairy)\b|"
    r"\b(?:not|never|hardly|scarcely|far from)\b.*\b(?:true|right|so|correct|case|fact|it)\b"
)
"""``which is not true``: a comment that denies the claim."""
_OF_WHOLE = re.compile(
    r"(?: ,)? (?:(?:that|this|it) is (?:the|all the) (?:time|speed|pace)\b)|"
    r" (?:(?:of )?(?:that|what)|of (?:it|this)|(?:it|this)(?= ?$)|(?:of )?(?:the |its |their |(?:the |"
    r"my )?\{b\d+\}'s (?:best |own )?)?"
    r"(?:time|speed|rate|figure|score|pace|frames))\b"
)
_KEPT = re.compile(
    r"\b(?:keep|kept|retain|hold|held|leav|left|preserv|hang|hung|still|only|just|down to|remain|surviv)\w*"
    r"(?: (?:on to|onto|with|only|just|still|has|have|makes?|does|did|made|about|some))* $"
)
"""What is left of it."""
_GONE_BY = re.compile(
    r"\b(?:(?:los[et]|cost|drop|gain|cut|depriv|reliev|reduc|lower|trim|slic|lop|knock|steal|stole|rob|"
    r"eat|swallow|sacrific|forfeit|surrender|shed|throw)\w*|"
    r"losing|(?:sav|shav|wast)\w+|ate|threw|hand\w* (?:back|over)|(?:giv\w+|gave) (?:up|back|away)|"
    r"took|takes? (?:away|off)|worth|off|by)\b[^{]*(?:\{b\d+\} )?$"
)
"""Percent *of* something are what is left of it, unless so much of it was lost or gained."""
_LOST_AFTER = re.compile(
    r" (?:of )?(?:the |its |my )?(?:time|frames|speed|seconds|rate)(?: \w+)? (?:saved|lost|gone|shaved|"
    r"cut|dropped|missing|less|off)\b"
)
"""``a quarter of the time saved``."""
_COUNTED = re.compile(r"\b(?:those|these|the|all|both|my|of) (?:the )?\d$")
_SPAN = re.compile(
    r" (?:(?:whole|full|long|more|odd) )?(?:days?|weeks?|months?|years?|evenings?|nights?|sundays?|weekends?)\b"
)
"""A number of these is how long ago something was."""
_OF_THEM = re.compile(r" (?:figures|readings|numbers|results|scores|values)\b")


_GAINED = re.compile(
    r"\b(?:gain\w*|los(?:es?|t|ing)|cost\w*|sav(?:es?|ed|ing)|worth|add(?:s|ed|ing)?|pocket\w*|earn\w*|"
    r"net(?:s|ted)|rob\w*|steal\w*|stole|"
    r"shav\w*|knock\w*|pick\w* up|shed\w*|buys?|bought|dropped|ahead by|behind by|depriv\w*|reliev\w*)"
    r"(?: (?:\{w\d+\}|it|me|you|us|them|him|of|by|itself|another|an|extra|further|the|my|\{b\d+\}|only|just|all))* $"
)
"""A figure after one of these is a difference."""
_DONE = re.compile(r"(?:turn|switch|flip|enabl|disabl|put|took|tak|remov|without|drop|pull)")
"""What was done to a setting: the state after it is the new one."""
_UNTOUCHED = re.compile(
    r"\b(?:not|never|nobody|without)(?: \w+){0,4} (?:touch\w*|breath\w*|alter\w*|mov\w+|chang\w+|adjust\w*|"
    r"look\w*|laid|lay\w*|"
    r"go near|went near|fiddl\w+|meddl\w+|tweak\w*)(?: (?:a finger )?(?:on|at|with|to))?(?: \w+){0,2} $"
)
_STAYED = re.compile(
    r"^\{\w+\} (?:\w+ )?(?:untouched|unchanged|unaltered|left alone|alone|as it was|as before|the same|where it "
    r"was|stayed|stays|"
    r"kept|constant|fixed|held)\b"
)
"""A setting of which it is said that it was left as it was is no cause."""


class Need(msgspec.Struct, frozen=True, kw_only=True):
    """Something said that a side of a comparison may be held against. ``back``: sentences back; ``owner``: the board
    it was said of, empty where that is open; ``role``: ref, new or empty, by the words before it."""

    kind: str
    back: int
    at: int
    name: str = ""
    want: Want | None = None
    num: Num | None = None
    owner: str = ""
    role: str = ""
    place: bool = False

    @property
    def dims(self) -> frozenset[str]:
        """Settings that it speaks of."""
        names = self.want.names if self.want is not None else frozenset()
        return frozenset(d for n in names for d in _DIMS.get(n, (n,)))

    @property
    def valued(self) -> bool:
        return self.want is not None and not self.want.bare


class Heard(msgspec.Struct, frozen=True, kw_only=True):
    """One sentence: its skeleton, its classed words, what it needs. ``asked``: it is a question;
    ``counted``: it counts what it speaks of (``those two``)."""

    said: Said
    low: str
    hits: tuple[Hit, ...]
    needs: tuple[Need, ...]
    nums: tuple[tuple[int, Num], ...]
    asked: bool = False
    counted: bool = False

    def of(self, kind: str) -> list[Need]:
        return [n for n in self.needs if n.kind == kind]


@lru_cache(maxsize=8)
def _names(ev: Evidence) -> Names:
    return names_of(ev.ledger)


@lru_cache(maxsize=512)
def _read(text: str, ev: Evidence) -> Said:
    low = worded(text)
    return read(Plain(text=text, low=low), ev.ledger, _names(ev))


def heard(talk: Talk) -> list[Heard]:
    """This sentence first, then the ones before it, the latest first. Owners go by the order of speech."""
    ev = talk.evidence
    texts = [s.plain.text for s in talk.before] + [talk.text]
    out: list[Heard] = []
    about: tuple[str, ...] = ()
    values: tuple[str, ...] = ()
    known: set[str] = set()
    for n, text in enumerate(texts):
        said = even(_read(text, ev), about, ev.ledger)
        one = _heard(said, len(texts) - 1 - n, ev, about, values, known)
        known |= {x.name for x in one.of("board")}
        named = tuple(dict.fromkeys(x.name for x in one.of("board")))
        about = named or about
        dims = tuple(d for x in one.of("want") for d in x.dims if d in SMALL or d.endswith("_ws"))
        values = dims or values
        out.append(one)
    return out[::-1]


def _heard(
    said: Said, back: int, ev: Evidence, about: tuple[str, ...], values: tuple[str, ...], known: set[str]
) -> Heard:
    low = said.low
    needs: list[Need] = []
    spots = [(said.at(s), said.boards[int(s[1:])]) for s in said.signs("b")]
    for at, board in spots:
        needs.append(Need(kind="board", back=back, at=at, name=board, role=role_of(low[:at], board=True)))
    for s in said.signs("k"):
        members = said.groups[int(s[1:])]
        other = low[: said.at(s)].rstrip().endswith("other")
        told = [b for b in members if (b in known) != other]
        for board in told if len(told) == 1 and not spots else members:
            needs.append(Need(kind="board", back=back, at=said.at(s), name=board))
    for s in said.signs("w"):
        needs.append(Need(kind="workload", back=back, at=said.at(s), name=said.workloads[int(s[1:])]))
    for s in said.signs("g"):
        at, rig = said.at(s), said.rigs[int(s[1:])]
        needs.append(
            Need(
                kind="rig",
                back=back,
                at=at,
                name=rig,
                role=role_of(low[:at]),
                owner=owner_of(low, at, spots, about),
            )
        )
    for s in said.signs("r"):
        needs.append(
            Need(
                kind="run",
                back=back,
                at=said.at(s),
                name=said.runs[int(s[1:])],
                role=role_of(low[: said.at(s)]),
            )
        )
    scope = {b for _, b in spots} or set(about) or set(ev.ledger.boards)
    every = [d for w in said.wants for d in w.names]
    nums: list[tuple[int, Num]] = []
    lower: dict[str, float] = {}
    turned: set[str] = set()
    counted = False
    for s in said.signs("s"):
        at, want = said.at(s), ev.settle(said.want(s), scope)
        owner = owner_of(low, at, spots, about)
        needs += [
            Need(
                kind="want",
                back=back,
                at=at,
                want=Want(want.text, (_one_wait(t, low[at:], (*every, *values)),)),
                role=want_role(low, at) or ("new" if _DONE.match(want.text) else ""),
                owner=owner,
                place=any(form.search(low[:at]) for form in (_PLACE, _UNTOUCHED))
                or bool(_STAYED.match(low[at:])),
            )
            for t in want.tests
        ]
    for s in said.signs("d"):
        needs.append(
            Need(
                kind="date",
                back=back,
                at=said.at(s),
                name=said.dates[int(s[1:])],
                role=role_of(low[: said.at(s)]),
            )
        )
    for s in said.signs("n"):
        at, num = said.at(s), said.num(s)
        after = low[at + len(s) + 2 :]
        owner = owner_of(low, at, spots, about)
        left = [d for t in said.signs("s") if said.at(t) < at for d in said.want(t).names]
        right = [d for t in said.signs("s") if said.at(t) > at for d in said.want(t).names]
        own = [*reversed(left), *right]  # what was named last before it comes first
        if num.kind == "bare" and (_SPAN.match(after) or _OF_THEM.match(after)):
            continue
        if num.kind == "bare" and re.match(r" times (?:i|we|he|she|they|it)\b", after):
            num = msgspec.structs.replace(num, kind="count")
        elif num.kind == "bare" and re.match(r" (?:times|x)\b", after):
            num = msgspec.structs.replace(num, kind="factor")
        elif num.kind == "bare" and re.match(r" (?:-odd |-ish )?%", after):
            num = msgspec.structs.replace(num, kind="pct", unit="%", mod="about")
        elif num.kind == "bare" and after.startswith(" -ish"):
            num = msgspec.structs.replace(num, mod="about")
        gone = _GONE_BY.search(low[:at]) is not None and not low[:at].endswith(" to ")
        gone = gone or _LOST_AFTER.match(after) is not None
        kept = (
            not gone
            and _KEPT.search(low[:at]) is not None
            and re.match(r" of (?:the|its|my|your|his)\b", after)
        )
        if num.kind == "pct" and (kept or (_OF_WHOLE.match(after) and not gone)):
            num = msgspec.structs.replace(num, kind="part")
        elif num.kind == "part" and gone and num.value < constant("lost_most"):
            num = msgspec.structs.replace(num, kind="pct")
        if num.kind == "value" and _GAINED.search(low[:at]):
            num = msgspec.structs.replace(num, kind="difference")
        if num.kind in ("part", "factor", "pct") and re.search(r"\bnot even (?:\w+ )?$", low[:at]):
            num = msgspec.structs.replace(num, mod="under")
        pairs = re.search(r"\{(n\d+)\}[^{]{0,8} (?:to|against|and|or|vs|versus) $", low[:at])
        figure = pairs is not None and pairs[1] not in turned
        over = num.kind == "bare" and num.mod == "over" and num.text.startswith("over ") and bool(values)
        if over and num.value <= constant("small_setting"):
            num = msgspec.structs.replace(num, mod="")  # held against it, and no bound
        next_to = beside(low[:at], after)
        partner = said.num(next_to) if next_to else None
        small = partner is not None and num.value <= constant("small_setting")
        if (not figure or small) and (
            want_ := as_setting(num, low[:at], after, own, values, scope, ev, partner)
        ):
            turned.add(s)
            place = _PLACE.search(low[:at]) is not None
            want_ = ev.settle(want_, scope)
            needs.append(
                Need(
                    kind="want",
                    back=back,
                    at=at,
                    want=want_,
                    role="ref" if over else want_role(low, at),
                    owner=owner,
                    place=place,
                )
            )
            continue
        if ahead := re.match(r" (?:, )?(?:or|to|-)(?: maybe| perhaps)? \{(n\d+)\}", after):
            upper = said.num(ahead[1])
            near = num.value < upper.value <= 2.0 * num.value
            if (
                num.kind == "bare"
                and (near or upper.kind == "pct")
                and (
                    upper.kind in SIZES
                    or re.match(r" (?:times|x|%)", low[said.at(ahead[1]) + len(ahead[1]) + 2 :])
                )
            ):
                lower[ahead[1]] = num.value
                continue
        if (
            num.kind == "bare"
            and num.value <= constant("counted_most")
            and _COUNTED.search(f"{low[:at]}{num.text}")
        ):
            counted = True
            continue
        if s in lower:
            num = msgspec.structs.replace(num, value=lower[s], hi=num.value)
        elif num.kind in SIZES and re.search(r"\b(?:1|one|a) (?:or|to|maybe) $", low[:at]) and num.value == 2:
            num = msgspec.structs.replace(num, value=1.0, hi=num.value)
        nums.append((at, num))
        if num.kind in ("bare", "value"):
            needs.append(Need(kind="figure", back=back, at=at, num=num, owner=owner, role=role_of(low[:at])))
    needs.sort(key=lambda n: n.at)
    return Heard(
        said=said,
        low=low,
        hits=hits_in(_without_comments(low)),
        needs=tuple(needs),
        nums=tuple(nums),
        asked="?" in said.plain.text,
        counted=counted,
    )


def _one_wait(test: tuple[str, str, str], after: str, said: Sequence[str]) -> tuple[str, str, str]:
    """A wait of no name is the one that was spoken of, if only one was."""
    waits = {d for d in said if d.endswith("_ws")}
    if test[0] != "waits" or len(waits) != 1 or re.match(r"\{\w+\}[^,]*\b(?:both|all|either|each)\b", after):
        return test
    return (next(iter(waits)), "any" if test[1] == "any" else "is", test[2])


def _without_comments(low: str) -> str:
    """The skeleton with comments that name nothing blanked, every other word where it was."""
    parts = low.split(" , ")
    if len(parts) == 1:
        return low
    return " , ".join("~" * len(p) if "{" not in p and _comments(p.strip()) else p for p in parts)


def _comments(part: str) -> bool:
    """Whether a part is a comment, and none that takes back what was said."""
    return _COMMENT.match(part) is not None and _DENIES.search(part) is None
