"""Boards at the machine: ticked with a thumb, scanned, made again in two taps; nothing for axe to find."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.pages.browsing import PHONE
from tests.pages.steps import sign_in
from tests.pages.test_accessible import faults
from tests.running import API, Running, art, carvings, revision, shown

pytestmark = pytest.mark.browser


def released(running: Running) -> dict:
    """A small released order."""
    placed = running.caller().send_order()
    client = running.caller(placed["link_token"])
    order = placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [c["id"] for c in carvings(order)])
    order = client.settled(order["id"])
    client.do("POST", f"/orders/{order['id']}/submission", headers=revision(order))
    maker = running.maker()
    maker.do("POST", f"/orders/{order['id']}/offers", json={"shown": shown(order)})
    client.sign(client.order(order["id"]))
    order = maker.do("POST", f"/orders/{order['id']}/feasibility", json={"shown": shown(order)})
    given = {"json": {"shown": shown(order)}, "headers": revision(order)}
    return maker.do("POST", f"/orders/{order['id']}/release", **given)


def keep(page, name: str) -> None:
    if folder := os.environ.get("SLATPROOF_SHOTS"):
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


def test_boards_are_ticked_and_made_again_on_a_phone(somebody, running):
    order = released(running)
    one = somebody(**PHONE)
    page = sign_in(one)
    page.goto(f"{running.url}/bench/orders/{order['id']}")
    page.get_by_role("link", name="Tick boards").click()
    expect(page.get_by_role("heading", level=2)).to_have_text("To carve")
    assert faults(page) == []
    keep(page, "items")
    page.get_by_role("button", name="Ticked boards are carved").click()
    expect(page.get_by_text("Tick at least one board first.")).to_be_visible()
    page.get_by_role("checkbox").first.check()
    page.get_by_role("button", name="Ticked boards are carved").click()
    expect(page.get_by_role("link", name="Carved 1")).to_be_visible()

    # the label's address; two taps make it again
    label = f"{running.url}/bench/orders/{order['id']}/items/1-1-1-back-centre"
    page.goto(label)
    expect(page.get_by_role("heading", level=2).first).to_have_text("Carved")
    other = running.maker()
    done = {"items": ["1-1-1-back-centre"], "seen": "carved", "to": "cut-out"}
    other.do("POST", f"/orders/{order['id']}/ticks", json=done)
    page.get_by_role("button", name="It is cut out").click()  # somebody else was faster
    expect(page.get_by_text("cut out already: ticked by")).to_be_visible()
    one.watched.errors.clear()  # the browser notes the 422 and the 409 that were looked for
    page.goto(label)
    keep(page, "item")
    page.get_by_text("It broke", exact=True).click()
    keep(page, "item-broke")
    assert faults(page) == []
    page.get_by_role("button", name="A knot").click()
    page.wait_for_url("**/1-1-2-back-centre")
    expect(page.get_by_role("heading", level=2).first).to_have_text("To carve")
    page.goto(label)
    expect(page.get_by_text("This board broke and is made again.")).to_be_visible()
    page.get_by_role("link", name="To board 2").click()
    page.wait_for_url("**/1-1-2-back-centre")
    counts = other.do("GET", f"/orders/{order['id']}/items")["counts"]
    assert (counts["to-carve"], counts["broken"]) == (2, 1)
    answer = other.post(f"{API}/orders/{order['id']}/ticks", json=done)
    assert (answer.status_code, answer.json()["type"]) == (409, "/problems/item-broken")
