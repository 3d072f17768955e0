"""Numbers of a plain sentence: scores with units, percents, factors, differences, counts, hours, bare numbers."""

from __future__ import annotations

import re
from collections.abc import Callable

import msgspec

from leadoff.claims.rows import table
from leadoff.claims.spoken.values import Num

_N = r"(\d+(?:\.\d+)?)"
_MODS = (
    (
        "about",
        r"(?:about|around|roughly|approximately|approx\.?|circa|ca\.?|some|say|or so|close to|give or take|~)",
    ),
    ("nearly", r"(?:nearly|almost|just under|just below|just short of|not quite|a shade under)"),
    (
        "just",
        r"(?:(?:just|only just|barely|slightly|marginally|a bit|a little|a shade|a touch|a hair|a whisker|a tad) "
        r"(?:over|above|more than|north of))",
    ),
    (
        "over",
        r"(?:comfortably over|comfortably more than|far more than|rather more than|easily|more than|over|"
        r"above|upwards of|better than|at least|well over|north of|"
        r"a good|no less than)",
    ),
    (
        "under",
        (
            r"(?:well under|well below|comfortably under|far less than|rather less than|less than|"
            r"under|below|at most|no more than|fewer than|up to|south of)"
        ),
    ),
)
_MOD = "|".join(f"(?P<{name}>{form})" for name, form in _MODS)
UNITS = {
    "frames": r"(?:frames?(?: per second| a second| / s|/s)?|fps)",
    "lines": r"(?:lines?(?: per second| a second| / s|/s)?)",
    "MB/s": r"(?:mb ?/ ?s|mb (?:per|a) second|megabytes? (?:per|a) second|megs? (?:per|a) second|mbytes?/s)",
    "s": r"(?:seconds?|secs?|s)",
}
_MORE = (
    r"(?:faster|quicker|slower|more|less|better|worse|ahead|behind|higher|lower|up|down|longer|shorter|"
    r"between|apart|in it|adrift|in hand|to the good|clear of|in favour|of difference|of a difference|extra)"
)
_SMALL = {"a tenth": 0.1, "1 tenth": 0.1, "half": 0.5, "a": 1.0, "1": 1.0}
_TOL = (
    r"(?P<t>a tenth|1 tenth|\d+(?:\.\d+)?(?: tenths)?|half (?=a)|a (?=frame|second|line))"
    r"(?: of)?(?: an?)?(?: (?:frames?|seconds?|lines?|second|s))?"
)


EARLY = 10
"""So many forms are tried before the spoken ones."""


