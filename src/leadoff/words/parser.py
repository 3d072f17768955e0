"""A bench line to phrases: rules are tried in order, what none understands is asked, nothing is dropped."""

from __future__ import annotations

import msgspec

from leadoff.record.phrases import AnyPhrase, Ask, Context, SetPhrase, Understood, Verb
from leadoff.words import bench_readings, board_words, fitted, outcomes, scores, settings_grammar
from leadoff.words.echo import echo_line
from leadoff.words.everyday import hint, in_bench_words
from leadoff.words.scan import SEPARATOR, Found, Rule, Scan
from leadoff.words.tokens import Line
from leadoff.words.vocabulary import known_words, label, nearest

_RULES: tuple[Rule, ...] = (
    outcomes.note,
    board_words.firmware_label,
    board_words.jumper,
    board_words.earlier_run,
    scores.known_workload,
    settings_grammar.named_exactly,
    bench_readings.protocol,
    bench_readings.reading,
    outcomes.outcome,
    outcomes.symptom,
    fitted.memory,
    fitted.cache,
    fitted.processor,
    fitted.display,
    settings_grammar.ratio,
    settings_grammar.write_back,
    settings_grammar.named,
    settings_grammar.alone,
    outcomes.verdict,
    scores.bare_workload,
)
"""Rules that rest on a known word. The board's own words come first, they are the most particular."""

_LOOSE: tuple[Rule, ...] = (
    scores.nameless,
    scores.new_workload,
    outcomes.failure_of_a_new_name,
    outcomes.quoted_note,
)
"""Rules for bare figures and new names, which hold only where a phrase may begin."""


def parse(line: str, context: Context) -> Understood:
    """What ``line`` says, as phrases in order, with an echo in plain words.

    Doubtful or unknown words become an Ask that holds the question and choices that would parse. Figures are
    never given to one of several workloads by their size; failures are never numbers; ``?`` and ``default``
    are settings without a value; a blank line is one question. Raises LeadoffError ``line_too_long``,
    ``not_one_line`` or ``control_character`` for what cannot be a typed line, and nothing else.

    A line that leaves a question is tried again in plainer words (``everyday``), which count only when they
    leave none.
    """
    understood = _parse(line, context)
    if understood.questions and context.verb != Verb.SICK:
        plainer = in_bench_words(line, context)
        again = _parse(plainer, context) if plainer != line else understood
        if not again.questions:
            return msgspec.structs.replace(again, text=line)
    return understood


def _parse(line: str, context: Context) -> Understood:
    scan = Scan(Line(line), context)
    pos = 0
    while True:
        pos, parted = _skip(scan, pos)
        if pos >= len(scan.low):
            break
        scan.fresh = parted or not scan.phrases or _ends_in_words(scan)
        found = _first(scan, pos, (*_RULES, *_LOOSE)) or _not_understood(scan, pos)
        scan.phrases.extend(_twice(scan, found))
        pos = found.end
    if not scan.phrases:
        scan.phrases.append(
            Ask(text=line.strip(), question="nothing was said: what moved, or what happened?")
        )
    phrases = tuple(scan.phrases)
    return Understood(text=line, phrases=phrases, echo=echo_line(phrases))


def _twice(scan: Scan, found: Found) -> tuple[AnyPhrase, ...]:
    """A setting named twice in one line with two values is asked for; a measured value only refines."""
    before = {p.name: p.value for p in scan.phrases if isinstance(p, SetPhrase) and not p.measured}
    phrases: list[AnyPhrase] = []
    for phrase in found.phrases:
        settled = not isinstance(phrase, SetPhrase) or phrase.measured or phrase.name not in before
        if isinstance(phrase, SetPhrase) and not settled and phrase.value != before[phrase.name]:
            said = f"{label(phrase.name)} was {before[phrase.name]} earlier in this line, now {phrase.value}"
            phrases.append(Ask(text=phrase.text, question=f"{phrase.text}: {said}; which of them?"))
        else:
            phrases.append(phrase)
    return tuple(phrases)


