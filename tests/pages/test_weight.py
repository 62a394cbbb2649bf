"""How heavy the proof page is, and what it needs to be of use on a slow device."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.pages.steps import order_of, ready, start

pytestmark = pytest.mark.browser

PAGE, SCRIPT = 300_000, 60_000  # bytes over the wire, issue 6


def test_the_proof_page_without_3d_is_light(somebody):
    one = somebody()
    order = order_of(ready(start(one)))
    fresh = somebody(storage_state=one.context.storage_state())
    page = fresh.page()
    session = fresh.context.new_cdp_session(page)
    session.send("Network.enable")
    sizes: dict[str, int] = {}
    kinds: dict[str, str] = {}
    session.on("Network.responseReceived", lambda event: kinds.update({event["requestId"]: event["type"]}))
    session.on(
        "Network.loadingFinished",
        lambda event: sizes.update({event["requestId"]: int(event["encodedDataLength"])}),
    )
    page.goto(f"{fresh.base}/order/{order}/proof", wait_until="networkidle")
    page.mouse.wheel(0, 5000)
    page.wait_for_timeout(1500)  # pictures further down are loaded when they come near
    script = sum(size for request, size in sizes.items() if kinds.get(request) == "Script")
    assert sum(sizes.values()) <= PAGE, sorted(sizes.values())
    assert script <= SCRIPT
    assert sum(sizes.values()) > 20_000  # it did load something


def test_it_is_of_use_before_any_script_has_run(somebody):
    one = somebody()
    order = order_of(ready(start(one)))
    page = one.page()
    page.route("**/*.js", lambda route: None)  # scripts that never come
    page.goto(f"{one.base}/order/{order}/proof", wait_until="commit")
    expect(page.locator(".verdict").first).to_contain_text("It carves")
    expect(page.get_by_label("I have looked at")).to_be_enabled()
