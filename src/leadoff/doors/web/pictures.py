"""Pictures of a board as SVG and as stills, kept files, the export."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from leadoff.doors.web.answers import as_json, failure
from leadoff.loop import booking, marking
from leadoff.loop.drawing import drawing
from leadoff.record.errors import LeadoffError
from leadoff.show.pages.addresses import board_name
from leadoff.show.pages.pictures import make_png, make_svg

WIDTHS = (360, 920)


async def picture(request: Request) -> Response:
    """``/board/B/picture/NAME.svg`` for a page, ``.png`` as a still of 1920 x 1080."""
    given = request.path_params
    query: Mapping[str, str] = request.query_params
    desk = request.app.state.desk

    def drawn() -> Response:
        try:
            values = drawing(
                desk.session(), board_name(given["board"]), given["name"], query.get("want") or None
            )
            if given["form"] == "png":
                return Response(make_png(given["name"], values), media_type="image/png")
            if given["form"] != "svg":
                raise LeadoffError.one(
                    "picture_unknown",
                    f'no picture is made as "{given["form"][:20]}"',
                    do="ask for svg or png",
                )
            width = WIDTHS[0] if query.get("width") == str(WIDTHS[0]) else WIDTHS[1]
            return Response(make_svg(given["name"], values, width), media_type="image/svg+xml")
        except LeadoffError as error:
            return failure(request, "picture", error)

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
