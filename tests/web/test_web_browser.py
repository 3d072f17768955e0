"""The page in a real browser, in use: the loop by touch, two devices, a cut connection, no pointer, no script."""

from __future__ import annotations

import html
import json
import re
import zipfile
from pathlib import Path

import pytest
from browsing import BENCH, PAGES, Watched, enter, labels, nothing_waits, phone, runs_in_all
from playwright.sync_api import Browser, expect
from web_bench import DEAD, HEART, Served

pytestmark = pytest.mark.slow


def test_the_whole_loop_by_touch(alone: Served, browser: Browser) -> None:
    """State, what now, forecast sealed, moves ticked, set, run logged, taken back, on a phone."""
    device = phone(browser, alone.address)
    page = device.page("/")
    page.locator(f"a[href='{BENCH}']").tap()
    expect(page.locator("h1")).to_contain_text(HEART)
    act = page.locator("#now details.act").filter(has=page.locator(".moves")).first
    act.wait_for()
    if act.get_attribute("open") is None:
        act.locator("summary").tap()
    act.get_by_role("button", name="seal its forecast").tap()
    expect(page.locator("#said .understood")).to_contain_text("sealed")
    act = page.locator("#now details.act").filter(has=page.locator(".moves")).first
    act.locator("label").first.tap()
    expect(act.locator(".tick").first).to_be_checked()
    page.reload()
    again = page.locator("#now details.act").filter(has=page.locator(".moves")).first
    again.wait_for()
    expect(again.locator(".tick").first).to_be_checked()
    if again.get_attribute("open") is None:
        again.locator("summary").tap()
    again.get_by_role("button", name="it is set").tap()
    expect(page.locator("#said .understood")).to_contain_text("kept as move")
    expect(page.locator("#number .foretold").first).to_have_text("foretold")
    enter(page, "w4 10.9 10.9")
    expect(page.locator("#said")).to_contain_text("sealed before this run")
    expect(page.locator("#number .over .measured")).to_have_text("measured")
    expect(page.locator("#number .digits")).to_have_text(re.compile(r"^10\.9"))
    expect(page.locator("#runs li").first).to_contain_text("10.9 10.9 frames/s")
    enter(page, "w4 10.8")
    expect(page.locator("#number .digits")).to_have_text("10.8")
    page.locator("#said").get_by_role("button", name="undo this").tap()
    expect(page.locator("#said .understood")).to_contain_text("taken back")
    expect(page.locator("#runs li").first).to_contain_text("10.9 10.9")
    expect(page.locator("#number .digits")).to_have_text(re.compile(r"^10\.9"))
    device.check()


def test_result_buttons_are_one_touch(served: Served, browser: Browser) -> None:
    device = phone(browser, served.address)
    page = device.page(BENCH)
    before = runs_in_all(page)
    for n, name in enumerate(("hang", "no start", "smoke"), start=1):
        page.get_by_role("button", name=name, exact=True).tap()
        expect(page.locator("#runs small")).to_have_text(f"of {before + n}")
    page.keyboard.press("F9")
    expect(page.locator("#said .understood")).to_contain_text("film mark")
    device.check()


def test_nothing_is_stored_while_it_is_read(served: Served, browser: Browser) -> None:
    device = phone(browser, served.address)
    page = device.page(BENCH)
    before = len(served.desk.book.entries())
    page.locator("#words").fill("bus 25")
    expect(page.locator("#said .moves li").first).to_be_visible()
    page.locator("#words").fill("glub")
    expect(page.locator("#said .refused")).to_contain_text("not understood")
    assert len(served.desk.book.entries()) == before
    device.check()


def test_two_devices_live(served: Served, browser: Browser) -> None:
    one, other = phone(browser, served.address), Watched(browser, served.address)
    here, there = one.page(BENCH), other.page(BENCH)
    there.locator("#words").fill("half a li")
    enter(here, "w4 10.77")
    expect(there.locator("#runs li").first).to_contain_text("10.77")
    expect(there.locator("#words")).to_have_value("half a li")
    assert there.evaluate("document.body.dataset.head") == there.locator("#head code").inner_text()
    one.check()
    other.check()


