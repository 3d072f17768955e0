"""``leadoff profile``: a trace in, a profile file out; what is wrong is said before an hour is spent."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli_bench import Bench, run
from leadoff.loop import profiling
from leadoff.memory.profile import load_profile

K = 1024


@pytest.fixture(scope="module")
def loop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Reads over 48 KB again and again: more than any first level of the grid but one, less than 64 KB."""
    file = tmp_path_factory.mktemp("trace") / "loop.din"
    lines = [f"0 {0x100000 + (i * 16) % (48 * K):x}\n" for i in range(24000)]
    file.write_text("".join(lines), encoding="ascii")
    return file


@pytest.fixture(scope="module")
def made(loop: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, object], Path]:
    target = tmp_path_factory.mktemp("made") / "loop.npz"
    answer = run(
        "profile", str(loop), "--out", str(target), "--placements", "1", "--at", "2026-11-25", "--json"
    )
    assert answer.code == 0, answer.out
    return answer.json, target


def test_every_reference_misses_the_first_level_and_none_the_second(made: tuple[dict, Path]) -> None:  # type: ignore[type-arg]
    found, _ = made
    data = found["data"]
    by_size = {row["l2_kb"]: row for row in data["behind"]}
    # A cyclic walk over six times the size, one read a line: last use keeps nothing (tree order next to nothing).
    assert by_size[0]["fills_memory"]["value"] == pytest.approx(1000, rel=0.05)
    assert by_size[1024]["l2_hit"]["value"] > 0.9
    assert data["references"] == 18000
    assert data["warming"] == 6000
    assert "trace_small" in {m["code"] for m in found["marks"]}
    assert found["head"] is None


def test_the_file_is_the_profile(made: tuple[dict, Path]) -> None:  # type: ignore[type-arg]
    _, target = made
    kept = load_profile(target)
    assert (kept.name, kept.made, kept.references, kept.form) == ("loop", "2026-11-25", 18000, "din")


def test_a_profile_that_is_there_is_not_lost(made: tuple[dict, Path], loop: Path, bench: Bench) -> None:  # type: ignore[type-arg]
    _, target = made
    before = target.read_bytes()
    assert bench.refused("profile", str(loop), "--out", str(target)).codes == ["profile_there"]
    assert target.read_bytes() == before


@pytest.mark.parametrize(
    ("text", "code", "said"),
    [
        ("0 100\n0 104", "trace_cut", "was cut off"),
        ("0 100\n L 1ffe0,4\n", "trace_line", "looks like the other form"),
        ("hello\n", "trace_line", "line 1"),
        ("", "trace_empty", "no references"),
        ("0 100\n" * 100, "trace_short", "has 100 references"),
    ],
)
def test_bad_traces_leave_no_file(bench: Bench, tmp_path: Path, text: str, code: str, said: str) -> None:
    file, target = tmp_path / "bad.din", tmp_path / "bad.npz"
    file.write_text(text, encoding="ascii")
    answer = bench.refused("profile", str(file), "--out", str(target))
    assert answer.codes == [code]
    assert said in answer.json["errors"][0]["text"]
    assert not target.exists()


def test_bytes_that_are_no_text_are_not_printed(bench: Bench, tmp_path: Path) -> None:
    file = tmp_path / "noise.bin"
    file.write_bytes(bytes(range(128, 256)) * 4)
    answer = bench.refused("profile", str(file), "--out", str(tmp_path / "x.npz"))
    assert answer.codes == ["trace_line"]
    assert "bytes that are no text" in answer.json["errors"][0]["text"]


def test_a_missing_trace_and_a_missing_compiler(
    bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert bench.refused("profile", str(tmp_path / "none.din")).codes == ["trace_file"]
    monkeypatch.setattr(profiling, "find_spec", lambda _: None)
    answer = bench.refused("profile", str(tmp_path / "none.din"))
    assert answer.codes == ["no_compiler"]
    assert answer.json["errors"][0]["do"] == 'pip install "leadoff[trace]"'


def test_without_a_trace_the_shipped_ones_are_listed_with_their_errors(bench: Bench) -> None:
    answer = bench("profile")
    data = answer.data
    names = {f["name"] for f in data["families"]}
    assert {e["family"] for e in data["left_out"]} == names
    assert len(data["left_out"]) == len(names) * len(data["winners"])
    for quantity, winner in data["winners"].items():
        lost = [e["prior_wins"] for e in data["left_out"] if e["quantity"] == quantity]
        assert (winner == "prior") == (2 * sum(lost) >= len(lost))
    assert all(e["worst_factor"] >= e["middle_factor"] >= 1 for e in data["left_out"])
    page = run("profile")
    assert page.code == 0
    for word in ("doubling", "page_miss", "better", "assumed in carrying them over", *names):
        assert word in page.out
