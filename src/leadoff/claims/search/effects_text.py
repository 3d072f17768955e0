"""The wording of a sentence made even before its mentions are read: sizes, waits, what was taken out."""

from __future__ import annotations

import re
from functools import lru_cache

from leadoff.claims.rows import table
from leadoff.claims.spoken.plain import spelled

_TAKEN = re.compile(
    r"\b(?:tak\w+|took|switch\w*|turn\w*|pull\w*|remov\w*|disabl\w*|knock\w*|leav\w*|left|cut\w*|got|"
    r"throw\w*|threw|flip\w*|flick\w*|whip\w*|"
    r"toss\w*|chuck\w*|yank\w*|strip\w*|edit\w*|lift\w*|cho[po]\w*) "
    r"(?:(?:the|its|that|this|my|all|one|1|last|only|single|both|extra) )*"
    r"(l2(?: cache)?|write-back|(?:(?:read|write|memory) )?waits?) (?:away|out|off)\b"
)
_RID_OF = re.compile(
    r"\b(?:pull|ditch|remov|delet|shed|scrap|kill|skip|eliminat|abolish|dispens|get(?:ting)? rid of|got rid of|"
    r"do(?:ing)? away|did away|dropp|drop)"
    r"(?:s|e|es|ed|ing|ping)?(?: with)? (?:(?:the|its|that|this|my|all|both|one|last|only) )+"
    r"(l2(?: cache)?|write-back|(?:(?:read|write|memory|cache|bus) )*waits?)(?! (?:from|to|down) )\b"
)
_CAME_OUT = re.compile(
    r"\b(?:the |its |that |my )?(l2(?: cache)?|write-back|(?:(?:read|write|memory|cache|bus) )*waits?) (?:now |"
    r"then |all )?(?:(?:is|was|are|were|gets|got|being|been) )?(?:now |all )?(?:(?:came|comes|coming|come|went|goes|"
    r"going|go|dropped|drops) (?:out|away|off)|out(?= |$)|gone|taken out|taken away|switched off|turned off)(?! of)\b"
)
_HALF_STEP = re.compile(
    r"\b(?:(?:an|the|that|another|one) )?(?:extra |other |next |last )?half(?:[ -]a)?[ -]?(?:step|notch|turn|"
    r"click|multiplier|point)?"
    r"(?: (?:more|extra|up|higher))?(?: (?:on|of|in|to))? the (?P<what>multiplier|ratio)\b",
    re.I,
)
_MEGABYTE = re.compile(
    r"\b(?P<mod>(?:about|over|nearly|almost|just|under|than) )?(?:a|one) meg(?:abyte)? (?:a|"
    r"per|each|every) second\b",
    re.I,
)
_EGGS = re.compile(
    r"\b(?:as )?(?:alike |level |close |same )?(?:as|like) (?:two|a pair of) (?:peas|eggs|drops|pins|coins|twins|"
    r"beans|buttons|shoes|brothers|sisters)"
    r"(?: (?:in|of|out of|from) (?:a |the |one )?\w+(?: \w+)?(?= ?[,.]|$))?",
    re.I,
)
_FOR_ALL = re.compile(
    r"\bfor all the (?:difference|good|change|effect) (?:that|it|this|they) (?:made|makes|did|does|had)\b"
    r"(?P<where>[^,]*), (?:i|you|we) (?:might|could|may) as well [^,.]*",
    re.I,
)
"""``For all the difference it made, I might as well have left it``: it made none."""
_HOME = re.compile(
    r"\b(?:cross|reach|mak|pass|com|get|go|break|tak)(?:es|ed|ing|s|e)?(?: over| across| past| to)? the "
    r"(?:finish(?:ing)? |winning )?(?:line|tape|post)(?: first)?\b",
    re.I,
)
_SIX = re.compile(r"\bsix of (?:the )?one(?:,?(?: and)? half[ -]a[ -]dozen of the other)?", re.I)
_WAY_OF = re.compile(r"\bby (?:way|means) of\b|\bwith the help of\b|\bin the case of\b")
"""A way of saying ``with``: what follows is no side that another is held against."""
_SHARE = (
    r"(?P<n>(?:(?:about|nearly|almost|roughly|over|some|well over|more than|just over|just under|at least) )?"
    r"(?:a (?:full |whole |good |clear )?(?:half|third|quarter|fifth|sixth|seventh|eighth|ninth|tenth)|half|"
    r"\d[\d.]* %))"
)
_GOES = (
    r"(?:, )?(?:(?:is|are|was|were|has|have|had|got|gets) )?(?:just |simply |all |straight |plain |clean )?"
    r"(?:go|goes|went|gone|lost|vanish\w*|disappear\w*|evaporat\w*|melt\w*|missing|left us|shaved off|cut off|"
    r"knocked off|"
    r"eaten(?: up| away)?|swallowed|"
    r"(?:falls?|fell|drop\w*|walk\w*|runs?|ran|flies|flew|fad\w+|drain\w*|leak\w*|bleeds?|bled|slip\w*|"
    r"march\w*|wander\w*|"
    r"escap\w+|take\w* wing|took wing|peel\w*|blows?|blew)(?: (?:straight|right|clean|just|simply))? (?:away|off|"
    r"out|through))"
    r"(?: (?:with|along with) (?:it|them|that))?"
    r"(?: (?:of )?(?:away|off|missing|west|overboard|the (?:window|door|roof|drain)|out of the window|down the "
    r"drain|for good|up in smoke))?\b"
)
_LESS = re.compile(
    rf"\b{_SHARE} of (?:the|its|their|your|my) (?:[a-z]+ )??(?P<what>(?:frame )?[a-z]+)(?P<where>(?: "
    rf"[^,]{{1,30}}?)?) {_GOES}(?! (?:up|down|to|from)\b)"
)
"""A fifth of the frames goes, a quarter of the time is gone: what is lost of it."""
_AWAY = re.compile(
    rf"\b(?:tak\w+|took|knock\w*|shav\w+|slic\w+|chop\w*|cuts?|cutting|rob\w*|steal\w*|stole|trim\w*|wip\w+) "
    rf"{_SHARE}(?: off| out)? of "
    r"(?:the|its|their|your|my) (?P<what>[a-z]+)(?: away| off)?"
)
_TAKEN_FROM = re.compile(
    r"\b(?:takes?|took|taking) ((?:about |nearly |almost |over |just over |under |some )?(?:\d[\d.]*|a|half a) "
    r"(?:%|frames?|fps|lines?|mb/s))"
    r"(?: clean| right| straight)? away\b"
)
_INTO = re.compile(
    r"(?<!from )\b(\d+(?:\.\d+)?)( (?:frames|fps|seconds|lines|s|mb/s))? (?:becomes?|became|(?:turns?|turned) into|"
    r"(?:goes|went|drops?|dropped|falls?|fell|rises|rose|climbs?|climbed|grows|grew|shrinks|shrank|slips|slipped|"
    r"sinks|sank|jumps?|jumped|moves|moved|crept|creeps|came|comes) (?:up |down |back )?to) (?=(?:about |nearly |"
    r"just over |over |under )?\d)"
)
_TIMES = ("time", "seconds", "minutes", "wait", "waiting")
_UNREAD = re.compile(
    r"\b(?:jumpers|settings|switches)(?: \w+){0,3}? (?:unread|unknown|unnoted|not (?:read|noted|known)|a mystery)\b|"
    r"\bas (?:it|she) came\b|\bunread jumpers\b"
)
_ASIDE = re.compile(
    r", or so (?:i|we) (?:make|made|reckon|think|find|found|read)\w*(?: (?:it|that))?\b", re.I
)
"""``or so I make it`` is no ``about``."""
_ARROW = re.compile(r"(?<!from )(?<![\w.])(\d+\.\d+|\d{2,}) ?(?:-+>|=+>|\u2192) ?(?=\d)")
_PARTS = {"half": "1.5", "third": "1.33", "quarter": "1.25"}
_AND_PART = re.compile(r"\ban? (frame|second|line|minute) and an? (half|third|quarter)\b", re.I)
_OF_EVERY = re.compile(r"\b(\d+)(?: \w+)? (?:of|in|out of) every ([1-9]\d*)\b")


