"""The application: tables to addresses."""

from __future__ import annotations

import asyncio
import contextlib
import gc
import importlib
from collections.abc import AsyncIterator, Awaitable, Callable
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from leadoff.doors.web import pairing
from leadoff.doors.web.answers import as_json, as_page, as_part, refusal, wants_json
from leadoff.doors.web.guard import Guard
from leadoff.doors.web.holding import MOST_FILES, Holding, SentFile
from leadoff.doors.web.live import Pulse, live
from leadoff.doors.web.reads import READS, Read, read
from leadoff.doors.web.settings import WebSettings
from leadoff.doors.web.writes import WRITES, Sent, Write, write
from leadoff.loop.desk import Desk
from leadoff.record.results import Result
from leadoff.show.pages.addresses import board_address, board_name
from leadoff.show.pages.render import keep_compiled, static

AHEAD_S = 1.0
"""How long after the start the rest is loaded: the first page is on its way by then."""


def make_app(desk: Desk, settings: WebSettings | None = None) -> Starlette:
    """The bench page of a book. The desk is closed with the application."""

    @contextlib.asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        app.state.loop = asyncio.get_running_loop()
        await run_in_threadpool(_warm, desk)
        tasks = [asyncio.create_task(t) for t in (app.state.pulse.keep_looking(), _load_ahead())]
        yield
        for task in tasks:
            task.cancel()
        app.state.holding.close()
        desk.close()

    asked = settings or WebSettings()
    routes = [
        Route("/static/{digest}/{name}", _static),
        Route("/live", live),
        Route("/openapi.json", _openapi),
        Route("/pair", pairing.pair, methods=["GET", "POST"]),
        Route("/pair.svg", pairing.code_picture),
        Route("/file/{digest}", _late("pictures", "kept_file")),
        Route("/book/export", _late("pictures", "export"), methods=["POST"]),
        Route("/board/{board}/publish", _late("publishing", "publish"), methods=["POST"]),
        Route("/picture/{name}.{form}", _late("pictures", "book_picture")),
        Route("/board/{board}/picture/{name}.{form}", _late("pictures", "picture")),
        *(route for row in WRITES for route in _write_routes(row)),
        *(route for row in READS for route in _read_routes(row)),
    ]
    app = Starlette(
        routes=routes,
        middleware=[Middleware(Guard, settings=asked)],
        exception_handlers={HTTPException: _http, Exception: _bug},
        lifespan=life,
    )
    app.state.desk, app.state.settings, app.state.pulse = desk, asked, Pulse(desk)
    app.state.holding = Holding()
    app.state.attempts = pairing.Attempts()
    return app


def _warm(desk: Desk) -> None:
    """What the first page needs, before it is asked for; the memory taken so far is never looked through again."""
    desk.history()
    keep_compiled(desk.base.cache / "pages")
    gc.enable()
    gc.freeze()


async def _load_ahead() -> None:
    """After the first page: what the first line and "what now" need, while the person still reads."""
    await asyncio.sleep(AHEAD_S)
    for module in ("loop.saying", "loop.planning", "loop.forecasting", "loop.sicking", "loop.choosing"):
        await run_in_threadpool(importlib.import_module, f"leadoff.{module}")


def _late(module: str, name: str) -> Callable[[Request], Awaitable[Response]]:
    """A handler whose module is loaded when it is first asked for: the first page must not wait for it."""

    async def handle(request: Request) -> Response:
        made = await run_in_threadpool(importlib.import_module, f"leadoff.doors.web.{module}")
        answer: Response = await getattr(made, name)(request)
        return answer

    return handle


def _read_routes(row: Read) -> list[Route]:
    async def page(request: Request) -> Response:
        asked = request.query_params
        given = {name: ", ".join(v for v in asked.getlist(name) if v) for name in row.query}
        given |= {k: board_name(str(v)) for k, v in request.path_params.items()}
        return await run_in_threadpool(_shown, request.app.state.desk, row, given, wants_json(request.scope))

    twin = "/shelf.json" if row.path == "/" else f"{row.path}.json"
    return [Route(twin, page), Route(row.path, page)]


