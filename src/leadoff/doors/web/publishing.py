"""A board's public files, made when somebody asks for them: one file as it is, several as a zip. Nothing is kept."""

from __future__ import annotations

import io
import mimetypes
import tempfile
import zipfile
from collections.abc import Sequence
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from leadoff.doors.web.answers import failure
from leadoff.loop.publishing import PRIVATE, gather, new_place
from leadoff.record.errors import LeadoffError
from leadoff.show.pages.addresses import board_name
from leadoff.show.report.plates import Plates
from leadoff.show.report.write import KINDS, Publisher

ALONE = {"paper": ".pdf", "label": "label.svg", "sale": "sale.txt"}
"""Kinds that are one file, by the end of its name."""
NOT_MADE = "not-made.txt"


async def publish(request: Request) -> Response:
    """``kind``: what to make, the page where nothing is said; ``with``: private things that were asked for;
    ``clear``: stills without ground; ``one``: that kind alone, as the file it is."""
    board = board_name(str(request.path_params["board"]))
    async with request.form(max_fields=30, max_files=0) as form:
        workload = str(form.get("workload", "")) or None
        one = str(form.get("one", ""))
        asked = [str(v) for v in form.getlist("kind")]
        kinds = [one] if one in ALONE else [k for k in KINDS if k in asked] or ["page"]
        ask = [p for p in PRIVATE if p in form.getlist("with")]
        clear = bool(form.get("clear"))

    def made() -> Response:
        try:
            session = request.app.state.desk.session(dry=True)
            found = gather(session, board, workload=workload, ask=ask)
            pictures = found.pictures
            plates = Plates(found.public, pictures.points, pictures.bands, pictures.jumpers)
            with tempfile.TemporaryDirectory(prefix="leadoff-publish-") as folder:
                place = new_place(folder)
                out = Publisher(found.public, plates, place, clear=clear)
                for kind in kinds:
                    getattr(out, kind)()
                if one in ALONE:
                    return _single(place, one, out.left_out)
                if out.left_out:
                    text = "".join(f"{what}: {why}\n" for what, why in out.left_out)
                    (place / NOT_MADE).write_text(text, encoding="utf-8")
                return _sent("leadoff-board.zip", _zipped(place))
        except LeadoffError as error:
            return failure(request, "publish", error)

    return await run_in_threadpool(made)


def _single(place: Path, kind: str, left_out: Sequence[tuple[str, str]]) -> Response:
    if left_out:
        what, why = left_out[0]
        raise LeadoffError.one("not_made", f"{what} was not made: {why}", do="make the page instead")
    path = next(f for f in sorted(place.iterdir()) if f.name.endswith(ALONE[kind]))
    return _sent(f"leadoff-{kind}{path.suffix}", path.read_bytes())


def _sent(name: str, data: bytes) -> Response:
    kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
    headers = {"content-disposition": f'attachment; filename="{name}"', "x-content-type-options": "nosniff"}
    return Response(data, media_type=kind, headers=headers)


def _zipped(folder: Path) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for file in sorted(f for f in folder.rglob("*") if f.is_file()):
            packed.write(file, file.relative_to(folder))
    return out.getvalue()
