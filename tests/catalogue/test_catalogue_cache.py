"""The compiled copy and the digest."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from leadoff.catalogue import load
from leadoff.catalogue.cache import KEPT, cache_path
from leadoff.catalogue.files import RowFile, digest_of, gather


def test_compiled_copy_gives_the_same_catalogue(tmp_path: Path) -> None:
    plain = load()
    first = load(cache_dir=tmp_path)
    assert cache_path(tmp_path, first.digest).exists()
    second = load(cache_dir=tmp_path)
    assert plain == first == second
    assert second.cpu("p55c-200-2v8").source("amps") == plain.cpu("p55c-200-2v8").source("amps")


def test_second_start_reads_the_copy_and_parses_nothing(tmp_path: Path) -> None:
    load(cache_dir=tmp_path)
    code = (
        "import sys; from pathlib import Path; from leadoff.catalogue import load;"
        f"c = load(cache_dir=Path({str(tmp_path)!r})); assert len(c.cpus) > 80;"
        "print('tomllib' in sys.modules, 'leadoff.catalogue.check' in sys.modules,"
        " any(m in sys.modules for m in ('numpy', 'sqlalchemy', 'click', 'scipy')))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False", "False"]


@pytest.mark.parametrize("damage", [b"", b"\x00\x01", b"\x80", b"\x81\xa6digest\xa1x"])
def test_damaged_copy_is_ignored_and_made_anew(tmp_path: Path, damage: bytes) -> None:
    whole = load(cache_dir=tmp_path)
    path = cache_path(tmp_path, whole.digest)
    good = path.read_bytes()
    path.write_bytes(damage)
    assert load(cache_dir=tmp_path) == whole
    assert path.read_bytes() == good


def test_every_cut_of_the_copy_is_survived(tmp_path: Path) -> None:
    whole = load(cache_dir=tmp_path)
    path = cache_path(tmp_path, whole.digest)
    good = path.read_bytes()
    for part in range(1, 8):
        path.write_bytes(good[: len(good) * part // 8])
        assert load(cache_dir=tmp_path).digest == whole.digest


def test_a_flipped_byte_is_survived(tmp_path: Path) -> None:
    whole = load(cache_dir=tmp_path)
    path = cache_path(tmp_path, whole.digest)
    good = path.read_bytes()
    for place in range(0, len(good), len(good) // 12):
        path.write_bytes(good[:place] + bytes([good[place] ^ 0x55]) + good[place + 1 :])
        assert load(cache_dir=tmp_path) == whole


def test_old_copies_go(tmp_path: Path) -> None:
    for n in range(KEPT + 3):
        old = tmp_path / f"catalogue-{n}.msgpack"
        old.write_bytes(b"old")
        os.utime(old, (n, n))
    whole = load(cache_dir=tmp_path)
    left = {p.name for p in tmp_path.iterdir()}
    assert len(left) == KEPT
    assert cache_path(tmp_path, whole.digest).name in left
    assert "catalogue-0.msgpack" not in left


def test_a_cache_place_that_cannot_be_written_is_no_error(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    assert len(load(cache_dir=blocked / "cache").cpus) > 80


def test_digest_is_stable_and_moves_with_content(rows: Callable[..., Path]) -> None:
    one = load().digest
    assert one == load().digest
    assert len(one) == 64
    assert int(one, 16) > 0
    folder = rows('[[cpu]]\nid = "mine"\nv = 2.8\n')
    mine = load([folder]).digest
    assert mine != one
    rows('[[cpu]]\nid = "mine"\nv = 2.9\n')
    assert load([folder]).digest not in (one, mine)


def test_digest_knows_name_owner_and_bytes_but_not_the_place() -> None:
    def of(name: str, data: bytes, own: bool) -> str:
        return digest_of([RowFile(name, data, own)])

    base = of("a.toml", b"x = 1\n", False)
    assert base not in (
        of("b.toml", b"x = 1\n", False),
        of("a.toml", b"x = 2\n", False),
        of("a.toml", b"x = 1\n", True),
    )
    split = digest_of([RowFile("a.toml", b"x", False), RowFile("b.toml", b"y", False)])
    assert split != digest_of([RowFile("a.toml", b"", False), RowFile("b.toml", b"xy", False)])


def test_line_ends_do_not_move_the_digest(rows: Callable[..., Path]) -> None:
    folder = rows("")
    (folder / "mine.toml").write_bytes(b'[[cpu]]\nid = "m"\n')
    unix = load([folder]).digest
    (folder / "mine.toml").write_bytes(b'[[cpu]]\r\nid = "m"\r\n')
    assert load([folder]).digest == unix


def test_delay_tables_count_in_the_digest_and_are_not_rows() -> None:
    names = {f.name for f in gather()}
    assert "sources.toml" in names
    catalogue = load()
    assert all(row.file not in ("bus_ac.toml", "budget_terms.toml") for row in catalogue.drams.values())