def _way(m: re.Match[str]) -> str:
    """Of time something is saved, of anything else it is lost."""
    what = f"{m['what']}{m.groupdict().get('where') or ''}"
    return "saves" if any(w in _TIMES for w in what.split()) else "loses"


_NONE = re.compile(
    r"\b(?:gain|gains|gained|bring|brings|brought|buys?|bought|gives?|gave|wins?|won|saves?|saved|adds?|added|"
    r"los(?:es|t|e)|costs?) (?:(?:me|you|it|us|the board) )?no (?:extra |more |further |single )?"
    r"(?:frames?|fps|lines?|seconds?|time|speed|points?)\b"
)
"""Nothing gained or lost of what is measured."""
_SECONDS_OFF = re.compile(
    r"\b(?:takes?|took|taken|taking|knock\w*|shav\w+|cuts?|cutting|trim\w*|slic\w+|lops?|lopped) "
    r"((?:(?:nearly|about|almost|roughly|over|under|just over|just under|more than|less than) )*"
    r"\d[\d.]* (?:seconds?|minutes?|s)) off\b"
)
"""``Took nearly three seconds off``."""


_WITHIN = re.compile(
    r"\b(?:to )?within (?:a |an |one |two |three |half a |\d[\d.]* ?)?"
    r"(?:%|percent|tenths?|hair|whisker|hundredths?|frames?|seconds?|lines?|points?)(?: or (?:two|so|less))?"
    r"(?: of (?:a|an|each|one|the) (?:other|another|frame|second|line|megabyte))?",
    re.I,
)
_SAME = re.compile(r"\b(?:same|level|equal\w*|identical\w*|agree\w*|match\w*|tie\w?|alike|repeat\w*)\b", re.I)
_MONTHS = r"january|february|march|april|june|july|august|september|october|november|december"
_MONTH = re.compile(rf"(?<!in )(?<!in early )(?<!in late )(?<!\d )(?<!of )\b({_MONTHS})\b(?! \d)", re.I)


