"""The HTTP server of the page."""

from __future__ import annotations

import socket
from typing import Any

import uvicorn

from leadoff.doors.web.app import make_app
from leadoff.doors.web.settings import WebSettings
from leadoff.loop.desk import Desk


class BenchServer(uvicorn.Server):
    """Lets go of the open event streams before it waits for the last answers."""

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        app: Any = self.config.app
        app.state.pulse.close()
        await super().shutdown(sockets)


def server(desk: Desk, settings: WebSettings) -> BenchServer:
    """A server for this desk; the loop that is always there, so none is looked for."""
    return BenchServer(
        uvicorn.Config(
            make_app(desk, settings),
            loop="asyncio",
            ws="none",
            log_level="warning",
            access_log=False,
            timeout_graceful_shutdown=1,
            server_header=False,
            limit_concurrency=400,
        )
    )
