from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from blind_book import write

from leadoff.loop.session import Session


@pytest.fixture(scope="session")
def blind(tmp_path_factory: pytest.TempPathFactory, shared_cache: Path) -> Iterator[Session]:
    """A session on the invented book of the blind test."""
    folder = tmp_path_factory.mktemp("blind")
    session = Session(book=str(folder / "b.db"), config=folder / "c", cache=shared_cache)
    write(session)
    yield session
    session.close()
