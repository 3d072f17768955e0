"""What a sentence claims of its two sides: which way, how much, by what cause, and who is the subject."""

from __future__ import annotations

import re

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.effects_mentions import SIZES, Heard
from leadoff.claims.search.effects_pairs import Cues
from leadoff.claims.search.effects_words import Hit
from leadoff.claims.spoken.values import Num

_STRONG = ("better", "worse")
_RAW = ("high", "low")
_SHORT = int(constant("answer_words"))
"""An answer of no more words than this leans on its question."""
_DENIED = int(constant("denial_reach"))
"""So many words may stand between a denial and what it denies."""
FAINT = re.compile(
    r"^(?:gain|help|sav|pick|buy|bought|earn|net|yield|pay|paid|shav|reward|boost|improve|cost|los|lead|led)"
)
"""Verbs that tell the way only as long as no other word does."""
_FIGURE = re.compile(
    r"\b(?:than|frames?|fps|lines?|rate|scores?|figures?|numbers?|results?|time|seconds?|speed|points?|"
    r"pace|performance|throughput)\b"
)
"""Up and down are said of a figure only where something of the kind is named."""
_SPEED = re.compile(r"\bas (?:fast|quick)|\b(?:speed|pace|faster|quicker)\b")
_SLOWNESS = re.compile(r"\b(?:as|so) (?:long|slow)|\b(?:longer|slower)\b")
_AGAIN = re.compile(
    r"\b(?:again|second (?:go|time|try|run|evening|session|visit)|evenings?|repeat\w*|rerun|re-run|reran|"
    r"(?:months?|weeks?|days?) later|next day|other day|day before|both (?:runs|times|days|evenings|sessions)|"
    r"last time|this time|later run)\b"
)


_AGO = re.compile(r"\b(?:days?|weeks?|months?|years?|evenings?|nights?|hours?|little|bit|while) $")
_SAME_AGAIN = re.compile(
    r"\b(?:everything|all|settings?|set-up|setup|state|configuration)\b[^,.]{0,24}"
    r"\b(?:same|again|untouched|unchanged)\b|\bnothing (?:was |had been |else )?(?:changed|touched|altered)\b|"
    r"\bsame (?:state|settings?|set-up|setup|configuration)\b|"
    r"\b(?:months?|weeks?|days?|evenings?) (?:later|on|after)\b|\band again (?:on|in)\b|"
    r"\bthe same (?:thing )?again\b|\b(?:is|was|were|are) (?:exactly |just )?the same(?: thing)?(?= ,| ?$)"
)
"""Said before: the same state was run on another occasion."""


_ALONG = re.compile(
    r" (?:the|a|an|my|its|that|this) (?!(?:other|old|older|former|first|second|last|previous|rest|same|original|"
    r"one)\b|\{[bgsnk])"
)
"""``down the page``, ``over the {w0}``: where something is done, and no direction of a figure."""
_IS_ALL = re.compile(
    r"\b(?:jump|gain|gains|difference|increase|rise|leap|improvement|loss|drop|step|speed-up|speedup|"
    r"lot|all of (?:it|that|this)|win|"
    r"advantage|deficit|change|lead|margin|gap|boost|bonus|surplus) (?:is|was|are|were) (?:(?:all|only|"
    r"just|purely|simply|entirely|"
    r"nothing but|solely|down to|the work of|due to|owed to) )*(?:the |its )?\{s|"
    r"\b(?:is|was) (?:all|only|purely|simply|entirely|nothing but|nothing else than|solely|"
    r"wholly) (?:down to |due to )?(?:the |its )?\{s|"
    r"^ (?:and |so )*(?:all|purely|entirely|solely|nothing but|wholly|every bit of it) "
    r"(?:down to |thanks to |because of |from |due to )?(?:the |its )?\{s\d+\}"
)
"""``That whole jump is the bus``, ``All bus, that``."""
_WENT = re.compile(
    r"\b(?:it|that|this|they|both)(?: \w+){0,2} (?:went|goes|gone|came|comes|crept|creeps|moved|moves|rose|fell|"
    r"climbed|dropped|sank|edged)\b"
)
"""``That went up as well``: of what was spoken of."""
_AS_LONG = re.compile(r"\bas (?:fast|quick|quickly|long|slow|slowly)\b")


