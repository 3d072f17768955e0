"""``leadoff sweep`` on a board: the bench example whole, what is typed on one line, what is kept."""

from __future__ import annotations

import pytest

from cli_bench import Bench

BOARD = """
[board]
id = "quay-486"
class = "486-vlb"
buses = ["vlb", "isa"]
rails = [{ v = 5.0, amps = 3 }]
sheet_confirmed = true
[[jumper]]
id = "JP1"
positions = ["a", "b"]
sets = { bus_mhz = { a = 25, b = 33.5 } }
[fitted]
cache = { kb = 256, ns = 15, banks = 2, chips = 8, tag_ns = 15, tag_bits = 8 }
memory = [{ site = "b0", mb = 16, type = "fpm", ns = 60 }]
[now]
JP1 = "b"
"""
SWEEP = """block KB  read us/KB
1 10.2\n2 10.8\n4 10.0\n8 11.0\n16 10.5
32 25.8\n64 26.2\n128 26.0\n256 26.0
512 36.2\n1024 35.9\n2048 35.9
"""


@pytest.fixture
def quay(bench: Bench) -> Bench:
    bench.board(BOARD)
    return bench


@pytest.mark.reference
def test_bench_example(quay: Bench) -> None:
    # common practice, no source: 33.5 MHz bus, 100.5 MHz core; 10 to 11 us/KB up to 16 KB, 26 up to 256 KB, 36 beyond
    data = quay("sweep", "quay-486", "--file", "-", stdin=SWEEP).data
    levels = data["levels"]
    assert [x["size_kb"]["value"] for x in levels[:2]] == [16, 256]
    assert [x["mb_per_s"]["value"] for x in levels] == pytest.approx([97.5, 39.4, 28.4], rel=0.005)
    raw = [x["bus_clocks_per_line"]["value"] for x in levels]
    assert raw == pytest.approx([5.5, 13.6, 18.8], rel=0.03)
    bounds = [(x["fill_bus_clocks"]["lo"], x["fill_bus_clocks"]["hi"]) for x in levels[1:]]
    assert bounds[0] == pytest.approx((8.1, 13.6), rel=0.03)
    assert bounds[1] == pytest.approx((13.3, 18.8), rel=0.04)
    assert data["disputes"] == []


def test_the_line_of_the_help_is_understood_and_said(quay: Bench) -> None:
    line = "8K 10.2us/KB, 16K 10.3, 32K 26.1, 64K 26.0, 256K 26.2, 512K 36.3"
    data = quay("sweep", "quay-486", line).data
    assert [x["size_kb"]["value"] for x in data["levels"][:2]] == [16, 256]
    assert "5 bare figures taken as '8K 10.2us/KB' says" in data["understood"]


def test_unit_and_kind_given_beside_it_are_kept_with_it(quay: Bench) -> None:
    given = quay("sweep", "quay-486", "16 97.5, 64 39.4, 512 28.4", "--unit", "MB/s", "--kind", "write").data
    again = quay("sweep", "quay-486").data
    assert again["kind"] == given["kind"] == "write"
    assert again["levels"] == given["levels"]
    assert again["entry"] is None
    assert quay.refused("sweep", "quay-486", "16 97.5, 64 39.4").codes == ["sweep_unit"]


def test_a_kept_sweep_belongs_to_the_state_it_was_made_in(quay: Bench) -> None:
    quay("sweep", "quay-486", "--file", "-", stdin=SWEEP)
    before = quay("sweep", "quay-486").data["levels"]
    quay("move", "quay-486", "bus 25")
    assert quay("sweep", "quay-486").data["levels"] == before


WITH_CPU = BOARD.replace("[fitted]\n", '[fitted]\ncpu = "486dx2-66-5v"\n')
DX2 = SWEEP.replace("16 10.5", "16 26.2")  # 8 KB inside the processor


def test_a_read_sweep_narrows_the_forecast_and_says_so(bench: Bench) -> None:
    bench.board(WITH_CPU)
    bench("log", "quay-486", "w2 19.6 19.7", "--unit", "frames/s")
    before = bench("forecast", "quay-486", "--want", "l2 off", "--no-seal").data
    swept = bench("sweep", "quay-486", "--file", "-", stdin=DX2)
    low, high = swept.data["narrows"]["memory_fill_clocks"]
    assert (low, high) == pytest.approx((13.3, 18.8), rel=0.04)
    assert "narrows" in swept.marks("note")
    after = bench("forecast", "quay-486", "--want", "l2 off", "--no-seal").data
    assert "inside what its sweep shows" in after["taught"]
    assert "sweep" not in before["taught"]
    # slower memory than usual: without second level the board loses more than it was thought to
    assert after["workloads"][0]["median"] < before["workloads"][0]["median"]
    bench("undo")
    assert (
        bench("forecast", "quay-486", "--want", "l2 off", "--no-seal").data["workloads"]
        == before["workloads"]
    )


@pytest.mark.parametrize(
    ("text", "args", "why"),
    [
        (DX2, ("--kind", "write"), "only a read sweep"),
        (
            DX2.replace("512 36.2", "512 26.1"),
            (),
            None,
        ),  # 512 KB seen, 256 KB declared: a dispute, said as such
        (
            DX2.replace("512 36.2\n1024 35.9\n2048 35.9", ""),
            (),
            "3 levels are set on the sheet, the sweep shows 2",
        ),
    ],
)
def test_what_may_not_be_used_is_not_used(
    bench: Bench, text: str, args: tuple[str, ...], why: str | None
) -> None:
    bench.board(WITH_CPU)
    bench("log", "quay-486", "w2 19.6 19.7", "--unit", "frames/s")
    before = bench("forecast", "quay-486", "--no-seal").data["workloads"]
    swept = bench("sweep", "quay-486", "--file", "-", *args, stdin=text)
    assert swept.data["narrows"] is None
    if why is None:
        assert swept.data["disputes"]
    else:
        assert why in swept.marks("note")["not_used"]
    assert bench("forecast", "quay-486", "--no-seal").data["workloads"] == before


@pytest.mark.parametrize("between", ["; ", ", "])
def test_decimal_commas_typed_on_one_line(quay: Bench, between: str) -> None:
    line = between.join(("8K 10,2us/KB", "16K 10,3", "32K 26,1", "64K 26,0", "256K 26,2", "512K 36,3"))
    assert quay("sweep", "quay-486", line).data["points"][0] == {"size_kb": 8, "us_per_kb": 10.2}


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("16K 10us/KB", "sweep_short"),
        ("8K 97MB/s, 16K 10.2us/KB, 64K 39", "sweep_unit"),
        ("hello", "sweep_empty"),
        ("8K -3us/KB, 16K 4", "out_of_range"),
    ],
)
def test_bad_sweeps_are_refused_and_nothing_is_kept(quay: Bench, line: str, code: str) -> None:
    before = quay.entries()
    assert quay.refused("sweep", "quay-486", line).codes == [code]
    assert quay.entries() == before
