"""The claim check: the blind sentences that are open, sentences of our own, scenarios B and C."""

from __future__ import annotations

from pathlib import Path

import pytest
from blind_sentences import half, score, verdict_of

from cli_bench import Bench
from invented_boards import MILL
from leadoff.claims.spoken.plain import plain, sentences
from leadoff.claims.spoken.values import Verdict
from leadoff.claims.values import Ledger

FERRY = Path(__file__).parents[2] / "examples" / "ferry-486.toml"


@pytest.mark.parametrize("part", ["seen", "unseen", "own", "third"])
def test_nothing_opened_is_wrongly_supported_and_19_of_20_are_right(ledger: Ledger, part: str) -> None:
    found = score(ledger, part)
    assert sum(found.values()) == len(half(part)) >= 85
    assert {true for true, given in found if given == "supported"} == {"supported"}
    assert sum(n for (true, given), n in found.items() if true == given) >= 0.95 * sum(found.values())


OWN = (
    ("It is rock solid too.", ("The Birch does 28.6 in the corridor at 160.",), "supported"),
    ("It sorts faster than the other one.", ("I have the Birch here, next to the Alder.",), "supported"),
    ("It sorts faster than the other one.", ("I have the Birch and the Alder side by side.",), "not_placed"),
    ("It reads between 28 and 29.", ("The Birch at 40 times 4 in the corridor.",), "supported"),
    ("It is not stable.", ("The Cedar at 75 with CAS 3.",), "supported"),
    ("It has not been soaked yet.", ("The Elm at 112.",), "supported"),
    ("Nobody gets below seventeen seconds in the ray trace.", (), "supported"),
    ("It made no difference.", ("On the Birch I went from CAS 3 to CAS 2 in the corridor.",), "supported"),
    ("It is no faster with CAS 2.", ("The Birch in the corridor.",), "supported"),
    ("CAS 2 did not help the Cedar in the corridor.", (), "contradicted"),
    ("Five of six forecasts held.", (), "supported"),
    ("Neither of them ever hung.", ("The Larch and the Cedar are old friends.",), "contradicted"),
    (
        "It's all the bus.",
        ("The Elm went from 98,4 to 112 in the corridor when I set 100 times 3.5.",),
        "untested",
    ),
    ("The PCI card makes the Birch 43 % faster in the corridor.", (), "supported"),
    ("It still loses time.", ("The Elm's clock was bad.",), "contradicted"),
    ("I like the colour of it.", ("The Cedar.",), "not_placed"),
    ("It sorts faster than the other one.", ("The Birch is on the bench.",), "not_placed"),
)


@pytest.mark.parametrize(("text", "context", "verdict"), OWN)
def test_pronouns_ranges_negation(ledger: Ledger, text: str, context: tuple[str, ...], verdict: str) -> None:
    assert verdict_of(ledger, {"text": text, "context": list(context)}) == verdict


def test_a_word_that_is_not_understood_is_never_supported(ledger: Ledger) -> None:
    assert (
        verdict_of(ledger, {"text": "The Larch does 9.6 in the corridor at 40 with zero read waits."})
        == "supported"
    )
    odd = "The Larch does 9.6 in the corridor at 40 with zero read waits submerged."
    assert verdict_of(ledger, {"text": odd}) == "not_placed"


def test_sentences_end_where_they_do() -> None:
    assert sentences("It read 23.5. Then 24,1! Done") == ("It read 23.5.", "Then 24,1!", "Done")
    assert plain("Forty-two percent, isn't it? 23,5").low == "42 % , is not it , 23.5"


SLOT = """
[board]
id = "quay-slot1"
class = "slot1"
buses = ["pci"]
sheet_confirmed = true
[[jumper]]
id = "JP1"
positions = ["a", "b"]
sets = { bus_mhz = { a = 100, b = 66 } }
[[option]]
id = "cas"
choices = ["2", "3"]
[fitted]
memory = [{ site = "b0", mb = 64, count = 1, type = "sdram", ns = 8 }]
[now]
JP1 = "a"
cas = "3"
"""


