"""Every page and its twin: there, whole, small, asking nobody else, writing nothing."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient
from web_bench import DEAD, HEART

from leadoff.doors.web.reads import READS
from leadoff.loop.desk import Desk

ENVELOPE = {"leadoff", "verb", "ok", "head", "data", "marks", "errors"}
PATHS = [r.path.replace("{board}", HEART) for r in READS] + [f"/board/{DEAD}", f"/board/{DEAD}/sick"]


def twin(path: str) -> str:
    return "/shelf.json" if path == "/" else f"{path}.json"


@pytest.mark.parametrize("path", PATHS)
def test_page_and_twin(client: TestClient, path: str) -> None:
    page, made = client.get(path), client.get(twin(path))
    assert page.status_code == made.status_code == 200, page.text[-400:]
    assert page.headers["content-type"].startswith("text/html")
    body = made.json()
    assert set(body) == ENVELOPE
    assert body["leadoff"] == 1
    assert body["ok"]
    # the page carries the head that its twin names, so both are of one moment
    assert f'data-head="{body["head"]}"' in page.text


@pytest.mark.parametrize("path", PATHS)
def test_nothing_from_outside(client: TestClient, path: str) -> None:
    text = client.get(path).text
    found = re.findall(r'(?:src|href|action|data-load|data-picture)="([^"]+)"', text)
    assert found
    assert [a for a in found if not a.startswith(("/", "#"))] == []
    assert "<script>" not in text
    assert " onclick" not in text


def test_reading_writes_nothing(client: TestClient, desk: Desk) -> None:
    """No write by GET: every address that can be read leaves the journal as it was."""
    before = [e.id for e in desk.book.entries()]
    for path in PATHS:
        client.get(path)
        client.get(twin(path))
    for path in ("/openapi.json", f"/board/{HEART}/picture/record.svg", "/pair", "/board/none"):
        client.get(path)
    assert [e.id for e in desk.book.entries()] == before


def test_weight_without_charts(client: TestClient) -> None:
    """Goal of 60 KB for a page with its style and script, not compressed."""
    for path in PATHS:
        text = client.get(path).text
        weight = len(text.encode())
        parts = set(re.findall(r'"(/static/[^"]+)"', text))
        assert parts
        base = next(iter(parts)).rsplit("/", 1)[0]
        parts |= {f"{base}/{name}.js" for name in ("queue", "say", "live", "ticks", "pictures")}
        for asset in parts:
            found = client.get(asset)
            assert found.status_code == 200, asset
            weight += len(found.content)
        assert weight < 60_000, (path, weight)


def test_unknown_board_says_which_there_are(client: TestClient) -> None:
    page = client.get("/board/nobody")
    assert page.status_code == 404
    assert HEART in page.text
    made = client.get("/board/nobody.json")
    assert made.status_code == 404
    assert made.json()["errors"][0]["code"] == "board_unknown"
    assert made.json()["errors"][0]["do"]


def test_unknown_page(client: TestClient) -> None:
    assert client.get("/no/such").status_code == 404
    assert client.get("/no/such.json").json()["errors"][0]["code"] == "not_found"


def test_state_stands_in_order_of_trust(client: TestClient) -> None:
    """Known before assumed before unknown, and no page cut by the kind of part."""
    text = client.get("/board/office-s7").text
    places = [text.index(f"<summary>{word} ") for word in ("known", "assumed", "unknown")]
    assert places == sorted(places)


def test_no_standings_before_there_are_claims(client: TestClient) -> None:
    assert client.get("/standings").status_code == 404
    assert "standings" not in client.get("/").text


@pytest.mark.parametrize("name", ["record", "jumpers", "slack"])
def test_pictures_have_a_sentence_on_every_mark(client: TestClient, name: str) -> None:
    found = client.get(f"/board/{HEART}/picture/{name}.svg")
    assert found.status_code == 200, found.text[:300]
    assert found.headers["content-type"] == "image/svg+xml"
    labels = re.findall(r'role="graphics-symbol"[^>]*aria-label="([^"]+)"', found.text)
    assert labels or re.findall(r'aria-label="([^"]+)"[^>]*role="graphics-symbol"', found.text)


def test_still_is_full_size(client: TestClient) -> None:
    import io

    from PIL import Image

    found = client.get(f"/board/{HEART}/picture/record.png")
    assert found.status_code == 200
    assert Image.open(io.BytesIO(found.content)).size == (1920, 1080)


def test_picture_of_nothing(client: TestClient) -> None:
    found = client.get(f"/board/{HEART}/picture/portrait.svg")
    assert found.status_code == 404
    assert "record" in found.text


def test_forecast_of_choices_that_cannot_be_set(client: TestClient) -> None:
    """Refused with every cause and the nearest; the choices stay on the page."""
    found = client.get(f"/board/{HEART}/forecast", params={"want": ["bus 95"]})
    assert found.status_code == 400
    assert "nearest" in found.text
    assert "<select" in found.text
