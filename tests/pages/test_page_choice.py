"""A file of several pages: which one is carved is asked, and asked for again."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.artwork.intake.test_pdf import disc, page
from tests.pages.orders import opened, ready_order
from tests.running import carvings

pytestmark = pytest.mark.browser


def two_pages(canvas) -> None:
    disc(canvas)
    canvas.showPage()
    canvas.rect(50, 50, 120, 60, stroke=0, fill=1)


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
