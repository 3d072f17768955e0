"""The one input line: said back before it is kept, kept once, taken back, never overtaken."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient
from web_bench import DEAD, HEART, OWN

from leadoff.loop.desk import Desk


def say(client: TestClient, line: str, board: str = HEART, **more: Any) -> Any:
    return client.post(f"/board/{board}/say.json", data={"line": line, **more}, headers=OWN)


def count(desk: Desk) -> int:
    return len(desk.book.entries())


@pytest.mark.parametrize(
    ("line", "verb"),
    [
        ("bus 40", "move"),
        ("w4 10.4", "log"),
        ("hang memcount", "log"),
        ("fans spin, no video, no beeps", "sick"),
        ("vlb_ws 0, w4 10.4", "log"),
        ("sick no video", "sick"),
        ("log no video", "log"),
    ],
)
def test_words_find_their_verb(client: TestClient, desk: Desk, line: str, verb: str) -> None:
    before = count(desk)
    found = say(client, line, dry="1").json()
    assert found["ok"], found["errors"]
    assert found["data"]["taken_as"] == verb
    assert found["verb"] == verb
    assert count(desk) == before


def test_a_dead_board_hears_symptoms_first(client: TestClient) -> None:
    assert say(client, "no video", DEAD, dry="1").json()["data"]["taken_as"] == "sick"
    assert say(client, "no video", HEART, dry="1").json()["data"]["taken_as"] == "log"


def test_dry_says_what_keeping_would_say(client: TestClient, desk: Desk) -> None:
    dry = say(client, "w4 10.4 10.5", dry="1").json()["data"]
    kept = say(client, "w4 10.4 10.5").json()["data"]
    assert dry["understood"] == kept["understood"]
    assert dry["run"]["score"]["value"] == kept["run"]["score"]["value"]
    assert dry["run"]["number"] == kept["run"]["number"]
    assert len(kept["entries"]) == 1
    assert desk.book.get(kept["entries"][0]).kind == "run"


def test_doubt_keeps_nothing(client: TestClient, desk: Desk) -> None:
    before = count(desk)
    found = say(client, "23.5")
    assert found.status_code == 400
    assert found.json()["errors"][0]["code"] == "ask"
    assert count(desk) == before


def test_a_state_that_cannot_be_set(client: TestClient, desk: Desk) -> None:
    before = count(desk)
    found = say(client, "bus 95")
    assert found.status_code == 400
    assert found.json()["data"]["moves"] == []
    assert found.json()["data"]["nearest"]
    assert count(desk) == before


def test_sent_twice_kept_once(client: TestClient, desk: Desk) -> None:
    first = say(client, "w4 10.4", once="phone-1").json()["data"]["entries"]
    after = count(desk)
    assert say(client, "w4 10.4", once="phone-1").json()["data"]["entries"] == first
    assert count(desk) == after
    assert say(client, "w4 10.4", once="phone-2").json()["data"]["entries"] != first


def test_undo_names_its_own_entries(client: TestClient, desk: Desk) -> None:
    mine = say(client, "w4 10.4").json()["data"]
    say(client, "w4 11.9")
    found = client.post("/undo.json", data={"entry": mine["entries"]}, headers=OWN).json()
    assert [u["entry"] for u in found["data"]["undone"]] == mine["entries"]
    runs = [r["number"] for r in client.get(f"/board/{HEART}.json").json()["data"]["runs"]]
    assert mine["run"]["number"] not in runs
    # and an undo can itself be taken back
    back = client.post("/undo.json", data={"entry": found["data"]["entries"]}, headers=OWN)
    assert back.status_code == 200, back.text
    runs = [r["number"] for r in client.get(f"/board/{HEART}.json").json()["data"]["runs"]]
    assert mine["run"]["number"] in runs


def test_a_waiting_result_is_not_overtaken(client: TestClient, desk: Desk) -> None:
    """A result typed before a forecast was sealed, sent after it: the forecast was not sealed before it."""
    heads = client.get(f"/board/{HEART}.json").json()["data"]["heads"]
    sealed = client.post(f"/board/{HEART}/seal.json", data={}, headers=OWN).json()
    assert sealed["ok"], sealed["errors"]
    late = say(client, "w4 10.4", once="p1", seen=" ".join(heads), age_s="600").json()["data"]
    assert late["forecast"]["number"] == sealed["data"]["number"]
    assert late["forecast"]["sealed_before"] is False
    assert not desk.book.is_before(sealed["data"]["entry"], late["entries"][0])
    # the same words from a page that showed the forecast are after it
    fresh = " ".join(client.get(f"/board/{HEART}.json").json()["data"]["heads"])
    seen = say(client, "w4 10.4", once="p2", seen=fresh).json()["data"]
    assert seen["forecast"]["sealed_before"] is True


def test_a_stale_page_without_a_forecast_between_stays_on_the_chain(client: TestClient, desk: Desk) -> None:
    heads = " ".join(client.get(f"/board/{HEART}.json").json()["data"]["heads"])
    say(client, "w4 10.3", once="a", seen=heads)
    say(client, "w4 10.4", once="b", seen=heads)
    assert len(desk.heads()) == 1


def test_an_input_counts_from_when_it_was_entered(client: TestClient, desk: Desk) -> None:
    entry = say(client, "w4 10.4", age_s="7200").json()["data"]["entries"][0]
    at = datetime.fromisoformat(desk.book.get(entry).at)
    assert abs(datetime.now(UTC) - timedelta(hours=2) - at) < timedelta(seconds=30)


@pytest.mark.parametrize("age", ["-1", "nan", "1e30", "soon"])
def test_no_age(client: TestClient, desk: Desk, age: str) -> None:
    before = count(desk)
    found = say(client, "w4 10.4", age_s=age)
    assert found.status_code == 400
    assert found.json()["errors"][0]["code"] == "age"
    assert count(desk) == before


def test_heads_that_this_book_never_had(client: TestClient, desk: Desk) -> None:
    before = count(desk)
    found = say(client, "w4 10.4", seen="f" * 64)
    assert found.status_code == 400
    assert found.json()["errors"][0]["code"] == "unknown_seen"
    assert count(desk) == before


def test_a_paste_into_the_line(client: TestClient) -> None:
    found = say(client, "w4 10.4 " * 600)
    assert found.status_code == 400
    assert found.json()["errors"][0]["code"] == "too_long"


def test_back_to_the_last_good_state(client: TestClient) -> None:
    assert say(client, "bus 33").json()["data"]["moves"]
    good = client.get(f"/board/{HEART}.json").json()["data"]["last_good"]
    assert good["number"]
    found = say(client, f"back to {good['number']}", dry="1").json()
    assert found["data"]["taken_as"] == "move"
    assert any("jp1" in m["what"] for m in found["data"]["moves"])


def test_without_script(client: TestClient, desk: Desk) -> None:
    """A plain form: read first, with a button that keeps; kept, it goes back to the page."""
    home = {"Origin": "http://127.0.0.1:8486"}
    read = client.post(f"/board/{HEART}/say", data={"line": "w4 10.4", "dry": "1"}, headers=home)
    assert read.status_code == 200
    assert "understood" in read.text
    assert 'class="one keepit noscript"' in read.text
    kept = client.post(f"/board/{HEART}/say", data={"line": "w4 10.4"}, headers=home)
    assert kept.status_code == 303
    assert kept.headers["location"] == f"/board/{HEART}"


def test_film_mark(client: TestClient, desk: Desk) -> None:
    found = client.post(f"/board/{HEART}/film.json", data={"text": "first light"}, headers=OWN).json()
    assert desk.book.get(found["data"]["entry"]).kind == "mark"
    rows = client.get(f"/board/{HEART}/story.json").json()["data"]["rows"]
    assert any(r["what"] == "film mark" and r["text"] == "first light" for r in rows)


def test_sweep_by_paste(client: TestClient) -> None:
    text = "8K 10.2us/KB, 16K 10.3, 32K 26.1, 64K 26.0, 128K 26.1, 256K 26.2, 512K 36.3, 1024K 36.4"
    found = client.post(f"/board/{HEART}/sweep.json", data={"text": text}, headers=OWN)
    assert found.status_code == 200, found.text
    levels = found.json()["data"]["levels"]
    assert [round(level["us_per_kb"]["value"], 0) for level in levels] == [10, 26, 36]
    assert client.get(f"/board/{HEART}/picture/sweep.svg").status_code == 200


def test_verify_and_backup(client: TestClient, desk: Desk) -> None:
    found = client.post("/book/verify.json", headers=OWN).json()
    assert found["ok"]
    assert found["data"]["faults"] == []
    made = client.post("/book/backup.json", headers=OWN).json()
    assert made["ok"], made["errors"]
    zipped = client.post("/book/export", headers=OWN)
    assert zipped.content[:2] == b"PK"


def record(client: TestClient) -> Any:
    rows = client.get("/shelf.json").json()["data"]["boards"]
    return next(r["record"] for r in rows if r["board"] == HEART)


def test_a_state_that_hung_holds_no_record_on_the_bench(client: TestClient) -> None:
    """As in the standings: the best score of a state that hung is none."""
    before = record(client)
    say(client, f"back to {before['number']}")
    assert say(client, f"{before['workload']} hang").json()["ok"]
    after = record(client)
    assert after is None or after["number"] != before["number"]
