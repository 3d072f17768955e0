"""What every test shares: places of its own, and a count of the checks against the outside world."""

from __future__ import annotations

import itertools
import os
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import settings

from cli_bench import Bench
from leadoff.doors.cli.main import ONE_THREAD

for name in ONE_THREAD:  # before NumPy starts, as the command line does
    os.environ.setdefault(name, "1")

_counts: Counter[str] = Counter()
_numbers = itertools.count(1)

# The same examples on every run, so that a change is judged by what it changes; LEADOFF_EXPLORE=1 draws new ones.
settings.register_profile("same", derandomize=True)
settings.register_profile("explore")
settings.load_profile("explore" if os.environ.get("LEADOFF_EXPLORE") else "same")


@pytest.fixture(scope="session")
def shared_cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What can be worked out again is worked out once for all tests, not once for each."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(scope="session")
def places(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where books and pens of all tests lie, each in a folder of its own that is made when it is written to."""
    return tmp_path_factory.mktemp("places")


@pytest.fixture(autouse=True)
def own_places(
    request: pytest.FixtureRequest, places: Path, shared_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Book and pen are the test's own, so that nobody's book is ever touched."""
    own = (
        request.getfixturevalue("tmp_path")
        if "tmp_path" in request.fixturenames
        else places / str(next(_numbers))
    )
    monkeypatch.setenv("LEADOFF_BOOK", str(own / "book.db"))
    monkeypatch.setenv("LEADOFF_CONFIG", str(own / "config"))
    monkeypatch.setenv("LEADOFF_CACHE", str(shared_cache))


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A command line with an empty book of its own."""
    return Bench(tmp_path)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if "reference" not in report.keywords:
        return
    if report.when == "call" and report.passed:
        _counts["passed"] += 1
    elif report.skipped:
        _counts["skipped"] += 1
    elif report.failed:
        _counts["failed"] += 1


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print how many outside checks ran; they are never skipped silently."""
    if _counts:
        terminalreporter.write_line(
            f"checks against published figures and reference tools: {_counts['passed']} passed, "
            f"{_counts['failed']} failed, {_counts['skipped']} skipped"
        )


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """A skipped outside check fails the session."""
    if _counts["skipped"] and not hasattr(session.config, "workerinput"):
        session.exitstatus = 1
