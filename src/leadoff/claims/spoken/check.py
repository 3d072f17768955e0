"""A text checked: every sentence placed against the book, with what it rests on and what would be true."""

from __future__ import annotations

import re
from dataclasses import replace

import msgspec

from leadoff.claims.search.arbiter import settled
from leadoff.claims.search.talk import REMEMBERED, said_of, talk_of
from leadoff.claims.spoken.bounds import bounds
from leadoff.claims.spoken.compared import compared
from leadoff.claims.spoken.contrast import corrected
from leadoff.claims.spoken.denials import (
    Denied,
    closed,
    denied_in,
    goes_on,
    is_unreal,
    reply_to,
    turned_over,
    undressed,
)
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.firsts import BEST, FASTEST, RECORD, firsts
from leadoff.claims.spoken.forecasts import forecasts
from leadoff.claims.spoken.guards import (
    VAGUE,
    inseparable,
    instead,
    misread,
    not_understood,
    other_day,
    points,
    stranger_in,
    unmeasured,
    unplaced,
    whichever,
)
from leadoff.claims.spoken.heard import after
from leadoff.claims.spoken.holding import holding
from leadoff.claims.spoken.ignored import Change, Rests, ignored
from leadoff.claims.spoken.names import Names, harmless, names_of, remarks
from leadoff.claims.spoken.oddities import oddities
from leadoff.claims.spoken.orders import orders
from leadoff.claims.spoken.parts import whole_parts
from leadoff.claims.spoken.plain import Plain, clauses, corrected_parts, plain, sentences
from leadoff.claims.spoken.quantified import quantified
from leadoff.claims.spoken.reading import Said, read
from leadoff.claims.spoken.repeats import repeats
from leadoff.claims.spoken.resolving import resolve
from leadoff.claims.spoken.scene import Ask, Scene
from leadoff.claims.spoken.scores import figures, spread
from leadoff.claims.spoken.taken_back import kept
from leadoff.claims.spoken.tallies import counted_tests, symptom_count
from leadoff.claims.spoken.told import has_fitted, told
from leadoff.claims.spoken.unrun import never_there
from leadoff.claims.spoken.values import Finding, Verdict, weakest
from leadoff.claims.values import Ledger, Oddity

V = Verdict
_HANGS = "not understood, for nothing hangs on it: "
STRONG = (
    r"\b(?:faster|slower|quicker|better|worse|beats?|beaten|ahead|behind|because|thanks|due to|worth|costs?|gained|"
    r"gains|lost|loses|helps?|helped|same|level|ties?|tied|only|always|nobody|every|each|both|neither|more|less)\b"
)
_TAGGED = re.compile(
    r"\b(?:any doubt that|who (?:can|could|would) (?:deny|doubt)) .*\?$|,[^,]*\b(?:isn't it|wasn't it|"
    r"doesn't it|didn't it|did you see(?: it| that)?|right|eh|would you believe(?: it)?|"
    r"don't you think|wouldn't you (?:say|agree)|don't you agree|isn't that so|am i right|agreed|see|ok|no|huh)\?$",
    re.I,
)
"""A statement that asks for a nod."""
_QUOTED = re.compile(
    r"^[\"“][^\"”]+[\"”],? (?:he|she|they|people|somebody|everybody|my \w+|the \w+) (?:says?|said|"
    r"claims?|claimed|swears|swore)\b",
    re.I,
)
TASTE = (
    r"\b(?:easier|nicer|quieter|cooler|cheaper|prettier|rarer|older|newer|smaller|bigger|heavier|"
    r"louder|warmer|hotter|simpler|dearer|uglier|friendlier|tidier|handier)\b"
)
_EACH = (
    r"\b(?:every|each|all)(?: single| the| of the)? (?:readings?|runs?|scores?|figures?|results?|times?|"
    r"go)\b|\bboth (?=with|at|on|of them with)"
)
_UNREAD = r"\b(?:quarter|third|fifth|tenth|twice|thrice|doubled?|triple|halved|percent|dozen|%)(?= |$)"
"""Quantities that no rule has read: a sentence with one left over is not supported."""


class Checked(msgspec.Struct, frozen=True, kw_only=True):
    """One sentence: where it starts in the text, its verdict and what it rests on."""

    start: int
    text: str
    verdict: Verdict
    why: str
    refs: tuple[str, ...]
    boards: tuple[str, ...]
    would_be_true: str


