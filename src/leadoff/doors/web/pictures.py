"""Pictures of a board as SVG and as stills, kept files, the export."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from leadoff.doors.web.answers import as_json, failure
from leadoff.loop import booking, marking
from leadoff.loop.book_drawing import book_drawing
from leadoff.loop.desk import Desk
from leadoff.loop.drawing import drawing
from leadoff.record.errors import LeadoffError
from leadoff.show.pages.addresses import board_name
from leadoff.show.pages.pictures import make_png, make_svg

WIDTHS = (360, 920)


async def picture(request: Request) -> Response:
    """``/board/B/picture/NAME.svg`` for a page, ``.png`` as a still of 1920 x 1080."""
    board, name = board_name(request.path_params["board"]), request.path_params["name"]
    want, workload = (request.query_params.get(n) or None for n in ("want", "workload"))
    return await _drawn(request, lambda desk: drawing(desk.session(dry=True), board, name, want, workload))


async def book_picture(request: Request) -> Response:
    """``/picture/NAME.svg`` and ``.png``: a picture of the whole book."""
    asked = dict(request.query_params)
    return await _drawn(
        request, lambda desk: book_drawing(desk.session(), request.path_params["name"], asked)
    )


async def _drawn(request: Request, look_up: Callable[[Desk], dict[str, Any]]) -> Response:
    name, form = request.path_params["name"], request.path_params["form"]
    width = WIDTHS[0] if request.query_params.get("width") == str(WIDTHS[0]) else WIDTHS[1]

    desk: Desk = request.app.state.desk

    def made() -> tuple[str | bytes, str]:
        if form not in ("svg", "png"):
            raise LeadoffError.one(
                "picture_unknown", f'no picture is made as "{form[:20]}"', do="ask for svg or png"
            )
        values = look_up(desk)
        if form == "png":
            return make_png(name, values), "image/png"
        return make_svg(name, values, width), "image/svg+xml"

    def drawn() -> Response:
        try:
            asked = sorted(request.query_params.multi_items())
            text, kind = desk.answer(("picture", request.url.path, *asked), made)
        except LeadoffError as error:
            return failure(request, "picture", error)
        return Response(text, media_type=kind)

    return await run_in_threadpool(drawn)


async def kept_file(request: Request) -> Response:
    """A photo by its digest."""

    def found() -> Response:
        try:
            data = request.app.state.desk.book.file(request.path_params["digest"])
        except LeadoffError as error:
            return failure(request, "file", error)
        headers = {"cache-control": "private, max-age=31536000, immutable"}
        return Response(data, media_type=marking.kind_of_picture(data), headers=headers)

    return await run_in_threadpool(found)


async def export(request: Request) -> Response:
    """Everything as a zip, to be kept elsewhere."""
    folder = tempfile.TemporaryDirectory(prefix="leadoff-")
    path = Path(folder.name) / "book.zip"

    def made() -> Response:
        try:
            result = booking.export(request.app.state.desk.session(), str(path))
        except LeadoffError as error:
            return failure(request, "book", error)
        if not result.ok:
            return as_json(result)
        return FileResponse(path, filename="leadoff-book.zip", background=BackgroundTask(folder.cleanup))

    return await run_in_threadpool(made)
