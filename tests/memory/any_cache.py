"""Caches of any geometry and policy, for generated examples."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from leadoff.memory.geometry import Cache


def caches(**draws: st.SearchStrategy[Any]) -> st.SearchStrategy[Cache]:
    """``sets`` (a power of two), ``ways``, ``allocate``, ``order`` and so on, each as the test wants it drawn."""
    return st.builds(_cache, **(COMMON | draws))


def _cache(**d: Any) -> Cache:
    return Cache(
        size_kb=2 ** d["sets"] * d["ways"] * d["line"] / 1024,
        ways=d["ways"],
        line_bytes=d["line"],
        policy=d["policy"],
        allocate=d["allocate"],
        replacement=d["order"],
        dirty_bit=d["dirty"],
        fetch_victims=d["fetch"],
        cacheable_kb=d["limit"],
    )


COMMON: dict[str, st.SearchStrategy[Any]] = {
    "line": st.sampled_from([16, 32]),
    "dirty": st.booleans(),
    "fetch": st.booleans(),
}
