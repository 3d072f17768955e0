"""Small matrix products on one thread: several threads only wait for each other."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import Any


@lru_cache(maxsize=1)
def _controller() -> Any:
    try:
        from threadpoolctl import ThreadpoolController
    except ImportError:
        return None
    return ThreadpoolController()


@contextmanager
def one_thread() -> Iterator[None]:
    """Holds the linear algebra library to one thread, where the package that can do so is installed."""
    controller = _controller()
    if controller is None:
        yield
        return
    with controller.limit(limits=1, user_api="blas"):
        yield
