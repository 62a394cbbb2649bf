"""Pictures of the pages for the README: ``python -m tests.pages.screenshots docs/pictures``.

Starts a service of its own with the seed shop, does the job on the pages as client and maker, and takes a
picture of each. (The recorded journey has every step, on a desk and on a phone: ``docs/identity.md``.)
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page

from service.root import build
from tests.pages.browsing import chromium, person
from tests.pages.steps import ALL_PICTURES, BENCH, order_of, ready, say_art_may_be_used, sign, sign_in, start
from tests.running import serve, settings_for


def main(folder: Path) -> None:
    """Take every picture."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as data:
        service = build(settings_for(Path(data), repair_seconds=15.0))
        for running in serve(service):
            with chromium() as browser:
                _client_and_maker(browser, running.url, folder)


def _client_and_maker(browser: Browser, base: str, folder: Path) -> None:
    client, maker = person(browser, base), person(browser, base)

    def take(page: Page, name: str, *, whole: bool = False) -> None:
        page.wait_for_load_state("networkidle", timeout=60_000)
        page.evaluate(ALL_PICTURES)
        page.wait_for_function(
            "() => [...document.images].every((image) => image.naturalWidth > 0)", timeout=60_000
        )
        shot = Image.open(io.BytesIO(page.screenshot(full_page=whole))).convert("RGB")
        shot.quantize(256).save(
            folder / f"{name}.png", optimize=True
        )  # a third of the bytes, looking the same
        sys.stdout.write(f"{folder / name}.png\n")

    form = client.page(BENCH)
    form.get_by_label("wide centre back slat", exact=True).check()
    form.get_by_label("How many pieces").fill("12")
    take(form, "client-form")

    thin = ready(start(client, art="thin.png", slat="narrow back slat, left 3"))
    thin.evaluate(ALL_PICTURES)
    shot = Image.open(io.BytesIO(thin.locator(".versions").first.screenshot())).convert("RGB")
    shot.quantize(256).save(folder / "versions.png", optimize=True)

    page = ready(start(client))
    order = order_of(page)
    say_art_may_be_used(page)
    page.goto(f"{base}/order/{order}/proof")
    take(page, "client-proof", whole=True)
    sign(page)

    bench = sign_in(maker)
    take(bench, "maker-queue")
    # An open event stream never lets the network rest.
    bench.add_init_script("window.EventSource = class { addEventListener() {} close() {} };")
    bench.goto(f"{base}/bench/orders/{order}")
    take(bench, "maker-order", whole=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
