"""Ordinary talk is known, and no word of it turns a claim: what does is unknown, or reads as what it says."""

from __future__ import annotations

import pytest
from blind_sentences import verdict_of

from leadoff.claims.rows import table
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.inflection import adjective, doer, plural, verb
from leadoff.claims.spoken.names import Names, everyday, harmless, remarks
from leadoff.claims.spoken.ordinary import TOPICS, classed, is_ordinary, ordinary, turning
from leadoff.claims.spoken.plain import plain
from leadoff.claims.spoken.reading import read
from leadoff.claims.values import Ledger

FACT = "The Birch is quicker than the Larch at sorting"
LARCH = "The Larch does 9.1 frames in the corridor at 40 MHz with one read and one write wait."

TURNED = (
    # whether at all
    "In my dreams the Birch is quicker than the Larch at sorting.",
    f"{FACT}, in your dreams.",
    f"It would be daft to say that {FACT}.",
    f"Only a fool would claim that {FACT}.",
    f"It is fiction that {FACT}.",
    f"The notion that {FACT} is humbug.",
    f"That {FACT} was refuted long ago.",
    f"I retract that {FACT}.",
    f"{FACT}, a fabricated tale.",
    f"{FACT}, or so the imaginary friend of mine tells it.",
    f"{FACT}, but take it with a grain of salt.",
    # how sure
    f"My hunch: {FACT}.",
    f"I have a suspicion that {FACT}.",
    f"My intuition tells me that {FACT}.",
    f"In theory {FACT}.",
    f"Hypothetically {FACT}.",
    f"{FACT}, though that is speculation.",
    f"{FACT}, which remains debatable.",
    f"{FACT}, ostensibly.",
    f"{FACT}, he said sarcastically.",
    # what is not yet, or only wished
    f"My plan is that {FACT}.",
    f"The intention is that {FACT}.",
    f"{FACT}, potentially.",
    f"Ideally {FACT}.",
    # how often
    f"{FACT}, intermittently.",
    f"{FACT}, sporadically.",
    f"Periodically {FACT}.",
    # how much
    "The Birch is quicker than the Larch at sorting by a smattering.",
    "The Birch is quicker than the Larch at sorting by a trifle.",
    "The Birch is quicker than the Larch at sorting by a couple of hundredths.",
    "The Birch is quicker than the Larch at sorting by a negligible amount.",
    "The Birch is quicker than the Larch at sorting by a factor of sixteen.",
    # which board, which state, which test
    "Its brother reads 9.1 in the corridor.",
    "Its little sister managed 9.1 in the corridor.",
    "Its companion reads 9.1 in the corridor.",
    "Its replica reads 9.1 in the corridor.",
    "The Larch clone reads 9.1 in the corridor.",
    "The Larch, overclocked, reads 9.1 in the corridor.",
    "The Larch, with its fan disconnected, reads 9.1 in the corridor.",
    "The Larch reads 9.1 in the corridor once recapped.",
    "The Larch reads 9.1 in the dungeon.",
    "The Larch reads 9.1 in the teapot test.",
    "The Larch, heated, reads 9.1 in the corridor.",
    "The untouched prototype of the Larch reads 9.1 in the corridor.",
    "The Larch reads 9.1 in the corridor with an empty socket.",
    "A borrowed Larch reads 9.1 in the corridor.",
    # another subject
    "The kettledrum reads 9.1 in the corridor.",
    "The umbrella held at 40 MHz in the corridor, 9.1.",
    "Thirteen bananas were run on the Birch in June.",
    # another unit or another thing
    "The Larch reads 9.1 watts in the corridor.",
    "The Larch weighs 9.1 kilos in the corridor.",
    "The Larch sells for 9.1 pounds in the corridor.",
    "The Larch reads 9.1 degrees in the corridor.",
    # whether it came through
    "The Larch reads 9.1 in the corridor and malfunctions.",
    "The Larch sputtered and wavered in the corridor at 9.1.",
    "The Larch struggled to 9.1 in the corridor and expired.",
    "The Larch got halfway through the corridor, 9.1.",
    "The Larch was abandoned at 9.1 in the corridor.",
    "The Larch perished in the corridor at 9.1.",
    "The Larch hammers the Birch at sorting, 58.07 against 24.23.",
    "The Larch shames the Birch at sorting, 58.07 seconds against 24.23.",
    "The Birch is gonna beat the Larch at sorting.",
    "The two seconds are all merit of the multiplier.",
    # ranks
    "The Larch is the ace of the corridor with 9.1.",
    "The Larch is the runner-up of the corridor with 9.1.",
    "The Larch dwarfs the Birch at sorting.",
    "The Larch buries the Birch at sorting.",
    "The Birch hugs the Larch at sorting.",
    "The Larch washes the floor with the Birch at sorting.",
)


