"""Helpers of the page's tests: a demo book, a client, a server on a free port. Nothing of the user's is touched."""

from __future__ import annotations

import contextlib
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import uvicorn
from starlette.testclient import TestClient

from leadoff.doors.web.app import make_app
from leadoff.doors.web.server import BenchServer
from leadoff.doors.web.settings import WebSettings
from leadoff.loop.demo import demo_session, write_world
from leadoff.loop.desk import Desk
from leadoff.validation.tour import tour_world

OWN = {"X-Leadoff": "1"}
HEART, DEAD = "reading-486", "cellar-486"


def make_book(folder: Path) -> None:
    """The tour's book, without walking it."""
    session = demo_session(folder, "2019-12-07T19:00")
    write_world(session, tour_world())
    session.close()


def desk_on(template: Path, folder: Path) -> Desk:
    """A desk on a copy of the book, with a pen of its own and the template's cache."""
    folder.mkdir(parents=True, exist_ok=True)
    for file in template.glob("tour.db*"):
        shutil.copy(file, folder / file.name)
    return Desk(book=str(folder / "tour.db"), config=folder / "pen", cache=template / "cache")


def filled(desk: Desk) -> None:
    """A forecast sealed for the state as set, and the run that answers it."""
    from leadoff.loop.forecasting import forecast
    from leadoff.loop.logging import log

    forecast(desk.session(), HEART)
    log(desk.session(), HEART, ["w4 10.9 10.9"])


@contextlib.contextmanager
def client_on(desk: Desk, settings: WebSettings | None = None, **more: Any) -> Iterator[TestClient]:
    """A client that speaks to the application directly."""
    app = make_app(desk, settings)
    with TestClient(
        app, base_url="http://127.0.0.1:8486", follow_redirects=False, client=("127.0.0.1", 50000), **more
    ) as client:
        yield client


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Served:
    """A real server in a thread, that can be stopped and started again on the same port and book."""

    def __init__(self, template: Path, folder: Path, settings: WebSettings | None = None) -> None:
        self.template, self.folder, self.settings = template, folder, settings
        self.port = free_port()
        self.desk = desk_on(template, folder)
        self.server: uvicorn.Server | None = None
        self.thread: threading.Thread | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> Served:
        app = make_app(self.desk, self.settings)
        config = uvicorn.Config(
            app, host="127.0.0.1", port=self.port, log_level="error", timeout_graceful_shutdown=1
        )
        self.server = BenchServer(config)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        end = time.monotonic() + 120
        while not self.server.started:
            assert time.monotonic() < end, "the server did not start"
            time.sleep(0.02)
        return self

    def stop(self) -> None:
        assert self.server is not None
        assert self.thread is not None
        self.server.should_exit = True
        self.thread.join(60)
        assert not self.thread.is_alive()

    def again(self) -> None:
        """Start anew on the book as it lies."""
        self.desk = Desk(
            book=str(self.folder / "tour.db"), config=self.folder / "pen", cache=self.template / "cache"
        )
        self.start()
