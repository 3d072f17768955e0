"""Debian's Chromium through Playwright, with a watch on what each page asks for and says."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, Page, Playwright

CHROMIUM = "/usr/bin/chromium"
ARGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def launched(playwright: Playwright) -> Browser:
    return playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)


class Watched:
    """A browser context that keeps what went wrong in it."""

    def __init__(self, browser: Browser, address: str, **options: Any) -> None:
        self.address = address
        self.context: BrowserContext = browser.new_context(**options)
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


def phone(browser: Browser, address: str, **more: Any) -> Watched:
    """360 px wide, touched and not clicked."""
    options = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}
    return Watched(browser, address, **(options | more))


def keep_picture(page: Page, folder: Path, name: str) -> None:
    """A screenshot as a build artefact; never committed."""
    folder.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=folder / f"{name}.png", full_page=True)
