from __future__ import annotations

import itertools
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psycopg
import pytest
from pg_server import server
from sqlalchemy import make_url

from leadoff.book import open_book
from leadoff.book.book import Book

_numbers = itertools.count(1)


@pytest.fixture(scope="session")
def pg_url() -> Iterator[str]:
    """Address of a database on a running server."""
    with server() as url:
        yield url


@pytest.fixture
def new_database(pg_url: str) -> Iterator[Callable[[], str]]:
    """Makes a fresh database and returns its address; all are dropped at the end."""
    made: list[str] = []
    plain = make_url(pg_url).set(drivername="postgresql").render_as_string(hide_password=False)

    def make() -> str:
        name = f"lo_{time.time_ns()}_{next(_numbers)}"
        _wait_run(plain, f'CREATE DATABASE "{name}"')
        made.append(name)
        return make_url(pg_url).set(database=name).render_as_string(hide_password=False)

    yield make
    for name in made:
        _wait_run(plain, f'DROP DATABASE "{name}" WITH (FORCE)')


def _wait_run(url: str, sql: str) -> None:
    end = time.monotonic() + 20
    while True:
        try:
            with psycopg.connect(url, autocommit=True) as conn:
                conn.execute(sql)
            return
        except psycopg.OperationalError:
            # the socket is there a moment before the server answers
            if time.monotonic() > end:
                raise
            time.sleep(0.1)


@pytest.fixture(params=["sqlite", "postgres"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[], str]:
    """Makes fresh places for books, on both databases in turn."""
    if request.param == "postgres":
        make: Callable[[], str] = request.getfixturevalue("new_database")
        return make
    return lambda: str(tmp_path / f"book{next(_numbers)}.db")


@pytest.fixture
def books(tmp_path: Path) -> Iterator[Callable[..., Book]]:
    """Opens books and closes them at the end: ``books(place, "installation")``."""
    opened: list[Book] = []

    def make(at: str | Path, installation: str = "home", **options: object) -> Book:
        book = open_book(at, tmp_path / "config" / installation, **options)  # type: ignore[arg-type]
        opened.append(book)
        return book

    yield make
    for book in opened:
        book.close()
