"""Symptoms: fixed, still there, gone."""

from __future__ import annotations

import re
from functools import lru_cache

from leadoff.claims.rows import table
from leadoff.claims.spoken.plain import plain
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.values import Oddity

V = Verdict
FIXED = (
    r"\b(?:fixed|cured|repaired|solved|sorted(?: out)?|healed|mended|gone|any ?more|all right(?= now|"
    r" again| since|$| ,)|"
    r"no longer|works again|is fine now|fine now|is good again|put right|back to normal|"
    r"(?:fix|repair|cure)(?: \w+| \{\w+\}){0,5}? (?:held|holds|worked|works)|(?:is|are|was|been|"
    r"behaves|works?) (?:perfectly |quite |all )?(?:fine|ok|right)(?= since| again| ever since| now|$| ,)|"
    r"resolved|finally works|works now|dealt with)\b"
)
STILL = (
    r"\b(?:still|keeps?(?! (?:going|running|ticking|time|working|talking)\b)|again|remains|persists|open|"
    r"comes back|came back|not fixed|unfixed)\b"
)
_WEAK = frozenset({"warm", "cold", "boot", "reset", "start", "screen", "night", "size", "half", "ten"})
"""Words that many a symptom has: one of them alone names none."""
_STILL_SO = r"\b(?:still|keeps?|remains|persists|comes back|came back|not fixed|unfixed|does it again)\b"
_TROUBLE = r"\b(?:problem|fault|trouble|issue|symptom|oddity|quirk|bug)s?\b"
RETEST = r"\b(?:re-?test(?:s|ed|ing)?|tested|tried|checked|looked at|verified|confirmed)\b"
_SYNONYMS = {
    "serial": "serial",
    "com": "serial",
    "floppy": "floppy",
    "diskette": "floppy",
    "keyboard": "keyboard",
    "clock": "clock",
    "rtc": "clock",
    "time": "clock",
    "battery": "battery",
}


def oddity_of(ask: Ask) -> Oddity | None:
    """The symptom that the sentence speaks of, by the words they share; none when two fit as well."""
    if ask.said.oddities:
        return ask.evidence.ledger.oddities[ask.said.oddities[0]]
    boards = ask.boards or list(ask.evidence.ledger.boards)
    return _named_on(ask, boards) or (
        None if ask.by_name else _named_on(ask, list(ask.evidence.ledger.boards))
    )


def _named_on(ask: Ask, boards: list[str]) -> Oddity | None:
    """The symptom of these boards that the sentence shares words with."""
    low = ask.low
    if any(
        op != "is" or value == "on" for s in ask.wants for n, op, value in ask.said.want(s).tests if n == "l2"
    ):
        low = f"{low} cache"
    words = {stem(_SYNONYMS.get(w, w)) for w in re.findall(r"[a-z][a-z-]+", low)}
    scored = []
    for o in ask.evidence.ledger.oddities:
        if o.board not in boards:
            continue
        own = {stem(w) for w in re.findall(r"[a-z][a-z-]+", o.finding.lower())} - _small()
        more = {stem(w) for t in o.mends for w in re.findall(r"[a-z][a-z-]+", t.lower())} - _small() - own
        shared = own & words
        if shared - _WEAK or len(shared) > 1:
            scored.append((2 * len(shared) + len(more & words), o))
        elif len(more & words) >= 2:
            scored.append((len(more & words), o))
    if scored:
        top = max(n for n, _ in scored)
        best = [o for n, o in scored if n == top]
        return best[0] if len(best) == 1 else None
    if (
        ask.scene.oddity is not None
        and re.search(f"{FIXED}|{RETEST}|{_STILL_SO}|\\bresponsible\\b", ask.low)
        and not ask.wants
        and not ask.figures()
        and (
            re.search(r"\b(?:it|that|this|its|they|them)\b", ask.said.plain.low)
            or ask.has(f"{_TROUBLE}|^ (?:{FIXED})")
            or len(words) <= 4
            or words
            & {stem(w) for t in ask.scene.oddity.mends for w in re.findall(r"[a-z][a-z-]+", t)} - _small()
        )
    ):
        return ask.scene.oddity if ask.scene.oddity.board in boards else None
    if (
        ask.has(r"\b(?:fault|symptom|oddity|problem|bug|issue)\b")
        and ask.boards
        and ask.has(f"{FIXED}|{STILL}")
    ):
        own_ = [o for o in ask.evidence.ledger.oddities if o.board in ask.boards]
        return own_[0] if len(own_) == 1 else None
    return None


