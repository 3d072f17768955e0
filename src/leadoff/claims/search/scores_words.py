"""Classes of words that a sentence about single scores may hold."""

from __future__ import annotations

import re
from functools import lru_cache

from leadoff.claims.rows import table
from leadoff.claims.search.talk import Talk
from leadoff.claims.spoken.names import everyday, harmless, remarks
from leadoff.claims.spoken.reading import forms_of

_SIGN = re.compile(r"\{[a-z]\d+\}")
_EXCEPT = re.compile(
    r"\b(?:except(?:ing|ion)?|excluding|save(?: for)?|apart(?: from)?|barring|bar|aside|other than|besides|"
    r"(?:nobody|none|nothing|no \w+|every\w*|every \w+|all(?: \w+)?|any\w*) but|but (?:the|for))\b"
)
_WORD = re.compile(r"[a-z]+(?:[-'][a-z]+)*")


_LIES = re.compile(
    r"\blies? +(?=(?:somewhere |anywhere |always |all )*(?:between|at|in|within|on|from|under|over|above|below|"
    r"around|about|near|there)\b)"
)
"""``lies between``: where something is, and no lie."""


@lru_cache(maxsize=1)
def classes() -> dict[str, frozenset[str]]:
    """Every class by its name."""
    return {
        name: frozenset(str(row).split())
        for name, row in table("scores_words").items()
        if isinstance(row, str)
    }


def words(text: str) -> list[str]:
    """Words of a skeleton or of a sentence in lower case, signs left out."""
    return _WORD.findall(_LIES.sub("stands ", _SIGN.sub(" ", text.replace("’", "'"))))


def is_in(word: str, name: str) -> bool:
    """Whether a word or what it is a form of stands in a class."""
    return bool(forms_of(word) & classes()[name])


def hears(talk: Talk, *names: str) -> bool:
    """Whether a word of one of these classes stands in the sentence as it was read."""
    return any(is_in(w, n) for w in words(talk.said.low) for n in names)


def hears_raw(talk: Talk, *names: str) -> bool:
    """The same of the sentence as it was said."""
    return any(is_in(w, n) for w in words(talk.text.lower()) for n in names)


_YOU_WILL = re.compile(
    r"\b(?:you|you will|you'll|you would|you'd|one will|it will|it'll|that will|that'll) "
    r"(?:only |just |ever |always )*"
    r"(?:see|get|find|have|read|be looking at|be getting|give you|notice|meet)\b|"
    r"\b(?:that|it|this) (?:would|will) be\b|"
    r"\b(?:that|it)'(?:d|ll) be\b"
)
"""A figure told to a buyer is said to have been read."""


def supposed(talk: Talk) -> bool:
    """Whether the sentence only supposes."""
    heard = (talk.said.low, talk.text.lower().replace("’", "'"))
    return any(is_in(w, "supposes") for text in heard for w in words(_YOU_WILL.sub(" ", text)))


def excepts(talk: Talk) -> bool:
    """Whether somebody or something is left out (``nobody but``, ``the 386 apart``)."""
    low = f" {talk.said.low} {' '.join(words(talk.text.lower()))} "
    return _EXCEPT.search(low) is not None


_SUCH_A = re.compile(r"\b(?:a|an) ([a-z]+) \{n\d+\}")
"""``a miserable 17.4``: an opinion of the figure."""
_NO_OPINION = re.compile(
    r"(?:ed|en|ing|ical|ional|tive|ary|less)$|^(?:half|further|different|false|wrong|fake|virtual|target|nominal|raw|net|gross|"
    r"minimum|maximum|median|typical|likely|possible|potential)$"
)


def strange(talk: Talk) -> list[str]:
    """Words of the sentence that are no known small word, no word of talk and in no class."""
    known = harmless() | remarks() | everyday() | frozenset(w for row in classes().values() for w in row)
    known |= frozenset(m[1] for m in _SUCH_A.finditer(talk.said.low) if not _NO_OPINION.search(m[1]))
    named = {w for name in talk.evidence.ledger.workloads for w in re.findall(r"[a-z]+", name.lower())}
    return [w for w in talk.said.leftovers(known) if not forms_of(w) & named]


OUTDONE = re.compile(
    r"\b(?:nobody|no \w+|nothing|none)\b[^{},]*\b(?:beats?|below|under|faster|quicker|sooner|better|past|"
    r"above|over|higher|"
    r"tops?|touch(?:es)?|near|close|lower|less|matches|ahead)\b(?: \w+){0,2} (?:this|that|it|\{b\d+\})(?= |$)|"
    r"\bno (?:faster|quicker|slower|better|worse|higher|lower|swifter|speedier)\b[^,]*\bthan (?:the |my |"
    r"that |this )?"
    r"\{b\d+\}(?= ?$| ,)|"
    r"\b(?:nobody|no \w+|nothing|none)\b[^,]*\b(?:faster|quicker|higher|better|more) [^,]*"
    r"\bthan (?:\w+ ){0,2}\{n\d+\}|"
    r"\b(?:nobody|no \w+|nothing|none)\b[^,]*\b(?:faster|quicker|sooner|higher|lower|slower|worse|better) "
    r"(?:\w+ ){0,3}"
    r"(?:\{w\d+\} )?than (?:the |this |that |my )?\{b\d+\}(?= |$)|"
    r"\b(?:nobody|no \w+|nothing|none)\b(?:[^,{}]|\{w\d+\})*\b(?:faster|quicker|sooner|higher|lower|slower|"
    r"swifter)(?= ?$| ,| (?:in|here|there)\b)|"
    r"\b(?:nobody|nothing|none) (?:else )?(?:comes?|came|gets?|got) (?:anywhere |even )?(?:near|close)(?= ,| ?$)"
)
"""Nobody gets past it: what it speaks of is first."""
_OUTDONE_AT = (
    ("worst", re.compile(r"\b(?:slower|worse)\b")),
    ("lowest", re.compile(r"\b(?:lower|less)\b")),
    ("highest", re.compile(r"\b(?:higher|more)\b")),
)


