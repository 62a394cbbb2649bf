"""The page that says whether everything is well, with work that was given up and is asked for again."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from seeds.shop import load
from service.orders.actors import Client
from service.usecases import artworks, jobs, looking, shop
from service.usecases.commands import Upload
from tests.pages.browsing import PHONE
from tests.pages.steps import sign_in
from tests.pages.test_accessible import faults
from tests.running import Running, carvings

pytestmark = pytest.mark.browser


class NoQueue:
    """A queue that nobody takes anything from."""

    def enqueue(self, *_asked: Any) -> None:
        """Forget it."""


def give_up_a_reading(running: Running) -> dict[str, Any]:
    """An order whose artwork was never read, as if that had been tried again and again."""
    order = running.caller().send_order()["order"]
    ctx = replace(running.service.ctx, queue=NoQueue())
    client = Client(shop.find_workshop(ctx, "oxbarrow").id, order["id"], "link", "")
    crest = load().artwork("crest.svg")
    upload = Upload(crest.data, crest.name, "image/svg+xml", (carvings(order)[0]["id"],))
    artworks.upload_artwork(ctx, client, order["id"], upload)
    job = looking.jobs_by_order_ids(ctx, client, [order["id"]])[0][0]
    payload = {"job": job.id, "workshop": client.workshop_id, "subject": job.subject_id}
    jobs.fail_job(ctx, payload, "ConnectionError: the store of files did not answer")
    return order


@pytest.mark.parametrize("colours", ["light", "dark"])
def test_given_up_work_is_seen_and_asked_for_again(somebody, running, colours):
    order = give_up_a_reading(running)
    one = somebody(**PHONE) if colours == "dark" else somebody()
    page = sign_in(one)
    page.emulate_media(color_scheme=colours)
    page.get_by_role("link", name="Is everything well?").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Is everything well?")
    expect(page.get_by_role("status")).to_contain_text("Something is worth a look")
    row = page.get_by_role("listitem").filter(has_text=f"order {order['number']}")
    expect(row).to_contain_text("the store of files did not answer")
    assert faults(page) == []
    if folder := os.environ.get("SLATPROOF_SHOTS"):
        page.screenshot(path=Path(folder) / f"wellness-{colours}.png", full_page=True)
    row.get_by_role("button", name="Ask again").click()
    expect(page.get_by_text("Nothing was given up.")).to_be_visible()
    after = running.maker().settled(order["id"])
    assert carvings(after)[0]["state"] == "checked"


def test_it_is_only_for_people_of_the_workshop(somebody):
    one = somebody()
    page = one.page("/bench/wellness")
    expect(page.get_by_label("Password")).to_be_visible()
    one.watched.errors.clear()  # the browser notes the 401 that was looked for
