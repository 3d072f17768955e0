"""Symptoms: fixed, still there, gone."""

from __future__ import annotations

import re

from leadoff.claims.rows import table
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.values import Finding, Verdict
from leadoff.claims.values import Oddity

V = Verdict
FIXED = (
    r"\b(?:fixed|cured|repaired|solved|sorted(?: out)?|healed|mended|gone|any ?more|"
    r"no longer|works again|is fine now|fine now|is good again|put right|back to normal|"
    r"resolved|finally works|works now|dealt with)\b"
)
STILL = r"\b(?:still|keeps?|again|remains|persists|open|comes back|came back|not fixed|unfixed)\b"
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
    boards = ask.boards or list(ask.evidence.ledger.boards)
    low = re.sub(r"\{s\d+\}", lambda m: ask.said.want(m[0][1:-1]).text, ask.low)
    low = re.sub(r"\bl2\b", "second-level cache l2", low)
    words = {
        _stem(_SYNONYMS.get(w, w)) for w in re.findall(r"[a-z][a-z-]+", re.sub(r"\{[a-z]\d+\}", " ", low))
    }
    scored = []
    for o in ask.evidence.ledger.oddities:
        if o.board not in boards:
            continue
        own = {_stem(w) for w in re.findall(r"[a-z][a-z-]+", o.finding.lower())} - _small()
        shared = own & words
        if shared:
            scored.append((len(shared), o))
    if scored:
        top = max(n for n, _ in scored)
        best = [o for n, o in scored if n == top]
        return best[0] if len(best) == 1 else None
    if (
        ask.scene.oddity is not None
        and re.search(FIXED + "|" + STILL, ask.low)
        and not ask.wants
        and not ask.figures()
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


def _small() -> frozenset[str]:
    """Words too common to tell one symptom from another."""
    return frozenset(_stem(w) for w in table("spoken")["harmless"]["small"].split())


def _stem(word: str) -> str:
    word = re.sub(r"(?:'s|')$", "", word)
    for end in ("ing", "es", "ed", "s"):
        if word.endswith(end) and len(word) - len(end) >= 3:
            return word[: -len(end)]
    return word


def oddities(ask: Ask) -> tuple[list[Finding], Oddity | None]:
    """What a sentence says of a symptom, and which one it is."""
    if (
        ask.has(
            r"\b(?:no|any|without) (?:open )?(?:symptoms?|faults|oddities|open issues)\b|\bnothing "
            r"(?:is )?open\b|\bopen symptoms?\b"
        )
        and ask.boards
    ):
        return [_open_list(ask)], None
    o = oddity_of(ask)
    if o is None:
        return [], None
    strong = ask.has(f"{FIXED}|{STILL}") or _strong(ask, o)
    if not strong:
        return [], o
    fixed = ask.has(FIXED)
    not_fixed = re.search(
        (
            r"\b(?:not|never|n't|yet to be|far from|un)\b(?: \w+){0,2} ?(?:fixed|cured|repaired|"
            r"solved|sorted|gone|mended|resolved|put right)"
        ),
        ask.low,
    )
    detail = f", {o.details[-1]}" if o.details else ""
    if not o.open:
        state, text = V.SUPPORTED, f"{o.board}: {o.finding}: tested again and gone{detail}"
    elif o.seen > 1:
        state, text = V.CONTRADICTED, f"{o.board}: {o.finding}: seen again{detail}"
    else:
        state, text = V.UNTESTED, f"{o.board}: {o.finding}: not tested again since"
    if fixed and not not_fixed:
        verdict = state
    elif fixed or ask.has(STILL):
        verdict = {V.SUPPORTED: V.CONTRADICTED, V.CONTRADICTED: V.SUPPORTED}.get(state, state)
        if state is V.UNTESTED and not o.repaired:
            verdict = V.SUPPORTED
    else:
        verdict = V.CONTRADICTED if state is V.SUPPORTED else V.SUPPORTED
        if re.search(r"\b(?:not|never|no)\b", ask.low) and not re.search(r"\bnot\b", o.finding):
            verdict = state
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


def _strong(ask: Ask, o: Oddity) -> bool:
    """Two words shared, or one with nothing else to hold the sentence against."""
    words = {_stem(w) for w in re.findall(r"[a-z][a-z-]+", ask.low)}
    own = {_stem(w) for w in re.findall(r"[a-z][a-z-]+", o.finding.lower())} - _small()
    return len(words & own) >= 2


def _open_list(ask: Ask) -> Finding:
    open_ = [o for o in ask.evidence.ledger.oddities if o.board in ask.boards and o.open]
    none = ask.has(r"\b(?:no|not|without|nothing|never)\b")
    text = "; ".join(f"{o.board}: {o.finding}" for o in open_) or f"{', '.join(ask.boards)}: nothing open"
    ok = not open_ if none else all(any(o.board == b for o in open_) for b in ask.boards)
    return Finding(
        verdict=V.SUPPORTED if ok else V.CONTRADICTED,
        why=text,
        boards=tuple(ask.boards),
        true=text,
        refs=tuple(e[:12] for o in open_ for e in o.entries),
        used=frozenset(ask.said.signs("nswgr")),
    )
