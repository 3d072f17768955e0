"""Reading traces: three forms, and what is wrong with a trace is said with its line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from streams import loopy

from leadoff.memory.geometry import Cache, Hierarchy
from leadoff.memory.simulate import simulate
from leadoff.memory.trace_text import read_trace
from leadoff.memory.traces import Trace, from_hooks, stream
from leadoff.record.errors import LeadoffError

LACKEY = """==11== Lackey, an example tool
==11==
I  04000a00,3
 S 1ffeffff0,8
 L 04222cac,4
I  04000a03,5
 M 0421c7cc,4
==11==
"""


def put(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "some.trace"
    path.write_bytes(text.encode())
    return path


@pytest.mark.reference
def test_lackey_text(tmp_path: Path) -> None:
    # form of valgrind's lackey --trace-mem=yes (lk_main.c: "I  addr,size", " L", " S", " M"), version 3.19
    trace = read_trace(put(tmp_path, LACKEY))
    assert trace.form == "lackey"
    assert [int(i) & 3 for i in trace.info] == [3, 1, 0, 3, 0, 1]  # a modify is a load and a store
    assert [(int(i) >> 2) + 1 for i in trace.info] == [3, 8, 4, 5, 4, 4]
    assert int(trace.addr[3]) - int(trace.addr[0]) == 3
    assert [int(a) & 4095 for a in trace.addr] == [0xA00, 0xFF0, 0xCAC, 0xA03, 0x7CC, 0x7CC]
    assert "lackey" in trace.said[0]
    without = read_trace(put(tmp_path, LACKEY), code=False)
    assert [int(i) & 3 for i in without.info] == [1, 0, 0, 1]


@pytest.mark.reference
def test_din_text(tmp_path: Path) -> None:
    # the two-column din form of the Dinero simulators: 0 read, 1 write, 2 instruction fetch, hexadecimal address
    trace = read_trace(put(tmp_path, "2 400\n0 1000\n1 1004 extra\n0 0x1003\n"))
    assert trace.form == "din"
    assert [int(i) & 3 for i in trace.info] == [3, 0, 1, 0]
    base = int(trace.addr[1])
    assert [int(a) - base for a in trace.addr[1:]] == [0, 4, 0]
    assert any("taken as 4 bytes" in s for s in trace.said)


def test_far_away_segments_move_together_and_near_pages_keep_their_distance(tmp_path: Path) -> None:
    trace = read_trace(put(tmp_path, " L 7fff00001010,4\n L 1000,4\n L 5000,4\n"))
    high, low, near = (int(a) for a in trace.addr)
    assert near - low == 0x4000
    assert high - near < 1 << 20
    assert high & 4095 == 0x10


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("", "no references"),
        ("==1== talk only\n", "no references"),
        (" L 1000,4\n S 20", r"line 2 is not lackey|line, 2, has no end"),
        (" L 1000,4\n S 2000,4", r"last line, 2, has no end"),
        (" L 1000,4\nprogram says hello\n", r"line 2 is not lackey text: 'program says hello'"),
        (" L 1000,4\n0 2000\n", r"line 2 .* looks like the other form"),
        ("0 2000\n L 1000,4\n", r"line 2 .* looks like the other form"),
        ("hello\n", r"line 1 is not lackey or din"),
        (" L 1000,9999\n", r"line 1 is not lackey"),
        ("0 1000\n0 20", r"last line, 2, has no end"),
    ],
)
def test_bad_text_is_refused_with_its_line(tmp_path: Path, text: str, match: str) -> None:
    with pytest.raises(LeadoffError, match=match):
        read_trace(put(tmp_path, text))


def test_own_form_keeps_everything(tmp_path: Path) -> None:
    addr, info = loopy(5000, seed=1)
    trace = Trace(name="x", form="own", addr=addr, info=info, marks=(0, 1000, 4000))
    path = tmp_path / "x.npy"
    trace.save(path)
    back = read_trace(path)
    assert back.marks == trace.marks
    assert np.array_equal(back.addr, addr)
    assert np.array_equal(back.info, info)
    assert len(trace.unit(1, 2)) == 3000
    records = np.load(path)
    assert records.dtype.itemsize == 5
    assert np.array_equal(np.concatenate([a for a, _ in stream(path, 777)]), addr)
    shape = Hierarchy(l1=Cache(size_kb=1, ways=2))
    assert simulate(stream(path, 777), shape) == simulate(trace, shape)


def test_cut_own_form_is_refused(tmp_path: Path) -> None:
    addr, info = loopy(5000, seed=1)
    path = tmp_path / "x.npy"
    Trace(name="x", form="own", addr=addr, info=info).save(path)
    path.write_bytes(path.read_bytes()[:9000])
    with pytest.raises(LeadoffError, match="no whole NumPy file"):
        read_trace(path)


def test_another_numpy_file_is_refused(tmp_path: Path) -> None:
    np.save(tmp_path / "y.npy", np.arange(10))
    with pytest.raises(LeadoffError, match="does not hold records"):
        read_trace(tmp_path / "y.npy")


def test_cut_raw_hook_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "z.raw"
    path.write_bytes(b"\0" * 20)
    with pytest.raises(LeadoffError, match="20 bytes, no whole number of records"):
        from_hooks(path)


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: Cache(size_kb=100), r"100 KB in 1 ways .* nearest|must be a power of two"),
        (lambda: Cache(size_kb=96, ways=3, line_bytes=24), "a line of 24 bytes"),
        (lambda: Cache(size_kb=8, ways=0), "0 ways"),
        (lambda: Cache(size_kb=24, ways=6, replacement="tree", line_bytes=16), "tree order"),
        (lambda: Cache(size_kb=8, cacheable_kb=0), "caches nothing"),
        (lambda: Cache(size_kb=8, policy="copy"), "'copy' is no policy"),
        (lambda: Cache(size_kb=8, replacement="plru"), "'plru' is no replacement"),
        (lambda: Hierarchy(l1=Cache(size_kb=8, line_bytes=32), l2=Cache(size_kb=64)), "may not be longer"),
    ],
)
def test_geometry_that_cannot_be_is_refused(make: object, match: str) -> None:
    with pytest.raises(LeadoffError, match=match):
        make()  # type: ignore[operator]


def test_the_refusal_names_the_nearest_sizes() -> None:
    with pytest.raises(LeadoffError) as caught:
        Cache(size_kb=100, ways=2)
    assert caught.value.problems[0].do == "nearest sizes: 64 and 128 KB"