_SMALL = {
    "a": 1,
    "one": 1,
    "two": 2,
    "three": 3,
    "four": 4,
    "five": 5,
    "six": 6,
    "seven": 7,
    "eight": 8,
    "nine": 9,
}
_FINE = re.compile(
    rf"\b(?P<n>{'|'.join(_SMALL)}|\d)[ -](?P<part>hundred|thousand)ths? of an? (?P<unit>frame|second|"
    rf"line|megabyte)(?P<about>,? or so)?\b",
    re.I,
)


def _fine(m: re.Match[str]) -> str:
    """``three hundredths of a frame`` as a number."""
    n = _SMALL.get(m["n"].lower()) or int(m["n"])
    value = n / (100 if m["part"].lower() == "hundred" else 1000)
    unit = "mb/s" if m["unit"].lower() == "megabyte" else f"{m['unit']}s"
    return f"{'about ' if m['about'] else ''}{value:g} {unit}"


@lru_cache(maxsize=2)
def _rows(kind: str) -> tuple[tuple[re.Pattern[str], str], ...]:
    """Wordings and the ones that the search reads, tried in their order."""
    what = str(table("effects")["text"]["thing"])
    rows = table("effects")["text"][kind]
    return tuple((re.compile(old.replace("<thing>", what), re.I), new) for old, new in rows)


