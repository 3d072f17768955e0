"""The report's page in Chromium, from a disk, without a network, at the width of a phone and of a desk."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

pytestmark = pytest.mark.slow
ARGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]


def test_it_opens_anywhere(story: Path) -> None:
    """Fits, asks nobody, says no word of complaint; score and limits are the first thing, in letters of one size."""
    there = os.environ.get("LEADOFF_CHROMIUM") or shutil.which("chromium") or shutil.which("chrome")
    assert there, "no Chromium on this machine: apt-get install chromium, or set LEADOFF_CHROMIUM"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=there, args=ARGS)
        for width, high in ((390, 844), (1280, 900)):
            context = browser.new_context(viewport={"width": width, "height": high}, offline=True)
            asked: list[str] = []
            wrong: list[str] = []
            context.on("request", lambda r, asked=asked: asked.append(r.url))
            context.on("console", lambda m, wrong=wrong: wrong.append(m.text))
            page = context.new_page()
            page.goto((story / "out" / "index.html").as_uri())
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            row = f"<tr>{'<td class=n>words that stay together</td>' * 7}</tr>"
            page.locator(".rows.short tbody").first.evaluate(
                "(e, row) => e.insertAdjacentHTML('beforeend', row)", row
            )
            cut = "[...document.querySelectorAll('.rows .scroll')].filter(e => e.scrollWidth > e.clientWidth).length"
            assert width > 500 or page.evaluate(cut) == 0, "on a phone no list has to be pushed sideways"
            assert [u for u in asked if not u.startswith("file:")] == []
            assert wrong == []
            sizes = [
                page.locator(f"#{name}").evaluate("e => getComputedStyle(e).fontSize")
                for name in ("score", "limits")
            ]
            assert sizes[0] == sizes[1], "limits as large as the score"
            boxes = [page.locator(f"#{name}").bounding_box() for name in ("score", "limits")]
            assert all(b is not None and b["y"] + b["height"] <= high for b in boxes), (
                "both on the first screen"
            )
            assert page.locator("figure:visible svg").count() >= 4
            context.close()
        browser.close()
