"""How every view looks in a real browser: nothing overlaps, large enough for two metres, open to everybody.

These tests only read, so one server answers them all.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from browsing import BENCH, CSS_MM, PAGES, Watched, keep_picture, whole
from playwright.sync_api import Browser, Page
from web_bench import Served

pytestmark = pytest.mark.slow


@pytest.mark.reference
@pytest.mark.parametrize("widths", [(360,), (1920, 768)])  # a narrow window is sent narrow pictures
def test_every_view_fits(reading: Served, browser: Browser, widths: tuple[int, ...]) -> None:
    """Nothing overlaps or runs out of the window, no type is too small to read at a bench, and at one width
    axe-core's rules for WCAG 2.1 A and AA hold (roles, names, contrast; from the package axe-playwright-python).

    With ``$LEADOFF_PICTURES`` a picture of each view, light and dark, is left there for people to look at.
    """
    size = {"width": widths[0], "height": 900}
    device = Watched(browser, reading.address, color_scheme="light", viewport=size)
    wrong: list[str] = []
    for name, path in PAGES.items():
        page = whole(device.page(path))
        for width in widths:
            page.set_viewport_size({"width": width, "height": 900})
            wrong += [f"{name} at {width} {found}" for found in misfits(page)]
            if pictures := os.environ.get("LEADOFF_PICTURES"):
                keep_pictures(page, Path(pictures), f"{name}-{width}")
        if widths[-1] == AT:
            wrong += [f"{name} shuts out: {found}" for found in shut_out(page)]
        page.close()
    assert wrong == []
    device.check()


def misfits(page: Page) -> list[str]:
    """What is too wide, lies over something else, or is too small."""
    found = [] if page.evaluate("document.documentElement.scrollWidth <= innerWidth") else ["is too wide"]
    page.evaluate("scrollTo(0, 0)")  # the number of a forecast stays in sight while the page moves under it
    found += [f"overlaps: {places}" for places in page.evaluate(OVERLAPS)]
    return found + [f"is small: {text}" for text in page.evaluate(SMALL)]


def keep_pictures(page: Page, folder: Path, name: str) -> None:
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        keep_picture(page, folder, f"{name}-{scheme}")
    page.emulate_media(color_scheme="light")


AT = 768
SHORT = {"resultTypes": ["violations"]}  # of what passes, one place of each rule
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]


def shut_out(page: Page) -> list[str]:
    """What breaks a rule, with everything unfolded; colours are checked a second time in the dark, where all else is
    the same.
    """
    page.emulate_media(color_scheme="light")
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    # the rules run as a script of the test's own, which the page's policy would not let in
    found = Axe().run(page, options={"runOnly": RULES} | SHORT).response
    page.emulate_media(color_scheme="dark")
    dark = (
        Axe().run(page, options={"runOnly": {"type": "rule", "values": ["color-contrast"]}} | SHORT).response
    )
    assert len(found["passes"]) > 10
    assert len(dark["passes"]) == 1
    return [
        f"{v['id']}: {[n['html'][:120] for n in v['nodes']][:3]}"
        for v in found["violations"] + dark["violations"]
    ]


SMALL = """() => {
  const walk = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT), small = new Set()
  for (let n; n = walk.nextNode();) {
    const e = n.parentElement
    if (!n.data.trim() || !e.checkVisibility() || e.closest('svg, kbd, select')) continue
    if (parseFloat(getComputedStyle(e).fontSize) < 14) small.add(n.data.trim().slice(0, 40))
  }
  return [...small]
}"""
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
def test_sizes_for_two_metres(reading: Served, browser: Browser, width: int) -> None:
    """The main number's digits are at least 12 mm high and every bench action 15 mm, in the style's millimetres."""
    device = Watched(browser, reading.address, viewport={"width": width, "height": 900})
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


def test_print_style(reading: Served, browser: Browser) -> None:
    device = Watched(browser, reading.address)
    page = device.page(BENCH)
    page.emulate_media(media="print")
    assert not page.locator("#say").is_visible()
    assert page.locator("#number").is_visible()
    assert page.locator("#state").is_visible()
