"""Small matrix products on one thread: several threads only wait for each other."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def one_thread() -> Iterator[None]:
    """Holds the linear algebra library to one thread, where the package that can do so is installed."""
    try:
        from threadpoolctl import threadpool_limits
    except ImportError:
        yield
        return
    with threadpool_limits(limits=1, user_api="blas"):
        yield
