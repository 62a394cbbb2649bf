"""The workshop's own mark in a browser: proposed from a draft, looked at, approved, ended."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.pages.orders import ready_order
from tests.pages.test_bench import bench, maker_state  # noqa: F401 - fixtures

pytestmark = pytest.mark.browser


def test_a_mark_is_proposed_looked_at_approved_and_ended(bench, running):  # noqa: F811
    draft = ready_order(running, "mark.svg", slats=("back-rail",))
    bench.goto(f"{bench.base}/bench/orders/{draft.id}")
    bench.locator("summary", has_text="own mark").click()
    bench.get_by_role("button", name="Propose it as the mark on this slat").click()
    expect(bench.locator(".notice.good")).to_contain_text("until then it is not carved")
    mark = bench.locator("section", has=bench.get_by_role("heading", name="back rail: version 1"))
    expect(mark).to_contain_text("Not approved yet")
    bench.wait_for_function("() => document.querySelector('figure img').naturalWidth > 0")
    mark.get_by_role("button", name="Approve version 1").click()
    expect(bench.locator(".notice.good")).to_contain_text("Approved")
    mark.get_by_role("button", name="End version 1").click()
    expect(bench.locator(".notice.good")).to_contain_text("Ended")
    expect(mark).to_contain_text("Ended")
    bench.goto(f"{bench.base}/bench/record")
    expect(bench.locator("tbody tr").first).to_contain_text("the workshop’s mark ended")