@lru_cache(maxsize=1)
def _small() -> frozenset[str]:
    """Words too common to tell one symptom from another."""
    return frozenset(stem(w) for w in table("spoken")["harmless"]["small"].split())


_IRREGULAR = {
    "lost": "los", "lose": "los", "found": "find", "shown": "show",
    "died": "dead", "dies": "dead", "dying": "dead", "kept": "keep",
    "broke": "break", "broken": "break", "forgot": "forget", "forgets": "forget", "saw": "see", "seen": "see",
    "halves": "half", "halved": "half", "lives": "alive", "live": "alive", "bytes": "byte",
}  # fmt: skip


@lru_cache(maxsize=4096)
def stem(word: str) -> str:
    """A word without its ending, the same for all its forms."""
    word = re.sub(r"(?:'s|')$", "", word)
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    for end in ("ing", "ed", "es", "s"):
        left = word.removesuffix(end)
        if left != word and len(left) >= 3 and not word.endswith("ss"):
            if end in ("ing", "ed") and len(left) > 3 and left[-1] == left[-2]:
                left = left[:-1]
            return left.removesuffix("e")
    return word.removesuffix("e") if len(word) > 4 else word


def oddities(ask: Ask) -> tuple[list[Finding], Oddity | None]:
    """What a sentence says of a symptom, and which one it is."""
    if ask.has(
        r"\b(?:no|any|without) (?:open )?(?:symptoms?|faults|oddities|open issues)\b|\bnothing "
        r"(?:is |left |still )?open\b|\bopen (?:symptoms?|faults?|issues?|problems?|oddity|oddities)\b|"
        r"\b(?:symptoms?|faults?|issues?|problems?|oddities)"
        r"(?: (?:is|are|were|was|still|left|remains?|to be))* (?:open|left)\b"
    ) and (ask.boards or ask.all_boards or ask.has(r"\b(?:no|every) board\b")):
        return [_open_list(ask)], None
    if (
        ask.boards
        and ask.has(r"\b(?:faults|symptoms|problems|issues|oddities|troubles)\b")
        and ask.has(FIXED)
    ):
        return [_all_fixed(ask)], None
    o = oddity_of(ask)
    if o is None or (
        ask.workloads_named and ask.has(r"\b(?:worth|costs?|gains?|gained|gives?|gave|brings?|brought)\b")
    ):
        return [], None
    again = o is ask.scene.oddity and ask.has(
        r"\b(?:since|now|every time|each time|any ?more|always|again|never|not|no)\b"
    )
    if not (
        ask.has(f"{FIXED}|{STILL}|{RETEST}|{_UNTOUCHED}")
        or _shared(ask, o) >= 2
        or (again and _shared(ask, o))
    ):
        return [], o if _speaks_of(ask, o) else None
    state, text = fate(o)
    verdict = _tested(ask, o) or _said_of(ask, o, state)
    if verdict is V.SUPPORTED and _order_wrong(ask, o):
        verdict = V.NOT_PLACED
    if verdict is not V.UNTESTED and (
        _other_numbers(ask, o) or (verdict is V.SUPPORTED and _other_repair(ask, o))
    ):
        verdict = V.CONTRADICTED
    return [
        Finding(
            verdict=verdict,
            why=text,
            refs=tuple(e[:12] for e in o.entries),
            boards=(o.board,),
            true=text,
            used=frozenset(ask.said.signs("nswgr")),
        )
    ], o


def fate(o: Oddity) -> tuple[Verdict, str]:
    """What the book says to a symptom being gone, and in words."""
    detail = f", {o.details[-1]}" if o.details else ""
    if not o.open:
        return V.SUPPORTED, f"{o.board}: {o.finding}: tested again and gone{detail}"
    if o.seen > 1:
        return V.CONTRADICTED, f"{o.board}: {o.finding}: seen again{detail}"
    return V.UNTESTED, f"{o.board}: {o.finding}: not tested again since"


_UNTOUCHED = (
    r"\b(?:not|never|nothing|nobody)\b(?: \w+| \{\w+\}){0,3}? (?:done|attempted|"
    r"tried) (?:\w+ ){0,2}(?:about|against|to fix)|"
    r"\bnothing (?:\w+ ){0,3}done\b|\bno repair\b|\bnot (?:been )?repaired\b|"
    r"\bnever (?:been )?(?:repaired|touched)\b"
)
"""Says that no repair was made."""


