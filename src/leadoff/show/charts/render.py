"""Specs to SVG in one warm child process: the renderer holds the interpreter's lock while it draws."""

from __future__ import annotations

import atexit
import hashlib
import json
import multiprocessing
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache
from typing import Any

VEGA_LITE = "v5.20"


@lru_cache(maxsize=1)
def child() -> ProcessPoolExecutor:
    pool = ProcessPoolExecutor(max_workers=1, mp_context=multiprocessing.get_context("spawn"))
    atexit.register(pool.shutdown, wait=False, cancel_futures=True)
    return pool


def _draw(text: str) -> str:
    import vl_convert

    made: str = vl_convert.vegalite_to_svg(text, vl_version=VEGA_LITE, allowed_base_urls=[])
    return made


_CACHE: dict[str, str] = {}


def svg(spec: dict[str, Any]) -> str:
    """The picture as SVG text; no outside address is ever asked. Same spec, same bytes."""
    text = json.dumps(spec, sort_keys=True)
    key = hashlib.sha256(text.encode()).hexdigest()
    if key not in _CACHE:
        _CACHE[key] = child().submit(_draw, text).result()
    return _CACHE[key]
