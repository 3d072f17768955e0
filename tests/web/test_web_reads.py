"""Every page and its twin: there, whole, small, asking nobody else, writing nothing."""

from __future__ import annotations

import re
from typing import Any

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
def test_page_and_twin(calm: TestClient, path: str) -> None:
    page, made = calm.get(path), calm.get(twin(path))
    assert page.status_code == made.status_code == 200, page.text[-400:]
    assert page.headers["content-type"].startswith("text/html")
    body = made.json()
    assert set(body) == ENVELOPE
    assert body["leadoff"] == 1
    assert body["ok"]
    # the page carries the head that its twin names, so both are of one moment
    assert f'data-head="{body["head"]}"' in page.text


@pytest.mark.parametrize("path", PATHS)
def test_nothing_from_outside(calm: TestClient, path: str) -> None:
    text = calm.get(path).text
    found = re.findall(r'(?:src|href|action|data-load|data-picture)="([^"]+)"', text)
    assert found
    assert [a for a in found if not a.startswith(("/", "#"))] == []
    assert "<script>" not in text
    assert " onclick" not in text


def test_reading_writes_nothing(calm: TestClient) -> None:
    """No write by GET: every address that can be read leaves the journal as it was."""
    desk: Desk = calm.app.state.desk  # type: ignore[attr-defined]
    before = [e.id for e in desk.book.entries()]
    for path in PATHS:
        calm.get(path)
        calm.get(twin(path))
    for path in ("/openapi.json", f"/board/{HEART}/picture/record.svg", "/pair", "/board/none"):
        calm.get(path)
    assert [e.id for e in desk.book.entries()] == before


def test_weight_without_charts(calm: TestClient) -> None:
    """Goal of 60 KB for a page with its style and script, not compressed."""
    for path in PATHS:
        text = calm.get(path).text
        weight = len(text.encode())
        parts = set(re.findall(r'"(/static/[^"]+)"', text))
        assert parts
        base = next(iter(parts)).rsplit("/", 1)[0]
        parts |= {
            f"{base}/{name}.js"
            for name in ("queue", "say", "live", "ticks", "pictures", "drop", "photos", "choose")
        }
        for asset in parts:
            found = calm.get(asset)
            assert found.status_code == 200, asset
            weight += len(found.content)
        assert weight < 60_000, (path, weight)


def test_unknown_board_says_which_there_are(calm: TestClient) -> None:
    page = calm.get("/board/nobody")
    assert page.status_code == 404
    assert HEART in page.text
    made = calm.get("/board/nobody.json")
    assert made.status_code == 404
    assert made.json()["errors"][0]["code"] == "board_unknown"
    assert made.json()["errors"][0]["do"]


def test_unknown_page(calm: TestClient) -> None:
    assert calm.get("/no/such").status_code == 404
    assert calm.get("/no/such.json").json()["errors"][0]["code"] == "not_found"


def test_state_stands_in_order_of_trust(calm: TestClient) -> None:
    """Known before assumed before unknown, and no page cut by the kind of part."""
    text = calm.get("/board/office-s7").text
    places = [text.index(f"<summary>{word} ") for word in ("known", "assumed", "unknown")]
    assert places == sorted(places)


def test_standings_of_one_workload(calm: TestClient) -> None:
    """Ranks as the twin has them, each row with its interval, and what stands in no ranking."""
    made = calm.get("/standings.json", params={"workload": "w4"}).json()["data"]
    page = calm.get("/standings", params={"workload": "w4"}).text
    assert [g["workload"] for g in made["groups"]] == ["w4"]
    rows = made["groups"][0]["rows"]
    assert len(rows) >= 3
    for row in rows:
        assert row["score"]["lo"] < row["score"]["value"] < row["score"]["hi"]
        assert f'<b class="name">{row["board"]}</b>' in page
    assert page.count('class="span"') == len(rows)
    assert page.count("not ranked") == 1
    unknown = calm.get("/standings.json", params={"workload": "none"})
    assert unknown.status_code == 400
    assert unknown.json()["errors"][0]["code"] == "workload_unknown"


