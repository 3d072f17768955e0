"""A board's public files as one zip, made when somebody asks for them; nothing is kept by that."""

from __future__ import annotations

import io
import tempfile
import zipfile
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from leadoff.doors.web.answers import failure
from leadoff.loop.publishing import gather, new_place
from leadoff.record.errors import LeadoffError
from leadoff.show.pages.addresses import board_name
from leadoff.show.report.plates import Plates
from leadoff.show.report.write import Publisher


async def publish(request: Request) -> Response:
    """The page that opens anywhere and the public data file, packed."""
    board = board_name(str(request.path_params["board"]))
    async with request.form(max_fields=5, max_files=0) as form:
        workload = str(form.get("workload", "")) or None

    def made() -> Response:
        try:
            found = gather(request.app.state.desk.session(dry=True), board, workload=workload)
            pictures = found.pictures
            plates = Plates(found.public, pictures.points, pictures.bands, pictures.jumpers)
            with tempfile.TemporaryDirectory(prefix="leadoff-publish-") as folder:
                Publisher(found.public, plates, new_place(folder)).page()
                packed = _zipped(Path(folder))
        except LeadoffError as error:
            return failure(request, "publish", error)
        headers = {"content-disposition": 'attachment; filename="leadoff-board.zip"'}
        return Response(packed, media_type="application/zip", headers=headers)

    return await run_in_threadpool(made)


def _zipped(folder: Path) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for file in sorted(f for f in folder.rglob("*") if f.is_file()):
            packed.write(file, file.relative_to(folder))
    return out.getvalue()