def test_connection_cut_and_restored(served: Served, browser: Browser) -> None:
    """Inputs entered without a connection wait in the page, survive a reload of nothing, and are sent once."""
    device = phone(browser, served.address)
    page = device.page(BENCH)
    before = runs_in_all(page)
    device.context.set_offline(True)
    page.locator("#words").fill("w4 10.61")
    expect(page.locator("#keep")).to_have_text("keep")
    page.locator("#keep").tap()
    page.get_by_role("button", name="hang", exact=True).tap()
    expect(page.locator("#waiting")).to_contain_text("2 waiting")
    device.context.set_offline(False)
    expect(page.locator("#runs small")).to_have_text(f"of {before + 2}")
    expect(page.locator("#waiting")).to_be_hidden()
    nothing_waits(page)
    assert runs_in_all(page) == before + 2
    assert device.hosts == {served.address.removeprefix("http://")}


def test_server_gone_and_back(alone: Served, browser: Browser) -> None:
    """A power cut of the bench machine: the phone keeps the result and hands it over afterwards."""
    device = phone(browser, alone.address)
    page = device.page(BENCH)
    before = runs_in_all(page)
    alone.stop()
    expect(page.locator("#line")).to_be_visible()
    page.get_by_role("button", name="no start", exact=True).tap()
    expect(page.locator("#waiting")).to_contain_text("1 waiting")
    alone.again()
    expect(page.locator("#runs small")).to_have_text(f"of {before + 1}")
    expect(page.locator("#waiting")).to_be_hidden()
    expect(page.locator("#line")).to_be_hidden()


def test_a_waiting_result_keeps_its_place(served: Served, browser: Browser) -> None:
    """Typed while cut off, then another device seals a forecast: the result is not after it."""
    cut, other = phone(browser, served.address), Watched(browser, served.address)
    page, there = cut.page(BENCH), other.page(BENCH)
    cut.context.set_offline(True)
    page.locator("#words").fill("w4 10.62")
    expect(page.locator("#keep")).to_have_text("keep")
    page.locator("#keep").tap()
    expect(page.locator("#waiting")).to_contain_text("1 waiting")
    there.get_by_role("button", name="seal a forecast").click()
    expect(there.locator("#said .understood")).to_contain_text("sealed")
    cut.context.set_offline(False)
    expect(page.locator("#said")).to_contain_text("not sealed before this run")
    other.check()


def picture_file(place: Path) -> Path:
    from PIL import Image

    Image.new("RGB", (64, 48), "#23766e").save(place / "board.jpg")
    return place / "board.jpg"


def photos(served: Served) -> int:
    return sum(b'"photo"' in (e.body or b"") for e in served.desk.book.live({"mark"}))


def test_photo_from_the_phone(served: Served, browser: Browser, tmp_path: Path) -> None:
    device = phone(browser, served.address)
    page = device.page(BENCH)
    page.locator("#photo").set_input_files(picture_file(tmp_path))
    expect(page.locator("#said .understood")).to_contain_text("photo of")
    page.goto(f"{served.address}{BENCH}/story")
    picture = page.locator("#rows img").first
    expect(picture).to_be_visible()
    assert picture.evaluate("i => i.decode().then(() => i.naturalWidth)") == 64
    device.check()


def test_a_photo_waits_for_the_connection(alone: Served, browser: Browser, tmp_path: Path) -> None:
    """Taken while cut off, kept over a reload of the page, sent once, and it counts from when it was taken."""
    device = phone(browser, alone.address)
    page = device.page(BENCH)
    before = photos(alone)
    alone.stop()
    page.locator("#photo").set_input_files(picture_file(tmp_path))
    expect(page.locator("#photos")).to_contain_text("1 photo waits")
    alone.again()
    page.reload()
    expect(page.locator("#photos")).to_be_hidden()
    page.wait_for_function(WAITING_PHOTOS)
    assert photos(alone) == before + 1


WAITING_PHOTOS = """() => new Promise(good => { const r = indexedDB.open('leadoff', 1)
  r.onsuccess = () => { const n = r.result.transaction('photos').objectStore('photos').count()
    n.onsuccess = () => good(n.result === 0) } })"""

# Source: a maker's 64 MB PC100 module table, TS8MLS64V8C2 data sheet, bytes 0 to 35, 62 and 63.
MODULE = bytes.fromhex(
    "8008040C0901400001A06000801000018F04060101000EA0600000141414321020102010"
) + bytes(26) + b"\x12\x0d" + bytes(64)  # fmt: skip


