"""Pictures of the pages for the README and the docs: ``python -m tests.pages.screenshots OUTDIR``.

Starts a service of its own with the seed shop, does the job on the pages as client and maker, and takes a
picture of each.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page

from service.root import build
from tests.pages.browsing import PHONE, chromium, person
from tests.pages.steps import BENCH, order_of, ready, say_art_may_be_used, sign, sign_in, start
from tests.running import serve, settings_for


def main(folder: Path) -> None:
    """Take every picture."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as data:
        service = build(settings_for(Path(data)))
        for running in serve(service):
            with chromium() as browser:
                _client_and_maker(browser, running.url, folder)


def _client_and_maker(browser: Browser, base: str, folder: Path) -> None:
    client = person(browser, base, device_scale_factor=1.5)
    maker = person(browser, base, device_scale_factor=1.5)

    def take(page: Page, name: str, *, whole: bool = False) -> None:
        page.wait_for_load_state("networkidle" if "events" not in page.url else "load")
        page.wait_for_timeout(700)
        page.screenshot(path=folder / f"{name}.png", full_page=whole)
        sys.stdout.write(f"{folder / name}.png\n")

    def still(page: Page) -> Page:
        # An open event stream never lets the network rest.
        page.add_init_script("window.EventSource = class { addEventListener() {} close() {} };")
        return page

    form = client.page(BENCH)
    form.get_by_label("wide centre back slat", exact=True).check()
    form.get_by_label("How many pieces").fill("12")
    take(form, "client-form")

    failing = ready(start(client, art="thin.png", pieces=4))
    still(failing).reload()
    take(failing, "client-findings", whole=True)

    page = ready(start(client))
    order = order_of(page)
    say_art_may_be_used(page)
    still(page).goto(f"{base}/order/{order}/proof")
    take(page, "client-proof", whole=True)
    page.get_by_label("From the wood to your drawing").fill("50")
    page.locator("section[data-proof]").first.screenshot(path=folder / "client-proof-slider.png")
    page.get_by_label("From the wood to your drawing").fill("0")
    page.locator("[data-turn]").first.click()
    page.wait_for_selector("canvas.solid")
    page.wait_for_timeout(2500)
    page.locator("section[data-proof]").first.screenshot(path=folder / "client-proof-turned.png")
    page.goto(f"{base}/order/{order}")
    page.get_by_role("link", name="Move, turn or resize it").click()
    page.wait_for_selector("svg.table")
    take(page, "client-placing")
    sign(page)

    bench = still(sign_in(maker))
    take(bench, "maker-queue")
    bench.goto(f"{base}/bench/orders/{order}")
    take(bench, "maker-order", whole=True)
    bench.goto(f"{base}/bench/orders/{order_of(failing)}")
    take(bench, "maker-order-with-findings", whole=True)

    phone = person(
        browser, base, **(PHONE | {"storage_state": client.context.storage_state(), "color_scheme": "dark"})
    )
    small = still(phone.page())
    small.goto(f"{base}/order/{order}/proof")
    take(small, "phone-proof-dark", whole=True)
    small.goto(base + BENCH)
    take(small, "phone-form-dark")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "screenshots"))
