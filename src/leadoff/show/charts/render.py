"""Specs to SVG in one warm child process: the renderer holds the interpreter's lock while it draws."""

from __future__ import annotations

import atexit
import json
import multiprocessing
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from functools import lru_cache
from typing import Any, TypeVar

VEGA_LITE = "v5.20"
T = TypeVar("T")


@lru_cache(maxsize=1)
def child() -> ProcessPoolExecutor:
    pool = ProcessPoolExecutor(max_workers=1, mp_context=multiprocessing.get_context("spawn"))
    atexit.register(pool.shutdown, wait=False, cancel_futures=True)
    return pool


def _draw(text: str) -> str:
    import vl_convert

    made: str = vl_convert.vegalite_to_svg(text, vl_version=VEGA_LITE, allowed_base_urls=[])
    return made


def in_child(work: Callable[[str], T], text: str) -> T:
    """Work done by the child; one that died, as of want of memory, is replaced once."""
    try:
        return child().submit(work, text).result()
    except BrokenProcessPool:
        child.cache_clear()
        return child().submit(work, text).result()


@lru_cache(maxsize=128)
def _svg(text: str) -> str:
    return in_child(_draw, text)


def svg(spec: dict[str, Any]) -> str:
    """The picture as SVG text; no outside address is ever asked. Same spec, same bytes."""
    return _svg(json.dumps(spec, sort_keys=True))
