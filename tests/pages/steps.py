"""What clients and makers do on the pages, step by step; shared by tests and screenshots."""

from __future__ import annotations

import io
import os
import re
from collections.abc import Callable
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, expect

from seeds.shop import load
from tests.pages.browsing import Person

BENCH = f"/at/{load().key}/longwalk-bench"
READY_MS = 60_000
SIGN = re.compile(r"^Sign( and send to the workshop)?$")


def keep(page: Page, name: str) -> None:
    """Record a step of the journey as a picture, where ``SLATPROOF_JOURNEY`` names a folder for them."""
    folder = os.environ.get("SLATPROOF_JOURNEY")
    if not folder:
        return
    Path(folder).mkdir(parents=True, exist_ok=True)
    page.evaluate(ALL_PICTURES)
    page.evaluate("scrollTo(0, 0)")
    picture = Image.open(io.BytesIO(page.screenshot(full_page=True, animations="disabled"))).convert("RGB")
    width = min(picture.width, _WIDEST if picture.width > picture.height / 3 else _WIDEST_OF_LONG)
    small = picture.resize((width, round(picture.height * width / picture.width)), Image.Resampling.LANCZOS)
    small.save(Path(folder) / f"{name}.webp", quality=80)


_WIDEST, _WIDEST_OF_LONG = 1100, 480
"""Pixels across of a kept picture: readable, and light enough for the repository."""
ALL_PICTURES = """async () => {
  for (const image of document.images) image.loading = "eager";
  await Promise.all([...document.images].map((image) => image.decode().catch(() => null)));
}"""
"""Has every picture of a page fetched and waits for it, those further down too."""


THIN_RING = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"><path fill-rule="evenodd" '
    b'd="M50 5a45 45 0 1 0 .01 0zM50 9a41 41 0 1 1-.01 0z"/><path d="M30 49.5h40v1H30z"/></svg>'
)
"""A ring with a bar too thin to carve on any slat: thickening cures it where it lies."""


def file_of(name: str) -> dict[str, object]:
    """A file of the demo artwork, or ``thin-ring.svg``, as a file field takes it."""
    if name == "thin-ring.svg":
        return {"name": name, "mimeType": "image/svg+xml", "buffer": THIN_RING}
    kinds = {".svg": "image/svg+xml", ".jpg": "image/jpeg", ".png": "image/png"}
    return {"name": name, "mimeType": kinds[Path(name).suffix], "buffer": load().artwork(name).data}


def start(
    person: Person,
    art: str = "crest.svg",
    slat: str = "wide centre back slat",
    pieces: int = 12,
    filled: Callable[[Page], None] = lambda _page: None,
) -> Page:
    """Fill the form in and go on; the order's page, whatever it says. ``filled`` sees the form before."""
    page = person.page(BENCH)
    page.get_by_label(slat, exact=True).check()
    page.get_by_label("How many pieces").fill(str(pieces))
    page.get_by_label("Needed by").fill("2027-03-19")
    page.locator("summary", has_text="Have the link mailed").click()
    page.get_by_label("Your name").fill("Imke Harrowdale")
    page.get_by_label("E-mail").fill("imke@quillfern.example")
    page.locator("#f-file").set_input_files(file_of(art))
    filled(page)
    page.get_by_role("button", name="Go on").click()
    page.wait_for_url(re.compile(r"/order/"))
    page.goto(
        f"{person.base}/order/{order_of(page)}"
    )  # where it can be changed; the form leads to where it is signed
    return page


def ready(page: Page) -> Page:
    """Wait until everything is read and checked; without scripts by loading the page again."""
    busy = page.locator(".working")
    if page.evaluate("() => true") is True and page.context.pages:
        try:
            expect(busy).to_have_count(0, timeout=READY_MS)
        except AssertionError:
            page.reload()
            expect(busy).to_have_count(0)
    return page


def order_of(page: Page) -> str:
    """The id of the order that a page is about."""
    found = re.search(r"/order/([a-z2-7]{26})", page.url)
    assert found, page.url
    return found[1]


def say_art_may_be_used(page: Page) -> None:
    """Tick the statement and save."""
    page.get_by_label("I may use this artwork").check()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".notice.good")).to_contain_text("Saved")


def sign(page: Page) -> None:
    """Look at the proof and sign it off."""
    base = page.url.split("/order/")[0]
    page.goto(f"{base}/order/{order_of(page)}/proof", wait_until="domcontentloaded")
    for box in page.get_by_label("I accept").all():
        box.check()
    page.get_by_label("I may use this artwork").check()
    page.get_by_label("I have looked at").check()
    page.get_by_role("button", name=SIGN).click()
    expect(page.locator(".notice.good")).to_contain_text("Signed")


def sign_in(person: Person, path: str = "/bench") -> Page:
    """The maker at the bench."""
    maker = next(one for one in load().people if one.role == "maker")
    page = person.page(path)
    page.get_by_label("E-mail").fill(maker.email)
    page.get_by_label("Password").fill(load().password)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(re.compile(re.escape(path)))
    return page
