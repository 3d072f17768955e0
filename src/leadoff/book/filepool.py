"""Connections to a book that is a file: opened as they are needed, a few kept for the next call.

SQLAlchemy has a pool too, but loading it takes longer than everything else a short command does; so a file is read
and written without it, and only making or changing tables loads it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock
from typing import Any, Final, Protocol

KEPT: Final = 5
"""Connections kept open between calls; more are opened when more threads ask at once, and closed again."""


class Line(Protocol):
    """What the book needs of a connection, whoever pools it."""

    @property
    def connection(self) -> Any:
        """Something with a ``cursor()``."""


class FileLine:
    """A connection of the file's own pool."""

    def __init__(self, driver: sqlite3.Connection) -> None:
        self._driver = driver

    @property
    def connection(self) -> sqlite3.Connection:
        return self._driver


class FilePool:
    """Safe to share between threads; a connection belongs to one call at a time."""

    def __init__(self, connect: Callable[[], sqlite3.Connection]) -> None:
        self.connect = connect
        self._free: list[sqlite3.Connection] = []
        self._lock = Lock()
        self._closed = False

    @contextmanager
    def taken(self) -> Iterator[sqlite3.Connection]:
        """A connection outside any transaction; whatever is still open in it at the end is rolled back."""
        with self._lock:
            driver = self._free.pop() if self._free else None
        driver = driver or self.connect()
        try:
            yield driver
        except BaseException:
            self._give(driver)
            raise
        self._give(driver)

    @contextmanager
    def begun(self, how: str) -> Iterator[FileLine]:
        """A transaction begun with ``how``: kept when the block ends, rolled back when it fails."""
        with self.taken() as driver:
            driver.execute(how)
            yield FileLine(driver)
            driver.execute("COMMIT")

    def close(self) -> None:
        """Close what is free now; what is in use is closed when it comes back."""
        with self._lock:
            free, self._free, self._closed = self._free, [], True
        for driver in free:
            driver.close()

    def _give(self, driver: sqlite3.Connection) -> None:
        try:
            if driver.in_transaction:
                driver.execute("ROLLBACK")
        except sqlite3.Error:  # no longer to be trusted; the error that led here is the one to tell
            driver.close()
            return
        with self._lock:
            if not self._closed and len(self._free) < KEPT:
                self._free.append(driver)
                return
        driver.close()
