"""How many boards: ``all but the one``, ``only these two``, ``three of the boards``, of what each of them shows."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from leadoff.claims.grade import failed, is_copy, is_soak, is_start
from leadoff.claims.spoken.bounds import passes, passing, said_trials
from leadoff.claims.spoken.compared import best_pair
from leadoff.claims.spoken.evidence import reads
from leadoff.claims.spoken.firsts import RECORD
from leadoff.claims.spoken.relation import SIZES
from leadoff.claims.spoken.scene import Ask
from leadoff.claims.spoken.unrun import MANAGE
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.values import Trial
from leadoff.record.runs import Outcome

V = Verdict
_BOARDS = r"(?:\{b\d+\}|\{k\d+\})(?:(?: ,)? (?:and |or )?(?:the |my )?(?:\{b\d+\}|\{k\d+\}))*"
_THING = r"(?:boards?|machines?|of (?:them|mine|my|the|these|those|it)|others?)"
_ALL_BUT = re.compile(
    r"\b(?:all|every(?:thing|body|one| board| one| 1)?|each|any(?:thing)?)(?: of (?:them|mine|my boards|"
    r"the boards|the others))?"
    rf"(?: (?:of )?(?:my |the )?boards)? (?:but|except(?: for)?|bar|apart from|other than|save) (?:the |"
    rf"my )?({_BOARDS})|"
    rf"\b(?:apart from|except for|other than|bar) (?:the |my )?({_BOARDS}) (?:, )?(?:they )?(?:all|every)\b"
)
_ONLY = re.compile(
    rf"\b(?:only|just|nothing but|nobody but|no board but|none but|no board except|nobody except|"
    rf"solely) (?:the |my )?({_BOARDS})|"
    rf"({_BOARDS}) (?:is|are|was|were) (?:the )?only\b|({_BOARDS}) alone\b"
)
_COUNT = re.compile(
    rf"(?<!\w)(?P<how>at least |at most |exactly |only |just |no more than |"
    rf"no fewer than )?\{{(?P<n>n\d+)\}} (?:of )?(?:my |the |these |those )?{_THING}\b"
)
_LISTED = re.compile(
    rf"\{{n\d+\}} (?:boards|machines|of (?:them|mine))\b.* (?:,|namely|and that is|that is) (?:the |"
    rf"my )?({_BOARDS})"
)
"""``two boards hung, the one and the other``."""
_HALF = re.compile(
    rf"(?<!\w)(?P<how>most|more than \{{n\d+\}}|over \{{n\d+\}}|\{{n\d+\}}) (?:of )?(?:my |the |these )?{_THING}\b"
)
_NONE = re.compile(r"\b(?:none|no board|nobody|neither)\b")


_TIMED = r"\b(?:times?|results?|scores?|readings?|figures?|numbers?|clock)\b"


class Shows(Enum):
    """What one board shows of what is said: it does, it does not, or why that cannot be told."""

    YES = "yes"
    NO = "no"
    NOISE = V.WITHIN_NOISE
    UNTRIED = V.UNTESTED
    APART = V.NOT_COMPARABLE


@dataclass(frozen=True)
class Shown:
    """One board, what it shows and the runs that show it."""

    board: str
    shows: Shows
    refs: tuple[str, ...]


Test = Callable[[str], Shown]


def quantified(ask: Ask) -> list[Finding]:
    """Sentences over a number of boards; none where no board is counted or nothing is said that each can show."""
    claim = _claim(ask)
    if claim is None:
        return []
    test = _test(ask)
    if test is None:
        return []
    holds, among = claim
    shown = [test(b) for b in among]
    verdict = holds(shown)
    no = {s.board for s in shown if s.shows is Shows.NO}
    if verdict is V.SUPPORTED and (m := _LISTED.search(ask.low)) and _named(ask, m[1]) & no:
        verdict = V.CONTRADICTED
    text = "; ".join(f"{s.board}: {s.shows.name.lower()}" for s in shown)
    return [
        Finding(
            verdict=verdict,
            why=text,
            refs=tuple(dict.fromkeys(r for s in shown for r in s.refs))[:16],
            boards=tuple(s.board for s in shown),
            true=text,
            used=frozenset(ask.said.signs("nswgrbk")),
        )
    ]


def _claim(ask: Ask) -> tuple[Callable[[list[Shown]], Verdict], list[str]] | None:
    """How many of which boards."""
    everyone = list(ask.evidence.ledger.boards)
    if m := _ALL_BUT.search(ask.low):
        out = _named(ask, next(g for g in m.groups() if g))
        return (lambda s: _split(s, yes=lambda b: b not in out)), everyone
    if m := _ONLY.search(ask.low):
        mine = _named(ask, next(g for g in m.groups() if g))
        return (lambda s: _split(s, yes=lambda b: b in mine)), everyone
    if m := _COUNT.search(ask.low):
        n, how = ask.said.num(m["n"]), (m["how"] or "").strip()
        if n.kind in ("bare", "value", "count", "all", "loose") and n.value <= len(everyone) and not n.places:
            return (lambda s: _number(s, int(n.value), how or n.mod)), _among(ask, everyone)
    if m := _HALF.search(ask.low):
        most = m["how"].startswith(("most", "more", "over"))
        n_all = [ask.said.num(x) for x in re.findall(r"\{(n\d+)\}", m["how"])]
        if most or (n_all and n_all[0].kind == "pct" and n_all[0].value == 50.0):
            among = _among(ask, everyone)
            least = len(among) // 2 + 1
            return (lambda s: _number(s, least, "at least")), among
    each = re.search(r"(?<!of )\b(?:both|all|each|every)\b", ask.low) is not None
    if each and not ask.has(RECORD) and (ask.said.signs("k") or len(ask.boards) > 1):
        figures = [ask.said.num(f) for f in ask.figures()]
        if (
            len(figures) == 1
            and figures[0].mod in ("", "about", "nearly")
            and passing(ask, ask.figures()[0]) is None
        ):
            return (lambda s: _split(s, yes=lambda b: True)), ask.boards
    if _NONE.search(ask.low) and ask.said.signs("k"):
        return (lambda s: _split(s, yes=lambda b: False)), ask.boards
    return None


def _named(ask: Ask, words: str) -> set[str]:
    said = ask.said
    out = {said.boards[int(n)] for n in re.findall(r"\{b(\d+)\}", words)}
    return out | {b for n in re.findall(r"\{k(\d+)\}", words) for b in said.groups[int(n)]}


def _among(ask: Ask, everyone: list[str]) -> list[str]:
    kinds = [b for s in ask.said.signs("k") for b in ask.said.groups[int(s[1:])]]
    return kinds or everyone


def _split(shown: list[Shown], yes: Callable[[str], bool]) -> Verdict:
    """Every board as said: those for which ``yes`` show it and no other."""
    if any(s.shows is (Shows.NO if yes(s.board) else Shows.YES) for s in shown):
        return V.CONTRADICTED
    return _untold(shown) or V.SUPPORTED


def _number(shown: list[Shown], n: int, how: str) -> Verdict:
    """So many of them show it; those of which it cannot be told may or may not."""
    low = sum(s.shows is Shows.YES for s in shown)
    high = low + sum(s.shows not in (Shows.YES, Shows.NO) for s in shown)
    least, most = n, n
    if how in ("at least", "no fewer than", "over"):
        most = len(shown)
    elif how in ("at most", "no more than", "under"):
        least = 0
    if high < least or low > most:
        return V.CONTRADICTED
    return V.SUPPORTED if least <= low and high <= most else _untold(shown) or V.UNTESTED


def _untold(shown: list[Shown]) -> Verdict | None:
    for why in (Shows.APART, Shows.UNTRIED, Shows.NOISE):
        if any(s.shows is why for s in shown):
            return V(why.value)
    return None


def _test(ask: Ask) -> Test | None:
    """What is said of each board."""
    low = ask.low
    workload = ask.workloads[0] if len(ask.workloads) == 1 else None
    than = r"\b(faster|quicker|slower|ahead of|better|behind|beats?|beat)\b(?: than)?"
    if workload and (m := re.search(rf"{than} (?:the )?\{{(b\d+)\}}", low)):
        return _against(ask, workload, ask.said.boards[int(m[2][1:])], m[1] in ("slower", "behind"))
    if workload and ask.scene.boards and (m := re.search(rf"{than} (?:it|this|that)\b", ask.said.plain.low)):
        return _against(ask, workload, ask.scene.boards[0], m[1] in ("slower", "behind"))
    if workload and (bound := passing(ask, _figure(ask))):
        return _bound(ask, workload, *bound)
    if (
        workload
        and (sign := _figure(ask))
        and not any(ask.said.num(s).kind in SIZES for s in ask.said.signs("n"))
    ):
        return _reading(ask, workload, ask.said.num(sign))
    if re.search(r"\bsoak", low):
        return _event(ask, is_soak, lambda t: t.run.outcome is Outcome.SOAKED)
    if workload and not ask.figures() and (re.search(MANAGE, low) or re.search(_TIMED, low)):
        return _managed(ask, workload, never=re.search(r"\b(?:never|not|no)\b", low) is not None)
    if re.search(
        r"\bcop(?:y|ies)\b.*\b(?:bad|wrong|corrupt|errors?)|\b(?:bad|wrong|corrupt) cop(?:y|ies)\b", low
    ):
        return _event(ask, is_copy, failed)
    if re.search(r"\bcold starts?\b", low) and re.search(r"\b(?:fail|miss|refus|bad)", low):
        return _event(ask, is_start, failed)
    if re.search(
        r"\b(?:hung|hangs?|hang|crash(?:ed|es)?|rebooted|fail(?:ed|s)?|lock(?:ed|s)? up|fell over)\b", low
    ):
        hang = re.search(r"\b(?:hung|hangs?|lock)", low) is not None
        return _event(ask, lambda t: True, lambda t: failed(t) and (not hang or "hang" in t.run.place))
    return None


def _figure(ask: Ask) -> str | None:
    figures = [
        f
        for f in ask.figures()
        if ask.said.num(f).unit or ask.said.num(f).value > len(ask.evidence.ledger.boards)
    ]
    return figures[0] if len(figures) == 1 else None


def _against(ask: Ask, workload: str, other: str, slower: bool) -> Test:
    ev = ask.evidence

    def test(board: str) -> Shown:
        mine, theirs = ev.cells(workload, [board]), ev.cells(workload, [other])
        if board == other:
            return Shown(board, Shows.NO, ())
        if ev.undefined(workload, board) or ev.undefined(workload, other):
            return Shown(board, Shows.APART, ())
        if not mine or not theirs:
            return Shown(board, Shows.UNTRIED, ())
        pair = best_pair(ask, mine, theirs, workload)
        p = pair.pair
        if p is None:
            return Shown(board, Shows.APART, pair.refs)
        if not p.shown or p.tied:
            return Shown(board, Shows.NOISE, pair.refs)
        return Shown(board, Shows.YES if (p.faster < 0) == slower else Shows.NO, pair.refs)

    return test


def _bound(ask: Ask, workload: str, n: Num, below: bool) -> Test:
    def test(board: str) -> Shown:
        if ask.evidence.undefined(workload, board):
            return Shown(board, Shows.NO, tuple(t.number for t in ask.evidence.undefined(workload, board)))
        trials = said_trials(ask, workload, [board])
        hits = [t for t in trials if passes(t, n, below)]
        refs = tuple(t.number for t in (hits or trials)[:3])
        return Shown(board, Shows.YES if hits else Shows.NO if trials else Shows.UNTRIED, refs)

    return test


def _reading(ask: Ask, workload: str, n: Num) -> Test:
    """Whether a board has read this very figure."""

    def test(board: str) -> Shown:
        trials = said_trials(ask, workload, [board])
        hits = [t.number for t in trials if reads(t, n)]
        refs = tuple(hits[:3] or [t.number for t in trials[:3]])
        return Shown(board, Shows.YES if hits else Shows.NO if trials else Shows.UNTRIED, refs)

    return test


def _managed(ask: Ask, workload: str, never: bool) -> Test:
    ev = ask.evidence
    yes, no = (Shows.NO, Shows.YES) if never else (Shows.YES, Shows.NO)

    def test(board: str) -> Shown:
        ran = [t.number for t in ev.ledger.of(workload) if t.board == board]
        gone = [t.number for t in ev.undefined(workload, board)]
        return Shown(board, yes if ran else no if gone else Shows.UNTRIED, tuple(ran[:1] or gone[:1]))

    return test


def _event(ask: Ask, of: Callable[[Trial], bool], is_so: Callable[[Trial], bool]) -> Test:
    """Whether any of these runs of a board came out so."""

    def test(board: str) -> Shown:
        trials = [t for t in ask.evidence.trials([board], ask.want_list()) if of(t)]
        hits = [t.number for t in trials if is_so(t)]
        return Shown(board, Shows.YES if hits else Shows.NO, tuple(hits[:3]))

    return test
