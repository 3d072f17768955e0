"""The contexts of the phrase table: an invented board with two workloads, and variations of it."""

from __future__ import annotations

from leadoff.record.phrases import Context, Verb, WorkloadWord

_W2 = WorkloadWord(name="w2", unit="frames/s")
_W3 = WorkloadWord(name="w3", unit="s")

_BOARD = Context(
    positions={
        "jp7": ("1-2", "2-3", "open"),
        "jp8": ("open", "closed"),
        "jp20": ("1-2 1-2", "1-2 2-3", "2-3 2-3"),
    },
    choices={"cache timing": ("2-1-1-1", "3-1-1-1", "3-2-2-2"), "slow refresh": ("on", "off")},
    aliases={"cache write cycle": ("l2_write_ws", 0.0), "read wait": ("dram_read_ws", 1.0)},
    runs=("38", "41"),
    board_class="486-vlb",
    memory_sites=("b0", "b1"),
)


def _board(**changes: object) -> Context:
    import msgspec

    return msgspec.structs.replace(_BOARD, **changes)


CONTEXTS: dict[str, Context] = {
    "bench": _board(workloads=(_W2, _W3)),
    "one": _board(workloads=(_W2,)),
    "preset": _board(workloads=(_W2, _W3), default_workload="w3"),
    "empty": Context(),
    "move": _board(workloads=(_W2, _W3), verb=Verb.MOVE),
    "want": _board(workloads=(_W2, _W3), verb=Verb.WANT),
    "words": _board(workloads=(WorkloadWord(name="long copy", unit="MB/s"), WorkloadWord(name="copy"), _W2)),
    "slot1": Context(memory_sites=("dimm1", "dimm2"), workloads=(_W2,), runs=("1",)),
}