_MENDED = r"(?:repaired|replaced|soldered|resoldered|changed|swapped|fitted|cleaned|reseated|mended|put in)"


def _order_wrong(ask: Ask, o: Oddity) -> bool:
    """Before where after was noted, or a repair that is said not to have been made: no rule reads that."""
    low = ask.said.plain.low
    if o.mends and re.search(rf"\b(?:was|were|is|been|has|have|had) not (?:\w+ )?{_MENDED}\b", low):
        return True
    before = re.search(r"\bbefore\b", low) is not None and re.search(r"\b(?:after|since)\b", low) is None
    return before and (
        " after " in f" {o.finding} " or re.search(rf"\bbefore\b[^,]*\b{_MENDED}", low) is not None
    )


def _speaks_of(ask: Ask, o: Oddity) -> bool:
    """Whether the next sentence may mean this symptom: it was told, or named with little else."""
    words = re.findall(r"[a-z]+", re.sub(r"\{\w+\}", " ", ask.low))
    return _shared(ask, o) >= 2 or ask.has(_TROUBLE) or len(words) <= 4


def _tested(ask: Ask, o: Oddity) -> Verdict | None:
    """``nobody has tested it since``: whether the symptom was tried again after it was noted."""
    if ask.has(_UNTOUCHED):
        return V.CONTRADICTED if o.mends else V.SUPPORTED
    if ask.has(r"\b(?:not|never|nobody|nobody's)\b(?: \w+| \{\w+\}){0,3}? (?:re-?)?tested\b"):
        return V.SUPPORTED if o.open and o.seen == 1 else V.CONTRADICTED
    if (
        not ask.has(RETEST)
        or ask.has(f"{FIXED}")
        or ask.has(r"\b(?:fail(?:s|ed)?|dead|die[sd]?|still|lost)\b")
        or not ask.has(r"\b(?:since|again|not|never|nobody|no|yet|re-?test)")
    ):
        return None
    again = not o.open or o.seen > 1
    denied = ask.has(r"\b(?:not|never|nobody|no|without|yet to|still to|waiting)\b")
    return V.SUPPORTED if again != denied else V.CONTRADICTED


def _other_repair(ask: Ask, o: Oddity) -> bool:
    """Names what was done against another symptom of the book and not against this one."""
    own = " ".join((o.finding, *o.details, *o.mends)).lower()
    other = " ".join(t for x in ask.evidence.ledger.oddities if x is not o for t in (*x.mends,)).lower()

    def stems(text: str) -> set[str]:
        return {stem(w) for w in re.findall(r"[a-z][a-z-]+", text)} - _small()

    by = re.search(r"\b(?:by|with|through|thanks to|because of|after) (.+)", ask.said.plain.low)
    return by is not None and bool(stems(by[1]) & (stems(other) - stems(own)))


def _other_numbers(ask: Ask, o: Oddity) -> bool:
    """A number that none of the notes on this symptom has: ``20 minutes a night`` where ten were noted."""
    notes = " ".join(plain(t).low for t in (o.finding, *o.details, *o.mends))
    noted = {float(n) for n in re.findall(r"\d+(?:\.\d+)?", notes)} | {0.0, 1.0}
    said = {
        ask.said.num(s).value
        for s in ask.said.signs("n")
        if ask.said.num(s).kind in ("value", "loose", "count") and not ask.said.num(s).spoken
    }
    said |= {n.of for s in ask.said.signs("n") if (n := ask.said.num(s)).of is not None}
    return bool(said - noted)


def _said_of(ask: Ask, o: Oddity, state: Verdict) -> Verdict:
    """``state`` is the verdict on its being gone. Says a sentence that it is gone, still there, or that it was?"""
    not_fixed = re.search(
        (
            r"\b(?:not|never|n't|yet to be|far from|un)\b(?: \w+){0,2} ?(?:fixed|cured|repaired|"
            r"solved|sorted|gone|mended|resolved|put right|right|fine|ok|good|normal)\b"
        ),
        ask.low,
    )
    there = {V.SUPPORTED: V.CONTRADICTED, V.CONTRADICTED: V.SUPPORTED}.get(state, state)
    if state is V.UNTESTED and not o.repaired:
        there = V.SUPPORTED
    if ask.has(r"\b(?:not|never|no longer) (?:\w+ )?(?:still|keeps?|remain)"):
        return state
    if (ask.has(FIXED) or _opposite(ask, o)) and not not_fixed:
        return state
    if not_fixed or re.search(
        STILL, re.sub(rf"\b{_MENDED}\b(?: [\w'-]+| \{{\w+\}}){{0,3}}? again\b", " ", ask.low)
    ):
        return there
    denied = ask.has(r"\b(?:not|never|no|nothing|without|stopped|hardly|neither)\b")
    if denied != bool(re.search(r"\b(?:not|never|no|dead)\b", o.finding)) and (denied or ask.has(_SINCE)):
        return state
    if _shared(ask, o) < 2 and o is not ask.scene.oddity:
        return V.NOT_PLACED
    if ask.has(r"\b(?:was|were|had|used to|[a-z]+ed|lost)\b") and not ask.has(_SINCE) and not denied:
        return V.SUPPORTED
    return V.CONTRADICTED if state is V.SUPPORTED else V.SUPPORTED