_NONE = r"\b(?:not|no|nothing|cannot|never|hardly|barely|scarcely|neither)\b(?! only| just| even ~)"
NOT_BETWEEN = re.compile(
    rf"{_NONE}[^,]{{0,60}}?\b(?:between|in it)\b|\bbetween\b[^,]{{0,60}}(?:, )?[^,]{{0,24}}{_NONE}"
)
"""Nothing that would go between the two, whatever it is."""
_NOT_APART = re.compile(
    rf"{_NONE}[^,]{{0,40}}\b(?:tell|separat\w+|split|part|divid\w+)\b[^,]{{0,12}}"
    r"\b(?:them|(?:the|those|these) two|the pair)\b"
)


class Claim(msgspec.Struct, frozen=True, kw_only=True):
    """``way``: better, worse, up, down, tie, differs; ``share``: the size is what the subject has of the other.
    ``clear`` is false where the words point both ways. ``told``: nothing but a figure says that there is a
    difference. ``caused``: settings, or the rig, that are named as the cause, ``None`` where no cause is claimed."""

    way: str
    denied: bool = False
    share: bool = False
    sizes: tuple[Num, ...] = ()
    clear: bool = True
    at: int = 0
    caused: frozenset[str] | None = None
    only: bool = False
    told: bool = False


def claim_of(h: Heard, before: list[Heard], *, changed: bool = False) -> Claim | None:
    """The claim of a sentence, or of an answer and the question before it; ``None`` where none of this kind is.
    ``changed``: a change was told."""
    after = bool(before) and bool(before[0].of("figure") or h.of("board"))
    own = _claim(h, figured=changed or after, changed=changed)
    of_that = re.search(r"\{n\d+\} (?:of )?(?:that|it|this)\b", h.low) is not None
    sized = bool(before) and any(n.kind in ("pct", "difference") for _, n in before[0].nums)
    if own is not None and own.share and of_that and sized:
        own = _of_size(h, before[0], own)
    elif own is not None and of_that and sized and len(own.sizes) > 1:
        rest = tuple(n for n in own.sizes if n.kind not in ("factor", "part"))
        own = msgspec.structs.replace(own, sizes=rest)  # ``twice that`` beside the size itself
    if own is not None and any(x.kind == "maybe" and _same_part(h, x.start, own.at) for x in h.hits):
        own = msgspec.structs.replace(own, clear=False)
    if own is None and _lone_difference(h, before, changed=changed):
        return Claim(way="differs", at=h.of("figure")[0].at, told=True)
    if own is not None or not before or not before[0].asked:
        return own
    question = before[0]
    short = len(h.low.split()) <= _SHORT
    if short and h.of("want") and any(x.kind in ("cause", "differ") for x in question.hits):
        named = frozenset(d for n in h.of("want") for d in n.dims)
        return Claim(way="differs", caused=named, at=h.of("want")[0].at)
    if short and (asked := _claim(question)) is not None and _answers(h, question):
        return msgspec.structs.replace(
            asked, sizes=(), at=len(h.low), clear=asked.way in (*_STRONG, "up", "down")
        )
    if any(x.kind == "margin" for x in h.hits) and (h.of("board") or h.of("want")):
        return Claim(way="better", at=len(h.low), clear=bool(h.of("board")))
    asked = _claim(question)
    if short and asked is not None and re.match(r" (?:not|no|nope|never)\b", h.low):
        return msgspec.structs.replace(asked, denied=not asked.denied, at=0)
    return None


def _lone_difference(h: Heard, before: list[Heard], *, changed: bool) -> bool:
    """One figure with a unit, where a change was spoken of: ``seven frames, just like that``."""
    figures = h.of("figure")
    said = [n for one in (h, *before[:1]) for n in one.of("want") if n.role == "new" or not n.valued]
    cards = {n.name for one in (h, *before[:1]) for n in one.of("rig")}
    one = len(figures) == 1 and figures[0].num is not None and figures[0].num.kind == "value"
    return one and (changed or bool(said) or len(cards) == 2) and not h.asked


def _answers(h: Heard, question: Heard) -> bool:
    """``Which of the two was quicker?`` answered by a board."""
    named = {n.name for n in h.of("board")}
    others = {n.name for n in question.of("board")} - named
    asks = re.search(r"\b(?:which|who|whose|what)\b", question.low) is not None
    return asks and len(named) == 1 and len(others) == 1 and not h.of("want") and not h.of("figure")


