"""Several slats as tiles with one place for a file; names as a table that updates itself, mended in the row."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.pages.browsing import PHONE
from tests.pages.orders import Ready, opened
from tests.pages.steps import READY_MS, file_of, keep
from tests.pages.test_accessible import faults
from tests.running import revision

pytestmark = pytest.mark.browser


def empty(running, slats: list[str], quantity: int = 1) -> Ready:
    """A draft without any art."""
    lines = [{"model_key": "longwalk-bench", "quantity": quantity, "slats": slats}]
    placed = running.caller().send_order(lines=lines)
    client = running.caller(placed["link_token"])
    return Ready(placed["order"]["id"], placed["link_token"], client, placed["order"])


def test_one_file_goes_to_the_ticked_tiles_and_they_fill_themselves(somebody, running):
    order = empty(running, ["back-left-1", "back-centre", "back-right-1"])
    page = opened(somebody(**PHONE), order)
    tiles = page.locator(".tiles li")
    expect(tiles).to_have_count(3)
    tiles.filter(has_text="left 1").get_by_role("checkbox").uncheck()
    page.locator("#f-tiles").set_input_files(file_of("crest.svg"))
    page.get_by_role("button", name="Put it on the ticked slats").click()
    expect(page.locator(".tiles img")).to_have_count(2, timeout=READY_MS)
    assert faults(page) == []
    keep(page, "tiles-phone")
    states = {c["slat_key"]: c["state"] for c in order.client.settled(order.id)["lines"][0]["carvings"]}
    assert states["back-left-1"] == "no-art"


def test_names_are_a_table_judged_without_a_reload_and_mended_in_the_row(somebody, running):
    order = empty(running, [], 1)
    names = {
        "line_id": order.whole["lines"][0]["id"],
        "slat_key": "back-left-3",
        "rule": {"typeface": "lato-bold", "cap_height": 30, "least_cap_height": 20},
        "texts": "Rosa\nBartholomew Featherstonehaugh of the Lower Terraces\nEwan",
        "turn_deg": 90,
    }
    now = order.client.order(order.id)
    order.client.do("PUT", f"/orders/{order.id}/names", json=names, headers=revision(now))
    page = opened(somebody(), order)
    rows = page.locator("table.names tbody tr")
    expect(rows).to_have_count(3, timeout=READY_MS)
    expect(page.locator("table.names img")).to_have_count(2, timeout=READY_MS)  # nobody loads it again
    assert faults(page) == []
    keep(page, "names-table")
    page.get_by_label("Text on piece 2").fill("Bart")
    rows.nth(1).get_by_role("button", name="Set it").click()
    expect(page.locator("table.names img")).to_have_count(3, timeout=READY_MS)
