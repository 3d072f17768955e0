"""The same arguments give the same world; another seed gives another one; draws are keyed by content."""

from __future__ import annotations

import subprocess
import sys

import msgspec
import numpy as np
import pytest

from leadoff.validation.worlds import World


def fingerprint(world: World) -> bytes:
    return b"\n".join(at.encode() + msgspec.json.encode(body, order="sorted") for at, body in world.events())


def test_same_seed_same_events() -> None:
    assert fingerprint(World(11, boards=4, runs=6)) == fingerprint(World(11, boards=4, runs=6))


def test_other_seed_other_events() -> None:
    assert fingerprint(World(11, boards=2, runs=4)) != fingerprint(World(12, boards=2, runs=4))


def test_same_in_another_process() -> None:
    code = (
        "import msgspec, hashlib; from leadoff.validation.worlds import World; w = World(5, boards=2, runs=4);"
        "print(hashlib.sha256(b''.join(a.encode() + msgspec.json.encode(b, order='sorted')"
        " for a, b in w.events())).hexdigest())"
    )
    runs = [
        subprocess.run(
            [sys.executable, "-c", code],
            check=True,
            capture_output=True,
            text=True,
            env={"PYTHONHASHSEED": h},
        ).stdout
        for h in ("1", "2")
    ]
    assert runs[0] == runs[1]
    assert len(runs[0].strip()) == 64


def test_one_more_board_moves_no_other() -> None:
    small, large = World(7, boards=3, runs=4), World(7, boards=4, runs=4)
    for sheet in small.boards:
        assert large.truth(sheet.id, small.state(sheet.id)) == small.truth(sheet.id, small.state(sheet.id))


def test_measure_repeats_itself_and_noise_has_its_size() -> None:
    world = World(3, boards=1, runs=3, classes=["386sx"])
    board = world.boards[0].id
    state = world.state(board)
    assert world.measure(board, state, "w6", boot=1) == world.measure(board, state, "w6", boot=1)
    logs = [np.log(world.measure(board, state, "w6", boot=1, take=k).readings[0].value) for k in range(300)]
    assert 0.0021 < np.std(logs) < 0.0029  # 0.25 %, sampling error of 300 takes about 4 % of it


def test_page_placement_belongs_to_the_boot() -> None:
    world = World(3, boards=1, runs=3, classes=["socket5"], workloads=["w2"])
    board = world.boards[0].id
    # A small cache before slow memory, at a bus clock that surely holds, so that what misses matters.
    state = {**world.state(board), "dram_read": "8-4-4-4", "bus_mhz": "50", "l2_kb": "256"}

    def mean_of_boot(boot: int) -> float:
        takes = [world.measure(board, state, "w2", boot=boot, take=k).readings[0].value for k in range(12)]
        return float(np.log(np.mean(takes)))

    boots = [mean_of_boot(b) for b in range(25)]
    assert np.std(boots) > 2.0 * 0.0025 / np.sqrt(12)


def test_unknown_physics_is_refused() -> None:
    with pytest.raises(ValueError, match="plain or other"):
        World(1, boards=1, runs=1, physics="magic")