@pytest.mark.parametrize("text", TURNED)
def test_a_word_that_turns_the_claim_is_not_passed_over(ledger: Ledger, text: str) -> None:
    before = [LARCH] if "9.1" in text else []
    assert verdict_of(ledger, {"text": text, "context": before}) != "supported"


PASSED = (
    f"{FACT}, much to my satisfaction.",
    f"{FACT}, I declare.",
    f"{FACT}, says my gran.",
    f"Dearest aunt, {FACT}, and the kettle is whistling.",
    f"{FACT}, as the coffee-stained diary tells you.",
    f"Mrs, the grandchildren giggled: {FACT}.",
)


@pytest.mark.parametrize("text", PASSED)
def test_talk_beside_a_claim_leaves_it_as_it_is(ledger: Ledger, text: str) -> None:
    assert verdict_of(ledger, {"text": text}) == "supported"


def test_the_vocabulary_is_wide() -> None:
    assert len(ordinary() | harmless() | remarks() | everyday()) >= 8000


def test_no_form_of_talk_is_a_word_of_a_class_or_one_that_turns() -> None:
    shared = {w for n in TOPICS for t in table(n).values() for w in str(t.get("shared", "")).split()}
    assert not ordinary() & turning()
    assert not ordinary() & classed() - shared
    for word in (
        "lower",
        "matched",
        "doubled",
        "ties",
        "beats",
        "holds",
        "barely",
        "partly",
        "returned",
        "halfway",
    ):
        assert not is_ordinary(word)


def test_no_word_that_turns_was_written_into_a_topic() -> None:
    written = {w for n in TOPICS for t in table(n).values() for row in t.values() for w in str(row).split()}
    assert not written & turning()


def test_inflection() -> None:
    assert plural("party") == {"party", "parties"}
    assert plural("brush") == {"brush", "brushes"}
    assert plural("postman") == {"postman", "postmen"}
    assert plural("boy") == {"boy", "boys"}
    assert verb("jot") == {"jot", "jots", "jotted", "jotting"}
    assert verb("carry") == {"carry", "carries", "carried", "carrying"}
    assert verb("announce") == {"announce", "announces", "announced", "announcing"}
    assert {"travelled", "traveled", "travelling", "traveling"} <= verb("travel")
    assert verb("shout") == {"shout", "shouts", "shouted", "shouting"}
    assert doer("whisper") == {"whisperer", "whisperers"}
    assert doer("narrate") == {"narrater", "narraters"}
    assert adjective("gentle") == {"gentle", "gently"}
    assert adjective("happy") == {"happy", "happily"}
    assert adjective("romantic") == {"romantic", "romantically"}
    assert adjective("friendly") == {"friendly"}
    assert "prettier" not in adjective("pretty")


def test_compounds_are_talk_where_each_part_is() -> None:
    assert is_ordinary("biscuit-tin") == (is_ordinary("biscuit") and is_ordinary("tin"))
    assert is_ordinary("coffee-stained")
    assert not is_ordinary("runner-up")
    assert not is_ordinary("kettle-test")


def test_whose_brother_it_is(names: Names, evidence: Evidence) -> None:
    known = harmless() | remarks() | everyday()
    for said, left in (("My brother saw it.", []), ("Its brother saw it.", ["brother"])):
        assert read(plain(said), evidence.ledger, names).leftovers(known) == left