def test_a_file_is_looked_at_before_it_is_kept(served: Served, browser: Browser, tmp_path: Path) -> None:
    """Serial data of a module: shown, nothing kept; kept with a touch; the same bytes are nothing new."""
    (tmp_path / "module.bin").write_bytes(MODULE)
    device = phone(browser, served.address)
    page = device.page(f"{BENCH}/read")
    before = len(served.desk.book.entries())
    with page.expect_navigation():
        page.locator("#files").set_input_files(tmp_path / "module.bin")
    expect(page.locator("#found .understood")).to_contain_text("nothing is kept yet")
    expect(page.locator("#found h2").first).to_contain_text("module.bin")
    assert len(served.desk.book.entries()) == before
    with page.expect_navigation():
        page.get_by_role("button", name=re.compile(r"^keep \d")).tap()
    expect(page.locator("#found .signal")).to_have_text("kept")
    kept = len(served.desk.book.entries())
    assert kept > before
    with page.expect_navigation():
        page.locator("#files").set_input_files(tmp_path / "module.bin")
    expect(page.locator("#found .understood")).to_contain_text("nothing new")
    assert len(served.desk.book.entries()) == kept
    page.goto(f"{served.address}{BENCH}/read")
    expect(page.locator("table tbody tr").first).to_contain_text("module.bin")
    device.check()


def test_an_old_table_is_asked_about_kept_and_taken_back_whole(
    served: Served, browser: Browser, tmp_path: Path
) -> None:
    """One grouped question for all rows whose date can be two days; then kept; then one touch takes all back."""
    rows = "".join(f"{n}/4/99;2{n},5;fan on\n" for n in (1, 2, 3))
    (tmp_path / "old.csv").write_text(f"date;w2;remarks\n{rows}", encoding="utf-8")
    device = phone(browser, served.address)
    page = device.page(f"{BENCH}/read")
    before = live_runs(served)
    with page.expect_navigation():
        page.locator("#files").set_input_files(tmp_path / "old.csv")
    expect(page.locator("fieldset legend")).to_contain_text("which comes first?")
    with page.expect_navigation():
        page.get_by_label("day first").check()
        page.get_by_role("button", name="read again with these").tap()
    expect(page.locator("#found .understood")).to_contain_text("nothing is kept yet")
    with page.expect_navigation():
        page.get_by_role("button", name=re.compile(r"^keep \d")).tap()
    expect(page.locator("#found .signal")).to_have_text("kept")
    assert live_runs(served) > before
    with page.expect_navigation():
        page.get_by_role("button", name="undo this").tap()
    assert live_runs(served) == before
    device.check()


def live_runs(served: Served) -> int:
    """Runs of the book that count."""
    return sum(1 for _ in served.desk.book.live({"run"}))


def test_the_public_files_are_made(served: Served, browser: Browser, tmp_path: Path) -> None:
    """Limits first; then a zip with a page that asks nobody, and a data file that names this board."""
    device = phone(browser, served.address)
    page = device.page(f"{BENCH}/publish")
    before = len(served.desk.book.entries())
    expect(page.locator(".sentences li").first).to_be_visible()
    limits = page.locator(".sentences li").all_inner_texts()
    with page.expect_download() as coming:
        page.get_by_role("button", name="make the files").tap()
    coming.value.save_as(tmp_path / "public.zip")
    with zipfile.ZipFile(tmp_path / "public.zip") as packed:
        text = packed.read("index.html").decode()
        public = json.loads(packed.read(f"{HEART}.leadoff.json"))
    assert limits
    said = html.unescape(text).lower()
    assert [line for line in limits if line.lower() not in said] == []
    assert public["board"]["id"] == HEART
    assert len(served.desk.book.entries()) == before
    device.check()


