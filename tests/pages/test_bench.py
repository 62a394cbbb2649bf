"""The maker's bench beyond the straight way: queue, cures, changed cuts, comparing, sections, batches of many."""

from __future__ import annotations

from unittest.mock import patch

import pytest
from playwright.sync_api import Page, expect

from service.pages.calling import Api
from service.rest.in_process import Visit
from tests.pages.orders import Ready, ready_order, signed_order
from tests.pages.steps import READY_MS, sign_in

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def maker_state(browser, running):
    """The maker's cookies: signing in once is enough."""
    from tests.pages.browsing import person

    maker = person(browser, running.url)
    sign_in(maker)
    state = maker.context.storage_state()
    maker.leave()
    return state


@pytest.fixture
def bench(somebody, maker_state) -> Page:
    """A page of the maker's, and at ``page.one`` the maker."""
    one = somebody(storage_state=maker_state)
    page = one.page()
    page.base, page.one = one.base, one  # type: ignore[attr-defined]
    return page


def numbers(page: Page) -> list[str]:
    return page.locator("table.queue td.number").all_inner_texts()


def test_the_queue_is_ordered_filtered_and_searched(bench, running):
    late, early, bad = (
        signed_order(running, needed_by="2027-09-01", note="lantern walk"),
        signed_order(running, needed_by="2027-02-01", note="lantern walk"),
        ready_order(running, "thin.png", needed_by="2027-03-01", note="lantern walk"),
    )
    number = {
        name: str(one.whole["number"]) for name, one in (("late", late), ("early", early), ("bad", bad))
    }
    bench.goto(f"{bench.base}/bench")
    found = [each for each in numbers(bench) if each in number.values()]
    assert found == [number["early"], number["late"]]  # what needs the maker, by the day it is needed
    bench.get_by_label("Find").fill(f"order {number['early']}")
    bench.get_by_role("button", name="Find").click()
    assert numbers(bench) == [number["early"]]
    bench.get_by_label("Find").fill("lantern walk")
    bench.get_by_role("button", name="Find").click()
    assert numbers(bench) == [number["early"], number["bad"], number["late"]]
    bench.get_by_label("It will not carve as it is").check()
    bench.get_by_role("button", name="Show").click()
    assert numbers(bench) == [number["bad"]]
    row = bench.locator("table.queue tbody tr")
    expect(row).to_contain_text("Longwalk bench")
    expect(row).to_contain_text("wide centre back slat")
    expect(row).to_contain_text("checked")
    expect(row.locator(".short")).to_contain_text("line")
    bench.wait_for_function("() => document.querySelector('.art img').naturalWidth > 0")
    bench.get_by_label("It will not carve as it is").uncheck()
    bench.get_by_label("In the order of").select_option("newest")
    bench.get_by_role("button", name="Show").click()
    assert numbers(bench) == [number["bad"], number["early"], number["late"]]


def test_the_queue_asks_twice_however_many_orders_there_are(bench):
    asked: list[str] = []
    call, ask = Visit.call, Api.ask

    async def counted(visit, what):
        asked.append(what.path)
        return await call(visit, what)

    async def counted_question(api, question, **variables):
        asked.append("/graphql")
        return await ask(api, question, **variables)

    with patch.object(Visit, "call", counted), patch.object(Api, "ask", counted_question):
        bench.goto(f"{bench.base}/bench?state=submitted&state=draft")
    assert len(numbers(bench)) > 2
    assert asked == ["/session", "/graphql"]  # who is there, and everything else


ACTS_FOR_FORTY = 45
"""Keys, clicks and ticks that forty plain orders may take (issue 18; 160 before)."""


def test_plain_orders_are_cleared_by_about_one_act_each(bench, running):
    """By the key A one act an order; many at once by three acts whatever their number."""
    orders = [signed_order(running, note="acts are counted", needed_by="2026-12-24") for _ in range(4)]
    bench.goto(f"{bench.base}/bench?show=needs")
    acts = 0
    for count in (1, 2):
        bench.keyboard.press("a")
        acts += 1
        expect(bench.locator(".notice.good")).to_contain_text("1 of them released", timeout=30_000)
        bench.goto(f"{bench.base}/bench?words=acts+are+counted&state=submitted")
        assert len(numbers(bench)) == len(orders) - count
    assert acts * 40 / 2 <= ACTS_FOR_FORTY
    bench.locator("#all").check()
    bench.get_by_role("button", name="Approve the ticked").click()
    expect(bench.locator(".notice.good")).to_contain_text(
        "2 orders decided, 2 of them released.", timeout=30_000
    )
    assert {order.client.order(order.id)["state"] for order in orders} == {"released"}


def test_an_order_that_cannot_be_decided_says_why_and_the_others_are(bench, running):
    fine, changed = (signed_order(running, note="one is stale", needed_by="2026-12-26") for _ in range(2))
    bench.goto(f"{bench.base}/bench?words=one+is+stale&state=submitted")
    carving = changed.client.order(changed.id)["lines"][0]["carvings"][0]
    smaller = {**carving["placement"], "scale": carving["placement"]["scale"] * 0.95}
    changed.client.do(
        "PUT",
        f"/carvings/{carving['id']}/placement",
        json=smaller,
        headers={"If-Match": f'"{carving["revision"]}"'},
    )
    bench.locator("#all").check()
    bench.get_by_role("button", name="Approve the ticked").click()
    expect(bench.locator(".notice.bad")).to_contain_text(f"Order {changed.whole['number']}: ")
    assert fine.client.order(fine.id)["state"] == "released"
    assert changed.client.order(changed.id)["state"] == "submitted"
    bench.one.watched.errors.clear()  # the browser notes the answer 409


