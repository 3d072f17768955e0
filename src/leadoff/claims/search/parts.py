"""A sentence with several claims, each read by itself in the light of the others."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache

import msgspec

from leadoff.claims.rows import constant
from leadoff.claims.search.talk import Reading, Talk, said_of
from leadoff.claims.search.trials_heard import EVENTS
from leadoff.claims.search.trials_words import words_of
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names, names_of
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Finding, Verdict, weakest

V = Verdict
_HARD = r"\s*;\s*|\s+[-–—]+\s+|\s*—\s*|\s*:\s+"
_TURN = r",?\s+(?:but|whereas|while|whilst|yet|although|though)\s+(?:then\s+)?(?!not\s+by\b)"
_JOIN = r",\s*(?:and\s+)?|\s+and\s+"
_CUTS = tuple(re.compile(p, re.I) for p in (_HARD, f"{_HARD}|{_TURN}", f"{_HARD}|{_TURN}|{_JOIN}"))
"""Where claims are set apart, the plainest ways first; each way cuts finer than the one before."""
_MOST = int(constant("parts_most"))
"""A sentence in more parts than this is a list or a tale."""
_JOINED = re.compile(
    r"\b(?:if|unless|whether|neither|nor|either|deny|denies|denied|myth|nonsense|untrue|false|lie|wrong|mistaken|would|could|"
    r"might|may|should|hope|wish|perhaps|maybe|supposedly|allegedly)\b",
    re.I,
)
"""Words that reach over the whole sentence: its claims do not stand by themselves."""
_SIZE = re.compile(
    r"\b(?:(?:nearly|almost|about|around|some|roughly|barely|only|just|not|over|under|hardly|a good|more than|"
    r"less than|close to|at (?:least|most))\s+)*(?:\d[\d.,]*|nothing|none|no|zero|one|two|three|four|five|six|seven|"
    r"eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|seventeen|eighteen|nineteen|twenty|thirty|forty|fifty|"
    r"half|a (?:quarter|third|fifth|tenth|half))\b",
    re.I,
)
_PERCENT = re.compile(r"\s*(?:per\s?cent|percent|%|pct|points?)", re.I)
_LEAD = re.compile(r"^(?:(?:and|but|only|for|by|with|just|even)\s+)*", re.I)


@lru_cache(maxsize=8)
def _names(ev: Evidence) -> Names:
    return names_of(ev.ledger)


def parts(talk: Talk, read: Callable[[Talk], Finding | None]) -> Reading | None:
    """The weakest of several claims; ``None`` where it is no sentence of several or one of them has no sure reading
    (``read``: the sure reading of one, or ``None``). Sure only where all of them hold: a claim that fails may have
    been cut in the wrong place."""
    if "?" in talk.text or _JOINED.search(talk.text):
        return None
    for cut in _CUTS:
        pieces = _weighty(cut, talk)
        if not 2 <= len(pieces) <= _MOST:
            continue
        found = _each(pieces, talk, read)
        if found is not None:
            whole = weakest(found)
            return Reading(finding=whole, sure=whole.verdict is V.SUPPORTED)
    return None


def _weighty(cut: re.Pattern[str], talk: Talk) -> list[str]:
    """Pieces that claim something of their own; what names nothing stays with the piece before it."""
    out: list[str] = []
    held = ""
    spots = [0]
    for m in cut.finditer(talk.text):
        spots += [m.start(), m.end()]
    spots.append(len(talk.text))
    for a, b in zip(spots[::2], spots[1::2], strict=True):
        piece = f"{held} {talk.text[a:b]}".strip(" ,")
        if not piece:
            continue
        if _weighs(said_of(piece, talk.evidence, _names(talk.evidence))):
            out.append(piece)
            held = ""
        elif out:
            out[-1] = f"{out[-1]}, {piece}"
        else:
            held = f"{piece},"
    return out


def _weighs(said: Said) -> bool:
    """Whether a piece has a figure, a workload or a failure, and so may be right or wrong by itself."""
    if said.signs("nw") or (_SIZE.search(said.low) and said.signs("sbg")):
        return True
    return any(word.of(*EVENTS) for word in words_of(said.low))


def _each(pieces: Sequence[str], talk: Talk, read: Callable[[Talk], Finding | None]) -> list[Finding] | None:
    """A sure finding on each piece, or ``None``."""
    ev, names = talk.evidence, _names(talk.evidence)
    out: list[Finding] = []
    before = talk.before
    for i, piece in enumerate(pieces):
        finding = None
        for text in _ways(piece, pieces[:i]):
            said = said_of(text, ev, names)
            finding = read(msgspec.structs.replace(talk, text=text, said=said, before=before))
            if finding is not None:
                before = (*before, said)
                break
        if finding is None or finding.verdict is V.NOT_PLACED:
            return None
        out.append(finding)
    return out


def _ways(piece: str, earlier: Sequence[str]) -> Iterator[str]:
    """A piece as it stands, or with the verb or the unit that it takes from the one before."""
    if not earlier:
        yield piece
        return
    full = piece
    last = earlier[-1]
    size, model = _SIZE.search(piece), _SIZE.search(last)
    if size is not None and model is not None:
        if _PERCENT.match(last[model.end() :]) and re.fullmatch(r"[\w\s,.]*", piece[size.end() :]):
            bare = piece[size.end() :]
            if size[0].split()[-1].lower() not in ("nothing", "none", "no") and not _PERCENT.match(bare):
                full = f"{piece[: size.end()]} percent{bare}"
        lead = _LEAD.match(piece)
        assert lead is not None
        if size.start() <= lead.end():
            yield f"{last[: model.start()]}{full[lead.end() :]}"
    yield full