def test_a_higher_grade_ranks_fewer(calm: TestClient) -> None:
    """Nothing in the demo book was soaked: asked for that, every score stands under "not ranked"."""

    def groups(least: str) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = calm.get("/standings.json", params={"least": least}).json()["data"][
            "groups"
        ]
        return found

    low, high = groups("finishes"), groups("soaked")
    ranked = sum(len(g["rows"]) for g in low)
    assert ranked > 10
    assert sum(len(g["rows"]) for g in high) == 0
    assert sum(len(g["kept_out"]) for g in high) > sum(len(g["kept_out"]) for g in low)
    assert all(r["grade"] != "finishes" for g in groups("repeats") for r in g["rows"])


PICTURES = [
    f"/board/{HEART}/picture/{n}" for n in ("record", "forecasts", "jumpers", "slack", "ladder", "timeline")
]
PICTURES += [f"/board/{HEART}/picture/split"]
PICTURES += ["/picture/standings"]


@pytest.mark.parametrize("path", PICTURES)
def test_pictures_have_a_sentence_on_every_mark(calm: TestClient, path: str) -> None:
    found = calm.get(f"{path}.svg")
    assert found.status_code == 200, found.text[:300]
    assert found.headers["content-type"] == "image/svg+xml"
    marks = re.findall(r"<[^>]*role=\"graphics-symbol\"[^>]*>", found.text)
    drawn = [m for m in marks if 'aria-roledescription="' in m and "axis" not in m and "title" not in m]
    assert drawn
    assert [m for m in drawn if not re.search(r'aria-label="[^"]{3,}"', m)] == []


@pytest.mark.parametrize("path", PICTURES)
def test_still_is_full_size(calm: TestClient, path: str) -> None:
    import io

    from PIL import Image

    found = calm.get(f"{path}.png")
    assert found.status_code == 200, found.text[:300]
    picture = Image.open(io.BytesIO(found.content))
    assert picture.size == (1920, 1080)
    assert len(picture.convert("RGB").getcolors(1 << 24) or ()) > 20


def test_picture_of_nothing(calm: TestClient) -> None:
    for path, there in (
        (f"/board/{HEART}/picture/portrait.svg", "record"),
        ("/picture/portrait.svg", "standings"),
    ):
        found = calm.get(path)
        assert found.status_code == 404
        assert there in found.text
    assert calm.get("/picture/standings.gif").status_code == 404
    assert calm.get("/picture/standings.svg", params={"workload": "w4", "least": "soaked"}).status_code == 404


def test_forecast_of_choices_that_cannot_be_set(calm: TestClient) -> None:
    """Refused with every cause and the nearest; the choices stay on the page."""
    found = calm.get(f"/board/{HEART}/forecast", params={"want": ["bus 95"]})
    assert found.status_code == 400
    assert "nearest" in found.text
    assert "<select" in found.text


def test_the_shelf_says_what_waits(client: TestClient, desk: Desk) -> None:
    """Where a board is, what it waits for, and what one order unlocks, beside what it needs next."""
    from leadoff.loop.shelving import Said, shelf

    shelf(desk.session(), HEART, Said(place="box 3", waits=("sram 32kx8 15 ns",)))
    page = client.get("/").text
    assert "box 3" in page
    assert "waits for sram 32kx8 15 ns" in page
    assert f"unlocks {HEART}" in page
    row = next(b for b in client.get("/shelf.json").json()["data"]["boards"] if b["board"] == HEART)
    assert row["place"] == "box 3"
    assert row["needs"]["what"]


def test_a_drawing_child_that_died_is_replaced(calm: TestClient) -> None:
    """As of want of memory: the next picture is drawn all the same."""
    from leadoff.show.charts import render

    path = f"/board/{HEART}/picture/record.svg"
    before = calm.get(path).content
    for process in list(render.child()._processes.values()):
        process.kill()
        process.join()
    render._svg.cache_clear()
    assert calm.get(f"{path}?workload=w4").content == before