def nums_in(low: str, mark: Callable[[Num], str]) -> str:
    """Replaces every number of a plain sentence by the sign that ``mark`` gives for it."""

    def put(
        kind: str,
        unit: str = "",
        *,
        scale: float = 1.0,
        spoken: bool = False,
        more: bool = False,
        lead: bool = False,
    ) -> Callable[[re.Match[str]], str]:
        def made(m: re.Match[str]) -> str:
            said = m["v"]
            of = float(m["of"]) if "of" in m.re.groupindex and m["of"] else None
            places = 0 if "." not in said else len(said.partition(".")[2])
            hi = float(m["hi"]) * scale if m.groupdict().get("hi") else None
            num = Num(kind, float(said) * scale, unit, _mod(m), places, of, m[0].strip(), spoken, hi)
            word = (
                re.search(r" (?:faster|quicker|slower|longer|as long|as slow|that|what)(?: as)?$", m[0])
                if more
                else None
            )
            verb = re.match(r"picked up|[a-z]+", m[0]) if lead else None
            object_ = m["o"] or "" if lead else ""
            return f" {verb[0] if verb else ''} {object_} {mark(num)} {word[0] if word else ''} "

        return made

    v = r"(?P<v>\d+(?:\.\d+)?)(?:~(?P<hi>\d+(?:\.\d+)?))?"
    low = _frame_times(low, mark)
    low = _allowed(low, mark)
    low = _ranges(low, mark)
    mod = rf"(?:\b(?:{_MOD}) )?(?:the |a )?"
    every = (
        (
            rf"{mod}(?<![\d.~])\b(?P<v>\d+)(?: times)? (?:out of|of|in|from|/)(?: the| its|"
            rf" my)? (?P<of>\d+)\b(?!\.\d| %)(?: times)?",
            put("count"),
        ),
        (r"(?<![\d.])\b(?P<v>\d+)/(?P<of>\d+)\b(?!\.\d)", put("count")),
        (rf"\ball (?:of the |the )?{v}\b", put("all")),
        (rf"\b{v} beeps?\b", put("beeps")),
        (rf"\b{v}(?: frames?| seconds?| %)? either (?:way|side)\b", put("either")),
        (rf"{mod}\b{v} ?%", put("pct", "%")),
        (rf"{mod}\b{v}[ -](?:hours?|h)\b", put("hours", "h")),
        (
            rf"\b{v} (?:different |separate )?(?:sessions?|evenings?|sittings?|occasions?|goes|passes|"
            rf"times in a row|"
            rf"times running)\b",
            put("goes"),
        ),
        (rf"{mod}\b{v} tenths?(?: of a (?:frame|second|line))?\b", put("difference", scale=0.1)),
        (
            rf"{mod}\b{v} ?(?:times|x)(?: as (?:fast|quick|long|slow|high|much|good)(?: as)?| the| that|"
            rf" what| faster|"
            r" quicker| slower| longer| better| higher)\b",
            put("factor", more=True),
        ),
        (rf"\b(?:{_MOD}) {v} ?x(?= |$)", put("factor")),
        (rf"\bby {mod}{v}(?: (?P<u>{'|'.join(UNITS.values())}))?\b(?! %)", put("difference")),
        (
            rf"\b(?:gained|gains?|lost|loses?|saved|saves?|costs?|cost|worth|adds?|added|picked up|"
            rf"shaved|shaves?|reduced?|reduces)"
            rf"(?P<o> it| me| you| us| the board| (?:the |my )?\{{[bk]\d+\}}(?:'s \{{w\d+\}})?)? "
            rf"{mod}{v} (?:{'|'.join(UNITS.values())})(?![a-z/])",
            put("difference", lead=True),
        ),
        (
            rf"{mod}\b{v}(?: (?:{'|'.join(UNITS.values())}))? {_MORE}\b(?! than (?:\d|twice)| to\b)",
            put("difference"),
        ),
        (rf"{mod}\b{v} minutes?\b(?! (?:a|per|every|each|lost|slow|fast)\b)", put("value", "s", scale=60.0)),
        *((rf"{mod}\b{v} ?{form}(?![a-z/])", put("value", unit)) for unit, form in UNITS.items()),
    )
    for form, make in every[:EARLY]:
        low = re.sub(form, make, low)
    for form, kind, value in table("quantities")["spoken"]:
        low = re.sub(
            rf"(?:\b(?:{_MOD}) )?(?:{form})",
            lambda m, kind=kind, value=value: (  # type: ignore[misc]
                f" {mark(_spoken(m, kind, value))} "
            ),
            low,
        )
    for form, make in every[EARLY:]:
        low = re.sub(form, lambda m, make=make: _kept(m, make), low)  # type: ignore[misc]
    return re.sub(rf"{mod}(?<![\w{{.:-])\b{v}\b(?![\w}}:]|\.\d)", put("bare"), low)


def _spoken(m: re.Match[str], kind: str, value: float) -> Num:
    """A quantity in words; ``2 fifths`` and the like count their parts."""
    times = next((int(n) for k, n in m.groupdict().items() if k.startswith("of") and n), 1)
    return Num(kind, times * value, "s" if kind == "value" else "", _mod(m), 0, None, m[0].strip(), True)


def _size(text: str) -> float:
    text = text.strip()
    if text in _SMALL:
        return _SMALL[text]
    number = float(text.split()[0])
    return 0.1 * number if text.endswith("tenths") else number


def _frame_times(low: str, mark: Callable[[Num], str]) -> str:
    """``a frame takes it 132 milliseconds`` as frames a second."""
    if not re.search(r"\b(?:frames?|pictures?|images?)\b", low):
        return low
    mods = rf"(?:\b(?:{_MOD}) )?"

    def made(m: re.Match[str]) -> str:
        ms = float(m["v"])
        step = 10.0 ** -len(m["v"].partition(".")[2])
        rough = 2.0 if _mod(m) in ("about", "nearly") else 1.0
        fps = 1000.0 / ms
        tol = rough * 0.5 * step / ms * fps + 0.05
        return f" {mark(Num('value', fps, 'frames', '', 1, None, m[0].strip(), tol=tol))} "

    return re.sub(
        (
            rf"{mods}(?P<v>\d+(?:\.\d+)?) ?(?:ms|milliseconds?|msecs?)\b(?! (?:per|a|more|less|"
            rf"longer|shorter|quicker|faster|slower|better)\b)"
        ),
        made,
        low,
    )


