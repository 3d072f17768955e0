"""Sweeps as people paste and type them; every slip is a message with its line."""

from __future__ import annotations

import pytest

from leadoff.memory.sweep import SweepKind, parse_sweep, parse_sweeps
from leadoff.record.errors import LeadoffError


def pairs(text: str, **more: str) -> list[tuple[float, float]]:
    return [(p.size_kb, round(p.us_per_kb, 3)) for p in parse_sweep(text, **more).points]  # type: ignore[arg-type]


SAME = [(16.0, 10.5), (64.0, 26.0), (1024.0, 36.0)]


@pytest.mark.parametrize(
    "text",
    [
        "16 10.5 us/KB\n64 26 us/KB\n1024 36 us/KB",
        "16 KB: 10.5 us/KB\n64 KB: 26 us/KB\n1 MB: 36 us/KB",
        "16K = 10,5 us/KB; 64K = 26 us/KB; 1M = 36 us/KB",
        "16 10.5 us/KB, 64 26 us/KB, 1024 36 us/KB",
        "size;us/KB\n16;10,5\n64;26,0\n1024;36,0",
        "size,us/KB\n16,10.5\n64,26\n1024,36",
        "KB\tus/KB\n16\t10.5\n64\t26\n1024\t36\n",
        "# my board\n\n64 26 us/KB\r\n16 10.5 µs/KB\n1024 36 us/KB\n",
        "size bytes  us/KB\n16384 10.5\n65536 26\n1048576 36",
        "16K 10.5us/KB, 64K 26, 1M 36",
        "us/KB: 16 10.5, 64 26, 1024 36",
        "read us/KB\n16K 10.5, 64K 26, 1M 36",
        "16 10.5 us/KB\n64 26\n1024 36",
        "16 10500 ns/KB\n64 26000 ns/KB\n1024 36 us/KB",
    ],
)
def test_forms_that_mean_the_same(text: str) -> None:
    assert pairs(text) == SAME


def test_rates_and_lines() -> None:
    # MB means 10^6 bytes, MiB 2^20
    assert pairs("16 97.5 MB/s\n64 39.4 MB/s")[0][1] == pytest.approx(10.5, rel=0.001)
    assert pairs("16 93.0 MiB/s\n64 37.6 MiB/s")[0][1] == pytest.approx(10.5, rel=0.001)
    assert pairs("64 406.25 ns/line\n512 562.5 ns/line") == [(64.0, 26.0), (512.0, 36.0)]
    assert pairs("16 10.5\n64 26", unit="us/KB") == SAME[:2]


def test_columns_of_read_write_and_copy() -> None:
    found = parse_sweeps(
        "KB  read MB/s  write MB/s  copy MB/s\n16  97  60  40\n64  40  20  15\n512  28  20  12"
    )
    assert [s.kind for s in found] == [SweepKind.READ, SweepKind.WRITE, SweepKind.COPY]
    assert found[1].points[0].us_per_kb == pytest.approx(1024 / 60)
    with pytest.raises(LeadoffError, match="3 columns of values"):
        parse_sweep("KB  read MB/s  write MB/s  copy MB/s\n16  97  60  40\n64  40  20  15")


def test_a_unit_behind_the_last_figure_counts_for_all_and_that_is_said() -> None:
    typed = parse_sweep("1 KB 10.2, 8 KB 10.2, 64 KB 36.2 us/KB")
    assert [(p.size_kb, p.us_per_kb) for p in typed.points] == [(1, 10.2), (8, 10.2), (64, 36.2)]
    assert "2 bare figures taken as '64 KB 36.2 us/KB' says" in typed.said


def test_the_first_unit_carries_over_and_that_is_said() -> None:
    typed = parse_sweep("8K 10.2us/KB, 16K 10.3, 32K 26.1, 64K 26.0, 256K 26.2, 512K 36.3", kind="read")
    assert [p.us_per_kb for p in typed.points] == [10.2, 10.3, 26.1, 26.0, 26.2, 36.3]
    assert typed.said == ("5 bare figures taken as '8K 10.2us/KB' says",)
    table = parse_sweeps("16K  97 MB/s  16.4 us/KB\n64K  40  51.2", kind="read")
    assert [round(s.points[1].us_per_kb, 1) for s in table] == [25.6, 51.2]
    words = parse_sweep("write MB/s 16 97, 64 40, 512 28")
    assert (words.kind, len(words.points), words.said) == (SweepKind.WRITE, 3, ())


def test_interpretations_are_said() -> None:
    assert parse_sweep("16 10 us/KB\n64 26 us/KB").said == (
        "taken as a read sweep: nothing said read, write or copy",
    )
    mixed = parse_sweep("read\n16 97.5 MB/s\n64 26 us/KB").said
    assert mixed == ("values in MB/s and us/KB, each taken by its own unit",)
    twice = parse_sweep("read us/KB\n16 10\n16 11\n64 26")
    assert twice.said == ("1 repeated sizes averaged",)
    assert twice.points[0].us_per_kb == pytest.approx((10 * 11) ** 0.5)
    assert twice.points[0].repeats == 2


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("", "no block size with a value"),
        ("hello\nworld", "no block size with a value"),
        ("16 10.5\n64 26", r"no unit was given for '10\.5'"),
        (
            "16 97 MB/s, 64 26 us/KB, 512 36",
            r"'36' has no unit, and the figures before it have MB/s and us/KB",
        ),
        ("16 us/KB", "no figure|value"),
        ("16", "block size without a value"),
        ("16 10.5 us/KB\nabc", "line 2 does not begin with a block size"),
        ("16 10.5 us/KB\n64 fast", "line 2, '64 fast': 'fast' is no figure"),
        ("16 10.5 furlongs\n64 26 us/KB", "'furlongs' is no unit of a sweep"),
        ("16,10,5\n64,26,0", "commas part the columns and may be decimal commas"),
        ("KB MB/s\n16 10.5\n64 26\n512 36", "read as MB/s, a block of 512 KB is faster"),
        ("KB us/KB\n16 97\n64 40\n512 28", "read as us/KB, a block of 512 KB is faster"),
        ("16 0 us/KB\n64 26 us/KB", "no time that passed"),
        ("16 0 MB/s\n64 26 MB/s", "no time that passed"),
        ("16 -5 us/KB\n64 26 us/KB", "line 1"),
        ("99999999 5 us/KB\n64 26 us/KB", "a block of 1e\\+08 KB cannot be"),
        ("16 10 20 us/KB\n64 26 us/KB", "line"),
        ("size;us/KB\n16;1,234\n64;26", "can be 1.234 or 1234"),
    ],
)
def test_what_cannot_be_read_is_refused(text: str, match: str) -> None:
    with pytest.raises(LeadoffError, match=match):
        parse_sweep(text)


def test_pairs_on_one_line_without_commas_are_told_how_to_part_them() -> None:
    with pytest.raises(LeadoffError) as caught:
        parse_sweep("4K 10.5us/KB 8K 10.4 16K 26.1")
    assert "parted by commas or semicolons" in caught.value.problems[0].do
    assert [p.size_kb for p in parse_sweep("4K 10.5us/KB; 8K 10.4; 16K 26.1").points] == [4, 8, 16]
