from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from blind_book import book, write
from ear import Ear

from leadoff.claims.spoken.evidence import Evidence
from leadoff.claims.spoken.names import Names, names_of
from leadoff.claims.values import Ledger
from leadoff.loop.demo import demo_session
from leadoff.loop.history import read_history
from leadoff.loop.ledger import ledger_of
from leadoff.loop.session import Session
from leadoff.loop.touring import EVENING, Tour


@pytest.fixture(scope="session")
def blind(tmp_path_factory: pytest.TempPathFactory, shared_cache: Path) -> Iterator[Session]:
    """A session on the invented book of the blind test."""
    folder = tmp_path_factory.mktemp("blind")
    session = Session(book=str(folder / "b.db"), config=folder / "c", cache=shared_cache)
    write(session)
    yield session
    session.close()


@pytest.fixture(scope="session")
def ledger(blind: Session) -> Ledger:
    """Its runs as the claims read them."""
    return ledger_of(read_history(blind), blind.book.is_before)


@pytest.fixture(scope="session")
def evidence(ledger: Ledger) -> Evidence:
    """What a sentence is held against."""
    return Evidence(ledger)


@pytest.fixture(scope="session")
def names(ledger: Ledger) -> Names:
    """How its boards, workloads and settings are called."""
    return names_of(ledger)


@pytest.fixture(name="book")
def evidence_and_names(evidence: Evidence, names: Names) -> tuple[Evidence, Names]:
    """Both, as a search takes them."""
    return evidence, names


@pytest.fixture(scope="session")
def ear(ledger: Ledger) -> Ear:
    """Hears sentences over it."""
    return Ear(ledger)


@pytest.fixture(scope="session")
def other_book(tmp_path_factory: pytest.TempPathFactory, shared_cache: Path) -> Callable[[str], Ledger]:
    """Another book by its name: invented ones with other boards, workloads, cards and settings, or ``tour``, the
    demo's as it is before the walk."""

    def read(name: str) -> Ledger:
        folder = tmp_path_factory.mktemp(name)
        if name == "tour":
            return _read(demo_session(Tour(str(folder / "demo")).folder, f"{EVENING}59"))
        session = Session(book=str(folder / "b.db"), config=folder / "c", cache=shared_cache)
        write(session, book(Path(__file__).parent / f"{name}_book.toml"))
        return _read(session)

    return read


@pytest.fixture(scope="session")
def tour(other_book: Callable[[str], Ledger]) -> Ledger:
    """The demo book as it is before the walk."""
    return other_book("tour")


def _read(session: Session) -> Ledger:
    try:
        return ledger_of(read_history(session), session.book.is_before)
    finally:
        session.close()
