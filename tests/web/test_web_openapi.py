"""The OpenAPI description is true: schemathesis sends what it allows, and checks every answer against it."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
import schemathesis
from hypothesis import HealthCheck, given, seed, settings
from schemathesis.checks import CHECKS as REGISTERED
from schemathesis.checks import load_all_checks
from schemathesis.core.failures import FailureGroup
from web_bench import HEART, OWN, Served

from leadoff.doors.web.openapi import description
from leadoff.doors.web.reads import READS
from leadoff.doors.web.writes import WRITES

DESCRIBED = json.loads(description())
SCHEMA = schemathesis.openapi.from_dict(DESCRIBED)
ASKED = [
    (path, method, board)
    for path, methods in DESCRIBED["paths"].items()
    for method in methods
    for board in ((None, HEART) if "{board}" in path else (None,))
]
"""Every operation; one that names a board with boards made up, and with one that is there."""
NAMES = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_schema_conformance",
    "response_headers_conformance",
)
load_all_checks()
CHECKS = [REGISTERED.get_one(name) for name in NAMES]
QUIET = settings(max_examples=10, deadline=None, database=None, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def address(template: object, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    made = Served(template, tmp_path_factory.mktemp("api")).start()  # type: ignore[arg-type]
    yield made.address
    made.stop()


@pytest.mark.slow
@pytest.mark.parametrize(("path", "method", "board"), ASKED, ids=lambda v: str(v))
def test_any_request(address: str, path: str, method: str, board: str | None) -> None:
    """Boards that are not there, words that mean nothing: a described answer, never a crash."""
    asked = 0

    @seed(486)
    @QUIET
    @given(case=SCHEMA[path][method].as_strategy())
    def send(case: schemathesis.Case) -> None:
        nonlocal asked
        if board is not None:
            case.path_parameters["board"] = board
        case.call_and_validate(base_url=address, headers=OWN, checks=CHECKS)
        asked += 1

    send()
    assert asked > 0


def test_a_description_that_is_not_true_is_found(address: str) -> None:
    """The same checks fail once the description leaves out what a board that is not there answers."""
    wrong = json.loads(description())
    del wrong["paths"]["/board/{board}.json"]["get"]["responses"]["404"]
    operation = schemathesis.openapi.from_dict(wrong)["/board/{board}.json"]["get"]
    case = operation.Case(path_parameters={"board": "nobody"})
    with pytest.raises(FailureGroup, match=r"404|status code"):
        case.call_and_validate(base_url=address, headers=OWN, checks=CHECKS)


def test_every_address_is_described() -> None:
    paths = DESCRIBED["paths"]
    twins = {"/shelf.json" if r.path == "/" else f"{r.path}.json" for r in READS}
    assert twins | {f"{w.path}.json" for w in WRITES} == set(paths)
    assert all("post" in paths[f"{w.path}.json"] for w in WRITES)
    for row in READS:
        at = paths["/shelf.json" if row.path == "/" else f"{row.path}.json"]["get"]
        assert {p["name"] for p in at["parameters"] if p["in"] == "query"} == set(row.query)
