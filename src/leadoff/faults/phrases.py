"""Phrases of the trade against the words of a clause: one spelling for each word, small slips of the pen read."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from leadoff.faults.kinds import Knowledge
from leadoff.record.tables import limit

ASK = "ask"
"""A wording that says nothing sure: its ``outcome`` is the question back."""
NEGATIONS = frozenset(
    re.findall(r"[a-z']+", "no not never without isn't doesn't won't cannot can't nothing none")
)
FILLERS = frozenset(
    re.findall(
        r"[a-z']+",
        """
        a an the is are was were it its it's that this and but also very still now then just only board my of on
        in at to with after when i have had has some all so there goes get gets says shows said though although
        done did up be been me we you for from or as every start starts press set power setup change even tho
        bit little quite really well please help again back got does do about which what where than too each
        time times if because since both looks look seems seem like maybe think guess old vintage computer pc
        machine system thing ok okay hi hello yesterday today first here came come comes out off by own
        """,
    )
)
"""Words that say nothing here when they stand outside of every phrase."""
ACTIONS = frozenset(
    re.findall(
        r"[a-z]+",
        """
        swapped replaced fixed repaired cleaned removed cleared reseated soldered resoldered bridged programmed
        reprogrammed fitted changed moved cut works worked helped cured same unchanged dead
        """,
    )
)
"""Words that tell of something done or of its result: never passed over in silence."""
_GAP = 2  # words that say something and may stand between two words of a phrase
_FAR = 5  # words of any kind that may
_SLIP, _SLIP_OF_NO, _SLIP_SHOWN = (limit("faults", n) for n in ("slip", "slip_of_no", "slip_shown"))
_SHORTEST = 4  # letters below which a likeness says nothing

Says = tuple[tuple[str, str], ...]
Row = tuple[tuple[frozenset[str], ...], Says]


@dataclass(frozen=True, eq=False)
class PhraseBook:
    """All phrases, longest first, every word of them, and the one spelling of words that mean the same."""

    rows: tuple[Row, ...]
    known: frozenset[str]
    same: dict[tuple[str, ...], tuple[str, ...]]

    def canonical(self, tokens: Sequence[str], respelt: dict[str, str] | None = None) -> list[str]:
        """The tokens in their one spelling; slips that were read otherwise are added to ``respelt``."""
        out = _respell(self.same, [t.strip(".-") or t for t in tokens])
        if respelt is None:
            return out
        for n, token in enumerate(out):
            read = self._slip(token)
            if read != token:
                respelt[token] = read
                out[n] = read
        return _respell(self.same, out)

    def _slip(self, token: str) -> str:
        if token in self.known or token in FILLERS or not token.isalpha():
            return token
        if token[:1] == "n" and len(token) <= _SHORTEST:
            # A negation that is missed turns the meaning round: read it sooner than any other word.
            no = get_close_matches(token, ["no", "not"], n=1, cutoff=_SLIP_OF_NO)
            return no[0] if no else token
        if len(token) < _SHORTEST:
            return token
        alike = [w for w in self.known if w[:1] == token[:1] and len(w) >= _SHORTEST and w not in NEGATIONS]
        alike += ["nothing"] if token[:1] == "n" else []
        found = get_close_matches(token, alike, n=1, cutoff=_SLIP)
        return found[0] if found else token

    def near(self, token: str) -> list[str]:
        """Words that are nearly this one, to be shown."""
        return get_close_matches(token, self.known, n=2, cutoff=_SLIP_SHOWN)

    def possible(self, tokens: Sequence[str]) -> list[Row]:
        """The phrases all of whose words stand somewhere in the clause."""
        here = set(tokens)
        return [r for r in self.rows if all(word & here for word in r[0])]


def phrase_book(kb: Knowledge) -> PhraseBook:
    """The phrases of the tables, made once for each set of tables."""
    if "phrases" not in kb.memo:
        kb.memo["phrases"] = _read(kb)
    book: PhraseBook = kb.memo["phrases"]
    return book


def _read(kb: Knowledge) -> PhraseBook:
    same = {tuple(w.split()): tuple(s.read_as.split()) for s in kb.same_words.values() for w in s.words}
    table: dict[tuple[frozenset[str], ...], list[tuple[str, str]]] = {}
    for w in kb.wordings.values():
        for phrase in w.words:
            words = tuple(_alternatives(same, phrase))
            said = table.setdefault(words, [])
            if (w.observation, w.outcome) not in said:
                said.append((w.observation, w.outcome))
    rows = sorted(((k, tuple(v)) for k, v in table.items()), key=lambda r: -len(r[0]))
    known = {w for words, _ in rows for alternatives in words for w in alternatives}
    return PhraseBook(tuple(rows), frozenset(known | {w for ws in same for w in ws}), same)


def _alternatives(same: dict[tuple[str, ...], tuple[str, ...]], phrase: str) -> Iterator[frozenset[str]]:
    if "|" not in phrase:
        yield from (frozenset([w]) for w in _respell(same, phrase.split()))
        return
    for word in phrase.split():
        one = [_respell(same, [w]) for w in word.split("|")]
        yield frozenset(w[0] for w in one if len(w) == 1)


def _respell(same: dict[tuple[str, ...], tuple[str, ...]], tokens: Sequence[str]) -> list[str]:
    out: list[str] = []
    at = 0
    while at < len(tokens):
        for size in (3, 2, 1):
            found = same.get(tuple(tokens[at : at + size]))
            if found is not None and at + size <= len(tokens):
                out += found
                at += size
                break
        else:
            out.append(tokens[at])
            at += 1
    return out


def best(rows: Sequence[Row], tokens: Sequence[str], free: Sequence[bool]) -> tuple[list[int], Says] | None:
    """The longest phrase that stands in the free tokens, the tightest of those: positions and what it says."""
    found: tuple[tuple[int, int], list[int], Says] | None = None
    for words, says in rows:
        if found and len(words) < found[0][0]:
            break  # longest first: nothing better follows
        for start in range(len(tokens)):
            span = _match(words, tokens, free, start)
            if span and (found is None or (len(words), span[0] - span[-1]) > found[0]):
                found = ((len(words), span[0] - span[-1]), span, says)
    return (found[1], found[2]) if found else None


def _next(word: frozenset[str], tokens: Sequence[str], free: Sequence[bool], at: int, gap: int) -> int | None:
    """Where the next word of a phrase stands: at most ``gap`` words that say something may come before it."""
    for i in range(at, len(tokens)):
        if free[i] and tokens[i] in word:
            return i
        if gap == 0:
            return None
        gap -= tokens[i] not in FILLERS
        if gap < 0 or i - at > _FAR:
            return None
    return None


def _match(
    words: Sequence[frozenset[str]], tokens: Sequence[str], free: Sequence[bool], start: int
) -> list[int] | None:
    """Positions of the phrase from ``start``; a negation beside or inside it that is not its own forbids it."""
    span: list[int] = []
    at = start
    for word in words:
        hit = _next(word, tokens, free, at, _GAP if span else 0)
        if hit is None:
            return None
        span.append(hit)
        at = hit + 1
    own = {w for word in words for w in word} & NEGATIONS
    around = [tokens[i] for i in range(max(0, span[0] - 2), span[-1] + 1) if i not in span and free[i]]
    return None if not own and NEGATIONS & set(around) else span