def _of_size(h: Heard, question: Heard, own: Claim) -> Claim:
    """Twice a difference, or twice a score: the difference is meant where both scores are said."""
    pcts = [n for _, n in question.nums if n.kind == "pct"]
    if len(pcts) != 1 or len(own.sizes) != 1 or len(h.of("figure")) != 2:
        return msgspec.structs.replace(own, clear=False)
    part = own.sizes[0]
    value = pcts[0].value * (part.value / 100.0 if part.kind == "part" else part.value)
    size = msgspec.structs.replace(pcts[0], value=value, mod=part.mod or "about", hi=None)
    return msgspec.structs.replace(own, way="differs", share=False, sizes=(size,))


def _same_part(h: Heard, one: int, two: int) -> bool:
    """Whether no comma stands between two places."""
    return " , " not in h.low[min(one, two) : max(one, two)]


def _claim(h: Heard, *, figured: bool = False, changed: bool = False) -> Claim | None:
    sized = [(at, n) for at, n in h.nums if n.kind in SIZES and not _no_size(h, at, n)]
    sizes, places = tuple(n for _, n in sized), [at for at, _ in sized]
    level = [x for x in h.hits if x.kind == "level"]
    strong = [x for x in h.hits if x.kind in _STRONG and not _of_setting(h, x) and not _sheds(h, x)]
    raw = [x for x in h.hits if x.kind in _RAW and not _of_setting(h, x)]
    raw += [msgspec.structs.replace(x, kind="low") for x in h.hits if _sheds(h, x)]
    differ = [x for x in h.hits if x.kind == "differ"]
    acts = [x for x in h.hits if x.kind == "acts"]
    cause = [x for x in h.hits if x.kind == "cause"]
    caused = _caused(h, cause)
    base = Claim(way="differs", sizes=sizes, caused=caused, only=_only(h))
    # The level words: a level beside a plain direction is a contrast that is not taken apart here.
    plain = [x for x in strong if not FAINT.match(x.text)]
    told = [x.start for x in (*level, *strong, *raw)]
    scarce = any(x.kind == "scarce" and any(_same_part(h, x.start, at) for at in told) for x in h.hits)
    if level:
        first = level[0]
        if any(n.kind == "part" or n.kind == "factor" for n in sizes) and first.text.startswith("as "):
            return _share(h, sizes, places, base)
        clear = not plain or all(_denied(h, x) for x in plain)
        turned = _denied(h, first) and not first.text.startswith(
            ("no ", "not ", "nothing", "can", "could", "did", "does", "do ")
        )
        return msgspec.structs.replace(
            base, way="differs" if turned else "tie", at=first.start, clear=clear and not sizes and not scarce
        )
    if strong and not level and any(x.text == "neither" and x.start < strong[0].start for x in h.hits):
        return msgspec.structs.replace(base, way="tie", at=strong[0].start, clear=not sizes)
    if strong:
        use = plain or strong
        ways = {(x.kind, _denied(h, x)) for x in use}
        first = min(use, key=lambda x: (min((abs(x.start - p) for p in places), default=0), x.start))
        if len(ways) == 2 and len(use) == 2 and len({_nearest(h, x) for x in use} - {""}) == 2:
            ways = {(first.kind, False)}  # the one is quicker and the other trails
        return msgspec.structs.replace(
            base,
            way=first.kind,
            denied=_denied(h, first),
            at=first.start,
            clear=len(ways) == 1 and not scarce,
        )
    if any(n.kind == "part" or (n.kind == "factor" and (not raw or _AS_LONG.search(n.text))) for n in sizes):
        return _share(h, sizes, places, base)
    if raw and (sizes or h.of("workload") or h.of("run") or figured or _FIGURE.search(h.low)):
        near = min(raw, key=lambda x: min((abs(x.start - p) for p in places), default=0))
        way = "up" if near.kind == "high" else "down"
        clear = len({x.kind for x in raw}) == 1 and not scarce
        return msgspec.structs.replace(base, way=way, denied=_denied(h, near), at=near.start, clear=clear)
    if acts and not sizes:
        none = _denied(h, acts[0]) or any(
            x.kind == "scarce" and _same_part(h, x.start, acts[0].start) for x in h.hits
        )
        way = "tie" if none else "differs"
        return msgspec.structs.replace(base, way=way, at=acts[0].start)
    apart = re.search(r"\{n\d+\} (?:in it|between|apart)\b", h.low) is not None
    if NOT_BETWEEN.search(h.low) or (_NOT_APART.search(h.low) and not strong):
        return msgspec.structs.replace(base, way="tie", sizes=(), at=h.low.find("between"))
    if sizes and (differ or apart or any(n.kind == "pct" for n in sizes)):
        return msgspec.structs.replace(base, way="differs", at=places[0])
    if caused is not None:
        return msgspec.structs.replace(base, way="differs", at=cause[0].start, denied=_denied(h, cause[0]))
    if sizes and (changed or h.of("want") or h.of("rig") or len(h.of("board")) > 1):
        return msgspec.structs.replace(base, way="differs", at=places[0])
    if _IS_ALL.search(h.low) or (
        _only(h) and re.search(r"\b(?:is|was|are|were) (?:(?:all|only|just|purely|simply|the) )*\{s", h.low)
    ):
        named = frozenset(d for n in h.of("want") for d in n.dims)
        return msgspec.structs.replace(base, caused=named, at=h.of("want")[0].at)
    if raw and _WENT.search(h.low):
        way = "up" if raw[0].kind == "high" else "down"
        denied = _denied(h, raw[0])
        return msgspec.structs.replace(base, way=way, denied=denied, at=raw[0].start, clear=not scarce)
    if (favour := [x for x in h.hits if x.kind == "favour"]) and len({n.name for n in h.of("board")}) == 2:
        return msgspec.structs.replace(base, way="better", at=favour[0].start)
    if (moved := _moved(h)) is not None:
        return msgspec.structs.replace(base, way=moved, at=h.nums[0][0])
    return None


