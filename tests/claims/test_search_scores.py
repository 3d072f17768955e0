"""Figures, ranges, ranks, records and extents found by search: invented sentences over the invented book."""

from __future__ import annotations

from itertools import permutations

import pytest

from leadoff.claims.search.scores import scores
from leadoff.claims.search.talk import Reading, said_of, talk_of
from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names
from leadoff.claims.spoken.reading import Said
from leadoff.claims.values import Ledger, Trial
from leadoff.record.runs import Direction


def read(text: str, before: tuple[str, ...], evidence: Evidence, names: Names) -> Reading | None:
    said: list[Said] = [said_of(s, evidence, names) for s in before]
    return scores(talk_of(text, said, evidence, names))


def verdict(text: str, before: tuple[str, ...], evidence: Evidence, names: Names) -> str | None:
    """The verdict of a sure reading, ``unsure`` for another, nothing where the sentence is of another kind."""
    r = read(text, before, evidence, names)
    return None if r is None else r.finding.verdict.value if r.sure else "unsure"


SAID = (
    # A figure at a state said here or before.
    ("61.2 is what it makes there.", ("The Cedar, 66 times 3.", "Corridor."), "supported"),
    ("65.8 is what it makes there.", ("The Cedar, 66 times 3.", "Corridor."), "contradicted"),
    (
        "It copies memory with 12.4 there, three times the same.",
        ("The Larch at 40, no read wait.",),
        "supported",
    ),
    ("Sorting takes the PCI 486 24.2 seconds with times four.", (), "supported"),
    ("Sorting takes the PCI 486 27.1 seconds with times four.", (), "contradicted"),
    ("7.6 at 33 and 9.1 at 40, that is the Larch in the corridor.", (), "supported"),
    ("The Birch makes 24.9 with the PCI card and 17.4 with the ISA card in the corridor.", (), "supported"),
    (
        "The Birch makes 17.4 with the PCI card and 24.9 with the ISA card in the corridor.",
        (),
        "contradicted",
    ),
    # No state, and a figure that no run carries.
    ("The Birch made 33.1 in the corridor.", (), "not_found"),
    # A state that was never run.
    ("At 50 times 2 the Cedar scrolls 500 lines.", (), "untested"),
    # Ranges and bounds.
    ("At 40 the Larch always landed somewhere from 9.0 to 9.6 in the corridor.", (), "supported"),
    ("At 40 the Larch always landed somewhere from 8.1 to 8.4 in the corridor.", (), "contradicted"),
    ("Nothing under 48 ever came out of the Cedar in the corridor.", (), "supported"),
    ("It never got past 60 there.", ("The Cedar in the corridor.",), "contradicted"),
    ("It never got past 68 there.", ("The Cedar in the corridor.",), "supported"),
    # First, last, records: a record asks for a soak, and the rigs for a bridge.
    ("The Larch comes last over the sort.", (), "supported"),
    ("Third place in the sort goes to the Birch.", (), "supported"),
    ("Third place in the sort goes to the Alder.", (), "contradicted"),
    ("75 times 3 with CAS 2 is the record here.", ("The Cedar, corridor, PCI card.",), "supported"),
    ("The Elm is the champion of the scroll.", (), "within_noise"),
    ("The Elm holds the corridor record at 112 times 3.5.", (), "untested"),
    # Orders of three boards and more.
    ("Sort, from the quickest downwards: Elm, Cedar, Birch.", (), "supported"),
    ("Sort, from the quickest downwards: Elm, Birch, Cedar.", (), "contradicted"),
    ("From the slowest upwards it is Larch, Birch, Cedar in the sort.", (), "supported"),
    # How far a setting was ever taken.
    ("I never pushed the Socket 7 past 75 on the bus.", (), "contradicted"),
    ("I never pushed the Socket 7 past 84 on the bus.", (), "supported"),
    ("32 MB, that is all the RAM the Birch ever had.", (), "supported"),
    ("16 MB, that is all the RAM the Birch ever had.", (), "contradicted"),
    # One board past a figure and no other; every board but one; so many of them.
    ("Only the Elm breaks 100 in the corridor.", (), "supported"),
    ("Nobody but the Elm breaks 50 in the corridor.", (), "contradicted"),
    ("Every board bar the Larch manages more than 20 MB/s in the memory copy.", (), "supported"),
    ("Every board but the Larch gets past 30 in the corridor.", (), "contradicted"),
    ("Two of the five boards get past 50 frames in the corridor.", (), "supported"),
    ("Three boards manage more than 50 frames in the corridor.", (), "contradicted"),
    # The claim stands in the question.
    ("Easy, the Slot 1.", ("Which board is quickest at the sort?",), "supported"),
    ("That would be the Cedar.", ("Which board is quickest at the sort?",), "contradicted"),
    ("Slowest of all at the memory copy? The Larch.", (), "supported"),
    # A place denied, by how much, against all the others.
    ("The Cedar is not the fastest in the sort.", (), "supported"),
    ("The Elm is not the fastest board in the sort.", (), "contradicted"),
    ("The Larch comes in last in the scroll by a good hundred lines a second.", (), "supported"),
    ("Nothing on the bench is slower at the memory copy than the Larch.", (), "supported"),
    ("Nothing on the bench is slower at the memory copy than the Birch.", (), "contradicted"),
    ("The Birch heads the table in the memory copy.", (), "contradicted"),
    ("Here nobody comes near.", ("The memory copy, with the Elm at CAS 2.",), "supported"),
    ("Here nobody comes near.", ("The memory copy, with the Birch.",), "contradicted"),
    ("No board reads higher in the corridor than the 124.6 of the Elm, a single reading.", (), "supported"),
    ("Take the waits out and the sort is done 3.4 seconds sooner.", ("The Larch at 40.",), None),
    # Ends of the scale, and what a record rests on.
    ("The Larch tops out at 9.6 in the corridor.", (), "supported"),
    ("The most I ever got out of the Larch in the corridor is 9.1.", (), "contradicted"),
    ("The lowest is 95 and the highest is 124.6.", ("The Elm's corridor runs.",), "supported"),
    ("The lowest is 98.4 and the highest is 124.6.", ("The Elm's corridor runs.",), "contradicted"),
    ("9.6 in the corridor is the Larch's record, with eight hours of soak behind it.", (), "supported"),
    # How far a setting went.
    ("I never took the bus of the Larch past 40.", (), "supported"),
    ("The bus of the Cedar never went past 75.", (), "contradicted"),
)


