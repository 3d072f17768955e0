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
@pytest.mark.parametrize("width", [360, 768, 1920])
def test_every_view_fits(reading: Served, browser: Browser, width: int) -> None:
    """Nothing overlaps or runs out of the window, no type is too small to read at a bench, and at one width
    axe-core's rules for WCAG 2.1 A and AA hold (roles, names, contrast; from the package axe-playwright-python).

    With ``$LEADOFF_PICTURES`` a picture of each view, light and dark, is left there for people to look at.
    """
    device = Watched(browser, reading.address, color_scheme="light", viewport={"width": width, "height": 900})
    pictures = os.environ.get("LEADOFF_PICTURES")
    wrong: list[str] = []
    for name, path in PAGES.items():
        page = whole(device.page(path))
        if not page.evaluate("document.documentElement.scrollWidth <= innerWidth"):
            wrong.append(f"{name} is too wide")
        page.evaluate(
            "scrollTo(0, 0)"
        )  # the number of a forecast stays in sight while the page moves under it
        wrong += [f"{name} overlaps: {found}" for found in page.evaluate(OVERLAPS)]
        wrong += [f"{name} is small: {found}" for found in page.evaluate(SMALL)]
        for scheme in ("light", "dark") if pictures else ():
            page.emulate_media(color_scheme=scheme)
            keep_picture(page, Path(pictures or ""), f"{name}-{width}-{scheme}")
        if width == AT:
            wrong += [f"{name} shuts out: {found}" for found in shut_out(page)]
        page.close()
    assert wrong == []
    device.check()


AT = 768
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]


def shut_out(page: Page) -> list[str]:
    """What breaks a rule, with everything unfolded; colours are checked a second time in the dark, where all else is
    the same.
    """
    page.emulate_media(color_scheme="light")
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    # the rules run as a script of the test's own, which the page's policy would not let in
    found = Axe().run(page, options={"runOnly": RULES}).response
    page.emulate_media(color_scheme="dark")
    dark = Axe().run(page, options={"runOnly": {"type": "rule", "values": ["color-contrast"]}}).response
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