def _no_size(h: Heard, at: int, n: Num) -> bool:
    """``not a half``, and ``twice`` where it counts occasions."""
    after = h.low[h.low.index("}", at) + 1 :]
    often = re.match(r" (?:in|on|at|with|through|and|,|there|$)", after) is not None and " as " not in n.text
    if n.kind == "factor" and often and _DONE_OFTEN.search(h.low[:at]):
        return True
    if re.search(r"\bnot (?:by )?(?:a )?$", h.low[:at]) or re.match(
        r" (?:of )?(?:its |the |an? )?\{s", after
    ):
        return True
    return (
        bool(h.of("figure"))
        and n.kind == "factor"
        and re.match(r" (?:times )?(?:,|in a row|on the trot|running|over|$)", after) is not None
        and " as " not in n.text
    )


_DONE_OFTEN = re.compile(
    r"\b(?:measur|tim|test|tri|repeat|record|clock|ran|run|went|gone|sent|asked)\w*"
    r"(?: (?:it|them|that|this|the \{w\d+\}|through|there))* $"
)
"""``was measured twice``: how often, and no size."""


_ITS_NAME = re.compile(r" (?:\{s\d+\}|one|setting|value|timing|latency|multiplier|ratio|clock)(?!\w)")


def _of_setting(h: Heard, x: Hit) -> bool:
    """``raising the bus``, ``with the read wait gone``, ``down the corridor``: not said of a figure."""
    if re.match(r" (?:\w+ ){0,2}\{s\d+\}", h.low[x.end :]) and x.kind in _RAW:
        return True
    if x.text in ("up", "down", "over", "off") and _ALONG.match(h.low[x.end :]):
        return True
    if x.kind in _STRONG and re.match(r" (?:to|at) (?:an? |the )?\{s", h.low[x.end :]):
        return True
    if (
        x.text.endswith("er")
        and (x.kind in _RAW or "{" in h.low[x.end : x.end + 2])
        and _ITS_NAME.match(h.low[x.end :])
    ):
        return True  # the quicker bus
    if x.text == "later" and (
        _AGO.search(h.low[: x.start]) or re.match(r" (?:setting|one|value|state|figure)\b", h.low[x.end :])
    ):
        return True
    if x.text == "off" and re.match(r" (?:it|them)\b", h.low[x.end :]):
        return True
    return (
        x.text in ("gone", "missing", "off", "down", "up", "lost")
        and re.search(r"\{s\d+\} (?:\w+ )?$", h.low[: x.start]) is not None
    )


_SHEDS = re.compile(r"\{w\d+\}(?: (?:then|now|also|even|just|only|has|had))* $")