@pytest.fixture
def noise(bench: Bench) -> Bench:
    """Shared scenario B: two blocks of five."""
    bench.board(SLOT)
    bench("log", "quay-slot1", "w1 61.2 61.5 61.3 61.6 61.0 frames/s")
    bench("move", "quay-slot1", "cas 2")
    bench("log", "quay-slot1", "w1 61.6 61.3 61.8 61.4 61.5")
    return bench


def test_scenario_b_faster_is_within_the_noise(noise: Bench) -> None:
    found = noise("claim", "CAS 2 is faster on the quay-slot1 in w1.").data["sentences"][0]
    assert found["verdict"] == "within_noise"
    assert found["refs"] == ["2", "1"]
    assert "no difference" in found["would_be_true"]


def test_scenario_b_no_difference_is_not_shown_either(noise: Bench) -> None:
    found = noise("claim", "CAS 2 makes no difference on the Quay-Slot1 in w1.").data["sentences"][0]
    assert found["verdict"] == "within_noise"
    assert "0.8" in found["would_be_true"]


def test_a_file_and_stdin_and_nothing(noise: Bench) -> None:
    script = noise.folder / "script.txt"
    script.write_text("The quay-slot1 reads 61.8 in w1. The Poplar read 70.", encoding="utf-8")
    said = noise("claim", "--file", str(script)).data["sentences"]
    assert [s["verdict"] for s in said] == ["supported", "not_found"]
    assert script.read_text(encoding="utf-8")[said[1]["start"] :].startswith("The Poplar")
    assert noise("claim", stdin="Run 1 beats run 2.").data["sentences"][0]["verdict"] == "within_noise"
    assert noise.refused("claim", stdin=" ").codes == ["nothing_said"]


def test_scenario_c_a_record_in_an_unsafe_state(bench: Bench) -> None:
    """Shared scenario C: 6.08 with write-back behind an ISA master is kept and carries no record."""
    bench.board(MILL)
    bench("log", "mill-486", "w1 5.90 frames/s")
    bench("move", "mill-486", "wb on")
    bench("log", "mill-486", "w1 6.08")
    said = bench(
        "claim", "6.08 in w1 is a new record for the mill-486. Write-back on the mill-486 is safe."
    ).data
    assert [s["verdict"] for s in said["sentences"]] == ["contradicted", "contradicted"]
    assert "unsafe" in said["sentences"][0]["why"]
    bench("log", "mill-486", "copy 57/60")
    count = "The copy-compare on the mill-486 with write-back came back 57 of 60."
    assert bench("claim", count).data["sentences"][0]["verdict"] == "supported"


def test_open_symptoms_stand_beside_every_verdict(bench: Bench) -> None:
    bench.board(MILL)
    bench("log", "mill-486", "w1 5.90 frames/s; keyboard dead")
    answer = bench("claim", "The mill-486 does 5.9 in w1.")
    assert answer.data["sentences"][0]["verdict"] == "supported"
    assert [s["board"] for s in answer.data["open_symptoms"]] == ["mill-486"]


def test_a_cause_that_moved_with_another_is_not_supported(bench: Bench) -> None:
    bench.board(FERRY.read_text(encoding="utf-8"))
    bench("log", "ferry-486", "w2 19.4 19.4 frames/s")
    bench("log", "ferry-486", "bus 40, w2 23.1 23.2")
    text = "Run 2 beats run 1. The 40 MHz bus made it faster. The gain is because of the core."
    given = [s["verdict"] for s in bench("claim", text).data["sentences"]]
    assert given == ["supported", "supported", "untested"]
    assert all(s["would_be_true"] for s in bench("claim", text).data["sentences"][2:])


@pytest.mark.parametrize(
    "text",
    [
        "Everything was measured in 2019, but two of the sixty-two runs are dated January 2020.",
        "There is no retest in the book scores 67.3 in the corridor, whatever the bus.",
        "Rebooted. 75 The is at stable, it 3 with CAS not Cedar",
        "Nine point six she made, three times over and zero times as fast.",
    ],
)
def test_odd_sentences_get_a_verdict(ledger: Ledger, text: str) -> None:
    """Each of these once broke the check."""
    assert verdict_of(ledger, {"text": text}) in {v.value for v in Verdict}
