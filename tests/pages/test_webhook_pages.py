"""Where events are sent, at the bench: name an address, see what was given up, send it again, renew the secret."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import expect
from sqlalchemy import update

from service.store.webhook_tables import deliveries
from tests.pages.steps import sign_in
from tests.running import Running
from tests.waiting import until

URL = "https://hooks.quillfern.example/heard"


def test_a_message_given_up_is_sent_again(running: Running, somebody, tmp_path: Path):
    page = sign_in(somebody(), "/bench/webhooks")
    page.get_by_text("Name an address").click()
    page.get_by_label("Address, beginning with https:").fill(URL)
    page.get_by_role("button", name="Send events there").click()
    first = page.locator("code.digest").inner_text()
    assert first.startswith("whsec_")
    maker = running.maker()
    (hook,) = (each for each in maker.do("GET", "/webhooks")["items"] if each["url"] == URL)
    running.caller().send_order()
    listed = f"/webhooks/{hook['id']}/deliveries"

    def given_up() -> bool:
        """What was tried in vain is given up; what is on its way just now would say afterwards how it went."""
        with running.service.ctx.store.writing() as connection:
            tried = (deliveries.c.webhook_id == hook["id"]) & (deliveries.c.attempts > 0)
            connection.execute(update(deliveries).where(tried).values(state="dead", due_at=None, attempts=10))
        return bool(maker.do("GET", listed, params={"state": "dead"})["items"])

    until(given_up)
    page.goto(f"{running.url}/bench/webhooks")
    expect(page.get_by_role("listitem").filter(has_text=URL)).to_contain_text("messages given up")
    page.get_by_role("link", name=URL).click()
    page.get_by_role("link", name="given up").click()
    dead = maker.do("GET", listed, params={"state": "dead", "count": True})["total"]
    expect(page.get_by_role("heading", name=f"Messages: {dead}")).to_be_visible()
    page.screenshot(path=tmp_path / "given-up.png")
    page.get_by_role("button", name=re.compile("^Send again")).first.click()
    expect(page.get_by_role("heading", name=f"Messages: {dead - 1}")).to_be_visible()
    page.get_by_role("link", name="Where events are sent").click()
    page.get_by_role("button", name=re.compile("^New secret")).first.click()
    assert page.locator("code.digest").inner_text() not in {"", first}
    page.get_by_role("button", name=re.compile("^Send nothing more")).first.click()
    expect(page.get_by_role("link", name=URL)).to_have_count(0)
