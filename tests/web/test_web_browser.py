"""The page in a real browser: the loop by touch, two devices, a cut connection, access, sizes."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from browsing import Watched, keep_picture, launched, phone
from playwright.sync_api import Browser, Page, expect, sync_playwright
from web_bench import DEAD, HEART, Served

pytestmark = pytest.mark.slow
BENCH = f"/board/{HEART}"
PAGES = {
    "shelf": "/",
    "bench": BENCH,
    "now": f"{BENCH}/now",
    "socket": f"{BENCH}/socket?want=bus+40",
    "forecast": f"{BENCH}/forecast",
    "why": f"{BENCH}/why",
    "story": f"{BENCH}/story",
    "sweep": f"{BENCH}/sweep",
    "sick": f"/board/{DEAD}/sick",
    "book": "/book",
}
CSS_MM = 96 / 25.4


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        made = launched(playwright)
        yield made
        made.close()


def enter(page: Page, line: str) -> None:
    """Type a line, see it read, touch keep, see it kept."""
    page.locator("#words").fill(line)
    expect(page.locator("#keep")).to_have_text("keep", timeout=15_000)
    expect(page.locator("#said .understood")).to_contain_text("understood")
    page.locator("#keep").tap()
    expect(page.locator("#said .understood")).to_contain_text("kept", timeout=15_000)


def test_the_whole_loop_by_touch(served: Served, browser: Browser) -> None:
    """State, what now, forecast sealed, moves ticked, set, run logged, taken back, on a phone."""
    device = phone(browser, served.address)
    page = device.page("/")
    page.locator(f"a[href='{BENCH}']").tap()
    expect(page.locator("h1")).to_contain_text(HEART)
    act = page.locator("#now details.act").filter(has=page.locator(".moves")).first
    act.wait_for(timeout=30_000)
    if act.get_attribute("open") is None:
        act.locator("summary").tap()
    act.get_by_role("button", name="seal its forecast").tap()
    expect(page.locator("#said .understood")).to_contain_text("sealed", timeout=30_000)
    act = page.locator("#now details.act").filter(has=page.locator(".moves")).first
    act.locator("label").first.tap()
    expect(act.locator(".tick").first).to_be_checked()
    page.reload()
    again = page.locator("#now details.act").filter(has=page.locator(".moves")).first
    again.wait_for(timeout=30_000)
    expect(again.locator(".tick").first).to_be_checked()
    if again.get_attribute("open") is None:
        again.locator("summary").tap()
    again.get_by_role("button", name="it is set").tap()
    expect(page.locator("#said .understood")).to_contain_text("kept as move", timeout=15_000)
    expect(page.locator("#number .foretold").first).to_have_text("foretold", timeout=15_000)
    enter(page, "w4 10.9 10.9")
    expect(page.locator("#said")).to_contain_text("sealed before this run")
    expect(page.locator("#number .over .measured")).to_have_text("measured", timeout=15_000)
    expect(page.locator("#number .digits")).to_have_text(re.compile(r"^10\.9"))
    expect(page.locator("#runs li").first).to_contain_text("10.9 10.9 frames/s")
    enter(page, "w4 10.8")
    expect(page.locator("#number .digits")).to_have_text("10.8", timeout=15_000)
    page.locator("#said").get_by_role("button", name="undo this").tap()
    expect(page.locator("#said .understood")).to_contain_text("taken back", timeout=15_000)
    expect(page.locator("#runs li").first).to_contain_text("10.9 10.9", timeout=15_000)
    expect(page.locator("#number .digits")).to_have_text(re.compile(r"^10\.9"))
    device.check()


def test_result_buttons_are_one_touch(served: Served, browser: Browser) -> None:
    device = phone(browser, served.address)
    page = device.page(BENCH)
    before = int(page.locator("#runs small").inner_text().split()[-1])
    for n, name in enumerate(("hang", "no start", "smoke"), start=1):
        page.get_by_role("button", name=name, exact=True).tap()
        expect(page.locator("#runs small")).to_have_text(f"of {before + n}", timeout=15_000)
    page.keyboard.press("F9")
    expect(page.locator("#said .understood")).to_contain_text("film mark", timeout=15_000)
    device.check()


def test_nothing_is_stored_while_it_is_read(served: Served, browser: Browser) -> None:
    device = phone(browser, served.address)
    page = device.page(BENCH)
    before = len(served.desk.book.entries())
    page.locator("#words").fill("bus 25")
    expect(page.locator("#said .moves li").first).to_be_visible(timeout=15_000)
    page.locator("#words").fill("glub")
    expect(page.locator("#said .refused")).to_contain_text("not understood", timeout=15_000)
    assert len(served.desk.book.entries()) == before
    device.check()


def test_two_devices_live(served: Served, browser: Browser) -> None:
    one, other = phone(browser, served.address), Watched(browser, served.address)
    here, there = one.page(BENCH), other.page(BENCH)
    there.locator("#words").fill("half a li")
    enter(here, "w4 10.77")
    expect(there.locator("#runs li").first).to_contain_text("10.77", timeout=5_000)
    expect(there.locator("#words")).to_have_value("half a li")
    assert there.evaluate("document.body.dataset.head") == there.locator("#head code").inner_text()
    one.check()
    other.check()


def test_connection_cut_and_restored(served: Served, browser: Browser) -> None:
    """Inputs entered without a connection wait in the page, survive a reload of nothing, and are sent once."""
    device = phone(browser, served.address)
    page = device.page(BENCH)
    before = int(page.locator("#runs small").inner_text().split()[-1])
    device.context.set_offline(True)
    page.locator("#words").fill("w4 10.61")
    expect(page.locator("#keep")).to_have_text("keep", timeout=15_000)
    page.locator("#keep").tap()
    page.get_by_role("button", name="hang", exact=True).tap()
    expect(page.locator("#waiting")).to_contain_text("2 waiting", timeout=15_000)
    device.context.set_offline(False)
    expect(page.locator("#runs small")).to_have_text(f"of {before + 2}", timeout=20_000)
    expect(page.locator("#waiting")).to_be_hidden()
    page.wait_for_timeout(4000)
    assert int(page.locator("#runs small").inner_text().split()[-1]) == before + 2
    assert device.hosts == {served.address.removeprefix("http://")}


def test_server_gone_and_back(served: Served, browser: Browser) -> None:
    """A power cut of the bench machine: the phone keeps the result and hands it over afterwards."""
    device = phone(browser, served.address)
    page = device.page(BENCH)
    before = int(page.locator("#runs small").inner_text().split()[-1])
    served.stop()
    expect(page.locator("#line")).to_be_visible(timeout=15_000)
    page.get_by_role("button", name="no start", exact=True).tap()
    expect(page.locator("#waiting")).to_contain_text("1 waiting", timeout=15_000)
    served.again()
    expect(page.locator("#runs small")).to_have_text(f"of {before + 1}", timeout=20_000)
    expect(page.locator("#waiting")).to_be_hidden()
    expect(page.locator("#line")).to_be_hidden(timeout=15_000)


def test_a_waiting_result_keeps_its_place(served: Served, browser: Browser) -> None:
    """Typed while cut off, then another device seals a forecast: the result is not after it."""
    cut, other = phone(browser, served.address), Watched(browser, served.address)
    page, there = cut.page(BENCH), other.page(BENCH)
    cut.context.set_offline(True)
    page.locator("#words").fill("w4 10.62")
    expect(page.locator("#keep")).to_have_text("keep", timeout=15_000)
    page.locator("#keep").tap()
    expect(page.locator("#waiting")).to_contain_text("1 waiting", timeout=15_000)
    there.get_by_role("button", name="seal a forecast").click()
    expect(there.locator("#said .understood")).to_contain_text("sealed", timeout=30_000)
    cut.context.set_offline(False)
    expect(page.locator("#said")).to_contain_text("not sealed before this run", timeout=20_000)
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
    expect(page.locator("#dialogue .what").first).not_to_have_text(first, timeout=15_000)
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
    expect(page.locator("#keep")).to_have_text("keep", timeout=15_000)
    page.keyboard.press("Enter")
    expect(page.locator("#said .understood")).to_contain_text("kept", timeout=15_000)
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


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 768, 1920])
def test_every_view_fits(served: Served, browser: Browser, tmp_path: Path, width: int, scheme: str) -> None:
    """Nothing overlaps or runs out of the window; a picture of each view is kept for people to look at."""
    options = {"viewport": {"width": width, "height": 900}, "color_scheme": scheme}
    device = Watched(browser, served.address, **options)
    for name, path in PAGES.items():
        page = device.page(path)
        if name == "bench":
            page.locator("#now .act").first.wait_for(timeout=30_000)
        for figure in page.locator("[data-picture]").all():
            figure.scroll_into_view_if_needed()
            expect(figure.locator("svg")).to_have_count(1, timeout=30_000)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{name} is too wide"
        assert page.evaluate(OVERLAPS) == [], name
        keep_picture(page, Path(os.environ.get("LEADOFF_PICTURES", tmp_path)), f"{name}-{width}-{scheme}")
        page.close()
    device.check()


OVERLAPS = """() => {
  const kinds = 'button, .button, input:not([type=file], [type=hidden]), h1, h2, p, li > b, dt, dd, select, summary'
  const seen = [...document.querySelectorAll('main :is(' + kinds + ')')]
    .filter(e => e.checkVisibility() && e.getClientRects().length)
  const bad = []
  for (let i = 0; i < seen.length; i++) for (let j = i + 1; j < seen.length; j++) {
    const a = seen[i], b = seen[j]
    if (a.contains(b) || b.contains(a)) continue
    const p = a.getBoundingClientRect(), q = b.getBoundingClientRect()
    const x = Math.min(p.right, q.right) - Math.max(p.left, q.left)
    const y = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top)
    if (x > 2 && y > 2) bad.push([a, b].map(e => e.tagName + ' ' + e.textContent.slice(0, 30)).join(' | '))
  }
  return bad
}"""


@pytest.mark.parametrize("width", [360, 768, 1920])
def test_sizes_for_two_metres(served: Served, browser: Browser, width: int) -> None:
    """The main number's digits are at least 12 mm high and every bench action 15 mm, in the style's millimetres."""
    device = Watched(browser, served.address, viewport={"width": width, "height": 900})
    page = device.page(BENCH)
    high = page.evaluate(
        """() => { const s = getComputedStyle(document.querySelector('.digits'))
          const c = document.createElement('canvas').getContext('2d')
          c.font = `${s.fontWeight} ${s.fontSize} ${s.fontFamily}`
          return c.measureText('0').actualBoundingBoxAscent }"""
    )
    assert high >= 12 * CSS_MM
    for button in page.locator(".acts button:visible, .acts .button:visible, #keep, #words").all():
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= 15 * CSS_MM - 0.5
        assert box["width"] >= 15 * CSS_MM - 0.5


@pytest.mark.reference
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", list(PAGES))
def test_access(served: Served, browser: Browser, name: str, scheme: str) -> None:
    """axe-core's rules for WCAG 2.1 A and AA (roles, names, contrast), from the package axe-playwright-python."""
    device = Watched(browser, served.address, color_scheme=scheme, viewport={"width": 768, "height": 1000})
    page = device.page(PAGES[name])
    if name == "bench":
        page.locator("#now .act").first.wait_for(timeout=30_000)
    for figure in page.locator("[data-picture]").all():
        figure.scroll_into_view_if_needed()
        expect(figure.locator("svg")).to_have_count(1, timeout=30_000)
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    # the rules run as a script of the test's own, which the page's policy would not let in
    found = Axe().run(
        page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]}
    )
    assert [
        f"{v['id']}: {[n['html'][:120] for n in v['nodes']][:3]}" for v in found.response["violations"]
    ] == []
    assert len(found.response["passes"]) > 10


def test_print_style(served: Served, browser: Browser) -> None:
    device = Watched(browser, served.address)
    page = device.page(BENCH)
    page.emulate_media(media="print")
    assert not page.locator("#say").is_visible()
    assert page.locator("#number").is_visible()
    assert page.locator("#state").is_visible()
