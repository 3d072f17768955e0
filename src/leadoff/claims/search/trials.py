"""Soaks, copies, starts, failures, symptoms, and what the book has or lacks, found by search."""

from __future__ import annotations

import re
from collections.abc import Sequence

from leadoff.claims.rows import constant
from leadoff.claims.search import trials_counts, trials_symptoms
from leadoff.claims.search.talk import Reading, Talk
from leadoff.claims.search.trials_book import heard_in, loose_words, mentioned
from leadoff.claims.search.trials_claims import claims_of, supposed
from leadoff.claims.search.trials_heard import TESTS, Part
from leadoff.claims.search.trials_lengths import compared, with_hours
from leadoff.claims.search.trials_meant import meant_by, scopes
from leadoff.claims.search.trials_scope import boards_of, scope_of
from leadoff.claims.search.trials_states import weakest_held
from leadoff.claims.search.trials_tests import Held, tests_of
from leadoff.claims.search.trials_unable import undefined
from leadoff.claims.search.trials_unread import bounded, claims_said, elsewhere, left_out, opposed
from leadoff.claims.search.trials_verdicts import held
from leadoff.claims.search.trials_words import Word, words_of
from leadoff.claims.spoken.reading import Said
from leadoff.claims.spoken.values import Finding, Num, Verdict
from leadoff.claims.values import Oddity

V = Verdict
_MANY = int(constant("unknown_words"))
"""So many unknown words make even a plain contradiction doubtful."""


SINGLE = re.compile(
    r"\b(?:its|the|my|his|her|their) (?:only|sole|single|one) (?:\w+ )?(?:soak|copy|copies|compare|start|test)s?\b|"
    r"\bbelongs? to\b.*\balone\b",
    re.I,
)
"""``Its only soak``, ``it belongs to the one alone``: that there is no other is not read here."""


_ONE_BAD = re.compile(
    r"\b(?:the|my|our) (?:only|sole|single|one) (?:failed|bad|unclean|spoilt|spoiled|botched|unsuccessful) "
    r"(?:soak|cop(?:y|ies)|test)|"
    r"\b(?:the|my|our) (?:only|sole|single|one) (?:\w+ )?(?:soak|copy|copy-compare|test) (?:to|that|which) ",
    re.I,
)


def trials(talk: Talk) -> Reading | None:
    """The likeliest reading of a sentence of this kind; ``None`` where it is none."""
    if talk.asks or (SINGLE.search(talk.text) and not _ONE_BAD.search(talk.text)):
        return None
    said, parts = heard_in(talk.text, talk.evidence)
    ill = bool(trials_symptoms.named(said.plain.low, talk.evidence.ledger.oddities))
    if (
        said.strangers
        or said.signs("fd")
        or any(
            _judges(w, parts, named_symptom=ill) for w in words_of(said.low) if w.text not in _asides(parts)
        )
    ):
        return None
    if any(w.text == "cost" for p in parts for w in p.words) and not _of_symptom(talk):
        return None
    scored = _scored(said, frozenset(s for p in parts for s in p.read))
    if scored and not any(p.health for p in parts):
        return None
    if said.gone:
        return _not_found(said, parts)
    if (missing := _no_such_test(said, talk)) is not None:
        return missing
    before = [heard_in(s.plain.text, talk.evidence) for s in talk.before]
    if any(s.strangers for s, _ in before[-1:]):
        return None
    if scored:
        return _symptom(said, parts, before, talk)[0]
    if (unable := undefined(said, parts, before, talk.evidence)) is not None:
        supposes = supposed(parts)
        return _reading(*unable, sure=not supposes and not loose_words(parts, talk.evidence))
    found, meant = _symptom(said, parts, before, talk)
    return found if found is not None or meant else _tests(said, parts, before, talk)


def _asides(parts: Sequence[Part]) -> tuple[str, ...]:
    """Words that others judge and that do no harm here: why a board without a coprocessor cannot run a thing."""
    told = any(p.has("fpu") or p.events for p in parts)
    return ("cost", "because", "cause", "reason") if told else ("cost",)


