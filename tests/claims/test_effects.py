"""Differences and their causes found by search over the invented book: own sentences, common speech, no source."""

from __future__ import annotations

from itertools import permutations

import pytest

from leadoff.claims.search.effects import MARGIN, effects
from leadoff.claims.search.effects_claim import claim_of, cues_of
from leadoff.claims.search.effects_mentions import heard
from leadoff.claims.search.effects_pairs import duos, scene_of
from leadoff.claims.search.effects_words import hits_in
from leadoff.claims.search.talk import Reading, Talk, talk_of
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import names_of
from leadoff.claims.spoken.reading import Said


def talked(evidence: Evidence, text: str, context: tuple[str, ...] = ()) -> Talk:
    names = names_of(evidence.ledger)
    before: tuple[Said, ...] = ()
    for said in context:
        before = (*before, talk_of(said, before, evidence, names).said)
    return talk_of(text, before, evidence, names)


def read(evidence: Evidence, text: str, context: tuple[str, ...] = ()) -> Reading | None:
    return effects(talked(evidence, text, context))


SURE = (
    # two boards, in any order of words
    ("Than the Birch the Larch is slower at the sort.", (), "supported"),
    ("Compared with the Birch the Larch is quicker at the sort.", (), "contradicted"),
    ("Scrolling puts the Elm and the Cedar level.", (), "supported"),
    ("The Elm outruns the Cedar in the scroll.", (), "within_noise"),
    ("In the corridor the Alder trails the Birch.", (), "not_comparable"),
    ("The ray trace runs quicker on the Elm than on the Larch.", (), "not_comparable"),
    ("The Cedar needs 8.9 seconds to sort.|The Elm is done in under half of that.", (), "supported"),
    ("The Elm needs twice the time of the Cedar for the sort.", (), "contradicted"),
    (
        "The Elm needs 17 seconds for the ray trace, where the Cedar needs 41: 2.4 times as long.",
        (),
        "supported",
    ),
    (
        "The Elm needs 17 seconds for the ray trace, where the Cedar needs 41: 4 times as long.",
        (),
        "contradicted",
    ),
    ("The sort, Birch against Cedar: it is the Cedar that crosses the line first.", (), "supported"),
    ("The Birch nicks the memory copy.", ("The Alder and the Birch, memory copy.",), "within_noise"),
    # shares that go, wherever the verb stands
    (
        "Switch the second-level cache off and a fifth of the frames walks out of the door.",
        ("The Cedar, 66 times three, CAS 3, corridor.",),
        "supported",
    ),
    (
        "Switch the second-level cache off and half of the frames walks out of the door.",
        ("The Cedar, 66 times three, CAS 3, corridor.",),
        "contradicted",
    ),
    (
        "A quarter of the time, gone, going from times three to times four.",
        ("The Birch in the ray trace at 40.",),
        "supported",
    ),
    # a card for a card, figures side by side
    (
        "17.4 against 24.9, so the card alone is +43%.",
        ("The Birch, corridor: I took the ISA card out and pushed the PCI one in.",),
        "supported",
    ),
    ("In the sort the Elm beats the Cedar by almost five seconds.", (), "supported"),
    ("In the sort the Cedar beats the Elm by almost five seconds.", (), "contradicted"),
    ("The Birch, every time.", ("Which of the two sorts quicker, the Alder or the Birch?",), "supported"),
    # a figure too small for a reading is the difference
    (
        "Seven and a half frames, just like that.",
        (
            "The Birch, corridor, 40 times three, write-back off: the ISA card came out and the PCI card went in.",
        ),
        "supported",
    ),
    (
        "Ditch the write wait and you pocket nearly a frame and a half.",
        ("The Alder in the corridor, 40 times three, write-back off.",),
        "supported",
    ),
    (
        "Ditch the write wait and you pocket three frames.",
        ("The Alder in the corridor, 40 times three, write-back off.",),
        "contradicted",
    ),
    # what was left alone is no cause
    (
        "Four and a half frames more, and it is all the bus, for I never touched the multiplier.",
        ("The Cedar in the corridor, times three, CAS 3, bus from 66 to 75.",),
        "supported",
    ),
    (
        "All bus, that.",
        ("The Elm, corridor, first 66 times five, then 100 times three and a half.",),
        "untested",
    ),
    # what was expected, and a step that did something
    (
        "The write wait was worth a little something in the corridor.",
        ("The Larch at 40, read wait at one, and I took the write wait out.",),
        "within_noise",
    ),
    ("That was worth something.", ("The Larch, the sort, at 40: the read wait went out.",), "supported"),
    # two states of a board
    (
        "It gained 7 percent.",
        ("The Cedar at 66 in the corridor, the multiplier from 3 to 3.5.",),
        "supported",
    ),
    (
        "It gained 20 percent.",
        ("The Cedar at 66 in the corridor, the multiplier from 3 to 3.5.",),
        "contradicted",
    ),
    ("With CAS 2 the copy rate climbs by 4 percent.", ("The Elm at 100, CAS 3 so far.",), "supported"),
    ("Tightening to CAS 2 speeds up the corridor.", ("The Elm at 100, CAS 3 so far.",), "within_noise"),
    ("Without the read wait the 386 sorts 5 percent quicker at 40.", (), "supported"),
    (
        "Twice that, from 61.2 to 65.8.",
        ("The Cedar at 66 in the corridor with CAS 3, the multiplier from 3 to 3.5: 4 percent more?",),
        "supported",
    ),
    ("Without the L2 it falls from 61 to 49, one frame of every five.", ("The Cedar, 66 x 3.",), "supported"),
    ("61.2 -> 48.9 in the corridor, a third gone.", ("The Cedar, 66 x 3, L2 off.",), "contradicted"),
    (
        "It was neither slower nor quicker three weeks later.",
        ("The Alder at 40 x 3, corridor.",),
        "supported",
    ),
    # two display cards in one state
    (
        "The PCI card in place of the ISA card lifts its corridor by 43 percent.",
        ("The Birch, 40 times 3.",),
        "supported",
    ),
    # a cause
    ("That gain is purely the bus.", ("The Alder, from 40 times 3 to 50 times 2, corridor.",), "untested"),
    ("Run 24 is slower because write-back was off.", (), "untested"),
    ("The scroll gets quicker with CAS 2 on the Birch.", (), "untested"),
    (
        "That gain is all the doing of the bus.",
        ("The Elm, corridor, 66 times 5, then 100 times 3.5.",),
        "untested",
    ),
    # one effect against another
    ("In the corridor the read wait matters more than the write wait on the Larch.", (), "supported"),
    ("In the corridor the write wait costs more than the read wait on the Larch.", (), "contradicted"),
)


