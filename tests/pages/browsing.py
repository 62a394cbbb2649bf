"""A real browser for tests and screenshots, watched for errors and for requests to anybody else."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from playwright.sync_api import Error as PlaywrightError

CHROMIUM = "/usr/bin/chromium-headless-shell"
"""Debian's Chromium without windows, tabs and an address bar of its own, which cost more than the pages do."""
# What Playwright leaves out, since only the last list counts.
_WITHOUT = [
    *("AvoidUnnecessaryBeforeUnloadCheckSync", "DestroyProfileOnBrowserClose", "HttpsUpgrades"),
    *("HttpsFirstBalancedModeAutoEnable", "LensOverlay", "MediaRouter", "PaintHolding", "OptimizationHints"),
    *("ThirdPartyStoragePartitioning", "AvoidCorsURLLoaderRestartOnRedirect", "TcpPortRandomizationWin"),
    *("NetworkTimeServiceQuerying", "AimEnabled", "PreconnectToSearch"),
]
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-gl=angle",
    "--use-angle=swiftshader",  # a solid is turned without a graphics card
    "--enable-unsafe-swiftshader",
    f"--disable-features={','.join(_WITHOUT)}",
]
_EMPTY = "about:blank"
DESKTOP: dict[str, Any] = {"viewport": {"width": 1280, "height": 900}}
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 2,
    "has_touch": True,
    "is_mobile": True,
}
# What the graphics driver of a machine without a graphics card says about itself.
_DRIVER = "GL Driver Message"


@dataclass
class Watched:
    """What went wrong in a browser, unless it was looked for."""

    home: str
    errors: list[str] = field(default_factory=list)
    strangers: list[str] = field(default_factory=list)

    def watch(self, page: Page) -> None:
        """Note errors of a page's scripts and requests to other hosts."""
        page.on("console", self._heard)
        page.on("pageerror", lambda error: self.errors.append(f"{page.url}: {error}"))
        page.on("request", lambda request: self._asked(request.url))

    def _heard(self, message: Any) -> None:
        if message.type in {"error", "warning"} and _DRIVER not in message.text:
            self.errors.append(f"{message.location.get('url', '')}: {message.text}")

    def _asked(self, url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme in {"http", "https", "ws", "wss"} and parts.netloc != self.home:
            self.strangers.append(url)


@dataclass
class Person:
    """Somebody at a browser of their own."""

    base: str
    context: BrowserContext
    watched: Watched

    def page(self, path: str = "") -> Page:
        """A new tab, at a path where one is given."""
        page = self.context.new_page()
        page.set_default_timeout(15_000)
        if path:
            page.goto(self.base + path)
        return page

    def leave(self) -> None:
        """Close their browser."""
        leave(self.context)


def leave(context: BrowserContext) -> None:
    """Close a browser, whatever its pages are at.

    Chromium asks a page that listens for ``visibilitychange`` before it closes it. Where a navigation arrives just then
    (a page that loads itself again), the question is lost with the old document, and closing never ends. On an empty
    page nothing navigates.
    """
    for page in context.pages:
        while page.url != _EMPTY:
            try:
                page.goto(_EMPTY)
            except PlaywrightError as error:
                if "interrupted by another navigation" not in str(error):  # the page's own came between
                    raise
    context.close()


@contextmanager
def chromium() -> Iterator[Browser]:
    """The browser, started and stopped."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        try:
            yield browser
        finally:
            browser.close()


def person(browser: Browser, base: str, **kind: Any) -> Person:
    """Somebody new, with nothing in their browser yet."""
    watched = Watched(urlsplit(base).netloc)
    context = browser.new_context(**(DESKTOP | kind))
    context.on("page", watched.watch)
    return Person(base, context, watched)
