"""A test board on a phone: made, read with a thumb, its fit and proposal; nothing for axe to find."""

from __future__ import annotations

import numpy as np
import pytest
from playwright.sync_api import expect

from artwork.testboard.simulated import any_shop, measured
from tests.own_numbers.shops import board as usual_board
from tests.pages.browsing import PHONE
from tests.pages.steps import sign_in
from tests.pages.test_accessible import faults
from tests.pages.test_items import keep

pytestmark = pytest.mark.browser


def test_a_board_is_made_read_and_weighed_on_a_phone(somebody, running):
    one = somebody(**PHONE)
    page = sign_in(one)
    page.goto(f"{running.url}/bench/settings/test-boards")
    assert faults(page) == []
    page.get_by_role("button", name="Make the board").click()
    expect(page.get_by_role("heading", name="Cut it")).to_be_visible()
    expect(page.get_by_text("minutes of carving, an estimate", exact=False)).to_be_visible()
    assert faults(page) == []
    page.get_by_role("link", name="Begin reading").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Thickness before")
    keep(page, "board-readings")
    page.get_by_role("button", name="More").first.click()
    expect(page.get_by_label("P1, before, mm")).to_have_value("25.40")
    page.get_by_role("button", name="More").first.click()
    expect(page.get_by_label("P1, before, mm")).to_have_value("25.45")
    assert faults(page) == []
    page.get_by_role("button", name="Keep and go on").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Thickness after")
    page.get_by_role("button", name="Skip").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("L1")
    page.goto(page.url.replace("group=L1", "group=B2"))
    page.get_by_role("checkbox").first.uncheck()
    keep(page, "board-lands")
    page.get_by_role("button", name="Keep and go on").click()

    address = page.url.partition("/readings")[0]
    board = address.rsplit("/", 1)[1]
    rng = np.random.default_rng(4)
    readings = measured(usual_board().plan, any_shop(rng), rng)
    readings["L9.width"] *= 10
    running.maker().do("POST", f"/test-boards/{board}/readings", json={"readings": readings})
    page.goto(address)
    expect(page.get_by_text("L9.width was typed as", exact=False)).to_be_visible()
    expect(page.get_by_role("heading", name="What your shop does")).to_be_visible()
    assert faults(page) == []
    keep(page, "board-fit")
    weigh = page.get_by_role("link", name="Try it on what was refused and signed lately")
    weigh.click(no_wait_after=True)  # it judges every piece lately refused or signed before it answers
    expect(page.get_by_text("refused pieces would carve", exact=False)).to_be_visible(timeout=60_000)
