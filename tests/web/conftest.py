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


@pytest.fixture
def served(template: Path, tmp_path: Path) -> Iterator[Served]:
    made = Served(template, tmp_path / "book").start()
    yield made
    made.stop()


@pytest.fixture(scope="module")
def reading(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One server for tests that only read, with a forecast sealed and answered, so that every view is filled."""
    made = Served(template, tmp_path_factory.mktemp("reading"))
    filled(made.desk)
    made.start()
    before = made.desk.heads()
    yield made
    assert made.desk.heads() == before
    made.stop()


@pytest.fixture(scope="module")
def calm(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """One client for tests that only read, on a book as :func:`reading` has it."""
    desk = desk_on(template, tmp_path_factory.mktemp("calm"))
    filled(desk)
    before = [e.id for e in desk.book.entries()]
    with client_on(desk) as made:
        yield made
        assert [e.id for e in desk.book.entries()] == before
