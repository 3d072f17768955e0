"""What holds for every line: no other error, nothing dropped, failures never numbers, echoes read back."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from fractions import Fraction

import pytest
from contexts import CONTEXTS
from hypothesis import example, given, settings
from hypothesis import strategies as st
from test_phrases import ROWS

from leadoff.record.errors import LeadoffError
from leadoff.record.phrases import Ask, Context, ReadingPhrase, ScorePhrase, SetPhrase, Understood
from leadoff.record.settings import SETTINGS, SettingKind, SettingName
from leadoff.words import (
    UNIT_KINDS,
    clock_mhz,
    clock_text,
    echo_phrase,
    fraction,
    memory_fit,
    number,
    parse,
    quantity,
    reading,
    setting_value,
)
from leadoff.words.everyday import in_bench_words
from leadoff.words.rows import rows
from leadoff.words.vocabulary import heads, known_words

BENCH = CONTEXTS["bench"]
FAILURE_WORDS = sorted(w for row in rows("failures")["failure"] for w in row["words"])
SCRAPS = [
    *[
        "w2",
        "w3",
        "jp7",
        "b0",
        "?",
        "-",
        "x4",
        "3x33.5",
        "23.5",
        "23,5",
        "1,234",
        "0",
        "-1",
        "1:02.4",
        "but",
        "and",
        "8h",
        "5v",
        "ohm",
        "fps",
        "ms",
    ],
    *'~,;=:/#"()',
]
PIECES = st.one_of(
    st.sampled_from(sorted(known_words())),
    st.sampled_from([line for _, line, _ in ROWS]),
    st.sampled_from(SCRAPS),
    st.text(max_size=6),
    st.integers(-9, 10**6).map(str),
)
LINES = st.one_of(
    st.text(max_size=80),
    st.lists(PIECES, max_size=8).map(" ".join),
    st.lists(PIECES, max_size=6).map("".join),
)


def refused(error: LeadoffError) -> bool:
    """Whether a whole line was refused, for a reason that a line can have."""
    return error.problems[0].code in ("line_too_long", "not_one_line", "control_character")


def understood(line: str, context: Context) -> Understood | None:
    """None for a line that is refused as a line; every other error is a failure of the test."""
    try:
        return parse(line, context)
    except LeadoffError as error:
        if refused(error):
            return None
        raise


@settings(max_examples=600, deadline=None)
@given(LINES, st.sampled_from(sorted(CONTEXTS)))
def test_nothing_but_phrases_or_a_refused_line(line: str, where: str) -> None:
    found = understood(line, CONTEXTS[where])
    if found is not None:
        assert found.phrases
        assert found.text == line
        assert all(p.text in line for p in found.phrases)


@settings(max_examples=600, deadline=None)
@given(LINES, st.sampled_from(sorted(CONTEXTS)))
@example("RUNS!A0:1", "bench")
def test_no_word_is_dropped(line: str, where: str) -> None:
    found = understood(line, CONTEXTS[where])
    if found is None:
        return
    # A line that is only understood in plainer words keeps those: what they stand for is data/everyday.toml's.
    plainer = in_bench_words(line, CONTEXTS[where])
    said = " ".join(p.text for p in found.phrases)
    for word in set(re.findall(r"\w+", line)) & set(re.findall(r"\w+", plainer)):
        if word.lower() not in ("but", "and", "then", "with", "also", "plus", "set", "now"):
            assert word in said


@settings(max_examples=400, deadline=None)
@given(
    st.one_of(
        st.text(max_size=20), st.from_regex(r"[-+~]?[0-9][0-9.,' ]{0,12}( ?[a-zA-Z/]{0,5})?", fullmatch=True)
    )
)
def test_single_values_raise_only_our_error(text: str) -> None:
    readers = [number, reading, fraction, clock_mhz, memory_fit]
    calls = [lambda r=r: r(text) for r in readers]
    calls += [lambda k=k: quantity(text, k) for k in UNIT_KINDS]
    calls += [lambda n=n: setting_value(n, text) for n in (*SETTINGS, "jp7", "ram.b0")]
    reasons = [reason(call) for call in calls]
    assert all(said is None or said for said in reasons)


def reason(call: Callable[[], object]) -> str | None:
    """What a reader said against a text, None when it took it; any other exception fails the test."""
    try:
        call()
    except LeadoffError as error:
        return error.problems[0].text
    return None


@settings(max_examples=300, deadline=None)
@given(
    st.sampled_from(FAILURE_WORDS),
    st.sampled_from(["", "w2 ", "w3 ", "bus 40 but "]),
    st.sampled_from(["", " 3:20", " memcount", " 2x", " 12 min", " 23.5", " 40", " 3/5", " C1", " 3 beeps"]),
)
def test_a_failure_is_never_a_number(words: str, before: str, after: str) -> None:
    for context in CONTEXTS.values():
        found = parse(before + words + after, context)
        assert not any(isinstance(p, ScorePhrase | ReadingPhrase) for p in found.phrases)


@given(st.sampled_from(rows("scores")["absent"]["marks"]), st.sampled_from(["w2 ", "w3 ", "w2: ", ""]))
def test_a_blank_is_never_a_score(mark: str, before: str) -> None:
    found = parse(before + mark, BENCH)
    assert found.questions
    assert not any(isinstance(p, ScorePhrase | ReadingPhrase) for p in found.phrases)


@settings(max_examples=300, deadline=None)
@given(st.integers(1, 9999), st.integers(0, 99), st.sampled_from([1, 2]))
def test_a_decimal_comma_equals_a_decimal_point(whole: int, part: int, places: int) -> None:
    point = f"{whole}.{part % 10**places:0{places}d}"
    comma = point.replace(".", ",")
    one, two = number(point), number(comma)
    assert (one.value, one.lo, one.hi) == (two.value, two.lo, two.hi)
    for line in ("w2 {}", "w2 {} {}", "bus {}", "vcore {}", "5v {}", "x{}", "w3 {}s"):
        a, b = (parse(line.format(n, n), BENCH) for n in (point, comma))
        assert [type(p) for p in a.phrases] == [type(p) for p in b.phrases]
        assert [getattr(p, "value", None) for p in a.phrases] == [
            getattr(p, "value", None) for p in b.phrases
        ]
        values = [
            [r.value for p in u.phrases if isinstance(p, ScorePhrase) for r in p.readings] for u in (a, b)
        ]
        assert values[0] == values[1]


@given(st.decimals(0, 10**6, allow_nan=False, allow_infinity=False, places=3))
def test_an_interval_holds_its_value(value: object) -> None:
    found = number(str(value))
    assert found.lo < found.value < found.hi
    assert found.hi - found.lo == pytest.approx(float(found.step), rel=1e-3)


@pytest.mark.parametrize("said", sorted(heads()))
@pytest.mark.parametrize("word", ["default", "?", "auto"])
def test_default_is_never_known(said: str, word: str) -> None:
    for context in (BENCH, CONTEXTS["empty"], CONTEXTS["move"]):
        found = parse(f"{said} {word}", context)
        for phrase in found.phrases:
            assert isinstance(phrase, Ask) or (isinstance(phrase, SetPhrase) and phrase.value is None), (
                found.echo
            )


def values_of(setting: SettingName) -> st.SearchStrategy[str]:
    """Canonical values of a setting, through the typed forms that make them."""
    limits = rows("limits")["limits"].get(setting.name, (1, 100))
    lo, hi = Fraction(str(limits[0])), Fraction(str(limits[1]))
    whole = st.integers(max(1, -(-lo.numerator // lo.denominator)), int(hi)).map(str)
    match setting.kind:
        case SettingKind.CLOCK:
            return st.one_of(whole, st.fractions(lo, hi, max_denominator=1000).map(str))
        case SettingKind.RATIO:
            return st.fractions(max(lo, Fraction(1, 9)), hi, max_denominator=12).map(str)
        case SettingKind.VOLTS:
            return st.decimals(1, 5, places=2).map(str)
        case SettingKind.NUMBER:
            return whole
        case SettingKind.PATTERN:
            return st.lists(st.integers(1, 12), min_size=4, max_size=4).map(lambda b: "-".join(map(str, b)))
        case SettingKind.SWITCH:
            return st.sampled_from(["on", "off"])
        case SettingKind.POLICY:
            return st.sampled_from(["wt", "wb"])
        case _:
            if setting.name in ("ram_type", "l2_type", "video_bus"):
                return st.sampled_from(
                    {
                        "ram_type": ["fpm", "edo"],
                        "l2_type": ["burst", "pipelined burst"],
                        "video_bus": ["isa", "vlb"],
                    }[setting.name]
                )
            return st.one_of(
                st.from_regex(r"[a-z][a-z0-9.-]{0,12}", fullmatch=True),
                st.sampled_from(
                    ["my part", "x2, late", "dx4-100 second", "slow", "bare", "3", "vlb card; old", "none"]
                ),
            )


@settings(max_examples=60, deadline=None)
@pytest.mark.parametrize("name", list(SETTINGS))
@given(st.data())
def test_a_setting_said_back_is_the_same_setting(name: str, data: st.DataObject) -> None:
    typed = data.draw(st.one_of(values_of(SETTINGS[name]), st.just("?")))
    measured = (
        SETTINGS[name].kind in (SettingKind.CLOCK, SettingKind.VOLTS)
        and typed != "?"
        and data.draw(st.booleans())
    )
    phrase = SetPhrase(
        text=typed, name=name, value=setting_value(name, typed, measured=measured), measured=measured
    )
    echo = echo_phrase(phrase)
    back = parse(echo, BENCH).phrases
    assert [(p.name, p.value, p.measured) for p in back if isinstance(p, SetPhrase)] == [
        (name, phrase.value, measured)
    ], echo
    assert len(back) == 1


@settings(deadline=None)
@given(
    st.integers(1, 8),
    st.sampled_from(["1", "4", "0.25", "128"]),
    st.sampled_from(["", " fpm60", " edo", " sdram7.5 cl2", " 70"]),
)
def test_memory_said_back_is_the_same(count: int, size: str, rest: str) -> None:
    value = setting_value("ram.b0", f"{count}x{size}{rest}")
    phrase = SetPhrase(text="", name="ram.b0", value=value)
    (back,) = parse(echo_phrase(phrase), BENCH).phrases
    assert isinstance(back, SetPhrase)
    assert (back.name, back.value) == ("ram.b0", value)


@pytest.mark.parametrize(("where", "line"), [(w, line) for w, line, _ in ROWS])
def test_what_was_set_reads_back_from_the_echo(where: str, line: str) -> None:
    for phrase in parse(line, CONTEXTS[where]).phrases:
        if isinstance(phrase, SetPhrase):
            (back,) = parse(echo_phrase(phrase), CONTEXTS[where]).phrases
            assert isinstance(back, SetPhrase)
            assert (back.name, back.value, back.measured) == (phrase.name, phrase.value, phrase.measured)


@pytest.mark.parametrize(("where", "line"), [(w, line) for w, line, _ in ROWS])
def test_every_choice_that_is_offered_is_understood(where: str, line: str) -> None:
    for ask in parse(line, CONTEXTS[where]).questions:
        for choice in ask.choices:
            assert not parse(choice, CONTEXTS[where]).questions, choice


@given(st.fractions(4, 250, max_denominator=1000), st.sampled_from(["bus", "can", "core", "pci", "mem"]))
def test_every_clock_has_a_text_that_reads_back(value: Fraction, role: str) -> None:
    assert clock_mhz(clock_text(value, role), role) == value


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("bus 40\nbus 50", "not_one_line"),
        ("bus\x0040", "control_character"),
        ("bus \u202e40", "control_character"),
        ("x" * 501, "line_too_long"),
    ],
)
def test_what_is_no_line_is_refused_with_one_reason(line: str, code: str) -> None:
    with pytest.raises(LeadoffError, match="line") as caught:
        parse(line, BENCH)
    assert [p.code for p in caught.value.problems] == [code]


def test_a_counter_gives_the_interval_of_half_a_tick() -> None:
    (found,) = parse("w2 2134 frames 4261 ticks/70", BENCH).phrases
    assert isinstance(found, ScorePhrase)
    (score,) = found.readings
    assert score.value == pytest.approx(2134 * 70 / 4261, rel=1e-12)
    assert (score.lo, score.hi) == (pytest.approx(2134 * 70 / 4261.5), pytest.approx(2134 * 70 / 4260.5))


@given(st.permutations(["w2", "w3"]), st.floats(0.1, 5000, allow_nan=False))
def test_a_bare_number_is_never_given_to_a_workload_by_its_size(names: list[str], value: float) -> None:
    found = parse(f"{value:.1f}", BENCH)
    assert [type(p) for p in found.phrases] == [Ask]
    assert all(any(name in choice for choice in found.questions[0].choices) for name in names) or value < 0.1


def test_the_parser_loads_nothing_heavy() -> None:
    import subprocess
    import sys

    heavy = ("numpy", "scipy", "sqlalchemy", "rich", "leadoff.book", "leadoff.machine")
    code = f"import sys, leadoff.words; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    "piece", ["1", "1 ", "1-", "a ", "no ", "1 long ", "w2 ", "1,", "1x", '"', "hang ", "1:", "ram b0 1 "]
)
def test_no_line_takes_long(piece: str) -> None:
    """An expression that backtracks on a row of digits once took minutes; the worst line now takes 0.4 s."""
    began = time.perf_counter()
    assert parse((piece * 500)[:500], BENCH).phrases
    assert time.perf_counter() - began < 5