_OPPOSITES = (
    ("half", "full|whole|right|correct|proper"),
    ("dead", "alive|lives?|living|works?|worked|awake"),
    ("not found", "found|finds?|sees?|seen|shows? up|showed up|turns? up|turned up|there"),
    ("loses", "keeps? (?:good )?time|on time|in time"),
    ("drops", "all|complete|intact"),
    ("stops", "keeps? (?:going|running|ticking|time)|is stable|runs? on|goes on"),
    ("silent", "talks?|talking|speaks?|answers?"),
    ("missing", "turns? up|turned up|there|found|present"),
)


def _opposite(ask: Ask, o: Oddity) -> bool:
    """The sentence says the opposite of the symptom: at its full size, where half was noted."""
    low = ask.said.plain.low
    return any(
        re.search(rf"\b{bad}\b", o.finding)
        and re.search(rf"\b(?:{good})\b", low)
        and not re.search(r"\b(?:not|never|no)\b", low)
        for bad, good in _OPPOSITES
    )


_SINCE = r"\b(?:since|now|every time|each time|any ?more|always|again|these days|today|ever)\b"


_LINKS = frozenset({"the", "a", "an", "on", "at", "its", "after", "not", "with", "and", "of"})


def _shared(ask: Ask, o: Oddity) -> int:
    """Words that the sentence shares with the symptom, those of time too."""
    words = {stem(_SYNONYMS.get(w, w)) for w in re.findall(r"[a-z][a-z-]+", ask.said.plain.low)}
    own = {stem(w) for w in re.findall(r"[a-z][a-z-]+", o.finding.lower()) if w not in _LINKS}
    return len(words & own)


def _all_fixed(ask: Ask) -> Finding:
    """Several symptoms of a board said to be gone."""
    mine = [o for o in ask.evidence.ledger.oddities if o.board in ask.boards]
    bad = [o for o in mine if o.open and (o.seen > 1 or not o.repaired)]
    waiting = [o for o in mine if o.open and o not in bad]
    verdict = V.CONTRADICTED if bad else V.UNTESTED if waiting or not mine else V.SUPPORTED
    if ask.has(r"\b(?:not|never|neither|none)\b"):
        verdict = {V.CONTRADICTED: V.SUPPORTED, V.SUPPORTED: V.CONTRADICTED}.get(verdict, verdict)
    text = (
        "; ".join(f"{o.board}: {o.finding}" for o in bad or waiting)
        or f"{', '.join(ask.boards)}: nothing open"
    )
    return Finding(
        verdict=verdict,
        why=text,
        boards=tuple(ask.boards),
        true=text,
        refs=tuple(e[:12] for o in mine for e in o.entries),
        used=frozenset(ask.said.signs("nswgr")),
    )


def _open_list(ask: Ask) -> Finding:
    boards = ask.boards or list(ask.evidence.ledger.boards)
    open_ = [o for o in ask.evidence.ledger.oddities if o.board in boards and o.open]
    none = ask.has(r"\b(?:no|not|without|nothing|never|nobody)\b")
    text = "; ".join(f"{o.board}: {o.finding}" for o in open_) or f"{', '.join(boards)}: nothing open"
    ok = not open_ if none else all(any(o.board == b for o in open_) for b in boards)
    if m := re.search(r"\{(n\d+)\} (?:\w+ )?(?:symptoms?|faults?|issues?|problems?)\b", ask.low):
        ok = len(open_) == ask.said.num(m[1]).value
    return Finding(
        verdict=V.SUPPORTED if ok else V.CONTRADICTED,
        why=text,
        boards=tuple(boards),
        true=text,
        refs=tuple(e[:12] for o in open_ for e in o.entries),
        used=frozenset(ask.said.signs("nswgr")),
    )
