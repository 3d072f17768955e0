from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright
from starlette.testclient import TestClient
from web_bench import Served, client_on, desk_on, filled, make_book

from leadoff.loop.desk import Desk

pytest.register_assert_rewrite("browsing")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for a file of tests; it runs a loop of its own, so it is gone before the next file."""
    from browsing import launched

    with sync_playwright() as playwright:
        made = launched(playwright)
        yield made
        made.close()


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo book, written once; tests work on copies."""
    folder = tmp_path_factory.mktemp("demo")
    make_book(folder)
    return folder


@pytest.fixture
def desk(template: Path, tmp_path: Path) -> Desk:
    return desk_on(template, tmp_path / "book")


@pytest.fixture
def client(desk: Desk) -> Iterator[TestClient]:
    with client_on(desk) as made:
        yield made


@pytest.fixture(scope="module")
def standing(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    made = Served(template, tmp_path_factory.mktemp("standing") / "book").start()
    yield made
    made.stop()


@pytest.fixture
def served(standing: Served, browser: Browser) -> Iterator[Served]:
    """The server of a file of tests, which write to one book one after another; no page stays open behind a test."""
    yield standing
    _shut(browser)


@pytest.fixture
def alone(template: Path, tmp_path: Path, browser: Browser) -> Iterator[Served]:
    """A server and a book for one test, which may stop it."""
    made = Served(template, tmp_path / "book").start()
    yield made
    _shut(browser)
    made.stop()


def _shut(browser: Browser) -> None:
    for context in browser.contexts:
        context.close()


@pytest.fixture(scope="session")
def reading(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One server for tests that only read, with a forecast sealed and answered, so that every view is filled."""
    made = Served(template, tmp_path_factory.mktemp("reading"))
    filled(made.desk)
    made.start()
    before = made.desk.heads()
    yield made
    assert made.desk.heads() == before
    made.stop()


@pytest.fixture(scope="session")
def calm(reading: Served) -> Iterator[TestClient]:
    """One client for tests that only read, at the desk of :func:`reading`: a page is worked out once."""
    before = [e.id for e in reading.desk.book.entries()]
    with client_on(reading.desk) as made:
        yield made
        assert [e.id for e in reading.desk.book.entries()] == before