def _judges(w: Word, parts: Sequence[Part], *, named_symptom: bool) -> bool:
    """Whether a word is judged elsewhere; ``no score`` only says that a run gave none."""
    if w.text in ("slow", "fast") and named_symptom:
        return False
    none = (
        w.of("figure") and any(p.has("deny") and w in p.words for p in parts) and any(p.events for p in parts)
    )
    return w.of("judge") and not none


def _of_symptom(talk: Talk) -> bool:
    """Whether a symptom was told of just before."""
    oddities = talk.evidence.ledger.oddities
    return any(trials_symptoms.named(s.plain.low, oddities) for s in talk.before[-2:])


def _scored(said: Said, read: frozenset[str]) -> bool:
    """Whether scores, shares or differences are said, which other searches judge."""
    return any(
        (n.kind in ("pct", "part", "factor", "difference", "either") and n.text not in ("twice", "thrice"))
        or (n.kind == "value" and n.unit and (n.unit != "s" or n.value % 60))
        or n.places
        for n in (
            said.num(s) for s in said.signs("n") if s not in read or said.num(s).kind not in ("part", "pct")
        )
    )


def _not_found(said: Said, parts: list[Part]) -> Reading | None:
    if not any(p.topics or p.has("symptom") for p in parts):
        return None
    why = f"the book has no {', '.join(said.gone)}"
    finding = Finding(verdict=V.NOT_FOUND, why=why, true=why)
    return Reading(finding=finding, sure=True)


_NUMBERED = re.compile(
    r"\b(soak|symptom|retest|repair)(?: (?:no|number|nr)\.?)? ?#?(\d+)\b"
    r"(?! ?(?:h|x|of|hours?|days?|nights?|times?)\b|[.:]\d)"
)
"""A test by its number; ``soak 12 hours`` says how long."""


def _no_such_test(said: Said, talk: Talk) -> Reading | None:
    """``soak 12`` in a book that has nine."""
    ledger = talk.evidence.ledger
    for kind, number in _NUMBERED.findall(said.plain.low):
        soaks = len(tests_of("soak", ledger.trials))
        if int(number) > (soaks if kind == "soak" else len(ledger.oddities)):
            why = f"the book has no {kind} {number}"
            return Reading(finding=Finding(verdict=V.NOT_FOUND, why=why, true=why), sure=True)
    return None


def _reading(found: Sequence[Held], boards: Sequence[str], *, sure: bool) -> Reading:
    whole = weakest_held(found)
    finding = Finding(
        verdict=whole.verdict, why=whole.why, refs=whole.refs, boards=tuple(boards), true=whole.why
    )
    return Reading(finding=finding, sure=sure and not whole.doubtful)