def _allowed(low: str, mark: Callable[[Num], str]) -> str:
    """``24.2 seconds, give or take a tenth``, ``within a tenth of 25.5``."""
    unit = "|".join(UNITS.values())

    def made(m: re.Match[str]) -> str:
        said = m["v"]
        name = next((u for u, form in UNITS.items() if m["u"] and re.fullmatch(form, m["u"])), "")
        places = len(said.partition(".")[2])
        kind = "value" if name else "bare"
        return (
            f" {mark(Num(kind, float(said), name, 'about', places, None, m[0].strip(), tol=_size(m['t'])))} "
        )

    v = rf"(?P<v>\d+(?:\.\d+)?)(?: ?(?P<u>{unit}))?(?![\w/])"
    low = re.sub(rf"\b{v} ?,? (?:give or take|plus or minus|\+/-|plus minus) {_TOL}", made, low)
    return re.sub(rf"\bwithin {_TOL} of {v}", made, low)


def _ranges(low: str, mark: Callable[[Num], str]) -> str:
    """A range of sizes: ``between 2 and 3 %``, ``4 to 5 seconds quicker``."""

    def made(m: re.Match[str]) -> str:
        a, b = sorted((float(m["v"]), float(m["w"])))
        places = max(len(x.partition(".")[2]) for x in (m["v"], m["w"]))
        pct = m.re.groupindex.get("pct") is not None
        num = Num("pct" if pct else "difference", a, "%" if pct else "", "", places, None, m[0].strip(), hi=b)
        more = re.search(rf"{_MORE}$", m[0])
        return f" {mark(num)} " + (more[0] + " " if more and not pct else "")

    both = (
        r"\b(?:somewhere |anywhere )?(?:between |from )?(?P<v>\d+(?:\.\d+)?)(?: %)? ?"
        r"(?:and|to|or|-|, (?:or |maybe |perhaps )+) ?(?P<w>\d+(?:\.\d+)?)"
    )
    low = re.sub(rf"{both} ?(?P<pct>%)", made, low)
    low = _between(low, mark)
    return re.sub(rf"{both} (?:{'|'.join(UNITS.values())}) {_MORE}\b", made, low)


def _between(low: str, mark: Callable[[Num], str]) -> str:
    """``between 100 and 110 frames``, ``26 to 27 frames``: the unit of the second is that of the first."""
    v = r"(?<![\w.{~])\d+(?:\.\d+)?"
    for unit, form in UNITS.items():

        def both(m: re.Match[str], unit: str = unit) -> str:
            nums = (
                Num("value", float(x), unit, "", len(x.partition(".")[2]), None, x) for x in (m["v"], m["w"])
            )
            one, two = (mark(n) for n in nums)
            return f"{m['before']}{one} {'to' if m['word'] == '-' else m['word']} {two} "

        for before, word in (("between ", "and"), ("", "to|-")):
            low = re.sub(
                rf"\b(?P<before>{before})(?P<v>{v}) ?(?P<word>{word}) ?(?P<w>{v}) ?{form}(?![a-z/])(?! {_MORE})",
                both,
                low,
            )
    return low


def _kept(m: re.Match[str], make: Callable[[re.Match[str]], str]) -> str:
    """The direction word after a difference stays in the sentence."""
    more = re.search(rf"{_MORE}$", m[0])
    return make(m) + (more[0] + " " if more else "")


def _mod(m: re.Match[str]) -> str:
    return next((name for name, _ in _MODS if m.groupdict().get(name)), "")


_PART = re.compile(
    r"(?P<before>.{0,60})\{n(?P<n>\d+)\} (?:of|as much as) (?=(?:the|its|what|that|their|his|my|it)\b|\{[bs])"
)
_SHARE = re.compile(
    r"\b(?:los[et]s?|losing|costs?|costing|drops?|dropped|gives? (?:up|away)|gave (?:up|away)|takes?|"
    r"took|saves?|saved|saving|"
    r"cuts?|cutting|shaves?|shaved|knocks?|gains?|gained|adds?|added|worth|off|eats?|ate|down by|up by|"
    r"by|robs?|wins?|"
    r"forfeits?)\b[^{]*(?:\{[bwsgk]\d+\}[^{]*)*$"
)


