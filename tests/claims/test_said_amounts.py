"""Quantities in ordinary speech, by families: numbers, units and degrees in every combination.

The expressions are ours (common speech, no source); each must be read as one number with the size that is meant.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import cycle, product

from ear import Ear

from leadoff.claims.spoken.values import Num

Case = tuple[str, str, float, float, str]
"""What is said, the kind of number, its ends and its degree."""


def size(n: Num) -> tuple[str, float, float, str]:
    """Kind, ends and degree. A percent and a fraction are one kind, ``50 % faster`` is the factor 1.5."""
    return n.kind, round(n.value, 2), round(n.hi if n.hi is not None else n.value, 2), n.mod


def misread(ear: Ear, cases: Iterator[Case], frames: tuple[str, ...]) -> list[str]:
    """Sentences whose only number is not as it was said, and how they were read."""
    wrong = []
    count = 0
    for (text, kind, lo, hi, mod), frame in product(list(cases), frames):
        count += 1
        sentence = frame.format(text)
        nums = [n for n in ear.said(sentence).nums if n.kind != "goes"]
        if [size(n) for n in nums] != [(kind, round(lo, 2), round(hi, 2), mod)]:
            wrong.append(f"{sentence} -> {[size(n) for n in nums]}, not {(kind, lo, hi, mod)}")
    assert count >= len(frames)
    return wrong


NUMBERS = (
    ("three", 3.0),
    ("3", 3.0),
    ("eleven", 11.0),
    ("twenty-three", 23.0),
    ("twenty three", 23.0),
    ("43", 43.0),
    ("three and a half", 3.5),
    ("4,5", 4.5),
    ("4.5", 4.5),
    ("four point five", 4.5),
    ("six and a quarter", 6.25),
)
DEGREES = (
    ("{}", ""),
    ("about {}", "about"),
    ("roughly {}", "about"),
    ("some {}", "about"),
    ("close to {}", "about"),
    ("somewhere around {}", "about"),
    ("something like {}", "about"),
    ("in the region of {}", "about"),
    ("{} or so", "about"),
    ("{}, give or take", "about"),
    ("{}, more or less", "about"),
    ("nearly {}", "nearly"),
    ("almost {}", "nearly"),
    ("just under {}", "nearly"),
    ("not quite {}", "nearly"),
    ("a shade under {}", "nearly"),
    ("a touch below {}", "nearly"),
    ("just shy of {}", "nearly"),
    ("getting on for {}", "nearly"),
    ("a bit over {}", "just"),
    ("slightly more than {}", "just"),
    ("a little above {}", "just"),
    ("a hair over {}", "just"),
    ("over {}", "over"),
    ("more than {}", "over"),
    ("at least {}", "over"),
    ("well over {}", "over"),
    ("upwards of {}", "over"),
    ("no less than {}", "over"),
    ("not less than {}", "over"),
    ("in excess of {}", "over"),
    ("under {}", "under"),
    ("less than {}", "under"),
    ("at most {}", "under"),
    ("no more than {}", "under"),
    ("not more than {}", "under"),
    ("{} at most", "under"),
    ("{} tops", "under"),
    ("whole {}", ""),
    ("all of {}", ""),
    ("a full {}", ""),
    ("a mere {}", ""),
    ("a whopping {}", ""),
)
PERCENT = (" %", " percent", " per cent", " procent", " per-cent", " pct", " percents")


def test_percent(ear: Ear) -> None:
    units = cycle(PERCENT)
    cases = (
        (degree.format(f"{said}{next(units)}"), "pct", value, value, mod)
        for (said, value), (degree, mod) in product(NUMBERS, DEGREES)
    )
    frames = ("The Birch gains {} in the corridor.",)
    assert misread(ear, cases, frames) == []


def test_loose_percent(ear: Ear) -> None:
    """A number with two ends (judgement: ``a few`` is 2 to 6)."""
    cases: list[Case] = [
        ("forty-odd percent", "pct", 40, 49, ""),
        ("forty odd per cent", "pct", 40, 49, ""),
        ("twenty-something percent", "pct", 20, 29, ""),
        ("thirty-some percent", "pct", 30, 39, ""),
        ("a couple of percent", "pct", 2, 2, "about"),
        ("a couple percent", "pct", 2, 2, "about"),
        ("a few percent", "pct", 2, 6, ""),
        ("ten or eleven percent", "pct", 10, 11, ""),
        ("ten to twelve percent", "pct", 10, 12, ""),
        ("10-12 %", "pct", 10, 12, ""),
        ("between ten and twelve percent", "pct", 10, 12, ""),
        ("thirty plus percent", "pct", 30, 30, "over"),
        ("30+ %", "pct", 30, 30, "over"),
        ("half a percent", "pct", 0.5, 0.5, ""),
        ("twelve-ish percent", "pct", 12, 12, "about"),
    ]
    frames = (
        "The Birch gains {} in the corridor.",
        "It is {} quicker.",
        "With the PCI card it is slower by {}.",
    )
    assert misread(ear, iter(cases), frames) == []


TIMES = (
    ("twice", 2.0),
    ("two and a half times", 2.5),
    ("three times", 3.0),
    ("2,7 times", 2.7),
    ("2.7 times", 2.7),
    ("four and a half times", 4.5),
    ("fourteen times", 14.0),
    ("one and a half times", 1.5),
    ("a time and a half", 1.5),
)


def test_factors(ear: Ear) -> None:
    ends = ("as fast", "as quick", "as fast as the Larch", "as long", "so long", "as slow as the Cedar")
    cases = (
        (degree.format(f"{said} {end}"), "factor", value, value, mod)
        for (said, value), end, (degree, mod) in product(
            TIMES, ends, (DEGREES[0], DEGREES[1], DEGREES[11], DEGREES[24])
        )
    )
    assert misread(ear, cases, ("The Elm is {} in the sort.",)) == []


def test_other_words_for_factors(ear: Ear) -> None:
    cases: list[Case] = [
        ("three times the Larch", "factor", 3, 3, ""),
        ("2.7x the Larch", "factor", 2.7, 2.7, ""),
        ("2.7x faster", "factor", 2.7, 2.7, ""),
        ("2.7x", "factor", 2.7, 2.7, ""),
        ("3 times quicker", "factor", 3, 3, ""),
        ("threefold faster", "factor", 3, 3, ""),
        ("ten-fold faster", "factor", 10, 10, ""),
        ("faster by a factor of three", "factor", 3, 3, ""),
        ("2,7 times of that", "factor", 2.7, 2.7, ""),
        ("14 or 15 times so long", "factor", 14, 15, ""),
        ("fourteen to fifteen times as long", "factor", 14, 15, ""),
        ("double the Larch", "factor", 2, 2, ""),
        ("thrice the Larch", "factor", 3, 3, ""),
        ("as fast again", "factor", 2, 2, ""),
        ("twice as long", "factor", 2, 2, ""),
        ("half as fast again", "pct", 50, 50, ""),
        ("half again as fast", "pct", 50, 50, ""),
        ("half as long again", "pct", 50, 50, ""),
        ("a third as long again", "pct", 33.33, 33.33, ""),
    ]
    assert misread(ear, iter(cases), ("It is {}.", "In the sort the Elm is {}.")) == []
    for verb, value in (
        ("doubled", 2),
        ("tripled", 3),
        ("trebled", 3),
        ("quadrupled", 4),
        ("more than doubled", 2),
    ):
        (n,) = ear.said(f"The PCI card {verb} the score.").nums
        assert (n.kind, n.value) == ("factor", value)


PARTS = (
    *(("half", 50.0), ("third", 100 / 3), ("quarter", 25.0), ("fifth", 20.0), ("sixth", 100 / 6)),
    *(("seventh", 100 / 7), ("eighth", 12.5), ("ninth", 100 / 9), ("tenth", 10.0), ("twentieth", 5.0)),
)


def test_fractions_of_a_score(ear: Ear) -> None:
    """What is gone, what is left: ``a fifth less``, ``in a fifth of the time``."""
    more = [
        (f"{one} {part} {word}", "pct", share, share, "")
        for (part, share), one, word in product(
            PARTS[1:], ("a", "one"), ("faster", "slower", "quicker", "longer")
        )
        if not (part == "eighth" and one == "a")
    ]
    assert misread(ear, iter(more), ("It is {}.",)) == []
    left = [
        (f"{one} {part}{of} the {what}", "part", share, share, "")
        for (part, share), one, of, what in product(
            PARTS[3:], ("a", "one"), (" of", ""), ("speed", "score", "time")
        )
        if not (part == "eighth" and one == "a")
    ]
    assert misread(ear, iter(left), ("It does that in {}.",)) == []
    gone = [
        (f"{one} {part}", "pct", share, share, "")
        for (part, share), one in product(PARTS[1:9], ("a", "one"))
        if not (part == "eighth" and one == "a")
    ]
    assert (
        misread(ear, iter(gone), ("It loses {} of its frames.", "With the ISA card it lost {} of its score."))
        == []
    )
    several = [
        ("two thirds", 66.67),
        ("two fifths", 40.0),
        ("three quarters", 75.0),
        ("three-quarters", 75.0),
    ]
    assert (
        misread(ear, ((s, "part", v, v, "") for s, v in several), ("It does {} of what the Elm does.",)) == []
    )


def test_differences(ear: Ear) -> None:
    units = (
        "frames",
        "lines",
        "seconds",
        "frames a second",
        "lines per second",
        "MB a second",
        "fps",
        "MB/s",
    )
    cases = [
        (degree.format(f"{said} {unit}") + f" {word}", "difference", value, value, mod)
        for (said, value), unit, word, (degree, mod) in product(
            NUMBERS[::2],
            units,
            ("faster", "more", "ahead", "slower"),
            DEGREES[:12:11],
        )
    ]
    assert misread(ear, iter(cases), ("It is {}.",)) == []
    loose: list[Case] = [
        ("a second or so", "difference", 1, 1, "about"),
        ("about a second", "difference", 1, 1, "about"),
        ("a good second", "difference", 1, 1, "over"),
        ("a whole second", "difference", 1, 1, ""),
        ("half a second", "difference", 0.5, 0.5, ""),
        ("a frame and a half", "difference", 1.5, 1.5, ""),
        ("two seconds and a half", "difference", 2.5, 2.5, ""),
        ("three tenths of a second", "difference", 0.3, 0.3, ""),
        ("point two of a second", "difference", 0.2, 0.2, ""),
        (".2 seconds", "difference", 0.2, 0.2, ""),
        ("nought point two seconds", "difference", 0.2, 0.2, ""),
        ("a couple of seconds", "difference", 2, 2, "about"),
        ("two whole frames", "difference", 2, 2, ""),
        ("four or five frames", "difference", 4, 5, ""),
        ("4 to 5 seconds", "difference", 4, 5, ""),
    ]
    assert misread(ear, iter(loose), ("It is {} quicker.", "It is {} ahead in the sort.")) == []


VALUES = (
    (("{} seconds", "{} secs", "{} sec", "{} second", "{}s"), "s"),
    (
        ("{} frames", "{} fps", "{} frames a second", "{} frames per sec", "{} pictures a second", "{} f/s"),
        "frames",
    ),
    (("{} lines", "{} lines a second", "{} lines per sec", "{} rows a second", "{} l/s"), "lines"),
    (("{} MB/s", "{} MB a second", "{} megs a second", "{} meg per sec", "{} megabytes per second"), "MB/s"),
)


def test_scores_with_units(ear: Ear) -> None:
    numbers = (
        *NUMBERS[1:4],
        ("four hundred and twelve", 412.0),
        ("a hundred and twelve", 112.0),
        ("8,9", 8.9),
    )
    wrong = []
    for (ways, unit), (said, value), (degree, mod) in product(
        VALUES, numbers[::2], DEGREES[:10:3] + DEGREES[19:27:3]
    ):
        for way in ways:
            if way.startswith("{}s") and not said[-1].isdigit():
                continue
            sentence = f"The Elm does {degree.format(way.format(said))} there."
            found = [(n.kind, n.value, n.unit, n.mod) for n in ear.said(sentence).nums]
            if found != [("value", value, unit, mod)]:
                wrong.append(f"{sentence} -> {found}")
    assert wrong[:9] == []


def test_scores_without_units(ear: Ear) -> None:
    cases: list[Case] = [
        ("nine point six", "bare", 9.6, 9.6, ""),
        ("9,6", "bare", 9.6, 9.6, ""),
        ("twenty-eight six", "bare", 28.6, 28.6, ""),
        ("28 point 6", "bare", 28.6, 28.6, ""),
        ("one-twelve", "bare", 112, 112, ""),
        ("four hundred and twelve-ish", "bare", 412, 412, "about"),
        ("29 or thereabouts", "bare", 29, 29, "about"),
        ("29, near enough", "bare", 29, 29, "about"),
        ("29 or more", "bare", 29, 29, "over"),
        ("29+", "bare", 29, 29, "over"),
        ("just shy of 29", "bare", 29, 29, "nearly"),
        ("a whisker below 29", "bare", 29, 29, "nearly"),
        ("bang on 29", "bare", 29, 29, ""),
        ("29 on the nose", "bare", 29, 29, ""),
        ("the low thirties", "bare", 30, 33.9, ""),
        ("the mid-twenties", "bare", 23, 27.9, ""),
        ("the high twenties", "bare", 27, 29.9, ""),
        ("the forties", "bare", 40, 49.9, ""),
        ("the high eights", "bare", 8.7, 8.9, ""),
    ]
    assert misread(ear, iter(cases), ("The Birch reads {}.", "In the corridor the Birch reads {}.")) == []
    values: list[Case] = [
        ("sub-five seconds", "value", 5, 5, "under"),
        ("nine seconds flat", "value", 9, 9, ""),
        ("nine seconds and a bit", "value", 9, 9, "just"),
        ("nine seconds and change", "value", 9, 9, "just"),
        ("nine-odd seconds", "value", 9, 9.9, ""),
        ("eight or nine seconds", "value", 8, 9, ""),
        ("a minute and ten seconds", "value", 70, 70, ""),
        ("a minute ten", "value", 70, 70, ""),
        ("two and a half minutes", "value", 150, 150, ""),
    ]
    assert misread(ear, iter(values), ("The sort takes {}.", "It is done in {}.")) == []


def test_ranges_of_scores_are_two_figures_with_their_unit(ear: Ear) -> None:
    for words in ("26 to 27 frames", "from 26 to 27 frames", "between 26 and 27 frames", "26-27 frames"):
        found = [(n.kind, n.value, n.unit) for n in ear.said(f"The Birch reads {words}.").nums]
        assert found == [("value", 26.0, "frames"), ("value", 27.0, "frames")], words
    for words in ("from 9.0 to 9.6", "9.0 to 9.6", "from nine to nine point six", "between 9 and 9.6"):
        assert [n.value for n in ear.said(f"The Larch reads {words}.").nums] == [9.0, 9.6], words