def _symptom(
    said: Said, parts: list[Part], before: list[tuple[Said, list[Part]]], talk: Talk
) -> tuple[Reading | None, bool]:
    """A sentence on one symptom, named in it or just before; and whether it names one."""
    oddities = talk.evidence.ledger.oddities
    m = mentioned(said, parts, talk.evidence)
    told = [mentioned(s, p, talk.evidence) for s, p in before]
    boards = boards_of(m, told, several=False, evidence=talk.evidence)
    pool = [o for o in oddities if not boards or any(o.board in b for b in boards)]
    chosen = [oddities[i] for i in said.oddities]
    own = chosen or trials_symptoms.named(said.plain.low, pool)
    health = any(p.health for p in parts)
    tested = any(p.topics for p in parts)
    if not own and health and not tested and not said.signs("w"):
        for s, _ in reversed(before[-2:]):
            own = trials_symptoms.named(s.plain.low, pool)
            if own:
                break
    if not own and not tested and not said.signs("w"):
        own = _told_before(parts, before, pool)
    if not own and any(i.kind in ("fixed", "anymore") for p in parts for i in p.health) and m.boards:
        own = [o for o in pool if o.board in m.boards]
    if not own:
        elsewhere = trials_symptoms.named(said.plain.low, oddities)
        return None, bool(elsewhere and health)
    here = bool(chosen or trials_symptoms.named(said.plain.low, pool))
    found = [(o, trials_symptoms.told(parts, o)) for o in own]
    found = [(o, h) for o, h in found if h]
    if not found:
        return None, here and not (tested and not health)
    readings = [weakest_held(h) for _, h in found]
    agree = len({r.verdict for r in readings}) == 1
    numbers = {x for s in said.signs("n") if s not in m.read for x in _noted_as(said.num(s))}
    numbers |= {minutes for words, minutes in _SPANS.items() if words in said.plain.low}
    right = all(numbers <= trials_symptoms.noted(o) for o, _ in found)
    if not right and len(found) == 1:
        notes = "; ".join((found[0][0].finding, *found[0][0].details, *found[0][0].mends))
        readings.append(Held(verdict=V.CONTRADICTED, why=f"not as noted: {notes}"))
    loose = loose_words(parts, talk.evidence)
    supposes = supposed(parts)
    whole = readings[-1]
    sure = (
        not trials_symptoms.other_repair(said.plain.low, own[0], oddities)
        and agree
        and (right or len(found) == 1)
        and not supposes
        and not (loose and whole.verdict is V.SUPPORTED)
        and len(loose) < _MANY
    )
    return _reading([whole], [found[0][0].board], sure=sure), True


_SPANS = {" an hour": 60.0, " a whole day": 1440.0}
"""Spans of time with no number, in minutes."""


def _noted_as(n: Num) -> list[float]:
    """A number as notes on a symptom have it: spans of time in minutes."""
    scale = 60.0 if n.unit == "s" and not n.value % 60 else 1.0
    return [x / scale for x in (n.value, n.of) if x is not None]


def _told_before(
    parts: Sequence[Part], before: Sequence[tuple[Said, list[Part]]], pool: Sequence[Oddity]
) -> list[Oddity]:
    """A symptom told of just before, whose being there or gone this sentence says in its own words."""
    for s, _ in reversed(before[-2:]):
        if told := trials_symptoms.named(s.plain.low, pool):
            words = [w for p in parts for w in p.words]
            return [o for o in told if trials_symptoms.opposite(words, o)] if len(told) == 1 else []
    return []