def _skip(scan: Scan, pos: int) -> tuple[int, bool]:
    """Past blanks, punctuation and joining words; whether more than blanks was passed."""
    found = SEPARATOR.match(scan.low, pos)
    end = found.end() if found else pos
    return end, bool(scan.low[pos:end].strip())


def _ends_in_words(scan: Scan) -> bool:
    """A figure right after a switch (``wb on 23.5``) is a result; after any other figure it is nobody's."""
    last = scan.phrases[-1]
    return isinstance(last, SetPhrase) and not any(c.isdigit() for c in last.text.split()[-1])


def _first(scan: Scan, pos: int, rules: tuple[Rule, ...]) -> Found | None:
    for rule in rules:
        found = rule(scan, pos)
        if found is not None and found.end > pos:
            return (_other_property(scan, pos, found) or found) if rule is board_words.jumper else found
    return None


def _other_property(scan: Scan, pos: int, found: Found) -> Found | None:
    """``l2 wt`` where the board has an entry called l2 that is on or off: the policy, which no position of the entry
    sets. Words for what its positions do set stay a question."""
    asked = [p for p in found.phrases if isinstance(p, Ask)]
    if not asked:
        return None
    common = _RULES[_RULES.index(board_words.jumper) + 1 :]
    other = _first(scan, pos, common)
    if other is None or not all(isinstance(p, SetPhrase) for p in other.phrases):
        return None
    own = {
        p.name
        for position in asked[0].choices
        if (said := _first(Scan(Line(position), scan.context), 0, common)) is not None
        for p in said.phrases
        if isinstance(p, SetPhrase)
    }
    return other if own and not own & {p.name for p in other.phrases if isinstance(p, SetPhrase)} else None


def _not_understood(scan: Scan, pos: int) -> Found:
    """Words that no rule takes, up to the next mark or the next phrase that is certain, as one question."""
    end = start = pos
    while True:
        word = end + 1
        while word < len(scan.low) and not (scan.low[word].isspace() or scan.low[word] in ";,"):
            word += 1
        end = word
        start, parted = _skip(scan, end)
        if parted or start >= len(scan.low):
            break
        following = _first(scan, start, _RULES)
        if following is not None and not all(isinstance(p, Ask) for p in following.phrases):
            break
        end = start
    said = scan.typed(pos, end)
    if longer := _rest_of_a_name(scan, said):
        name = longer.removeprefix("cpu ").removeprefix("video ")
        question = f"{said} is not understood; if it belongs to the marking, put all of it in quotes: {name}"
        return scan.ask(pos, end, question, (longer,))
    if scan.context.verb == Verb.LOG and (scored := scores.like_a_new_workload(scan, pos)):
        question = f"{said} is not understood; if {scored[0]} is a new workload, put a comma before it"
        return scan.ask(pos, end, question, (f", {scored[1]}",))
    if asked := hint(said):
        return scan.ask(pos, end, f"{said}: {asked[0]}", asked[1])
    near = _near(scan, said)
    question = f"{said} is not understood" + (f"; near to it: {', '.join(near)}" if near else "")
    kept = () if scan.context.verb == Verb.WANT else (f"note: {said}",)
    return scan.ask(pos, end, question, kept)


def _rest_of_a_name(scan: Scan, said: str) -> str | None:
    """``ADZ`` after ``cpu 5x86-p75``: markings hold blanks, and only quotes can keep them together."""
    last = scan.phrases[-1] if scan.phrases and not scan.fresh else None
    if not isinstance(last, SetPhrase) or last.name not in ("cpu", "video") or '"' in last.text:
        return None
    return f'{last.name} "{last.value} {said}"'


def _near(scan: Scan, said: str) -> list[str]:
    own = (*scan.context.positions, *scan.context.choices, *scan.context.aliases)
    known = known_words() | {w.lower() for w in own} | {w.name.lower() for w in scan.context.workloads}
    near: list[str] = []
    for word in (said, *said.split()):
        near += nearest(word, known, "hint")[:2]
    return list(dict.fromkeys(near))[:4]
