"""Everyday words: tried only when the line as typed leaves a question. Common practice, no source."""

from __future__ import annotations

import re

import pytest

from leadoff.record.phrases import Context, SetPhrase, Verb, WorkloadWord
from leadoff.words.everyday import in_bench_words
from leadoff.words.parser import parse
from leadoff.words.rows import rows

BOARD = Context(
    positions={"jp7": ("1-2", "2-3")},
    choices={"cache_write": ("0", "1"), "l1": ("on", "off")},
    workloads=(WorkloadWord(name="w1", unit="frames/s"),),
    memory_sites=("bank0",),
    board_class="386dx",
)

SAID = {
    "wont post": "no start",
    "3 of 5 cold starts": "starts cold, 3 of 5",
    "started 4 out of 5 times cold": "starts cold, 4 of 5",
    "cold start 4 out of 5": "starts cold, 4 of 5",
    "it crashed after 20 mins of w1": "w1: crash after 20 min",
    "it hung after 90 s of w1": "w1: hang after 90 s",
    "hung at mem count, twice": "hang at memory count, 2 times",
    "60 passes copy compare 0 bad": "copy 0 bad of 60: clean",
    "copy compare 60 times no errors": "copy 0 bad of 60: clean",
    "4 hours without errors": "soak 4 h: clean",
    "w1 23.5 at 35 degrees": "w1: 23.5 frames/s; temperature 35 C",
    "changed cache chips to 15ns": "L2 chip grade 15 ns",
    "put in a coprocessor": "coprocessor fitted",
    "took out the coprocessor": "coprocessor none",
    "40 MHz oscillator": "clock can 40 MHz",
    "changed the crystal to 40 MHz": "clock can 40 MHz",
    "33 MHz bus": "bus clock 33.33 MHz",
    "disabled the internal cache": "L1 cache off",
    "turned on turbo": "turbo on",
    "moved jp7 from 1-2 to 2-3": "jp7 2-3",
    "jumper jp7 to 2-3": "jp7 2-3",
    "set the bus to 40 and disabled the turbo": "bus clock 40 MHz; turbo off",
    "loaded setup defaults": "cache_write not known; L1 cache not known",
}


@pytest.mark.parametrize(("typed", "echo"), SAID.items())
def test_everyday_words_are_read(typed: str, echo: str) -> None:
    read = parse(typed, BOARD)
    assert read.echo == echo
    assert read.questions == ()
    assert read.text == typed


@pytest.mark.parametrize(
    "line",
    [
        "w1 23.5 23.6",
        "bus 40, jp7 2-3",
        "l1 off",
        'note "moved jp7 to 2-3"',
        "w1 hang after 3 min",
        "cache_write ?",
    ],
)
def test_a_line_that_was_clear_is_read_as_typed(line: str) -> None:
    first = parse(line, BOARD)
    assert first.questions == ()
    assert {p.text for p in first.phrases} <= {line, *line.split(", ")}


def test_quoted_words_and_notes_are_never_rewritten() -> None:
    for line in ('fitted "loaded setup defaults"', "note: took out the coprocessor"):
        assert in_bench_words(line, BOARD) == line


def test_a_doubt_is_asked_and_never_guessed() -> None:
    for line, part in (
        ("ran w1 all night no errors", "for how many hours"),
        ("smells hot", "was there smoke"),
        ("green screen garbage chars", "what is wrong with the picture"),
    ):
        (asked,) = parse(line, BOARD).questions
        assert part in asked.question
        assert all(parse(c, BOARD).questions == () for c in asked.choices)


def test_an_entry_named_like_a_setting_leaves_the_other_properties_to_it() -> None:
    """A board with an entry called l2 that is on or off; its policy and its size are no positions of it."""
    board = Context(choices={"l2": ("on", "off"), "bus": ("33", "40")}, verb=Verb.WANT)
    for line, name, value in (
        ("l2 wt", "l2_policy", "wt"),
        ("l2 1024k", "l2_kb", "1024"),
        ("l2 off", "l2", "off"),
    ):
        (said,) = parse(line, board).phrases
        assert isinstance(said, SetPhrase)
        assert (said.name, said.value) == (name, value)
    for line in ("l2 maybe", "bus 45"):  # what the positions of the entry do set stays a question
        (asked,) = parse(line, board).questions
        assert "the sheet lists" in asked.question


def test_what_is_not_understood_can_be_kept_as_a_note() -> None:
    (asked,) = parse("cleaned the contacts", BOARD).questions
    assert asked.choices == ("note: cleaned the contacts",)
    assert parse(asked.choices[0], BOARD).questions == ()
    wanted = Context(positions=BOARD.positions, verb=Verb.WANT)
    assert parse("cleaned the contacts", wanted).questions[0].choices == ()


def test_every_row_is_used_by_an_example() -> None:
    for row in rows("everyday")["row"]:
        if row["mean"]:
            assert any(re.search(row["say"], typed, re.IGNORECASE) for typed in SAID), row
