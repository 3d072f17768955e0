"""One result as a page, as a part of one, or as the JSON twin."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.types import Scope

from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.results import Result
from leadoff.show.pages.render import page, part

STATUS = {
    "board_unknown": 404,
    "run_unknown": 404,
    "no_such_entry": 404,
    "no_such_file": 404,
    "no_sweep": 404,
    "picture_unknown": 404,
    "not_found": 404,
    "photo_large": 413,
    "photo_kind": 415,
    "book_locked": 503,
}
TITLES = {401: "not paired", 403: "not from here", 404: "not there", 405: "not that way", 413: "too much"}


def status_of(result: Result) -> int:
    """The HTTP status that goes with a result; a refused wish is the user's case."""
    if result.ok:
        return 200
    return STATUS.get(result.errors[0].code, 400) if result.errors else 400


def as_json(result: Result, status: int | None = None) -> Response:
    """The contract's envelope."""
    code = status if status is not None else status_of(result)
    return Response(result.json(), code, media_type="application/json")


def as_page(template: str, result: Result, *, asks: bool = False, **more: Any) -> Response:
    """The page; a result that failed has a page that says what to do, its own where that page ``asks`` again."""
    status = status_of(result)
    if result.ok or result.data or (asks and status == 400):
        return HTMLResponse(page(template, result, **more), status)
    return refused_page(result, status, more.get("back"))


def as_part(template: str, block: str, result: Result, **more: Any) -> Response:
    """One block of a page. What is refused stands in it, so its status is good unless it may be sent again."""
    status = status_of(result)
    return HTMLResponse(part(template, block, result, **more), status if status >= 500 else 200)


def refused_page(result: Result, status: int, back: str | None = None) -> Response:
    """Why not, and what to do."""
    text = page("refused", result, title=TITLES.get(status, "that did not work"), back=back)
    return HTMLResponse(text, status)


def failure(request: Request, verb: str, error: LeadoffError) -> Response:
    """An error of the user's as page, part or JSON, as the request asked."""
    result = Result(verb=verb, ok=False, errors=error.problems)
    if wants_json(request.scope):
        return as_json(result)
    return refused_page(result, status_of(result))


def refusal(scope: Scope, status: int, code: str, text: str, do: str) -> Response:
    """A request that is turned away before it reaches a verb."""
    result = Result(verb="", ok=False, errors=(Problem(code=code, text=text, do=do),))
    return as_json(result, status) if wants_json(scope) else refused_page(result, status)


def wants_json(scope: Scope) -> bool:
    """The address ends in ``.json``, or the client takes nothing else."""
    if scope["path"].endswith(".json"):
        return True
    return Headers(scope=scope).get("accept", "").strip().startswith("application/json")
