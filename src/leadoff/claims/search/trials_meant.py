"""What a claim on holding may be about: each alternative of boards and states, the likeliest first."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from leadoff.claims.search.trials_book import mentioned
from leadoff.claims.search.trials_claims import Claim
from leadoff.claims.search.trials_counts import quantity
from leadoff.claims.search.trials_heard import Part
from leadoff.claims.search.trials_scope import (
    Mentions,
    Scope,
    boards_of,
    carried,
    combinations,
    dims,
    scope_of,
)
from leadoff.claims.search.trials_words import Word
from leadoff.claims.spoken.evidence import Evidence, reads
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Want


def meant_by(
    c: Claim, claims: Sequence[Claim], said: Said, parts: Sequence[Part], evidence: Evidence
) -> Mentions:
    """Boards and settings that one claim of a sentence is about: its own, else those named last before it, else those
    named after it. A sentence with one claim is about all that it names."""
    if len(claims) == 1:
        told = [p for p in parts if p in c.parts or not _advice(p)]
        return mentioned(said, told, evidence)
    first, last = parts.index(c.parts[0]), parts.index(c.parts[-1])
    own = mentioned(said, parts[first : last + 1], evidence)
    before = [mentioned(said, [p], evidence) for p in reversed(parts[:first])]
    m = _joined(own, before)
    if m.boards or m.groups or m.wants or _counts(c):
        return m
    return _joined(m, [mentioned(said, [p], evidence) for p in parts[last + 1 :]])


def _advice(p: Part) -> bool:
    """``leave one in``, ``do not clear both``: what one is told to do, which is not how it was run."""
    words = [
        w.text
        for w in p.words
        if w.text not in ("please", "so", "and", "but", "always", "just", "better", "then")
    ]
    return bool(words) and (
        words[0] in _DO or words[:2] in (["do", "not"], ["you", "should"], ["you", "want"])
    )


_DO = frozenset(
    {"leave", "keep", "avoid", "never", "stay", "stick", "beware", "mind", "watch", "remember", "if"}
)


def _joined(own: Mentions, others: Sequence[Mentions]) -> Mentions:
    """What is said in one place with what was said around it, the nearest first, as far as they go together."""
    m = own
    for x in others:
        apart = x.boards and m.boards and not set(x.boards) & set(m.boards)
        if apart or (x.groups and (m.boards or m.groups)):
            break
        taken = {n for w in m.wants for n in dims(w)}
        m = Mentions(
            boards=m.boards or x.boards,
            groups=m.groups or x.groups,
            wants=(*m.wants, *(w for w in x.wants if not dims(w) & taken)),
            read=m.read | x.read,
            figures=(*m.figures, *x.figures),
        )
    return m


def _counts(c: Claim) -> bool:
    """Whether it counts boards or symptoms, so that boards named after it are what it counted."""
    return any(p.has("board", "symptom") and (p.counts or p.ints) for p in c.parts)


_SEVERAL = frozenset(
    {"both", "neither", "they", "them", "these", "those", "all", "none", "every", "each", "either"}
)
_THERE = frozenset({"there", "that", "same", "still", "this", "like", "such"})
"""What was said of the state before still holds."""
_LASTING = frozenset({"ever", "never", "always", "years", "board", "machine", "whatever"})


def scopes(
    c: Claim, claims: list[Claim], said: Said, parts: list[Part], told: list[Mentions], evidence: Evidence
) -> list[list[Scope]]:
    """What a claim may be about: each alternative is a list of scopes that must all show it, the likeliest first."""
    m = meant_by(c, claims, said, parts, evidence)
    words = [w for p in c.parts for w in p.words]
    texts = {w.text for w in words}
    runs = [evidence.by_number[r] for r in said.runs if r in evidence.by_number]
    if runs:
        boards = tuple(dict.fromkeys(t.board for t in runs))
        return [[Scope(boards=boards, wants=(), trials=tuple(runs), named=True, carried=False)]]
    several = bool(texts & _SEVERAL) or len(m.groups) > 1
    everyone = (_universal(words, told) or _of_book(parts, told)) and not m.boards
    lengths = texts & {"long", "longer", "short", "shorter"}
    if (
        "other" in texts
        and not lengths
        and not (texts & {"board", "boards"})
        and len(claims) == 1
        and not m.boards
    ):
        return []
    pooled = False
    found = boards_of(m, told, several=several, evidence=evidence)
    one = bool(texts & {"longest", "shortest"}) or (c.topic == "soak" and {"the", "failed"} <= texts)
    ends = one and not m.boards and not any(x.boards for x in told)
    if (
        everyone
        or ends
        or (not found and (quantity(c.parts[0], c.topic, "board", named=False) or texts & _SEVERAL))
    ):
        found = [tuple(m.groups[0]) if m.groups else tuple(evidence.ledger.boards)]
        pooled = ends or not everyone
        everyone = True
    if not found and m.wants:
        fit = sorted(
            {t.board for t in evidence.ledger.trials if all(evidence.as_said(t, [w]) for w in m.wants)}
        )
        found = [(b,) for b in fit] if len(fit) == 1 else []
    out: list[list[Scope]] = []
    if len(m.boards) > 1 and (each := _each_own(said, m, evidence)):
        return [each]
    for boards in found:
        over = [] if everyone else carried(m, boards, told)
        chosen = _chosen(words, told, over)
        one_of_two = chosen != over
        over = chosen
        full = [
            scope_of(evidence, boards, w, named=bool(m.wants), carried=bool(over), pooled=pooled)
            for w in combinations([*m.wants, *over])
        ]
        bare = [
            scope_of(evidence, boards, w, named=bool(m.wants), carried=False, pooled=pooled)
            for w in combinations(m.wants)
        ]
        lasting = not one_of_two and bool(texts & _LASTING) and c.topic in ("event", "start")
        if over and m.wants and not any(s.trials for s in full) and any(s.trials for s in bare):
            out += [full] if texts & _THERE else [full, bare]
        elif over and lasting and not m.wants:
            just_so = bool(told and told[-1].wants) and c.topic == "start"
            out += [full, bare] if just_so else [bare] if {"ever", "never"} & texts else [bare, full]
        else:
            out.append([_by_figure(s, told) for s in full])
    return out


def _each_own(said: Said, m: Mentions, evidence: Evidence) -> list[Scope]:
    """``the Birch at 50 and the Elm at 124``: each board with its own settings; empty where one has none."""
    own: dict[str, list[Want]] = {b: [] for b in m.boards}
    last = ""
    for word in re.findall(r"\{[bsn]\d+\}", said.low):
        sign = word[1:-1]
        if sign[0] == "b":
            last = said.boards[int(sign[1:])]
            continue
        text = said.want(sign).text if sign[0] == "s" else f"{said.num(sign).value:g} MHz"
        want = next((w for w in m.wants if w.text == text), None)
        if last in own and want is not None:
            own[last].append(want)
    if sum(map(len, own.values())) != len(m.wants) or not all(own.values()):
        return []
    return [scope_of(evidence, (b,), w, named=True, carried=False) for b, w in own.items()]


def _chosen(words: Sequence[Word], told: Sequence[Mentions], over: list[Want]) -> list[Want]:
    """Of two states told of before, the one that is meant: ``the latter``, ``the first``."""
    which = next(
        (k for i, w in enumerate(words) if (k := _ORDINALS.get(w.text, -1)) >= 0 and _alone(words, i)), -1
    )
    if which < 0:
        return over
    for x in reversed(told):
        for w in x.wants:
            pair = [v for v in x.wants if v.names == w.names]
            if len(pair) == 2 and pair[0].tests != pair[1].tests:
                return [v for v in over if v.names != w.names] + [pair[which]]
    return over


_ORDINALS = {"former": 0, "first": 0, "latter": 1, "second": 1}


def _alone(words: Sequence[Word], i: int) -> bool:
    """Whether an ordinal stands for a thing, and does not count one: ``the second soak``."""
    after = words[i + 1] if i + 1 < len(words) else Word("")
    return words[i].text in ("former", "latter") or not (
        after.sign or after.of("soak", "copy", "start", "entry", "board", "hang")
    )


def _by_figure(scope: Scope, told: list[Mentions]) -> Scope:
    """Where no setting was said, the state whose score was told just before: ``26.8 in the corridor``."""
    figures = next((x.figures for x in reversed(told) if x.figures or x.boards), ())
    if scope.wants or not figures:
        return scope
    keys = {t.hold_key for t in scope.trials if any(reads(t, n) for n in figures)}
    if not keys:
        return scope
    return msgspec.structs.replace(
        scope, trials=tuple(t for t in scope.trials if t.hold_key in keys), carried=True
    )


def _of_book(parts: Sequence[Part], told: Sequence[Mentions]) -> bool:
    """Whether nothing was ever named, so that a sentence on all or none of them is about the whole book."""
    words = [w for p in parts for w in p.words]
    named = any(x.boards or x.groups for x in told) or any(
        w.sign[:1] in ("b", "k", "s", "r", "o") for w in words
    )
    whole = any(w.of("deny", "all", "only") or w.text in _WHOLE_BOOK for w in words)
    return whole and not named and not any(w.text in _IT for w in words)


_WHOLE_BOOK = frozenset({"altogether", "total", "book", "whole", "collection", "far"})
_IT = frozenset({"it", "its", "she", "he", "this", "that", "there", "like"})


def _universal(words: Sequence[Word], told: list[Mentions]) -> bool:
    """``no board of mine``, ``all my machines``: every board of the book."""
    for i, w in enumerate(words):
        if not w.of("board"):
            continue
        near = words[max(0, i - 4) : i]
        if w.text.startswith("of "):
            continue
        if w.text in ("everyone", "everybody") or w.text.endswith("s"):
            return True
        if any(x.of("deny", "all", "only") for x in near) and not any(
            x.text in ("this", "that") for x in near
        ):
            return True
    return False