def _tests(
    said: Said, parts: list[Part], before: list[tuple[Said, list[Part]]], talk: Talk
) -> Reading | None:
    """A sentence on tests, failures and what holds."""
    evidence = talk.evidence
    workloads = list(dict.fromkeys(said.workloads[int(s[1:])] for s in said.signs("w")))
    if len(workloads) > 1:
        return None
    workload = workloads[0] if workloads else None
    topic = next((t for _, ps in reversed(before) if (t := _last_topic(ps))), "")
    parts = with_hours(parts, topic)
    taken = mentioned(said, parts, evidence).read
    over = workload or (_workload_before(before) if topic != "soak" else None)
    claims = claims_of(parts, topic, workload, over=over, taken=taken)
    if not claims or any(elsewhere(p) or bounded(p) or left_out(p) for p in parts):
        return None
    if any(c.topic == "event" and p.has("entry") and (p.ints or p.counts) for c in claims for p in c.parts):
        return None
    told = [mentioned(s, p, evidence) for s, p in before]
    found: list[Held] = []
    sure = True
    boards_seen: list[str] = []
    counted: list[object] = []
    them = _them(before)
    spent: set[str] = set()
    for c in claims:
        alternatives = scopes(c, claims, said, parts, told, evidence)
        if not alternatives:
            return None
        mine = meant_by(c, claims, said, parts, evidence)
        read_ = mine.read
        if c.topic == "soak" and (
            length := compared(c, claims, mine.boards, alternatives[0][0], evidence.ledger.trials)
        ):
            found.append(length)
            spent |= {s for p in c.parts for s in p.read}
            continue
        earlier = any(t in TESTS for p in parts[: parts.index(c.parts[0])] for t in p.topics)
        beeps = any("beep" in w.text for p in parts for w in p.words)
        symptoms = c.topic == "open" and any(p.has("symptom") for p in parts)
        near = (
            "symptom"
            if symptoms
            else ""
            if beeps
            else ("test" if c.topic == "soak" else "")
            if earlier
            else them
        )
        q = trials_counts.quantity(c.parts[0], c.topic, near, named=bool(mine.boards), taken=read_)
        if q is None and counted and not mine.boards:
            q = trials_counts.one_more(c.parts[0])
        verdicts: list[Held] = []
        for together in alternatives:
            each = []
            for scope in together:
                own = q is not None and q.unit == "board" and q.k == len(together) == len(mine.boards) > 1
                if q is None or own:
                    each.append(held(c, scope, evidence, read_))
                elif q.named or (q.unit == "board" and q.k == len(mine.boards) > 1):
                    whole = scope_of(
                        evidence,
                        tuple(evidence.ledger.boards),
                        scope.wants,
                        named=scope.named,
                        carried=False,
                    )
                    each.append(
                        trials_counts.by_name(q, c, whole, mine.boards, evidence, read_)
                        if q.named
                        else trials_counts.counted(
                            q, c, whole, evidence, read_ | q.read, counted, mine.boards
                        )
                    )
                else:
                    each.append(trials_counts.counted(q, c, scope, evidence, read_ | q.read, counted))
            verdicts.append(weakest_held(each))
            boards_seen += [b for s in together for b in s.boards]
        found.append(verdicts[0])
        sure = sure and len({s[0].boards for s in alternatives}) == 1
        sure = sure and len({v.verdict for v in verdicts}) == 1
        spent |= read_ | (q.read if q else frozenset())
        spent |= {s for p in c.parts for s in p.read} | {
            n.text for n, after in c.ints(read_) if c.topic != "event" or after in _OFTEN or not n.value
        }
    spent |= {s for p in parts if not (p.hours or p.counts or p.clocks or p.share) for s in p.read}
    every = len(evidence.ledger.boards)
    spent |= {n.text for p in parts for n, after in p.ints if after in _BOARDS and n.value == every}
    noted = len(evidence.ledger.oddities)
    spent |= {n.text for p in parts if p.has("symptom") for n, _ in p.ints if n.value == noted}
    left = [s for s in said.signs("n") if s not in spent]
    loose = loose_words(parts, evidence)
    verdict = weakest_held(found).verdict
    sure = sure and not opposed(claims)
    supposes = supposed(parts)
    sure = sure and not left and len(loose) < _MANY
    if verdict is V.SUPPORTED and (loose or any(p.unspent and not p.asked and claims_said(p) for p in parts)):
        sure = False
    if supposes and verdict is not V.UNTESTED:
        sure = False
    if workload is not None and any(c.topic not in ("event", "run", "state", "start") for c in claims):
        sure = False
    return _reading(found, tuple(dict.fromkeys(boards_seen)), sure=sure)


def _workload_before(before: Sequence[tuple[Said, list[Part]]]) -> str | None:
    """The workload that a run told of without its name was of."""
    said = next((s for s, _ in reversed(before[-2:]) if s.signs("w")), None)
    works = set(said.workloads) if said is not None else set()
    return works.pop() if len(works) == 1 else None


def _last_topic(parts: Sequence[Part]) -> str:
    return next((t for p in reversed(parts) for t in reversed(p.topics) if t in TESTS), "")


def _them(before: list[tuple[Said, list[Part]]]) -> str:
    """What ``of them`` counts: states where states were spoken of, tests, else boards."""
    for said, parts in reversed(before):
        if any(p.has("state") for p in parts):
            return "state"
        if any(t in ("copy", "start") and (p.ints or p.counts) for p in parts for t in p.topics):
            return ""
        if any(w.text in ("soaks", "copy-compares") for p in parts for w in p.words):
            return "test"
        if said.signs("bk"):
            return "board"
    return "board"


_OFTEN = ("times", "time", "hangs", "crashes", "reboots", "lock-ups", "freezes")
_BOARDS = ("boards", "machines", "computers", "systems")