def test_a_script_is_checked(served: Served, browser: Browser) -> None:
    """What the book has is supported, what it has not is marked with what would be true; nothing is written."""
    device = phone(browser, served.address)
    page = device.page("/claim")
    before = len(served.desk.book.entries())
    text = f"{HEART} does 10.9 frames/s in w4. {HEART} does 14.2 frames/s in w4.\n<script>alert(1)</script>"
    page.locator("#text").fill(text)
    with page.expect_navigation():
        page.get_by_role("button", name="check it").tap()
    marked = page.locator(".script a")
    expect(marked.nth(0)).to_have_class("good")
    expect(marked.nth(1)).to_have_class("bad")
    expect(page.locator(".sentences li").nth(0)).to_contain_text("rests on run")
    expect(page.locator(".sentences li").nth(1)).not_to_contain_text("supported")
    assert page.locator("#text").input_value() == text
    assert len(served.desk.book.entries()) == before
    device.check()


def test_an_offer_worked_out(served: Served, browser: Browser) -> None:
    """One form, one number; what moves it most stands first. Nothing is written."""
    device = phone(browser, served.address)
    page = device.page("/worth")
    before = len(served.desk.book.entries())
    said = {"asked": "14", "postage": "11", "working": "45", "donor": "6", "p_fix": "55 %", "parts": "5"}
    for name, value in said.items():
        page.locator(f"[name={name}]").fill(value)
    with page.expect_navigation():
        page.get_by_role("button", name="work it out").tap()
    # expected value by hand: .55 x 45 + .45 x 6 - 5 = 22.45, less the postage of 11
    expect(page.locator(".digits")).to_have_text("11.45")
    expect(page.locator(".movers li").first).to_contain_text("value working")
    expect(page.locator(".mark.amber")).to_contain_text("2.55 above")
    page.locator("[name=working]").fill("a lot")
    with page.expect_navigation():
        page.get_by_role("button", name="work it out").tap()
    expect(page.locator(".mark.red")).to_be_visible()
    assert len(served.desk.book.entries()) == before


def test_a_forecast_by_sliding(served: Served, browser: Browser) -> None:
    """A choice answers at once: its number, where the time goes, the moves to get there; nothing is written."""
    device = Watched(browser, served.address)
    page = device.page(f"{BENCH}/forecast")
    before = len(served.desk.book.entries())
    said = page.locator("#told .digits").inner_text()
    slider = page.get_by_role("slider", name="bus clock")
    slider.focus()
    page.keyboard.press("Home")
    expect(page.locator("#told .digits")).not_to_have_text(said)
    expect(page.locator("#rest .moves li").first).to_be_visible()
    expect(page.locator("#rest [data-picture] svg")).to_have_count(1)
    assert "core: " in " ".join(labels(page.locator("#rest [data-picture] svg")))
    assert "want=bus_mhz" in page.url
    page.reload()
    assert page.get_by_role("slider", name="bus clock").input_value() == "0"
    assert len(served.desk.book.entries()) == before
    device.check()


def test_sick_as_a_dialogue(served: Served, browser: Browser) -> None:
    device = phone(browser, served.address)
    page = device.page(f"/board/{DEAD}/sick")
    first = page.locator("#dialogue .what").first.inner_text()
    enter(page, "5v 0.2")
    expect(page.locator("#dialogue .what").first).not_to_have_text(first)
    expect(page.locator("#dialogue")).to_contain_text("tools: scope, post card, spare memory")
    enter(page, "tools: scope, post card, spare memory")  # as the page itself tells to say it
    expect(page.locator("#dialogue")).not_to_contain_text("you have not said which tools")
    device.check()


def test_keyboard_only(served: Served, browser: Browser) -> None:
    """The line and the first action are reached and used without a pointer; focus is always to be seen."""
    device = Watched(browser, served.address)
    page = device.page(BENCH)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    for _ in range(30):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "words":
            break
    assert page.evaluate("document.activeElement.id") == "words"
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    page.keyboard.type("w4 10.5")
    expect(page.locator("#keep")).to_have_text("keep")
    page.keyboard.press("Enter")
    expect(page.locator("#said .understood")).to_contain_text("kept")
    device.check()


def test_reads_without_script(reading: Served, served: Served, browser: Browser) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    for path in PAGES.values():
        page.goto(reading.address + path)
        assert page.locator("main").inner_text().strip()
    page.goto(f"{reading.address}{BENCH}/story")
    assert page.locator("figure img").first.evaluate("i => i.naturalWidth") > 100
    page.goto(served.address + BENCH)
    page.locator("#words").fill("w4 10.44")
    page.locator("#keep").click()
    page.locator(".keepit button").click()
    assert "10.44" in page.locator("#runs li").first.inner_text()