@pytest.mark.parametrize(("text", "context", "verdict"), SURE)
def test_what_is_said_in_any_order_finds_its_pair(
    evidence: Evidence, text: str, context: tuple[str, ...], verdict: str
) -> None:
    *before, last = text.split("|")
    found = read(evidence, last, (*context, *before))
    assert found is not None
    assert (found.finding.verdict.value, found.sure) == (verdict, True)
    assert found.finding.why


UNSURE = (
    ("It got quicker.", ("The Cedar in the corridor.",)),  # several changes, some up, some down
    (
        "It is quicker than at 66.",
        ("The Elm in the corridor.",),
    ),  # 66 was run with the ratio known and unknown
    (
        "I took it out and gained six percent.",
        ("The Alder in the corridor, write-back off.",),
    ),  # took what out
    ("The frobnicated Elm is quicker than the Cedar at the sort.", ()),  # a word that may turn the claim
)


@pytest.mark.parametrize(("text", "context"), UNSURE)
def test_an_unclear_sentence_is_never_sure_and_supported(
    evidence: Evidence, text: str, context: tuple[str, ...]
) -> None:
    found = read(evidence, text, context)
    assert found is None or not (found.sure and found.finding.verdict.value == "supported")


OTHER = (
    "The Birch passed its soak.",
    "The forecast for the Elm was five percent too high.",
    "The Cedar costs more money than the Elm.",
    "Nobody beats the Elm in the sort.",
    "Is the Elm faster than the Cedar in the sort?",
    "The Rowan is faster than the Elm in the sort.",
    "Run 99 is faster than run 53.",
    "It is a myth that the Alder sorts faster than the Birch.",
    "I like the look of the Cedar.",
)


@pytest.mark.parametrize("text", OTHER)
def test_sentences_of_another_kind_are_left_alone(evidence: Evidence, text: str) -> None:
    assert read(evidence, text) is None


def test_the_order_of_the_sentences_before_does_not_matter(evidence: Evidence) -> None:
    context = ("The Birch is on the bench.", "Corridor.", "40 times 3, PCI card.")
    found = {
        (r.finding.verdict, frozenset(r.finding.refs), r.sure)
        for order in permutations(context)
        if (r := read(evidence, "Write-back makes it faster.", order)) is not None
    }
    assert len(found) == 1
    assert next(iter(found))[0].value == "supported"


ORDERS = (
    ("The Elm is faster than the Cedar at the sort.", "At the sort, than the Cedar the Elm is faster."),
    (
        "CAS 2 instead of CAS 3 helps the Elm's memory copy.",
        "The Elm's memory copy: CAS 2 helps instead of CAS 3.",
    ),
    ("The Larch scrolls slower than the Alder.", "Than the Alder the Larch scrolls slower."),
)


@pytest.mark.parametrize(("one", "two"), ORDERS)
def test_the_order_of_the_words_does_not_matter(evidence: Evidence, one: str, two: str) -> None:
    first, second = read(evidence, one), read(evidence, two)
    assert first is not None
    assert second is not None
    assert (first.finding.verdict, set(first.finding.refs)) == (
        second.finding.verdict,
        set(second.finding.refs),
    )


def test_a_claim_and_its_reverse_are_never_both_sure_and_supported(evidence: Evidence) -> None:
    boards, checked = ("Larch", "Alder", "Birch", "Cedar", "Elm"), 0
    for workload in ("sort", "scroll", "corridor", "memory copy"):
        for a, b in permutations(boards, 2):
            verdicts = []
            for way in ("faster", "slower"):
                found = read(evidence, f"In the {workload} the {a} is {way} than the {b}.")
                if found is not None and found.sure:
                    verdicts.append(found.finding.verdict.value)
            assert verdicts.count("supported") <= 1
            checked += len(verdicts) == 2
    assert checked >= 40


def test_two_likely_pairs_that_disagree_are_not_sure(evidence: Evidence) -> None:
    talk = talked(evidence, "It got faster.", ("The Cedar in the corridor.",))
    said = heard(talk)
    claim = claim_of(said[0], said[1:])
    assert claim is not None
    found = duos(scene_of(said, evidence), cues_of(said[0], said[1:]))
    likely = [d for d in found if d.score >= found[0].score - MARGIN]
    assert len(likely) > 1
    reading = effects(talk)
    assert reading is None or not reading.sure


def test_classes_of_words_know_denials_from_none(evidence: Evidence) -> None:
    kinds = {h.text: h.kind for h in hits_in(" not even a quarter and no difference but slower ")}
    assert kinds["no difference"] == "level"
    assert kinds["slower"] == "worse"
    assert "not" not in kinds