class Checker:
    """Checks sentences in their order; each may refer to the one before."""

    def __init__(self, ledger: Ledger) -> None:
        self.evidence = Evidence(ledger)
        self.names: Names = names_of(ledger)
        # A book with one board in it is about that board until another is named.
        only = tuple(ledger.boards)
        self.scene = Scene(boards=only if len(only) == 1 else ())
        texts = [t for o in ledger.oddities for t in (o.finding, *o.details, *o.mends)]
        texts += [t.run.place for t in ledger.trials]
        symptoms = {w for t in texts for w in re.findall(r"[a-z][a-z'-]+", t.lower())}
        self.known = harmless() | remarks() | symptoms
        self.before: tuple[Said, ...] = ()

    def forget(self) -> None:
        """Begin a new text."""
        self.scene, self.before = Scene(), ()

    def text(self, text: str) -> list[Checked]:
        """Every sentence of a text."""
        out, at = [], 0
        for sentence in sentences(text):
            at = max(text.find(sentence, at), at)
            out.append(self.sentence(sentence, at))
        return out

    def sentence(self, sentence: str, start: int = 0) -> Checked:
        """One sentence, without what it takes back. Its parts joined by ``but`` are claims of their own."""
        said, sentence = sentence, (left := kept(sentence)).claim
        if left.before:
            self._part(left.before)
            self.before = (*self.before, said_of(left.before, self.evidence, self.names))
        parts = whole_parts(clauses(sentence)) or (sentence,)
        if closed(sentence) or (len(parts) > 1 and re.search(r"forecast|predict|sealed", sentence, re.I)):
            parts = (sentence,)
        found = [self._part(p) for p in parts]
        if sentence.rstrip().endswith("?"):
            self.scene = replace(self.scene, asked=plain(sentence).low)
        placed = [f for f in found if f.verdict is not V.NOT_PLACED]
        whole = weakest(placed or found)
        if whole.verdict is V.SUPPORTED and any(
            self._claims(p) for p, f in zip(parts, found, strict=True) if f not in placed
        ):
            whole = next(f for f in found if f not in placed)
        talk = talk_of(sentence, self.before, self.evidence, self.names)
        self.before = (*self.before, talk.said)[-REMEMBERED:]
        whole = settled(talk, whole)
        return Checked(
            start=start,
            text=said,
            verdict=whole.verdict,
            why=whole.why,
            refs=whole.refs,
            boards=whole.boards,
            would_be_true="" if whole.verdict is V.SUPPORTED else whole.true or instead(whole),
        )

    def _claims(self, part: str) -> bool:
        """Whether a part that could not be placed names something of the book or a number."""
        form = plain(part)
        said = read(msgspec.structs.replace(form, low=undressed(form.low)), self.evidence.ledger, self.names)
        return bool(said.signs("nwsrfog"))

    def _part(self, part: str) -> Finding:
        if claim := closed(part):
            return self._read(plain(claim), denied=True)
        form = plain(part)
        form = msgspec.structs.replace(form, low=undressed(form.low))
        if is_unreal(form.low):
            self._read(form)
            return Finding(verdict=V.NOT_PLACED, why="a wish claims nothing")
        if said := denied_in(part, form.low):
            text = part.replace("?", ",")
            found = [self._read(Plain(text, said.claim), denied=said.denied)]
            short = len(said.claim.split()) < 4 and not self._claims(said.claim)
            empty = short and (
                said.asked or re.fullmatch(r"(?:it|that|this|him|her|them|a word)", said.claim)
            )
            if said.rest and empty:
                found = [self._plain_part(Plain(said.rest, said.rest))]
            elif said.rest and (found[0].verdict is V.NOT_PLACED or not goes_on(said.rest)):
                found = [self._read(Plain(text, f"{said.claim} , {said.rest}"), denied=said.denied)]
                if said.denied and found[0].verdict is V.SUPPORTED:
                    # Of several things one was wrong, which may be one that was not understood.
                    found = [Finding(verdict=V.NOT_PLACED, why="what of it is denied is not clear")]
            elif said.rest:
                found.append(self._plain_part(Plain(said.rest, said.rest)))
            placed = [f for f in found if f.verdict is not V.NOT_PLACED]
            return weakest(placed or found)
        if reply := reply_to(self.scene.asked, form.low):
            return self._replied(reply)
        return self._plain_part(form)

    def _replied(self, reply: Denied) -> Finding:
        """A question and its short answer; what is said beside it must be placed if it names anything."""
        found = [self._read(Plain(reply.claim, reply.claim), denied=reply.denied)]
        if reply.rest:
            beside = self._plain_part(Plain(reply.rest, reply.rest))
            loose = read(Plain(reply.rest, reply.rest), self.evidence.ledger, self.names).leftovers(
                self.known
            )
            if beside.verdict is not V.NOT_PLACED or loose or self._claims(reply.rest):
                found.append(beside)
        if found[0].verdict is V.NOT_PLACED:
            return found[-1]
        return weakest(found)

    def _plain_part(self, part: Plain) -> Finding:
        before = self.scene
        if len(both := corrected_parts(part.text)) == 2:
            found = [self._part(p) for p in both]
            placed = [f for f in found if f.verdict is not V.NOT_PLACED]
            if placed == found or any(f.verdict is not V.SUPPORTED for f in placed):
                return weakest(placed)
            self.scene = before
        whole = self._read(part)
        if whole.verdict is V.SUPPORTED:
            return whole
        now, self.scene = self.scene, before
        if whole.verdict is V.NOT_PLACED:
            valued = whole.why.startswith(_HANGS) and re.search(r"\d", whole.why) is not None
            listed = self._listed(part, strict=valued)
        else:
            listed = self._all_hold(part)
        self.scene = now
        return listed or whole

    def _read(self, part: Plain, *, denied: bool = False) -> Finding:
        before = self.scene
        whole = self._judged(part, lambda said: None, denied=denied)
        if whole.verdict is V.SUPPORTED:
            now, self.scene = self.scene, before

            def judge(other: Plain, change: Change) -> Verdict:
                self.scene = before
                return self._judged(other, change, denied=denied).verdict

            said = read(part, self.evidence.ledger, self.names)
            said.low = corrected(said)
            known = self.evidence.by_number.keys() | {s.number for s in self.evidence.ledger.sealed}
            measured = bool(known & set(whole.refs))
            everyone = len(self.evidence.ledger.boards)
            of_all = re.findall(
                r"\b(?:these|those|my|the|all|of) \{(n\d+)\} (?:boards|machines|systems)\b", said.low
            )
            told = frozenset(s for s in of_all if said.num(s).value == everyone)
            loose = ignored(part, said, judge, Rests(told, measured, absent=not whole.refs))
            self.scene = now
            if loose:
                why = f"{_HANGS}{loose}"
                true = f"what the book holds on it: {whole.why}"
                return msgspec.structs.replace(whole, verdict=V.NOT_PLACED, why=why, true=true)
        return whole

    def _judged(self, part: Plain, change: Change, *, denied: bool) -> Finding:
        said = read(part, self.evidence.ledger, self.names)
        said.low = corrected(said)
        change(said)
        ask = resolve(said, self.scene, self.evidence)
        found, oddity = self._rules(ask)
        if denied:
            found = turned_over(found, ask.low)
        whole = self._guarded(ask, found)
        self.scene = after(ask, oddity)
        return whole

    def _listed(self, part: Plain, *, strict: bool = False) -> Finding | None:
        """A list of claims set apart by commas, each held against the book by itself: ``24 h soak ok, 60 of 60
        copies``. ``None`` unless every part that has a number or a mention is placed or only sets the
        scene (``strict``: is placed)."""
        pieces = [p for p in part.low.split(" , ") if p.strip()]
        if len(pieces) < 2:
            return None
        found = []
        for low in pieces:
            one = self._read(Plain(text=low, low=low))
            said = read(Plain(text=low, low=low), self.evidence.ledger, self.names)
            if one.verdict is not V.NOT_PLACED:
                found.append(one)
            elif (
                said.signs("nrfogsbk" if strict else "nrfo")
                or re.search(r"\d:\d\d", low)
                or (said.signs("wk") and len(low.split()) > 3)
                or (found and said.signs("bsg"))
            ):
                return None
        return weakest(found) if found else None

    def _all_hold(self, part: Plain) -> Finding | None:
        """Of a list that was wrong as a whole: whether each of its claims holds by itself, with nothing left over. A
        part that claims nothing goes with the next one."""
        pieces = part.low.split(" , ")
        if any(re.search(f"{RECORD}|{FASTEST}|{BEST}", p) for p in pieces[1:]):
            return None  # what is first may be said of the part before
        first = re.search(RECORD, pieces[0]) is not None
        found: list[Finding] = []
        held = ""
        for piece in pieces:
            low = f"{held} , {piece}".strip(" ,")
            before = self.scene
            one = self._read(Plain(text=low, low=low))
            if one.verdict is V.SUPPORTED:
                if first and found and self.scene.figures:
                    return None  # the figure of a record belongs to the record
                found.append(one)
                held = ""
            elif one.verdict is V.NOT_PLACED:
                self.scene, held = before, low
            else:
                return None
        named = read(Plain(text=held, low=held), self.evidence.ledger, self.names).signs("bkwgsnrfo")
        named = named or re.findall(r"\d:\d\d", held)
        return weakest(found) if len(found) > 1 and not named else None

    def _rules(self, ask: Ask) -> tuple[list[Finding], Oddity | None]:
        stranger = stranger_in(ask)
        if stranger is not None:
            return [stranger], None
        if ask.said.plain.text.rstrip().endswith("?") and not _TAGGED.search(ask.said.plain.text):
            return [Finding(verdict=V.NOT_PLACED, why="a question claims nothing")], None
        if _QUOTED.search(ask.said.plain.text):
            return [Finding(verdict=V.NOT_PLACED, why="somebody else's words")], None
        if ask.unclear:
            return [Finding(verdict=V.NOT_PLACED, why=f'"{ask.unclear}" could mean several things')], None
        if ask.has(TASTE) and not ask.has(r"\b(?:faster|quicker|slower)\b") and not ask.said.signs("n"):
            return [Finding(verdict=V.NOT_PLACED, why="nothing that is measured")], None
        if found := forecasts(ask):
            return found, None
        if other := unmeasured(ask):
            return [other], None
        if one := told(ask):
            return [one], None
        if count := symptom_count(ask) or counted_tests(ask):
            return [count], None
        found, oddity = oddities(ask)
        if found:
            return found, oddity
        if found := orders(ask) or quantified(ask) or spread(ask):
            return found, None
        if often := repeats(ask):
            return [often], None
        first = firsts(ask)
        if (
            not ask.boards
            and len(first) == 1
            and first[0].verdict is V.SUPPORTED
            and len(first[0].boards) == 1
        ):
            ask.boards = list(first[0].boards)
        out = holding(ask)
        out += first
        if not first and not out:
            out += bounds(ask)
        if not first and not [f for f in out if f.verdict is not V.NOT_PLACED]:
            out += compared(ask)
        spent = frozenset(u for f in out for u in f.used)
        if not out and re.search(STRONG, re.sub(_EACH, " ", ask.low)):
            # A figure that is right does not bear out the comparison or the absolute around it.
            out.append(Finding(verdict=V.NOT_PLACED, why="what is said of the figure could not be placed"))
        out += figures(ask, spent)
        if not [f for f in out if f.verdict is not V.NOT_PLACED]:
            out += has_fitted(ask) or never_there(ask)
        return out, oddity

    def _guarded(self, ask: Ask, found: list[Finding]) -> Finding:
        """What was found, unless something in the sentence was not understood: then it is not supported."""
        placed = [f for f in found if f.verdict is not V.NOT_PLACED]
        if not placed:
            return found[0] if found else Finding(verdict=V.NOT_PLACED, why=unplaced(ask))
        whole = weakest(placed)
        nothing = not (ask.boards or ask.workloads or ask.rigs or ask.said.runs or ask.said.strangers)
        known = ask.said.gone or ask.stranger
        if nothing and not known and not ask.all_boards and whole.verdict in (V.NOT_FOUND, V.UNTESTED):
            return Finding(verdict=V.NOT_PLACED, why=unplaced(ask))
        if whole.verdict is not V.SUPPORTED:
            return whole
        if nothing and not known and not ask.all_boards and not points(ask, whole, self.evidence):
            return Finding(verdict=V.NOT_PLACED, why=unplaced(ask))
        if (wrong := misread(ask, whole, self.evidence)) is not None:
            return wrong
        loose = [w for w in ask.said.leftovers(self.known) if w not in whole.used]
        loose += [w for w in re.findall(_UNREAD, ask.low) if w not in whole.used]
        vague = [f.why for f in found if f.verdict is V.NOT_PLACED]
        vague += [m[0].strip() for m in VAGUE.finditer(ask.low)]
        unused = [s for s in ask.said.signs("ns") if s not in whole.used]
        if loose or unused or vague:
            texts = (ask.said.num(s).text if s[0] == "n" else ask.said.want(s).text for s in unused)
            return not_understood(whole, [*vague, *loose, *texts])
        return (
            whichever(ask, whole, self.evidence)
            or other_day(ask, whole, self.evidence)
            or inseparable(ask, whole, self.evidence)
            or whole
        )
