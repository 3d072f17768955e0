"""The page in a real browser, in use: the loop by touch, two devices, a cut connection, no pointer, no script."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from browsing import BENCH, PAGES, Watched, enter, nothing_waits, phone, runs_in_all
from playwright.sync_api import Browser, expect
from web_bench import DEAD, HEART, Served

pytestmark = pytest.mark.slow


def test_the_whole_loop_by_touch(served: Served, browser: Browser) -> None:
    """State, what now, forecast sealed, moves ticked, set, run logged, taken back, on a phone."""
    device = phone(browser, served.address)
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


def test_server_gone_and_back(served: Served, browser: Browser) -> None:
    """A power cut of the bench machine: the phone keeps the result and hands it over afterwards."""
    device = phone(browser, served.address)
    page = device.page(BENCH)
    before = runs_in_all(page)
    served.stop()
    expect(page.locator("#line")).to_be_visible()
    page.get_by_role("button", name="no start", exact=True).tap()
    expect(page.locator("#waiting")).to_contain_text("1 waiting")
    served.again()
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


def test_photo_from_the_phone(served: Served, browser: Browser, tmp_path: Path) -> None:
    from PIL import Image

    Image.new("RGB", (64, 48), "#23766e").save(tmp_path / "board.jpg")
    device = phone(browser, served.address)
    page = device.page(BENCH)
    with page.expect_navigation():
        page.locator("#photo").set_input_files(tmp_path / "board.jpg")
    page.goto(f"{served.address}{BENCH}/story")
    picture = page.locator("#rows img").first
    expect(picture).to_be_visible()
    assert picture.evaluate("i => i.complete && i.naturalWidth") == 64
    device.check()


def test_sick_as_a_dialogue(served: Served, browser: Browser) -> None:
    device = phone(browser, served.address)
    page = device.page(f"/board/{DEAD}/sick")
    first = page.locator("#dialogue .what").first.inner_text()
    enter(page, "5v 0.2")
    expect(page.locator("#dialogue .what").first).not_to_have_text(first)
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


def test_reads_without_script(served: Served, browser: Browser) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    for path in PAGES.values():
        page.goto(served.address + path)
        assert page.locator("main").inner_text().strip()
    page.goto(served.address + BENCH)
    page.locator("#words").fill("w4 10.44")
    page.locator("#keep").click()
    page.locator(".keepit button").click()
    assert "10.44" in page.locator("#runs li").first.inner_text()
    page.goto(f"{served.address}{BENCH}/story")
    assert page.locator("figure img").first.evaluate("i => i.naturalWidth") > 100
    context.close()