def _shown(desk: Desk, row: Read, given: dict[str, str], twin: bool) -> Response:
    """The page, made once for each moment of the book however many devices ask for it."""

    def made() -> Response:
        result = read(desk, row, given)
        return (
            as_json(result) if twin else as_page(row.template, result, asks=row.asks, given=given, back="/")
        )

    kept = desk.answer(("page", row.path, twin, *sorted(given.items())), made)
    return Response(kept.body, kept.status_code, media_type=kept.media_type)


def _write_routes(row: Write) -> list[Route]:
    async def act(request: Request) -> Response:
        sent = await _sent(request)
        return await run_in_threadpool(_done, request, row, sent)

    return [Route(f"{row.path}.json", act, methods=["POST"]), Route(row.path, act, methods=["POST"])]


def _done(request: Request, row: Write, sent: Sent) -> Response:
    """Write, tell the others, and answer: on one thread, so that nothing else comes between."""
    app = request.app
    result = write(app.state.desk, row, sent)
    if result.ok and not sent.dry:
        app.state.loop.call_soon_threadsafe(app.state.pulse.nudge)
    return as_json(result) if wants_json(request.scope) else _answer(request, row, sent, result)


def _answer(request: Request, row: Write, sent: Sent, result: Result) -> Response:
    """A part for the page's script; without script the page again, or a way back to it."""
    from leadoff.loop.benching import bench
    from leadoff.show.pages.say_words import what

    if row.template and "x-leadoff" not in request.headers:
        given = {"board": sent.of_board, "text": sent.get("text")}
        back = f"/board/{board_address(sent.of_board)}" if sent.of_board else row.path
        return as_page(row.template, result, given=given, back=back)
    more: dict[str, Any] = {
        "answer": result,
        "board": sent.of_board,
        "kept": result.ok and not sent.dry,
        "what": what(result),
        "entries": result.data.get("entries") or [e for e in [result.data.get("entry")] if e],
    }
    if sent.get("line"):
        more["line"] = sent.get("line")
    if "x-leadoff" in request.headers:
        return as_part("bench", "answer", result, **more)
    if row.path.startswith("/book"):
        return as_page("book", result, given={}, back="/book")
    if more["kept"] and sent.of_board:
        return RedirectResponse(f"/board/{board_address(sent.of_board)}", 303)
    desk: Desk = request.app.state.desk
    if sent.of_board in desk.history().boards:
        return as_page("bench", bench(desk.session(), sent.of_board), given={}, **more)
    return as_page("refused", result, title="done" if result.ok else "no")


async def _sent(request: Request) -> Sent:
    board = board_name(str(request.path_params.get("board", "")))
    if "json" in request.headers.get("content-type", ""):
        raise HTTPException(415, "send a form, not JSON")
    async with request.form(max_files=MOST_FILES, max_fields=200, max_part_size=700_000) as form:
        fields: dict[str, list[str]] = {}
        files: list[SentFile] = []
        for name, value in form.multi_items():
            if isinstance(value, UploadFile):
                data = await value.read()
                if data or value.filename:
                    files.append(SentFile(value.filename or "", data))
            else:
                fields.setdefault(name, []).append(value)
    return Sent(board=board, fields=fields, files=tuple(files), holding=request.app.state.holding)


async def _static(request: Request) -> Response:
    found = static(request.path_params["name"])
    if found is None:
        raise HTTPException(404)
    headers = {"cache-control": "public, max-age=31536000, immutable"}
    return Response(found[0], media_type=found[1], headers=headers)


async def _openapi(request: Request) -> Response:
    from leadoff.doors.web.openapi import description

    return Response(description(), media_type="application/json")


async def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    code = {404: "not_found", 405: "method"}.get(error.status_code, "request")
    text = {404: f"there is no page {request.url.path[:80]}", 405: f"{request.method} is not taken here"}
    made = refusal(request.scope, error.status_code, code, text.get(error.status_code, error.detail), "")
    for name, value in (error.headers or {}).items():
        made.headers[name] = value
    return made


async def _bug(request: Request, error: Exception) -> Response:
    text = f"this is a bug in leadoff: {type(error).__name__}"
    if wants_json(request.scope):
        return refusal(request.scope, 500, "bug", text, "the server's terminal has the lines to report")
    return HTMLResponse(f"<!doctype html><title>bug</title><h1>{text}</h1>", 500)