def test_judging_approves_releases_and_goes_on(bench, running):
    first, second = (signed_order(running, needed_by=f"2026-12-0{day}") for day in (1, 2))
    at(bench, first)
    expect(bench.locator(".figures .enough").first).to_be_visible()
    bench.get_by_role("button", name="Approve, release and go on").click()
    bench.wait_for_url(f"**/bench/orders/{second.id}")
    assert first.client.order(first.id)["state"] == "released"


def at(page: Page, order: Ready) -> Page:
    page.goto(f"{page.base}/bench/orders/{order.id}")
    return page


def settled(page: Page) -> None:
    expect(page.locator(".working")).to_have_count(0, timeout=READY_MS)


def test_the_maker_takes_a_version_and_compares_the_two_proofs(bench, running):
    at(bench, ready_order(running, "thin.png"))
    version = bench.locator(".versions figure", has=bench.get_by_role("button")).first
    expect(version).to_contain_text("As it will be carved", timeout=60_000)
    bench.keyboard.press("c")
    expect(version.get_by_role("button").first).to_be_focused()
    bench.keyboard.press("Enter")
    settled(bench)
    expect(bench.locator(".verdict").first).to_contain_text("It carves")
    expect(bench.locator("[data-chosen]")).to_contain_text("Chosen by the workshop")
    bench.keyboard.press("v")
    expect(bench.get_by_role("link", name="Compare with an earlier proof")).to_be_focused()
    bench.keyboard.press("Enter")
    expect(bench.locator("[name=a] option:checked")).to_contain_text("Proof 1")
    expect(bench.locator("[name=b] option:checked")).to_contain_text("Proof 2")
    expect(bench.locator(".verdict")).to_have_count(2)
    expect(bench.locator("tr.differs", has_text="Least line")).to_have_count(2)
    expect(bench.locator("tr.differs", has_text="Sanded off")).to_have_count(0)


def test_what_another_bit_would_change_is_seen_before_it_is_changed(bench, running):
    at(bench, ready_order(running))
    bench.keyboard.press("e")  # unfolds the form and goes to the bit
    expect(bench.get_by_label("Bit", exact=True)).to_be_focused()
    bench.get_by_label("Bit", exact=True).select_option("v90")
    tried = bench.locator(".tried")
    expect(tried).to_contain_text("Then:")
    expect(tried.locator("tr.differs", has_text="it needs")).to_have_count(2)  # of line and of land
    expect(tried.locator("tr.differs", has_text="Worst depth")).to_have_count(1)
    then = tried.locator("tr", has_text="Worst depth").locator("td").last.inner_text()
    bench.get_by_label("Board uneven by").fill("nothing")
    expect(tried.locator(".fault")).to_be_visible()
    bench.one.watched.errors.clear()  # the browser notes the 422 that was looked for
    bench.get_by_label("Board uneven by").fill("")
    expect(tried).to_contain_text("Then:")
    bench.get_by_role("button", name="Change it and check again").click()
    settled(bench)
    bench.locator("summary", has_text="All figures").click()
    expect(bench.locator("table.figures tr", has_text="Worst depth")).to_contain_text(then)
    assert bench.locator("[name=bit_key]").input_value() == "v90"


def test_the_section_of_the_line_pointed_at(bench, running):
    order = ready_order(running)
    at(bench, order)
    bench.locator("svg.carving").click()
    box = bench.locator("#section-box")
    expect(box).to_contain_text("deep is sure to be left")
    expect(box).to_contain_text("where the board lies low: the worst for the line")
    proof = order.carving["proof"]
    depth = bench.request.get(f"{bench.base}/api/v1/proofs/{proof['id']}/section?x=0&y=300").json()[
        "depth_left"
    ]
    box.get_by_role("button", name="Close").click()
    bench.goto(f"{bench.base}/bench/proofs/{proof['id']}/section?x=0&y=300")
    expect(bench.locator("#section")).to_contain_text(f"{depth:.2f} mm deep is sure to be left")
    expect(bench.locator("#section svg text").first).to_have_text("5 mm")


def test_two_orders_leave_in_one_batch(bench, running):
    orders = [signed_order(running, needed_by="2027-04-01") for _ in range(2)]
    for order in orders:
        at(bench, order)
        bench.get_by_role("button", name="Feasible: approve").click()
        bench.get_by_role("button", name="Release it to be carved").click()
        expect(bench.locator("h1")).to_contain_text("released")
        expect(bench.locator(".history")).to_contain_text("judged feasible by Tamsin Oxbarrow, the maker")
        expect(bench.locator(".history")).to_contain_text("signed off by the client")
        expect(bench.locator(".stays")).to_contain_text("agreed to by the client")
    bench.goto(f"{bench.base}/bench/batches")
    for order in orders:
        bench.get_by_label(f"Order {order.whole['number']} ·").check()
    bench.get_by_role("button", name="Put the archive together").click()
    row = bench.locator("[id^=batch-]").first
    expect(row.get_by_role("link", name="Save the archive")).to_be_visible(timeout=30_000)
    expect(row.locator("td").nth(1)).to_have_text(", ".join(str(o.whole["number"]) for o in orders))


def test_a_batch_of_nothing_says_what_to_do(bench):
    bench.goto(f"{bench.base}/bench/batches")
    bench.get_by_role("button", name="Put the archive together").click()
    expect(bench.locator(".notice.bad")).to_contain_text("Tick at least one order")
    bench.one.watched.errors.clear()  # the browser notes the 422 that was looked for
