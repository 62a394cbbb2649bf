"""A file of several pages: which one is carved is asked, and asked for again."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.artwork.intake.made import svg
from tests.artwork.intake.test_pdf import disc, page
from tests.pages.orders import opened, ready_order
from tests.pages.steps import SIGN, sign_in
from tests.running import carvings

pytestmark = pytest.mark.browser


def two_pages(canvas) -> None:
    disc(canvas)
    canvas.showPage()
    canvas.rect(50, 50, 120, 60, stroke=0, fill=1)


def test_what_a_file_lost_is_said_to_client_and_maker_and_accepted(somebody, running):
    """Text whose font is not in the file is left out: neither signs for that unknowing."""
    made = ready_order(running)
    ids = [carving["id"] for carving in carvings(made.whole)]
    body = '<circle cx="50" cy="40" r="30"/><text x="10" y="95">Quillfern</text>'
    made.client.upload(made.id, "words.svg", svg(body), ids)
    made.client.settled(made.id)
    shown = opened(somebody(), made)
    expect(shown.locator("[data-file-remarks]").first).to_contain_text("text that is still text")
    bench = sign_in(somebody(), f"/bench/orders/{made.id}")
    expect(bench.locator("[data-file-remarks]").first).to_contain_text("text that is still text")
    shown.goto(f"{shown.url.split('/order/')[0]}/order/{made.id}/proof")
    accepted = shown.get_by_label("I accept that the file was read like this")
    expect(accepted.first).not_to_be_checked()
    assert accepted.first.get_attribute("required") is not None
    (remark,) = (
        name for name in carvings(made.client.order(made.id))[0]["proof"]["remarks"] if "file-" in name
    )
    ticked = (accepted.first.get_attribute("value") or "").split()
    assert ticked == [remark]
    for tick in shown.get_by_role("checkbox", name="I ").all():
        tick.check()
    shown.get_by_role("button", name=SIGN).click()
    expect(shown.get_by_text("Accepted by the client.").first).to_be_visible()
    assert remark in carvings(made.client.order(made.id))[0]["proof"]["waived"]


def test_another_page_of_a_file_is_chosen(somebody, running):
    made = ready_order(running)
    ids = [carving["id"] for carving in carvings(made.whole)]
    made.client.upload(made.id, "two.pdf", page(two_pages), ids)
    made.client.settled(made.id)
    shown = opened(somebody(), made)
    shown.get_by_text("What we read from your file").first.click()
    choice = shown.get_by_label("Page of the file")
    expect(choice).to_have_value("0")
    choice.select_option("1")
    shown.get_by_role("button", name="Read it again like this").click()
    assert carvings(made.client.settled(made.id))[0]["reading"]["wishes"]["page"] == 1
