"""Symptoms: which one a sentence means, and whether it is gone, still there, repaired, tried again."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from leadoff.claims.rows import table
from leadoff.claims.search.trials_heard import Part
from leadoff.claims.search.trials_tests import Held
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.oddities import fate, stem
from leadoff.claims.spoken.plain import plain
from leadoff.claims.spoken.values import Verdict
from leadoff.claims.values import Oddity

V = Verdict
_WEAK = frozenset(
    {
        "warm",
        "cold",
        "boot",
        "reset",
        "start",
        "screen",
        "night",
        "size",
        "half",
        "ten",
        "time",
        "new",
        "board",
        "minut",
    }
    | {
        "minute",
        "lose",
        "find",
        "found",
        "see",
        "show",
        "all",
        "dead",
        "die",
        "drop",
        "solder",
        "half-siz",
        "last",
    }
)
"""Words that many a symptom has: one of them alone names none."""


def stems(text: str) -> frozenset[str]:
    """Content words of a text, each as its shortest form and its kin."""
    words = [w for w in re.findall(r"[a-z][a-z-]+", text.lower()) if w not in table("spoken")["numbers"]]
    return frozenset(x for w in words if w not in _small() for x in (stem(w), *_kin().get(stem(w), ())))


@lru_cache(maxsize=1)
def _small() -> frozenset[str]:
    return frozenset(table("spoken")["harmless"]["small"].split())


@lru_cache(maxsize=1)
def _kin() -> dict[str, tuple[str, ...]]:
    out: dict[str, tuple[str, ...]] = {}
    for row in table("trials")["kin"]["rows"]:
        same = tuple(stem(w) for w in row.split())
        for w in same:
            out[w] = (*out.get(w, ()), same[0])
    return out


def own_words(o: Oddity) -> frozenset[str]:
    """Words of the symptom itself."""
    return stems(o.finding)


def named(text: str, oddities: Sequence[Oddity]) -> list[Oddity]:
    """Symptoms that a text shares words with, those with the most; words of a repair count where two are shared."""
    said = stems(text)
    scored = []
    for o in oddities:
        own = own_words(o) & said
        more = (stems(" ".join((*o.mends, *o.details))) - own_words(o)) & said
        strong = len(own - _WEAK)
        if strong or len(own) > 1 or len(more - _WEAK) > 0:
            scored.append((3 * strong + 2 * len(own & _WEAK) + 2 * len(more - _WEAK), o))
    top = max((n for n, _ in scored), default=0)
    return [o for n, o in scored if n == top]


def told(parts: Sequence[Part], o: Oddity) -> tuple[Held, ...]:
    """Every claim of these parts on one symptom."""
    out: list[Held] = []
    refs = tuple(e[:12] for e in o.entries)
    gone, why = fate(o)
    says = _says(parts, o)
    for kind in says:
        if kind == "gone":
            verdict = gone
        elif kind == "there":
            waits = gone is V.UNTESTED and o.repaired
            verdict = V.CONTRADICTED if not o.open else V.UNTESTED if waits else V.SUPPORTED
        elif kind == "open":
            verdict = V.SUPPORTED if o.open else V.CONTRADICTED
        elif kind in ("no repair", "repair"):
            verdict = V.SUPPORTED if bool(o.mends) == (kind == "repair") else V.CONTRADICTED
        else:
            again = not o.open or o.seen > 1
            verdict = V.SUPPORTED if again == (kind == "retest") else V.CONTRADICTED
        out.append(Held(verdict=verdict, why=why, refs=refs))
    return tuple(out)


def _says(parts: Sequence[Part], o: Oddity) -> set[str]:
    """gone, there, open, repair, no repair, retest, no retest."""
    out: set[str] = set()
    words = [w for p in parts for w in p.words]
    for p in parts:
        for item in p.health:
            if item.kind == "fixed":
                out.add("there" if item.denied else "gone")
            elif item.kind == "anymore":
                out.add("gone")
            elif item.kind == "still":
                literal = any(
                    w.text in ("open", "unfixed", "unsolved", "unresolved", "unrepaired") for w in p.words
                )
                well = not literal and not item.denied and opposite(p.words, o) == "gone"
                out.add("gone" if item.denied or well else "open" if literal else "there")
            elif item.kind == "repair" and item.denied:
                out.add("no repair")
            elif item.kind == "retest":
                out.add("no retest" if item.denied or p.has("owed") else "retest")
    if "there" in out and "open" in out:
        out.discard("there")
    if "no retest" in out:
        out -= {"there", "open", "retest"}
    if out > {"retest"}:
        out.discard("retest")
    if not out - {"retest"} and (turned := opposite(words, o)):
        out.add(turned)
    if (
        not out
        and any(i.kind == "repair" and not i.denied for p in parts for i in p.health)
        and (_only_told(words, o) or (not o.mends and not any(w.text in _LEANS for w in words)))
    ):
        out.add("repair")
    return out


def _only_told(words: Sequence[Word], o: Oddity) -> bool:
    """Whether nothing is said but what was done, in words of the notes."""
    if any(w.text in _LEANS for w in words):
        return False
    notes = stems(" ".join((o.finding, *o.details, *o.mends)))
    rest = stems(" ".join(w.text for w in words if not w.sign and not w.of("repair", "again")))
    return not rest - notes - _TOLD


_TOLD = frozenset(
    {
        stem(w)
        for w in (
            "measured",
            "reads",
            "read",
            "shows",
            "has",
            "have",
            "had",
            "got",
            "gave",
            "long",
            "ago",
            "already",
            "recently",
        )
    }
    | {stem(w) for w in ("was", "is", "been", "being", "it", "volt", "volts")}
)


_LEANS = frozenset(
    {
        "since",
        "after",
        "with",
        "despite",
        "spite",
        "until",
        "till",
        "though",
        "although",
        "even",
        "without",
        "when",
    }
)
"""Words that name a repair only to say what came of it."""


def opposite(words: Sequence[Word], o: Oddity) -> str:
    """The opposite of the symptom said, or the symptom denied: ``found on every boot``, ``no minute lost``."""
    finding = {stem(w) for w in re.findall(r"[a-z-]+", o.finding.lower())}
    said = {stem(t) for w in words if w.text != "found to be" for t in w.text.split()}
    denied = any(w.of("deny", "fail") or w.text.startswith("refuse") for w in words)
    past = any(w.of("before") for w in words)
    for row in table("trials")["opposites"]["rows"]:
        sick, well = ({stem(w) for w in side.split()} for side in row)
        absent = "not" in finding and bool(finding & well)
        if not (absent or finding & sick):
            continue
        if absent and said & well and not said & sick:
            return "there" if denied else "gone"
        if said & sick and not said & well:
            if denied and not absent:
                return "gone"
            until = any(w.text in ("until", "till") for w in words)
            return "gone" if until and not denied else "" if past or (denied and absent) else "there"
        if said & well and not said & sick:
            return "there" if denied else "gone"
    return ""


def other_repair(text: str, o: Oddity, every: Sequence[Oddity]) -> bool:
    """Names what was done against another symptom of the book and not against this one."""
    own = stems(" ".join((o.finding, *o.details, *o.mends)))
    other = stems(" ".join(t for x in every if x is not o for t in x.mends))
    return bool(stems(text) & (other - own - _WEAK))


def noted(o: Oddity) -> frozenset[float]:
    """Numbers in the notes on a symptom."""
    notes = " ".join(plain(t).low for t in (o.finding, *o.details, *o.mends))
    shares = {x for word, x in _SHARES.items() if word in notes}
    return frozenset(float(n) for n in re.findall(r"\d+(?:\.\d+)?", notes)) | {0.0, 1.0} | shares


_SHARES = {"half": 50.0, "halv": 50.0, "third": 100.0 / 3.0, "quarter": 25.0}
"""Shares in words, in percent."""