def outdone_at(low: str) -> str:
    """The end at which nobody is further out."""
    m = OUTDONE.search(low)
    return next((end for end, ways in _OUTDONE_AT if m and ways.search(m[0])), "best")


_EVERYBODY = (
    r"(?:everybody|everyone|everything|anybody|anyone|anything|all (?:the )?(?:others?|rest|boards|machines)|"
    r"them all|the next(?: best)?(?: board| machine| one| man)?|all of them|the (?:rest|others|other (?:four|"
    r"boards|machines)|field|pack|lot)|"
    r"every(?: other)? (?:board|machine))\b(?! (?:that )?(?:the |my )?\{b)"
)
AGAINST_ALL = (
    (
        "best",
        re.compile(
            rf"\b(?:beats?|beat|outruns?|outran|leads?|led|(?:ahead|clear|in front) of|past|"
            rf"(?:faster|quicker|better) than) {_EVERYBODY}|\bis ahead (?:of|in) the \{{w\d+\}}|"
            rf"\bhas no (?:equal|rival|match|peer|challenger)s?\b|\b(?:tops?|"
            rf"heads?|leads?|headed|topped|led) the (?:table|list|field|pack|rankings?|order|"
            r"board|chart)\b|\b(?:nobody|no \w+|nothing|none)(?: \w+)? (?:is|was) (?:faster|quicker|"
            r"better)(?= ,| ?$)"
        ),
    ),
    (
        "worst",
        re.compile(
            rf"\btrailing it\b|\bat the (?:very )?(?:tail|back|rear|foot)\b|\b(?:behind|after|trails?|trailed|"
            rf"slower than|below) {_EVERYBODY}|"
            r"\b(?:slow|wrong|bottom) end of the\b|"
            r"\b(?:nobody|no \w+|nothing|none)(?: \w+)? (?:is|was) (?:slower|worse)(?= ,| ?$)"
        ),
    ),
)
"""One board against all the others."""
_THE_BETTER = re.compile(
    r"\bthe (?:better|worse|\w+er) (?:one|of (?:the|them|those|these|both)|evening|day|board|card|way|road|route)\b"
)
"""One of two is spoken of."""
_BOUND = re.compile(
    r"\b(?:(?:beats?|beaten)|(?:higher|lower|more|less|longer|shorter|fewer|greater) than) (?=(?:the |a )?\{n\d+\})"
)


_OFTEN = re.compile(r"\b(?:twice|thrice)\b(?! (?:as|the|that|what|its|his|my|this|faster|quicker|over|\{b))")
"""How often a thing came."""


def compares(talk: Talk) -> bool:
    """Whether two things are set against each other; ``beats 20`` is a bound."""
    low = _OFTEN.sub(" ", _BOUND.sub(" ", talk.said.low))
    return any(is_in(w, "compares") for w in words(low)) or _THE_BETTER.search(low) is not None


def against_all(low: str) -> list[str]:
    """Whether one is said to stand before or behind all the others."""
    return [end for end, ways in AGAINST_ALL if ways.search(low)]


_ALONE = re.compile(
    r"\bthe only\b|\bonly (?:the |my )?\{[bk]\d+\}|\{[bk]\d+\} (?:alone|only)\b|\bonly (?:one|"
    r"\{n\d+\}) (?:of|board|machine)|"
    r"\{n\d+\} (?:only|alone|tops|at (?:the )?(?:very )?most|and no more|and nothing more)\b|"
    r"\b(?:alone|sole|solely|exclusively|nobody else|no other|nothing else|no one else|single-handed)\b"
)


UNSHARED = re.compile(
    r"\b(?:and |but )?(?:alone|outright|undisputed(?:ly)?|unshared|(?:all )?(?:to|by) (?:itself|himself|herself)|"
    r"on its own|"
    r"(?:must|may|need|can|will|is|was|does|should)? ?not (?:to )?(?:be )?shared?(?: with (?:the |my )?\{\w+\})?|"
    r"without sharing|(?:, )?and no board ?'s|(?:, )?and (?:the )?\{b\d+\}'s (?:only|alone)|"
    r"shared with (?:nobody|no one|none)|and no (?:other|one else|body else)|and nobody else)\b"
)
"""Of a record or a first place: nobody shares it, which the words say by themselves."""


def alone(talk: Talk) -> bool:
    """Whether something is said of one and of no other."""
    return _ALONE.search(talk.said.low) is not None


_COPY = frozenset({"copy", "copies", "copied", "compare"})
_START = re.compile(r"\b(?:to|at the|from the|for a) start\b|\bstart(?:s|ed|ing)? (?:at|from|with)\b")


_UNLESS = re.compile(
    r"\b(?:when|whenever|as long as|so long as|unless|until|till|provided) (?:it|that|the \w+|he|"
    r"she) (?:[\w']+ ){0,3}"
    r"(?:hang|hung|crash|reboot|freez|lock|fail|die)\w*"
)
"""``when it did not hang``: figures are spoken of, not the failures between them."""


def tried(talk: Talk) -> list[str]:
    """Words of soaks, copies, starts and failures in the sentence as it was said, those of a workload left out."""
    text = _UNLESS.sub(" ", _START.sub(" ", talk.text.lower()))
    copying = any("copy" in w for w in talk.said.workloads)
    found = [w for w in words(text) if is_in(w, "trials")]
    found += [w for w in words(talk.said.low) if w in ("stable", "solid", "flawless", "soaked")]
    return [w for w in found if not (copying and w in _COPY)]