_GAP = re.compile(
    r"\b(?:gap|difference|margin|lead|advantage|distance)\b"
    r"(?:(?! time| score| figure| reading)[^{]){0,20}? (?:is|was|comes to|came to|"
    r"of) (?:\w+ ){0,2}?\{n(\d+)\}"
)
_APART = re.compile(
    r"\b(?:gap|difference|margin|distance) (?:from|between) (?:the )?\{b\d+\} (?:to|and) (?:the )?\{b\d+\}"
    r"(?: in the \{w\d+\})? (?:is|was|comes to|of) \{n(\d+)\}|"
    r"\bbetween (?:both |the )?\{[bk]\d+\}(?: boards| and (?:the )?\{b\d+\})? "
    r"(?:lie|lies|lay|stand|are|is) \{n(\d+)\}"
)
_CHANGE = re.compile(
    r"\b(?:(?:went|goes|gone|came|comes|is|was|moved|crept) (?:up|down)|rose|fell|climbed|jumped|sank|"
    r"grew|crept)(?: by)? \{n(\d+)\}(?! (?:to|from)\b)"
)
_LEAD = re.compile(
    r"(?:(?<=\} )|(?<=\}'s )|(?<= it )|(?<= one )|(?<= 1 ))(?:has|had|have) \{n(\d+)\} (?:on|over) (?=the |\{)"
)
_OFF = re.compile(
    r"\b(?:knock\w*|shav\w+|took|takes?|cuts?|chop\w*|trim\w*|lop\w*|slic\w+|drop\w*|shed\w*|"
    r"strip\w*) \{n(\d+)\} off\b"
)


def parts_of(low: str, nums: list[Num]) -> str:
    """``80 % of its score`` is what is left of it, unless something lost or gained that much."""
    for m in _OFF.finditer(low):
        i = int(m[1])
        if nums[i].kind == "value":
            nums[i] = msgspec.structs.replace(nums[i], kind="difference")
    low = _OFF.sub(r"reduced {n\1}", low)
    for m in _APART.finditer(low):
        i = int(m[1] or m[2])
        nums[i] = msgspec.structs.replace(nums[i], kind="difference") if nums[i].kind == "value" else nums[i]
    for m in _GAP.finditer(low):
        i = int(m[1])
        if nums[i].kind in ("value", "bare"):
            nums[i] = msgspec.structs.replace(nums[i], kind="difference")
    for m in _LEAD.finditer(low):
        i = int(m[1])
        if nums[i].kind == "value":
            nums[i] = msgspec.structs.replace(nums[i], kind="difference")
    for m in _CHANGE.finditer(low):
        i = int(m[1])
        if nums[i].kind == "value":
            nums[i] = msgspec.structs.replace(nums[i], kind="difference")
    low = _LEAD.sub(r"is ahead by {n\1} of ", low)
    for m in _PART.finditer(low):
        n = nums[int(m["n"])]
        gone = re.search(
            (
                r"\b(?:gone|lost|missing|vanish\w*|disappear\w*|goes|went|less|saved|"
                r"shaved)\b"
            ),
            low[m.end() : m.end() + 45],
        )
        if n.kind == "pct" and _SHARE.search(m["before"]) is None and gone is None:
            nums[int(m["n"])] = msgspec.structs.replace(n, kind="part")
    for m in re.finditer(
        (
            r"\{n(\d+)\} (?:(?:\{w\d+\}|fps|scores?|frames?|speed|rate|figure) ){1,3}(?:of|"
            r"that) "
        ),
        low,
    ):
        i = int(m[1])
        if nums[i].kind == "pct":
            nums[i] = msgspec.structs.replace(nums[i], kind="part")
    for m in re.finditer(r"\b(?:save[sd]?|reduced) \{n(\d+)\}|\{n(\d+)\} (?:off|less time|shorter)\b", low):
        i = int(m[1] or m[2])
        if nums[i].kind == "pct":
            nums[i] = msgspec.structs.replace(nums[i], unit="off")
    return low
