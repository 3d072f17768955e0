"""A Chromium of this machine through Playwright, with a watch on what each page asks for and says."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, Locator, Page, Playwright, expect
from web_bench import DEAD, HEART

BENCH = f"/board/{HEART}"
PAGES = {
    "shelf": "/",
    "standings": "/standings",
    "bench": BENCH,
    "now": f"{BENCH}/now",
    "socket": f"{BENCH}/socket?want=bus+40",
    "forecast": f"{BENCH}/forecast",
    "ladder": f"{BENCH}/ladder",
    "why": f"{BENCH}/why",
    "story": f"{BENCH}/story",
    "sweep": f"{BENCH}/sweep",
    "sick": f"/board/{DEAD}/sick",
    "publish": f"{BENCH}/publish",
    "keeping": f"{BENCH}/shelf",
    "read": f"{BENCH}/read",
    "claim": "/claim",
    "worth": "/worth?asked=14&postage=11&working=45&donor=6&p_fix=.55&parts=5",
    "fits": "/substitute?words=64-byte+for+128-byte+clock+module",
    "electric": "/electric?words=heat+in+5.25+out+3.45+amps+0.93",
    "proof": "/proof?text=0%2F60",
    "repeat": "/repeat",
    "book": "/book",
}
"""Every view of the demo book."""
CSS_MM = 96 / 25.4
WAIT_MS = 90_000
"""No test waits a fixed time: each waits for what it wants to see, and gives a slow machine this long."""
ARGS = [
    "--headless",
    "--no-sandbox",  # as root, as in a container, there is no other way
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
expect.set_options(timeout=WAIT_MS)


def chromium() -> str:
    """Where the browser lies: ``$LEADOFF_CHROMIUM``, else the one of the system."""
    there = os.environ.get("LEADOFF_CHROMIUM")
    found = (
        [there] if there else [shutil.which(n) for n in ("chromium", "chromium-browser", "chrome", "msedge")]
    )
    place = next((f for f in found if f and Path(f).exists()), None)
    assert place is not None, "no Chromium on this machine: apt-get install chromium, or set LEADOFF_CHROMIUM"
    return place


def launched(playwright: Playwright) -> Browser:
    return playwright.chromium.launch(executable_path=chromium(), args=ARGS, timeout=WAIT_MS)


class Watched:
    """A browser context that keeps what went wrong in it."""

    def __init__(self, browser: Browser, address: str, **options: Any) -> None:
        self.address = address
        self.context: BrowserContext = browser.new_context(**options)
        self.context.set_default_timeout(WAIT_MS)
        self.hosts: set[str] = set()
        self.errors: list[str] = []
        self.context.on("request", lambda r: self.hosts.add(urlsplit(r.url).netloc))
        self.context.on("weberror", lambda e: self.errors.append(str(e.error)))
        self.context.on(
            "console", lambda m: self.errors.append(m.text) if m.type in ("error", "warning") else None
        )

    def page(self, path: str) -> Page:
        page = self.context.new_page()
        page.goto(self.address + path)
        page.wait_for_function("document.documentElement.classList.contains('scripted')")
        return page

    def check(self) -> None:
        """No request off the host, no word of complaint."""
        assert self.hosts <= {urlsplit(self.address).netloc}, self.hosts
        assert self.errors == []
        self.context.close()


def phone(browser: Browser, address: str, **more: Any) -> Watched:
    """360 px wide, touched and not clicked."""
    options = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}
    return Watched(browser, address, **(options | more))


def enter(page: Page, line: str) -> None:
    """Type a line, see it read, touch keep, see it kept."""
    page.locator("#words").fill(line)
    expect(page.locator("#keep")).to_have_text("keep")
    expect(page.locator("#said .understood")).to_contain_text("understood")
    page.locator("#keep").tap()
    expect(page.locator("#said .understood")).to_contain_text("kept")


def whole(page: Page) -> Page:
    """Wait until everything that comes later is there: what now, and every picture as SVG."""
    if page.locator("[data-load]").count():
        page.locator("#now .act, #now .under").first.wait_for()
    for figure in page.locator("[data-picture]").all():
        figure.scroll_into_view_if_needed()
        expect(figure.locator("svg")).to_have_count(1)
    return page


def runs_in_all(page: Page) -> int:
    """How many runs the bench view says there are."""
    return int(page.locator("#runs small").inner_text().split()[-1])


def nothing_waits(page: Page) -> None:
    """The page's queue is empty, so nothing can be sent again."""
    page.wait_for_function("localStorage.getItem('leadoff-waiting') === '[]'")


def keep_picture(page: Page, folder: Path, name: str) -> None:
    """A screenshot as a build artefact; never committed."""
    folder.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=folder / f"{name}.png", full_page=True)


def labels(at: Locator) -> list[str]:
    """The sentences of a picture's marks."""
    found: list[str] = at.locator("[aria-roledescription][aria-label]").evaluate_all(
        "marks => marks.map(m => m.getAttribute('aria-label'))"
    )
    return found
