from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from web_bench import Served, client_on, desk_on, make_book

from leadoff.loop.desk import Desk

pytest.register_assert_rewrite("browsing")


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
