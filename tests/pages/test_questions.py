"""Questions on an order, lost links, and what is said and asked before something that was signed falls."""

from __future__ import annotations

import re
import time

import pytest
from playwright.sync_api import expect

from tests.pages.browsing import PHONE
from tests.pages.orders import opened, signed_order
from tests.pages.steps import keep
from tests.pages.test_accessible import faults
from tests.pages.test_bench import at, bench, maker_state  # noqa: F401 - fixtures
from tests.running import Running, revision

pytestmark = pytest.mark.browser


def mails(running: Running, about: str, seconds: float = 20) -> list[str]:
    """Mails in the outbox folder that say something, once there is one."""
    outbox = running.service.settings.data / "outbox"
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        texts = [re.sub(r"=\r?\n", "", path.read_text()) for path in outbox.glob("*.eml")]
        found = [text for text in texts if about in text]
        if found:
            return found
        time.sleep(0.1)
    return []


def test_client_and_workshop_ask_and_answer_beside_the_decision(bench, running, somebody):  # noqa: F811
    order = signed_order(running)
    page = opened(somebody(**PHONE), order, "/proof")
    page.get_by_label("Write to the workshop").fill("Does the lantern\nface the path?")
    page.get_by_role("button", name="Send the message").click()
    expect(page.locator(".said")).to_contain_text("Does the lantern")
    assert page.url.split("#")[0].endswith("/proof")
    assert faults(page) == []
    keep(page, "question-phone")
    number = order.whole["number"]
    assert "Does the lantern" in mails(running, f"Subject: A question on order {number}")[0]

    at(bench, order)
    expect(bench.locator(".said")).to_contain_text("Does the lantern")
    bench.get_by_label("Answer or ask").fill("Yes, it does.")
    bench.get_by_role("button", name="Send the message").click()
    expect(bench.locator(".said .own")).to_contain_text("Yes, it does.")
    assert "Yes, it does." in mails(running, f"writes about your order {number}")[0]
    expect(page.locator(".said")).to_contain_text("Yes, it does.")  # by itself
    asked = "query ($id: ID!) { order(id: $id) { messages { side words } } }"
    given = {"query": asked, "variables": {"id": order.id}}
    answer = order.client.post("/graphql", json=given).json()
    assert [each["side"] for each in answer["data"]["order"]["messages"]] == ["CLIENT", "WORKSHOP"]


def test_a_lost_link_is_mailed_and_nobody_learns_who_has_orders(running, somebody):
    order = signed_order(running, contact={"name": "Rosa Quillfern", "email": "rosa.lost@quillfern.example"})
    one = somebody()
    page = one.page("/link/splink_cut-off-on-the-way")
    expect(page.locator("h1")).to_contain_text("does not open anything")
    told = []
    for address in ("nobody@quillfern.example", "rosa.lost@quillfern.example"):
        page.get_by_role("link", name="Have it mailed").or_(page.get_by_role("link", name="again")).click()
        at_shop = page.locator("#f-at")
        if at_shop.count():
            at_shop.select_option("oxbarrow")
        page.get_by_label("E-mail").fill(address)
        page.get_by_label("Number of the order").fill(str(order.whole["number"]))
        page.get_by_role("button", name="Mail me the link").click()
        told.append(page.locator("#content").inner_text())
        page.goto(f"{running.url}/order/{order.id}")  # without a link
    assert told[0] == told[1]
    links = [re.search(r"/link/(\S+)", text) for text in mails(running, "rosa.lost@quillfern.example")]
    page.goto(f"{running.url}/link/{next(found[1] for found in links if found)}")
    expect(page.locator("h1")).to_contain_text(f"Order {order.whole['number']}")
    one.watched.errors.clear()  # the browser notes the refusals that were looked for


def test_what_a_signature_falls_with_is_asked_first_and_the_workshop_is_told(running, somebody):
    order = signed_order(running)
    number = order.whole["number"]
    one = somebody()
    page = opened(one, order)
    page.locator("input[name^=quantity-]").first.fill("3")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".fault")).to_contain_text("Tick that you want it")
    one.watched.errors.clear()  # the browser notes the answer 422
    assert order.client.order(order.id)["lines"][0]["carvings"][0]["state"] == "signed"
    page.get_by_label("Another number of pieces").check()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".notice.good")).to_contain_text("Saved")
    assert "number of pieces was changed" in mails(running, f"Taken back: order {number}")[0]


def test_a_wish_for_a_change_is_not_taken_back_in_silence(running, somebody):
    order = signed_order(running)
    shown = {name: order.carving["proof"][name] for name in ("digest", "picture")}
    wish = {"shown": {"carving_id": order.carving["id"], **shown}, "words": "A little lower, please."}
    order.client.do("POST", "/change-requests", json=wish)
    page = opened(somebody(), order, f"/carvings/{order.carving['id']}/placement")
    expect(page.get_by_label("this takes that wish back")).not_to_be_checked()
    now = order.client.order(order.id)["lines"][0]["carvings"][0]
    moved = now["placement"] | {"scale": now["placement"]["scale"] * 0.9}
    order.client.do("PUT", f"/carvings/{now['id']}/placement", json=moved, headers=revision(now))
    text = mails(running, f"Taken back: order {order.whole['number']}")[0]
    assert "The wish for a change on" in text
