"""Somebody's public file by a page: checked first, compared, loaded when told, taken back; and the page of proof."""

from __future__ import annotations

import io
import json
import zipfile

import pytest
from starlette.testclient import TestClient
from web_bench import DEAD, HEART, OWN

from leadoff.loop.desk import Desk

HOME = {"Origin": "http://127.0.0.1:8486"}


@pytest.fixture(scope="module")
def public(calm: TestClient) -> bytes:
    """The data file of the demo board, as its own page makes it."""
    packed = calm.post(f"/board/{HEART}/publish", headers=HOME).content
    with zipfile.ZipFile(io.BytesIO(packed)) as files:
        return files.read(f"{HEART}.leadoff.json")


def sent(data: bytes, name: str = "theirs.leadoff.json") -> dict[str, tuple[str, bytes]]:
    return {"file": (name, data)}


def test_checked_compared_loaded_and_taken_back(client: TestClient, desk: Desk, public: bytes) -> None:
    before = len(desk.book.entries())
    checked = client.post("/repeat.json", files=sent(public), headers=OWN).json()
    assert checked["ok"], checked["errors"]
    assert checked["data"]["faults"] == []
    assert checked["data"]["loaded"] is None
    held = checked["data"]["held"]
    beside = client.post("/repeat.json", data={"held": held, "against": DEAD}, headers=OWN).json()["data"]
    assert beside["against"]["board"] == DEAD
    assert any(d["setting"] == "bus_mhz" for d in beside["against"]["differs"])
    assert len(desk.book.entries()) == before
    # loading wins over comparing, and the name is the sender's
    more = {"held": held, "against": DEAD, "add": "1", "name": "their-486"}
    loaded = client.post("/repeat.json", data=more, headers=OWN).json()["data"]["loaded"]
    assert loaded["board"] == "their-486"
    assert client.get("/board/their-486.json").json()["data"]["runs_in_all"] == loaded["runs"] > 0
    undone = client.post("/undo.json", data={"entry": loaded["ids"]}, headers=OWN)
    assert undone.status_code == 200, undone.text
    assert client.get("/board/their-486").status_code == 404


def test_pages_of_it(client: TestClient, public: bytes) -> None:
    page = client.post("/repeat", files=sent(public), headers=HOME)
    assert page.status_code == 200
    assert "its hashes fit" in page.text
    assert f'value="{HEART}-theirs"' in page.text, "a name that is free is offered"
    told = client.post("/repeat", files=sent(public), headers={**OWN, "Accept": "text/html"})
    assert told.status_code == 200


def test_a_changed_file_is_named_and_not_loaded(client: TestClient, desk: Desk, public: bytes) -> None:
    before = len(desk.book.entries())
    plain = json.loads(public)
    plain["shown"]["score"]["value"] += 1
    page = client.post("/repeat", data={"add": "1"}, files=sent(json.dumps(plain).encode()), headers=HOME)
    assert page.status_code == 400
    assert ">changed<" in page.text
    assert "get the file again" in page.text
    assert 'name="add"' not in page.text
    assert len(desk.book.entries()) == before


@pytest.mark.parametrize("data", [b"\x89PNG", b"{}", b"[" * 5000, "\ud83d".encode("utf-8", "surrogatepass")])
def test_no_public_file(calm: TestClient, data: bytes) -> None:
    found = calm.post("/repeat.json", files=sent(data, "../../etc/x.json"), headers=OWN)
    assert found.status_code == 400
    [problem] = found.json()["errors"]
    assert problem["code"] == "public_file"
    assert problem["text"].startswith("x.json "), "where the server holds it is not the sender's business"


@pytest.mark.reference
def test_proof_of_none_in_sixty(calm: TestClient) -> None:
    """None of 60: below 4.9 % at 95 %, 1 - 0.05 ** (1 / 60), the rule of three's exact form (Hanley and
    Lippman-Hand, JAMA 1983, from memory).
    """
    found = calm.get("/proof.json", params={"text": "0/60"}).json()["data"]
    assert found["below_one_sided_95"] == pytest.approx(1 - 0.05 ** (1 / 60), rel=1e-6)
    assert "4.9" in calm.get("/proof", params={"text": "0/60"}).text


@pytest.mark.parametrize(
    ("asked", "kind"),
    [
        ({"text": "61.2 61.5 61.3 vs 61.6 61.3 61.8"}, "difference"),
        ({"difference_pct": "0,5", "workload": "w2"}, "needed"),
        ({"below_pct": "1 %"}, "clean_needed"),
    ],
)
def test_the_other_questions(calm: TestClient, asked: dict[str, str], kind: str) -> None:
    assert calm.get("/proof.json", params=asked).json()["data"]["kind"] == kind
    assert 'class="big' in calm.get("/proof", params=asked).text


@pytest.mark.parametrize(
    "asked", [{"text": "well"}, {"below_pct": "lots"}, {"difference_pct": "0"}, {"text": "9/3"}]
)
def test_no_question_of_proof(calm: TestClient, asked: dict[str, str]) -> None:
    page = calm.get("/proof", params=asked)
    assert page.status_code == 400
    assert "<b>no</b>" in page.text
    assert "what the sealed forecasts have earned" in page.text
