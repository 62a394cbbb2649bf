"""Issue 6: how soon the pages are of use, in a real browser on loopback."""

from __future__ import annotations

import statistics
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page

from service.root import build
from tests.bench.harness import Measured, case
from tests.pages.browsing import PHONE, Person, chromium, person
from tests.pages.orders import Ready, opened, ready_order
from tests.running import serve, settings_for

SLOWER = 4
"""Chromium's own slowdown of the processor."""
TIMES = 7
MOVES = 20

READY = """() => new Promise((done) => {
  const seen = () => {
    const picture = document.querySelector("svg.carving image");
    const tools = document.querySelector(".tools");
    if (!tools || tools.hidden || !picture) return requestAnimationFrame(seen);
    done(performance.now());
  };
  seen();
})"""
SETTLED = """() => new Promise((done) => {
  const table = document.querySelector("svg.table");
  const box = table.getBoundingClientRect();
  const middle = { clientX: box.x + box.width / 2, clientY: box.y + box.height / 2 };
  const at = { bubbles: true, pointerId: 1, isPrimary: true, ...middle };
  table.setPointerCapture = () => {};
  table.dispatchEvent(new PointerEvent("pointerdown", at));
  table.dispatchEvent(new PointerEvent("pointermove", { ...at, clientY: at.clientY + 4 + 2 * Math.random() }));
  const began = performance.now();
  const watch = new MutationObserver(() => {
    watch.disconnect();
    done(performance.now() - began);
  });
  watch.observe(document.querySelector("#judged"), { subtree: true, childList: true, characterData: true });
  table.dispatchEvent(new PointerEvent("pointerup", at));
})"""


@contextmanager
def _client(slats: tuple[str, ...] = ("back-centre",)) -> Iterator[tuple[Person, Ready]]:
    """Somebody on a phone with a proved order, at a service of their own."""
    with tempfile.TemporaryDirectory() as folder:
        for running in serve(build(settings_for(Path(folder)))):
            order = ready_order(running, slats=slats)
            with chromium() as browser:
                yield person(browser, running.url, **PHONE), order


def _slowed(page: Page) -> None:
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})


def _measured(milliseconds: list[float]) -> Measured:
    worst = f"worst of {len(milliseconds)}: {max(milliseconds) / 1000:.3f} s"
    return Measured(statistics.median(milliseconds) / 1000, note=worst)


@case(issue=6, name="proof page of use", n=f"phone, CPU {SLOWER}× slower", target=1.0)
def proof_page() -> Measured:
    """From asking for the page until the verdict, the picture and its tools are there; nothing in the cache."""
    found = []
    with _client() as (client, order):
        opened(client, order, "/proof").close()  # pictures are drawn once, by whoever looks first
        state = client.context.storage_state()
        for _ in range(TIMES):
            fresh = client.context.browser.new_context(**PHONE, storage_state=state)  # type: ignore[union-attr]
            page = fresh.new_page()
            _slowed(page)
            page.goto(f"{client.base}/order/{order.id}/proof", wait_until="commit")
            found.append(page.evaluate(READY))
            fresh.close()
    return _measured(found)


@case(issue=6, name="findings after letting go", n="crest.svg", target=0.15)
def judged_after_letting_go() -> Measured:
    """From the finger's leaving the art until the verdict beside it has changed; every place another one."""
    with _client() as (client, order):
        page = opened(client, order, f"/carvings/{order.carving['id']}/placement")
        page.wait_for_selector("svg.table")
        page.wait_for_timeout(1500)
        found = [page.evaluate(SETTLED) for _ in range(MOVES)]
    return _measured(found)