def _sheds(h: Heard, x: Hit) -> bool:
    """``the {w0} lost a second``: what takes time and loses some of it needs less."""
    timed = any(at >= x.end and re.search(r"second|minute", n.text) for at, n in h.nums)
    return (
        timed
        and x.text in ("lose", "loses", "lost", "losing")
        and _SHEDS.search(h.low[: x.start]) is not None
    )


def _nearest(h: Heard, x: Hit) -> str:
    """The board named last before some words."""
    return next((n.name for n in reversed(h.of("board")) if n.at < x.start), "")


def _moved(h: Heard) -> str | None:
    """Two figures, from the one to the other."""
    figures = h.of("figure")
    m = re.search(r"\bfrom \{(n\d+)\}[^{]{0,12} to \{(n\d+)\}|\{(n\d+)\} (?:up |down )?to \{(n\d+)\}", h.low)
    if m is None or len(figures) != 2 or re.search(r"\bbetween|somewhere|anywhere|range", h.low):
        return None
    return "differs"


def _share(h: Heard, sizes: tuple[Num, ...], places: list[int], base: Claim) -> Claim:
    n = next(x for x in sizes if x.kind in ("part", "factor"))
    at = places[sizes.index(n)]
    tail = h.low[at:]
    less = n.value < (100.0 if n.kind == "part" else 1.0)
    if _SLOWNESS.search(n.text) or _SLOWNESS.search(tail[:40]):
        way = "worse" if not less else "better"
    elif _SPEED.search(n.text) or _SPEED.search(tail[:40]):
        way = "worse" if less else "better"
    elif re.search(r"\btime\b", tail[:40]):
        way = "better" if less else "worse"
    else:
        way = "down" if less else "up"
    return msgspec.structs.replace(base, way=way, share=True, at=at)


def _denied(h: Heard, x: Hit) -> bool:
    left = h.low[: x.start].rpartition(" , ")[2]
    words = left.split()[-_DENIED:]
    return any(w in ("not", "no", "never", "neither", "nor", "cannot", "nobody") for w in words)


CORE = frozenset({"bus_mhz", "ratio"})
"""What makes the core clock."""


_ALONE = re.compile(r"\b(?:only|alone|nothing else|solely|purely|just|by itself|on its own|all)\b")


def _only(h: Heard) -> bool:
    return _ALONE.search(h.low) is not None


def _caused(h: Heard, cause: list[Hit]) -> frozenset[str] | None:
    if not cause:
        return None
    named = [n for n in h.of("want") if not n.place]
    out = frozenset(d for n in named for d in n.dims)
    if h.of("rig") or re.search(r"\bcards?\b", h.low[cause[0].start :]):
        out |= {"rig"}
    if re.search(r"\bcore\b", h.low[cause[0].start :]):
        out |= CORE
    return out


def cues_of(h: Heard, before: list[Heard]) -> Cues:
    """Which kind of comparison the words speak of."""
    here = {n.name for n in h.of("board")}
    past = [n.name for one in before for n in one.of("board")]
    crossed = any(x.kind in ("cross", "ordinal_first", "ordinal_second") for x in h.hits)
    crossed = crossed or h.counted
    two = len(set(past) | here) >= 2
    than = any(n.role == "ref" for n in h.of("board"))
    first = min((n.at for n in h.of("board")), default=0)
    pronoun = any(x.kind == "pronoun" and x.start < first for x in h.hits)
    cross = len(here) >= 2 or (
        two and (crossed or (len(here) == 1 and (than or pronoun or not here <= set(past))))
    )
    wants = h.of("want")
    pair_before = bool(before) and len({n.name for n in before[0].of("board")}) == 2
    cross = cross or (pair_before and not wants and not h.of("rig"))
    change = bool(wants) or len({n.name for n in h.of("rig")}) == 2
    said = [n for one in before[:2] for n in one.of("want")]
    swapped = len({n.name for one in before[:2] for n in one.of("rig")}) == 2
    change |= not cross and (bool(said) or swapped)
    again = _AGAIN.search(h.low) is not None or bool(h.said.dates) or len(set(h.said.runs)) > 1
    again = again or any(len(set(one.said.dates)) > 1 for one in before[:2])
    again = again or (not wants and bool(before) and _SAME_AGAIN.search(before[0].low) is not None)
    change = change and len(here) < 2 and (bool(wants) or not again)
    return Cues(cross=cross, change=change, again=again)
