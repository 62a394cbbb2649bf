"""A newcomer from `found` to the first released order, without leaving the pages."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from artwork.workpiece import Bit
from service.usecases.account_recovery import found_workshop
from tests.pages.browsing import PHONE
from tests.pages.steps import READY_MS, SIGN, file_of, keep
from tests.pages.test_accessible import faults
from tests.pages.test_settings import dxf_of

pytestmark = pytest.mark.browser
PASSWORD = "shavings curl off the plane at dusk"


def test_from_found_to_the_first_released_order(somebody, running):
    secret = found_workshop(
        running.service.ctx,
        "alderholt",
        "Alderholt Benches",
        Bit("v60"),
        email="isa@alderholt.example",
        maker="Isa Alderholt",
    )
    one = somebody()
    page = one.page(f"/password/{secret}")
    page.locator("input[type=password]").first.fill(PASSWORD)
    page.locator("main button").click()
    page.get_by_label("E-mail").fill("isa@alderholt.example")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="Go through the five steps").click()
    assert faults(page) == []
    keep(page, "first-1")

    page.locator("summary", has_text="Out of a drawing").click()
    page.get_by_label("What you call it").last.fill("Fern gate")
    page.locator("#dr-file").set_input_files(
        {"name": "gate.dxf", "mimeType": "image/vnd.dxf", "buffer": dxf_of(140, 860)}
    )
    page.get_by_role("button", name="Take its slats out of the drawing").click()
    expect(page.locator("#step-2")).to_have_attribute("open", "")
    page.get_by_label("Flat at the tip").fill("0.2")
    page.get_by_role("button", name="This is the bit").click()
    page.get_by_label("How boards are held").select_option("probed")
    page.get_by_role("button", name="These are right").click()
    page.get_by_label("E-mail for clients").fill("shop@alderholt.example")
    page.get_by_role("button", name="Show this to clients").click()
    page.get_by_label("Fern gate, uncarved").fill("240")
    page.get_by_label("Each carved slat").fill("20")
    page.get_by_role("button", name="Set these prices").click()
    assert faults(page) == []
    keep(page, "first-5")

    page.get_by_role("link", name="Order Fern gate").click()
    expect(page.locator("#estimate")).to_contain_text("USD 240.00")
    expect(page.locator("footer")).to_contain_text("shop@alderholt.example")
    page.get_by_label("slat 1 from the left").check()
    page.locator("#f-file").set_input_files(file_of("crest.svg"))
    page.get_by_role("button", name="Go on").click()
    page.wait_for_url(re.compile("/proof"))
    expect(page.locator("#sign")).to_be_visible(timeout=READY_MS)
    page.get_by_label("Your name").fill("Isa Alderholt")
    page.get_by_label("E-mail").fill("isa@alderholt.example")
    page.get_by_label("I may use this artwork").check()
    for box in page.get_by_label("I accept").all():
        box.check()
    page.get_by_label("I have looked at").check()
    page.get_by_role("button", name=SIGN).click()
    expect(page.locator(".notice.good")).to_contain_text("Signed")

    page.goto(f"{one.base}/bench/first")
    page.get_by_role("link", name="Order 1").click()
    page.get_by_role("button", name=re.compile("Approve")).first.click(timeout=READY_MS)
    page.wait_for_url("**/bench", timeout=READY_MS)
    page.goto(f"{one.base}/bench/first")
    expect(page.get_by_text("All five are done")).to_be_visible()
    keep(page, "first-done")


def test_models_are_made_of_starters_and_figures_copied_and_laid_out(somebody, running):
    from tests.pages.steps import sign_in

    page = sign_in(somebody(**PHONE), "/bench/settings")
    page.get_by_role("link", name="A new piece of furniture").click()
    assert faults(page) == []
    page.locator("summary", has_text="From your own figures").click()
    form = page.locator("details[data-name=figures]")
    form.get_by_label("What you call it").fill("Fern screen")
    form.get_by_label("Screws across").fill("2")
    form.get_by_role("button", name="Make it").click()
    expect(page.locator("h1")).to_have_text("Fern screen")
    expect(page.locator("table")).to_contain_text("140 × 860 mm")
    page.get_by_role("link", name="slat 1 from the left").click()
    page.get_by_label("Middle of the art").fill("600")
    page.get_by_role("button", name="Save the slat").click()
    expect(page.locator("table")).to_contain_text("first at 600 mm")
    assert faults(page) == []
    page.get_by_label("Parts that carry no art").fill("post, 2, 900, 90, 45\nlower rail, 1, 440, 90, 25.4")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_label("Parts that carry no art")).to_have_value(
        "post, 2, 900, 90, 45\nlower rail, 1, 440, 90, 25.4"
    )
    page.get_by_role("button", name="Copy it").click()
    expect(page.locator("h1")).to_have_text("Fern screen, another")
    maker = running.maker()
    for key in ("fern-screen", "fern-screen-another"):
        model = maker.do("GET", f"/models/{key}")
        assert [slat["art_y"] for slat in model["slats"]] == [600, None, None]
        assert len(model["slats"][0]["keep_outs"]) == 4
        assert [(part["key"], part["count"]) for part in model["parts"]] == [("post", 2), ("lower-rail", 1)]
        headers = {"If-Match": f'"{model["revision"]}"'}
        maker.do("PUT", f"/settings/models/{key}/retirement", json={"retired": True}, headers=headers)