def worded(text: str) -> str:
    """The plain words of a sentence in the wording that the search reads."""
    for form, new in _rows("rows"):
        text = form.sub(new, text)
    text = _FINE.sub(_fine, text)
    text = _WITHIN.sub("" if _SAME.search(text) else "level", text)
    if len(re.findall(rf"\b(?:{_MONTHS})\b", text, re.I)) > 1:
        text = _MONTH.sub(r"in \1", text)
    text = _EGGS.sub("level", _MEGABYTE.sub(r"\g<mod>1 mb/s", _HALF_STEP.sub(r"the higher \g<what>", text)))
    text = _FOR_ALL.sub(r"no difference\g<where>", text)
    text = _HOME.sub("is ahead", _SIX.sub("level", _ASIDE.sub("", text)))
    text = re.sub(r"(?<![\w.])(\d+(?:\.\d+)?) up to (?=\d)", r"from \1 to ", text)
    text = _ARROW.sub(r"from \1 to ", text)
    text = re.sub(r"\b(?:ca|approx|circa)\.? ?(?=\d)", "about ", text, flags=re.I)
    text = re.sub(r"\b(?:ca|approx|circa)\.? ?(?=[+-]\d)", "", text, flags=re.I)
    text = re.sub(r"\bthe (read|write) one\b", r"the \1 wait", text, flags=re.I)
    text = _AND_PART.sub(lambda m: f"{_PARTS[m[2].lower()]} {m[1]}s", text)
    low = _NONE.sub("makes no difference", _WAY_OF.sub("with", spelled(text)))
    for form, new in _rows("plain"):
        low = form.sub(new, low)
    low = _SECONDS_OFF.sub(r"saved \1", low)
    low = _LESS.sub(lambda m: f"{_way(m)} {m['n']} of the {m['what']}{m['where']}", low)
    low = _AWAY.sub(lambda m: f"{_way(m)} {m['n']} of the {m['what']}", low)
    low = _TAKEN_FROM.sub(r"costs \1", low)
    low = _INTO.sub(r"from \1\2 to ", low)
    low = re.sub(r"\b(\d[\d.]*) ?mb (more |less |extra )?(?:per|a|every|each) second\b", r"\1 mb/s \2", low)
    low = _OF_EVERY.sub(lambda m: f"{100 * int(m[1]) / int(m[2]):g} %", low)
    low = re.sub(
        r"\bgot (\d[\d.]* %|a quarter|a third|half|a fifth)( of [^,{]{1,30}?) back\b", r"saved \1\2", low
    )
    if re.search(r"\bhalf\b", text, re.I):
        low = re.sub(
            r"(?<!about )(?<!nearly )\b50 % (?=faster|slower|quicker|longer|more)", "about 50 % ", low
        )
    low = re.sub(r"\b(\d+(?:\.\d+)?)[ -]?odd (?=%)", r"about \1 ", low)
    low = re.sub(
        r"\bhalf (?:as )?(?:\w+ )?again(?: as \w+)?\b|\bhalf as (?:fast|quick|much|long|many) again\b",
        "1.5 times as fast",
        low,
    )
    low = re.sub(r"\b(?:1|one) and a half times\b", "1.5 times", low)
    low = re.sub(
        r"\b(\d+(?:\.\d+)?) to (?:1|one)\b(?! (?:or (?!so|there)|of|wait|read|write|clock))", r"\1 times", low
    )
    low = re.sub(r"\b(\d+(?:\.\d+)?)[ -]?fold\b", r"\1 times", low)
    low = re.sub(
        r"\b(half|a third|a quarter|a fifth) (?:(?:as|so) (?:long|much time)\b(?: as)?|the (?:seconds|minutes) of\b)",
        r"\1 of the time of",
        low,
    )
    low = re.sub(
        r"\b(half|a third|a quarter|a fifth) (?:as|so) (?:fast|quick|much|many|high)\b(?: as)?",
        r"\1 of the speed of",
        low,
    )
    low = re.sub(r"\b(?:so|as) (\d)", r"about \1", low)
    low = re.sub(r"\b(?:second|2nd)(?: |-)(?:level )?cache\b", "l2", low)
    low = re.sub(
        r"\bthe one (?:on|for) (?:the )?(?:memory )?(read|writ)(?:es?|s|ing)?\b",
        lambda m: f"the {'read' if m[1] == 'read' else 'write'} waits",
        low,
    )
    low = _TAKEN.sub(r"without \1", low)
    low = _RID_OF.sub(r"without \1", low)
    low = _CAME_OUT.sub(lambda m: f"{'no' if m[0].endswith(f'{m[1]} out') else 'without'} {m[1]}", low)
    low = _UNREAD.sub("unknown jumpers", low)
    return low
