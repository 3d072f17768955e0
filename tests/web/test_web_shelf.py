"""Buying, keeping, showing in a real browser, at the width of a phone."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pypdf
import pytest
from browsing import BENCH, phone
from playwright.sync_api import Browser, Page, expect
from starlette.testclient import TestClient
from web_bench import HEART, OWN, Served

from leadoff.loop.desk import Desk

pytestmark = pytest.mark.slow


def downloaded(page: Page, button: str, to: Path) -> bytes:
    with page.expect_download() as coming:
        page.get_by_role("button", name=button, exact=True).tap()
    coming.value.save_as(to)
    return to.read_bytes()


def test_a_parcel_that_was_sent_twice_is_kept_once(client: TestClient, desk: Desk) -> None:
    """A phone that lost its connection sends again: seller, parcel and place are one input of three entries."""
    data = {"parcel": "holds caps, from Marten Invented", "place": "box 3", "once": "shelf-1"}
    before = len(desk.book.entries())
    for _ in range(2):
        assert client.post(f"{BENCH}/shelf.json", data=data, headers=OWN).json()["ok"] is True
        assert len(desk.book.entries()) == before + 3
    (parcel,) = client.get(f"{BENCH}/shelf.json").json()["data"]["parcels"]
    assert (parcel["parcel"], parcel["seller"]) == ("p1", "Marten Invented")
    refused = client.post(f"{BENCH}/shelf.json", data={"place": " "}, headers=OWN)
    assert refused.json()["errors"][0]["code"] == "nothing_said"


def test_every_public_file_can_be_had(served: Served, browser: Browser, tmp_path: Path) -> None:
    """All in one zip, or the PDF, the label and the sale words each by itself; private things only when ticked."""
    device = phone(browser, served.address)
    page = device.page(f"{BENCH}/shelf")
    page.get_by_label("where it is now").fill("attic box nine")
    page.get_by_role("button", name="keep it").tap()
    expect(page.locator("#kept")).to_contain_text("attic box nine")
    page.goto(f"{served.address}{BENCH}/publish")
    before = len(served.desk.book.entries())
    with zipfile.ZipFile(io.BytesIO(downloaded(page, "make the files", tmp_path / "all.zip"))) as packed:
        names = set(packed.namelist())
        assert not any(b"attic box nine" in packed.read(n) for n in names)
    assert {"index.html", f"{HEART}.leadoff.json", f"{HEART}.pdf", "label.svg", "sale.txt"} <= names
    assert {"stills/record.png", "stills/record.svg", "stills/time.png", "stills/jumpers.svg"} <= names
    pdf = pypdf.PdfReader(io.BytesIO(downloaded(page, "only the PDF", tmp_path / "one.pdf")))
    assert HEART in pdf.pages[0].extract_text()
    assert b"<svg" in downloaded(page, "only the label", tmp_path / "one.svg")
    words = downloaded(page, "only the sale words", tmp_path / "one.txt").decode()
    assert words.index("What is wrong") < words.index("What was measured")
    page.locator("summary", has_text="put private things in").tap()
    page.get_by_label("places").check()
    for kind in ("the PDF", "stills for film, 1920 x 1080"):
        page.get_by_label(kind, exact=True).uncheck()
    with zipfile.ZipFile(io.BytesIO(downloaded(page, "make the files", tmp_path / "asked.zip"))) as packed:
        assert b"attic box nine" in packed.read("index.html")
        assert f"{HEART}.pdf" not in packed.namelist()
    assert len(served.desk.book.entries()) == before, "publishing keeps nothing"
    device.check()


def test_a_parcel_from_the_order_to_the_bid(served: Served, browser: Browser) -> None:
    """Kept on the board's own shelf page, due on the shelf, counted in the next offer, taken back by a touch."""
    device = phone(browser, served.address)
    page = device.page(f"{BENCH}/shelf")
    page.get_by_label("a parcel", exact=True).fill(
        "holds sram 32kx8, from Marten Invented, promised 400 days"
    )
    page.get_by_label("a part it waits for").fill("sram 32kx8")
    page.get_by_label("date codes").fill("u3 9347, u7 9412")
    page.get_by_role("button", name="keep it").tap()
    expect(page.locator("#said .understood")).to_contain_text("parcel p1")
    expect(page.locator("#kept")).to_contain_text("1994-03-21")
    expect(page.locator("#kept")).to_contain_text("due 2")
    expect(page.get_by_label("a parcel", exact=True)).to_have_value(
        ""
    )  # what is kept is not sent a second time
    page.get_by_label("date codes").fill("u3 9399")
    page.get_by_role("button", name="keep it").tap()
    expect(page.locator("#said .refused")).to_contain_text("week")
    page.goto(served.address + "/")
    expect(page.locator("#shelf")).to_contain_text("on the way")
    expect(page.locator("#shelf")).to_contain_text(f"unlocks {HEART}")
    expect(page.locator("#shelf")).to_contain_text("the next takes")
    page.goto(f"{served.address}/worth?asked=14&working=45&seller=Marten+Invented")
    expect(page.locator("#main, main").first).to_contain_text("surcharges of such parcels")
    expect(page.locator(".number")).to_contain_text("1 parcel of yours")
    device.check()