@pytest.mark.parametrize(("text", "before", "true"), SAID)
def test_verdicts(
    text: str, before: tuple[str, ...], true: str | None, evidence: Evidence, names: Names
) -> None:
    assert verdict(text, before, evidence, names) == true


OTHER_KINDS = (
    ("The Elm is twice as fast as the Cedar in the sort.", ()),
    ("The Birch sorts in 24.2 seconds because of the ratio.", ()),
    ("It soaked for 12 hours.", ("The Birch at 40 times 4.",)),
    ("Does the Birch sort in 24.2 seconds?", ()),
    ("The forecast said 29.6.", ("The Birch at 40 times 4 in the corridor.",)),
    ("The Maple sorts in 14 seconds.", ()),
    ("I like the colour.", ("The Cedar.",)),
)


@pytest.mark.parametrize(("text", "before"), OTHER_KINDS)
def test_says_nothing_of_other_kinds(
    text: str, before: tuple[str, ...], evidence: Evidence, names: Names
) -> None:
    assert read(text, before, evidence, names) is None


def scored(ledger: Ledger) -> list[Trial]:
    return [t for t in ledger.trials if t.readings and t.settings["ratio"] is not None]


def parts(t: Trial, figure: float) -> tuple[str, ...]:
    bus = round(float(t.clock("bus_mhz") or 0) - 0.01)
    ratio = {"5/2": "2.5", "7/2": "3.5"}.get(t.settings["ratio"] or "", t.settings["ratio"])
    return t.board.capitalize(), f"{t.workload}", f"{bus}x{ratio}", f"{figure:g}"


def test_order_of_words_does_not_matter_and_another_figure_never_holds(
    evidence: Evidence, names: Names
) -> None:
    every = scored(evidence.ledger)
    assert len(every) > 40
    for t in every[::6]:
        right = {
            verdict(", ".join(p), (), evidence, names) for p in permutations(parts(t, t.readings[0].value))
        }
        assert right == {"supported"}, t.number
        wrong = {
            verdict(", ".join(p), (), evidence, names)
            for p in permutations(parts(t, 3.7 * t.readings[0].value + 0.3))
        }
        assert "supported" not in wrong, t.number


def test_order_of_the_sentences_before_does_not_matter(evidence: Evidence, names: Names) -> None:
    before = ("The Alder.", "The corridor now.", "40 times 3 with write-back on.")
    for order in permutations(before):
        assert verdict("25.9 there.", order, evidence, names) == "supported", order
        assert verdict("24.0 there.", order, evidence, names) == "contradicted", order


def test_a_figure_of_one_of_two_boards_is_not_sure(evidence: Evidence, names: Names) -> None:
    before = ("The Alder and the Birch.",)
    assert verdict("It sorts in 24.2 seconds.", before, evidence, names) in (None, "unsure")


def test_fastest_in_a_workload_of_one_rig_is_who_the_means_say(evidence: Evidence, names: Names) -> None:
    """Counted by hand from the readings; ties of the book are within 0.4 %, differences beyond 1.5 %."""
    for w in ("sort", "memory copy", "scroll", "ray trace"):
        up = evidence.ledger.workloads[w].direction is Direction.HIGHER
        best: dict[str, float] = {}
        for t in evidence.ledger.of(w):
            value = sum(r.value for r in t.readings) / len(t.readings)
            best[t.board] = (max if up else min)(value, best.get(t.board, value))
        top = (max if up else min)(best.values())
        level = [b for b, v in best.items() if abs(v / top - 1) < 0.008]
        for b in best:
            expected = (
                "contradicted" if b not in level else "supported" if len(level) == 1 else "within_noise"
            )
            assert (
                verdict(f"The {b.capitalize()} is quickest at the {w}.", (), evidence, names) == expected
            ), (w, b)
