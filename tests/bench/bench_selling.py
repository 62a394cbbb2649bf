"""Issue 18: what a client waits for on a phone, in a real browser, and what a name list and a close-up take."""

from __future__ import annotations

import re
import statistics
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from playwright.sync_api import Page, expect

from artwork.close_up import close_up
from artwork.cut import Cut
from artwork.intake import read_artwork
from artwork.placing import largest_fit
from artwork.preview import part_webp, preview_webp
from seeds.shop import load
from service.root import build
from tests.bench.harness import Measured, alone, case
from tests.pages.browsing import PHONE, Person, chromium, person
from tests.pages.orders import Ready, opened
from tests.pages.steps import file_of
from tests.running import Running, revision, serve, settings_for

SLOWER = 4
"""Chromium's own slowdown of the processor."""
SLOW_NETWORK = {
    "offline": False,
    "latency": 150,
    "downloadThroughput": 200_000,
    "uploadThroughput": 94_000,
}
"""A phone's connection: milliseconds and bytes a second (1.6 and 0.75 Mbit/s)."""
TIMES, NAMES = 5, 24
TAP = """() => {
  const now = Date.now();
  document.querySelector("#start button.main").click();
  return now;
}"""
WHERE = f"phone, CPU {SLOWER}× slower, 1.6 Mbit/s"


@contextmanager
def _phone() -> Iterator[tuple[Running, Person]]:
    with tempfile.TemporaryDirectory() as folder:
        for running in serve(build(settings_for(Path(folder)))):
            with chromium() as browser:
                yield running, person(browser, running.url, **PHONE)


def _slowed(page: Page) -> None:
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Network.emulateNetworkConditions", SLOW_NETWORK)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})


def _measured(seconds: list[float]) -> Measured:
    return Measured(statistics.median(seconds), note=f"worst of {len(seconds)}: {max(seconds):.3f} s")


def _form(client: Person) -> Page:
    page = client.page("/at/oxbarrow/longwalk-bench")
    _slowed(page)
    page.get_by_label("wide centre back slat", exact=True).check()
    return page


@case(issue=18, name="logo stands on the slat", n=WHERE, target=0.3)
def logo_on_the_slat() -> Measured:
    """From choosing the file until the browser has drawn it there."""
    found = []
    with _phone() as (_, client):
        for _ in range(TIMES):
            page = _form(client)
            began = time.perf_counter()
            page.locator("#f-file").set_input_files(file_of("crest.svg"))
            page.wait_for_selector("image.laid", state="attached")
            found.append(time.perf_counter() - began)
            page.close()
    return _measured(found)


@case(issue=18, name="verdict of a plain order", n=f"crest.svg, {WHERE}", target=4.0)
def verdict() -> Measured:
    """From sending the form until it can be signed."""
    found = []
    with _phone() as (_, client):
        for _ in range(TIMES):
            page = _form(client)
            page.locator("#f-file").set_input_files(file_of("crest.svg"))
            page.wait_for_selector("image.laid", state="attached")
            began = page.evaluate(TAP)  # a driver's own click first waits until the page has come to rest
            page.wait_for_url(re.compile("/proof"), wait_until="commit")
            page.wait_for_selector("#sign", timeout=60_000)
            found.append(time.time() - began / 1000)
            page.close()
    return _measured(found)


@case(issue=18, name="names judged and shown, no reload", n=f"{NAMES} names, {WHERE}", target=20.0)
def names() -> Measured:
    """From asking for them until the last row has its picture."""
    with _phone() as (running, client):
        placed = running.caller().send_order(
            lines=[{"model_key": "longwalk-bench", "quantity": 1, "slats": []}]
        )
        order = Ready(placed["order"]["id"], placed["link_token"], running.caller(placed["link_token"]), {})
        asked = {
            "line_id": placed["order"]["lines"][0]["id"],
            "slat_key": "back-left-3",
            "rule": {"typeface": "lato-bold", "cap_height": 30, "least_cap_height": 20},
            "texts": "\n".join(f"Row {number}" for number in range(1, NAMES + 1)),
            "turn_deg": 90,
        }
        began = time.perf_counter()
        order.client.do(
            "PUT", f"/orders/{order.id}/names", json=asked, headers=revision(order.client.order(order.id))
        )
        page = opened(client, order)
        _slowed(page)
        expect(page.locator("table.names img")).to_have_count(NAMES, timeout=120_000)
        page.wait_for_function(
            "() => [...document.querySelectorAll('table.names img')].every((one) => one.naturalWidth > 0"
            " || one.loading === 'lazy')"
        )
        return Measured(time.perf_counter() - began)


def _cut() -> Cut:
    shop = load()
    outline = read_artwork(shop.artwork("crest.svg").data, "crest.svg").outline
    slat = shop.model("fernhollow-chair").slat("back-centre")
    return Cut(outline, slat, largest_fit(outline, slat, shop.allowances), shop.bits[0], shop.allowances)


@case(issue=18, name="close-up of the art for a page", n="crest.svg on 140 × 860 mm, 4 px/mm", target=0.1)
def close() -> Measured:
    cut = _cut()
    at, (width, height) = cut.placement, np.array(cut.outline.size) * cut.placement.scale / 2
    window = close_up(cut.slat.outline.bounds, (at.x - width, at.y - height, at.x + width, at.y + height))
    return alone(lambda: part_webp(cut, window, 4.0))


@case(issue=18, name="picture of a slat for a page", n="140 × 860 mm, 4 px/mm", target=0.2)
def whole_slat() -> Measured:
    cut = _cut()
    return alone(lambda: preview_webp(cut, None, 4.0))
