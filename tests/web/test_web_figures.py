"""What fits and volts, heat: pages that need no board, and what the ailing page leaves to the rarer causes."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient
from web_bench import DEAD


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_every_example_of_the_page_works_and_shows_the_figures_of_its_twin(calm: TestClient) -> None:
    topics = calm.get("/electric.json").json()["data"]["topics"]
    assert len(topics) >= 10
    for topic in topics:
        made = calm.get("/electric.json", params={"words": topic["example"]}).json()
        assert made["ok"], topic
        page = words(calm.get("/electric", params={"words": topic["example"]}).text)
        assert all(f["name"] in page for f in made["data"]["results"])
        assert all(text in page for text in made["data"]["says"])
        assert made["data"]["source"] in page


def test_what_fits_says_the_verdict_its_condition_and_how_to_know(calm: TestClient) -> None:
    page = words(calm.get("/substitute", params={"words": "64-byte for 128-byte clock module"}).text)
    assert "only if 64-byte module, in place of 128-byte module" in page
    assert "the firmware keeps no set-up in 40h to 7Fh" in page
    assert "shown by read 40h to 7Fh" in page
    assert page.count("due again about") == 3


@pytest.mark.parametrize(("path", "hint"), [("/electric", "heat"), ("/substitute", "clock module")])
def test_what_no_table_has_is_said_on_the_page(calm: TestClient, path: str, hint: str) -> None:
    answer = calm.get(path, params={"words": "<b>flux</b>"})
    assert "<b>flux</b>" not in answer.text
    assert not calm.get(f"{path}.json", params={"words": "<b>flux</b>"}).json()["ok"]
    assert hint in words(answer.text)


def test_the_ailing_page_leaves_nothing_out_of_the_whole(calm: TestClient) -> None:
    """The chances on the page and the rest that it names make one, to rounding and what is under half a percent."""
    made = calm.get(f"/board/{DEAD}/sick.json").json()["data"]
    page = words(calm.get(f"/board/{DEAD}/sick").text)
    shown = sum(c["p_cause"] for c in made["explanations"][:6])
    rarer = 1 - shown - made["other_p"]
    assert ("one of the rarer causes, alone" in page) == (rarer >= 0.005)
    assert ("several causes together" in page) == (made["several_p"] >= 0.005)
    assert ("something that is in no table" in page) == (made["unlisted_p"] >= 0.005)
    assert rarer >= 0.005
