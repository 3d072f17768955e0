"""What others enter, told at once: the head's fingerprint to every open page as soon as it changes."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from leadoff.doors.web.answers import refusal
from leadoff.loop.desk import Desk

LOOK_S = 0.7
"""How often the book is looked at for what other programs wrote; what this server writes is told at once."""
BREATH_S = 0.3
"""A page that was just told is not told again at once: twenty devices would ask for nothing else."""
ALIVE_S = 15.0
MOST_LISTENERS = 200


class Pulse:
    """The head as it stands, and whoever waits for the next one."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.head = ""
        self.listeners = 0
        self.closing = False
        self._changed = asyncio.Event()
        self._nudged = asyncio.Event()

    def nudge(self) -> None:
        """Something was written here: look at once. Whoever wrote does not wait for that."""
        self._nudged.set()

    async def look(self) -> None:
        """See whether the head moved."""
        head = await run_in_threadpool(lambda: self.desk.session().head() or "")
        if head != self.head:
            self.head = head
            self._changed.set()
            self._changed = asyncio.Event()

    def close(self) -> None:
        """Let every listener go, so that the server can stop."""
        self.closing = True
        self._changed.set()

    async def keep_looking(self) -> None:
        """For as long as the server runs; idle while nobody listens."""
        while True:
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._nudged.wait(), LOOK_S)
            self._nudged.clear()
            if self.listeners:
                await self.look()

    async def heads(self) -> AsyncIterator[str]:
        """Every head from now on; empty text now and then to keep the line open."""
        self.listeners += 1
        try:
            await self.look()
            told = self.head
            yield told
            while not self.closing:
                if self.head == told:
                    try:
                        await asyncio.wait_for(self._changed.wait(), ALIVE_S)
                    except TimeoutError:
                        yield ""
                if self.head != told and not self.closing:
                    told = self.head
                    yield told
                    await asyncio.sleep(BREATH_S)
        finally:
            self.listeners -= 1


async def live(request: Request) -> Response:
    """An event stream."""
    pulse: Pulse = request.app.state.pulse
    if pulse.listeners >= MOST_LISTENERS:
        text = f"{MOST_LISTENERS} pages are open already"
        return refusal(request.scope, 503, "listeners", text, "close some; the page works without being live")

    async def events() -> AsyncIterator[str]:
        yield "retry: 1500\n\n"
        async for head in pulse.heads():
            yield f"data: {head}\n\n" if head else ": alive\n\n"

    return StreamingResponse(events(), media_type="text/event-stream", headers={"x-accel-buffering": "no"})
