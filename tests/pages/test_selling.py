"""A plain order on a phone, from the front page to the signature: what it takes; what is said before one signs."""

from __future__ import annotations

import re
from unittest.mock import patch

import pytest
from playwright.sync_api import expect

from seeds.shop import load
from service.pages.calling import Api
from tests.pages.browsing import PHONE
from tests.pages.orders import opened, signed_order
from tests.pages.steps import READY_MS, SIGN, file_of, order_of
from tests.running import revision

pytestmark = pytest.mark.browser

SCREENS, TAPS, FIELDS, HEIGHTS = 3, 7, 4, 6.0
"""Targets of the project's own (5, 9, 5 and 13 before)."""
WIDE_FONT = """addEventListener("DOMContentLoaded", () => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync('* { font-family: "DejaVu Sans", sans-serif !important }');
  document.adoptedStyleSheets = [sheet];
})"""
"""The widest letters that a machine commonly falls back on, so that it does not matter when our own have come."""
SETTLED_HEIGHTS = """async () => {
  await document.fonts.ready;
  const height = () => document.documentElement.scrollHeight;
  for (let before = -1, still = 0; still < 10; before = height()) {
    await new Promise(requestAnimationFrame);
    still = height() === before && !document.querySelector(".working") ? still + 1 : 0;
  }
  return height() / innerHeight;
}"""
"""Heights of the screen that a page takes, once its letters are there and nothing moves or is worked on."""


@pytest.fixture
def alone():
    """The front page as in a place with one workshop, whatever others were let in before."""
    get = Api.get

    async def of_one(api, path, **asked):
        found = await get(api, path, **asked)
        if path != "/workshops":
            return found
        return {"items": [workshop for workshop in found["items"] if workshop["key"] == load().key]}

    with patch.object(Api, "get", of_one):
        yield


def test_a_plain_order_from_the_front_page_to_the_signature(somebody, alone):
    one = somebody(**PHONE)
    one.context.add_init_script(WIDE_FONT)
    page = one.page("/")
    counted = {"screens": 1, "taps": 0, "fields": 0, "heights": 0.0}

    def look():
        counted["heights"] += page.evaluate(SETTLED_HEIGHTS)

    def tap(target):
        counted["taps"] += 1
        target.click()

    look()
    expect(page.get_by_text("from USD").first).to_be_visible()
    tap(page.locator("li", has_text="Longwalk bench").get_by_role("link", name="Put your mark on it"))
    page.wait_for_url("**/longwalk-bench")
    counted["screens"] += 1
    tap(page.get_by_label("wide centre back slat", exact=True))
    tap(page.locator("#drop"))  # the system's own dialog is out of reach
    page.locator("#f-file").set_input_files(file_of("crest.svg"))
    expect(page.locator("image.laid")).to_have_count(1)  # at once, before anything is sent
    expect(page.locator("#estimate")).to_contain_text("USD 1,377.00")
    look()
    tap(page.get_by_role("button", name="Go on"))
    page.wait_for_url(re.compile("/proof"))
    counted["screens"] += 1
    expect(page.locator("#sign")).to_be_visible(timeout=READY_MS)
    look()
    for label, text in (("Your name", "Imke Harrowdale"), ("E-mail", "imke@quillfern.example")):
        counted["fields"] += 1
        page.get_by_label(label).fill(text)
    tap(page.get_by_label("I may use this artwork"))
    tap(page.get_by_label("I have looked at"))
    tap(page.get_by_role("button", name=SIGN))
    expect(page.locator(".notice.good")).to_contain_text("a receipt is on its way")
    assert counted["screens"] <= SCREENS
    assert counted["taps"] <= TAPS
    assert counted["fields"] <= FIELDS
    assert counted["heights"] <= HEIGHTS, counted


def test_what_is_missing_at_the_signature_is_said_at_the_top_and_nothing_is_lost(somebody, alone):
    one = somebody(java_script_enabled=False)
    page = one.page("/")
    page.get_by_role("link", name="Put your mark on it").last.click()
    page.get_by_label("wide centre back slat", exact=True).check()
    page.locator("#f-file").set_input_files(file_of("crest.svg"))
    page.get_by_role("button", name="Go on").click()
    sign = page.locator("#sign")
    for _ in range(60):
        if sign.count():
            break
        page.wait_for_timeout(1000)
        page.reload()
    page.get_by_label("Your name").fill("Imke Harrowdale")
    page.get_by_label("E-mail").fill("imke@quillfern")
    page.get_by_label("I may use this artwork").check()
    page.get_by_label("I have looked at").check()
    page.get_by_role("button", name=SIGN).click()
    mend = page.locator("#to-mend a")
    expect(mend).to_have_count(1)
    assert mend.get_attribute("href") == "#f-email"
    expect(page.get_by_label("Your name")).to_have_value("Imke Harrowdale")
    one.watched.errors.clear()  # the browser notes the answer 422


def test_what_takes_a_signature_back_says_so_first(somebody, running):
    page = opened(somebody(), signed_order(running))
    said = page.get_by_text("takes your signature back")
    expect(said.first).to_be_visible()
    page.get_by_role("link", name="Move, turn or resize it").click()
    expect(said.first).to_be_visible()


def test_a_client_orders_the_same_again_and_signs_the_same_drawing_anew(somebody, running):
    order = signed_order(running)
    now = order.client.order(order.id)
    order.client.do(
        "POST", f"/orders/{order.id}/cancellation", json={"reason": "Later."}, headers=revision(now)
    )
    page = opened(somebody(), order)
    page.get_by_role("button", name="Order the same again").click()
    page.wait_for_url(re.compile("/proof"))
    expect(page.locator("#sign")).to_be_visible(timeout=READY_MS)
    assert order_of(page) != order.id
    _, digest, _ = page.locator("#sign [name=shown]").get_attribute("value").split(":")
    assert digest == order.carving["proof"]["digest"]
    assert page.get_by_label("I have looked at").is_checked() is False


def test_lengths_are_in_one_unit_that_is_chosen_once(somebody, running):
    page = opened(somebody(), signed_order(running))
    expect(page.locator("#carvings")).to_contain_text("117.6 mm")
    page.get_by_role("button", name="Show inches").click()
    expect(page.locator("#carvings")).to_contain_text("4 5/8 in")
    expect(page.locator("#carvings")).not_to_contain_text("117.6 mm")
    page.get_by_role("link", name="Check and sign").first.click()
    expect(page.locator("#proofs")).to_contain_text("4 5/8 in")
