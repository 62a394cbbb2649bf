"""Slow and broken connections, reloads, two tabs, the back button, keys only."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.pages.browsing import PHONE
from tests.pages.steps import (
    BENCH,
    READY_MS,
    SIGN,
    file_of,
    order_of,
    ready,
    say_art_may_be_used,
    sign,
    sign_in,
    start,
)

pytestmark = pytest.mark.browser

_ORDER = """
    const order = document.querySelector("#carvings").dataset.order;
    const head = { "Slatproof-Order": order, "Content-Type": "application/json" };
    const got = await (await fetch(`/api/v1/orders/${order}`, { headers: head })).json();
    const carving = got.lines[0].carvings[0];
"""
SMALLER = f"""async () => {{ {_ORDER}
    await fetch(`/api/v1/carvings/${{carving.id}}/placement`, {{
        method: "PUT", headers: {{ ...head, "If-Match": `"${{carving.revision}}"` }},
        body: JSON.stringify({{ ...carving.placement, scale: carving.placement.scale * 0.9 }}),
    }});
}}"""
"""Makes the art a tenth smaller behind the page's back."""
DRAWN_WORKING = f"async () => {{ await ({SMALLER})(); return (await fetch(location.pathname)).text(); }}"
"""This page as the server draws it while the art that was just made smaller is being checked."""
SETTLED = f"""async () => {{ {_ORDER}
    const jobs = (await (await fetch(`/api/v1/orders/${{order}}/jobs`, {{ headers: head }})).json()).items;
    return carving.state === "checked" && jobs.every((job) => job.state === "done");
}}"""
"""Whether all work is over, its last note in the list of work included."""


_FREE = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}


def settle(page: Page) -> None:
    """Wait until all work is over. (``wait_for_function`` takes the promise of an answer for a yes.)"""
    for _ in range(300):
        if page.evaluate(SETTLED):
            return
        page.wait_for_timeout(100)
    raise AssertionError("the work does not end")


def test_nothing_typed_is_lost_on_reload_or_error(somebody):
    one = somebody()
    page = one.page(BENCH)
    page.get_by_label("back rail", exact=True).check()
    page.get_by_label("How many pieces").fill("7")
    page.locator("summary", has_text="Have the link mailed").click()
    page.get_by_label("Your name").fill("Imke Harrowdale")
    page.reload()
    expect(page.get_by_label("back rail", exact=True)).to_be_checked()
    expect(page.get_by_label("How many pieces")).to_have_value("7")
    page.get_by_label("E-mail").fill("no address")
    page.locator("form#start").evaluate("(form) => { form.noValidate = true; }")
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_label("Your name")).to_have_value("Imke Harrowdale")
    expect(page.locator("#e-email")).to_contain_text("address")
    one.watched.errors.clear()  # the browser notes the 422 that was looked for


def test_a_form_without_a_slat_says_so_and_keeps_the_rest(somebody):
    one = somebody(java_script_enabled=False)
    page = one.page(BENCH)
    page.locator("summary", has_text="Have the link mailed").click()
    page.get_by_label("Your name").fill("Imke Harrowdale")
    page.get_by_role("button", name="Go on").click()
    expect(page.locator("#e-slats")).to_contain_text("Tap at least one slat")
    expect(page.get_by_label("Your name")).to_have_value("Imke Harrowdale")
    one.watched.errors.clear()  # the browser notes the 422 that was looked for


def test_a_reload_in_the_middle_of_an_upload_loses_neither_the_order_nor_the_form(somebody):
    one = somebody()
    page = ready(start(one, art="crest.svg"))
    line = page.context.new_cdp_session(page)
    line.send("Network.enable")
    line.send("Network.emulateNetworkConditions", {**_FREE, "uploadThroughput": 2_000})  # four minutes
    page.locator("summary", has_text="Send another file").click()
    page.locator("form.upload [type=file]").set_input_files(file_of("scan.jpg"))
    page.get_by_role("button", name="Send it").click()
    expect(page.locator("form.upload progress")).to_be_visible()
    page.reload()
    expect(page.locator(".verdict").first).to_contain_text("It carves")
    line.send("Network.emulateNetworkConditions", _FREE)
    page.locator("summary", has_text="Send another file").click()
    page.locator("form.upload [type=file]").set_input_files(file_of("scan.jpg"))
    with page.expect_response("**/artworks?**") as sent:
        page.get_by_role("button", name="Send it").click()
    assert sent.value.status == 201


def test_a_lost_connection_is_said_and_taken_up_again(somebody):
    one = somebody()
    page = ready(start(one))
    page.route("**/events", lambda route: route.abort("connectionreset"))
    page.reload()
    expect(page.locator("#connection")).to_contain_text("connection was lost", timeout=20_000)
    page.unroute("**/events")
    expect(page.locator("#connection")).to_be_hidden(timeout=30_000)
    one.watched.errors.clear()  # the browser notes what it could not load


def test_an_upload_over_a_broken_connection_is_sent_again_under_the_same_key(somebody):
    one = somebody()
    page = ready(start(one))
    keys: list[str | None] = []

    def fail_once(route):
        keys.append(route.request.headers.get("idempotency-key"))
        if len(keys) == 1:
            route.abort("connectionreset")
        else:
            route.continue_()

    page.route("**/artworks?**", fail_once)
    page.locator("summary", has_text="Send another file").click()
    page.locator("form.upload [type=file]").set_input_files(file_of("crest.svg"))
    with page.expect_response("**/artworks?**") as sent:
        page.get_by_role("button", name="Send it").click()
    assert sent.value.status == 201
    assert len(keys) == 2 and keys[0] == keys[1]
    one.watched.errors.clear()


def test_progress_is_followed_without_loading_the_page_again(somebody):
    page = ready(start(somebody()))
    page.evaluate("window.stayed = true")
    size = page.locator("#carvings p.figure")
    before = size.inner_text()
    page.evaluate(SMALLER)
    expect(size).to_be_visible(timeout=30_000)
    expect(size).not_to_have_text(before, timeout=30_000)
    assert page.evaluate("window.stayed") is True


def test_what_ended_before_the_page_listened_is_shown(somebody):
    """The stream of what happens is held back until a piece of work that began after the page was drawn is over."""
    page = ready(start(somebody()))
    held = []

    def hold(route):
        held.append(route)

    page.route("**/events", hold)
    page.reload()
    size = page.locator("#carvings p.figure")
    before = size.inner_text()
    page.evaluate(SMALLER)
    settle(page)
    assert size.inner_text() == before  # it has not been told
    assert len(held) == 1
    held[0].continue_()
    expect(size).not_to_have_text(before, timeout=30_000)


def test_a_page_drawn_as_working_shows_what_came_of_work_that_ended_before_it_listened(somebody):
    page = ready(start(somebody()))
    before = page.locator("#carvings p.figure").inner_text()
    drawn = page.evaluate(DRAWN_WORKING)
    assert 'class="working"' in drawn
    settle(page)
    address = page.url.partition("#")[0]
    page.route(address, lambda route: route.fulfill(response=route.fetch(), body=drawn), times=1)
    page.goto(address)
    size = page.locator("#carvings p.figure")
    expect(size).to_be_visible(timeout=15_000)
    expect(size).not_to_have_text(before)
    expect(page.locator(".working")).to_have_count(0)


def test_two_tabs_of_two_orders_do_not_get_mixed_up(somebody):
    one = somebody()
    first, second = ready(start(one, pieces=2)), ready(start(one, pieces=3))
    first.reload()
    expect(first.get_by_label("How many Longwalk bench")).to_have_value("2")
    expect(second.get_by_label("How many Longwalk bench")).to_have_value("3")
    say_art_may_be_used(first)
    second.reload()
    expect(second.get_by_label("I may use this artwork")).not_to_be_checked()
    sign(first)
    assert order_of(first) != order_of(second)


def test_a_page_left_open_while_the_order_changed_is_told_so(somebody):
    one = somebody()
    page = ready(start(one))
    other = one.page(f"/order/{order_of(page)}")
    page.evaluate("window.EventSource = undefined")
    say_art_may_be_used(other)
    page.get_by_label("How many Longwalk bench").fill("5")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(".notice.bad")).to_contain_text("changed in the meantime")
    expect(page.get_by_label("How many Longwalk bench")).to_have_value("5")
    one.watched.errors.clear()


def test_back_after_signing_shows_it_as_signed_and_signs_nothing_twice(somebody):
    one = somebody()
    page = ready(start(one))
    say_art_may_be_used(page)
    sign(page)
    page.go_back()
    page.reload()
    expect(page.get_by_role("button", name=SIGN)).to_have_count(0)
    expect(page.locator("#content")).to_contain_text("signed off, waiting for the workshop")


def test_a_double_click_signs_once(somebody):
    one, maker = somebody(), somebody()
    page = ready(start(one))
    say_art_may_be_used(page)
    page.goto(f"{one.base}/order/{order_of(page)}/proof")
    page.get_by_label("I have looked at").check()
    page.get_by_role("button", name=SIGN).dblclick()
    page.wait_for_load_state()
    one.watched.errors.clear()  # the second of the two may be refused
    bench = sign_in(maker, f"/bench/orders/{order_of(page)}")
    assert bench.locator(".history").inner_text().count("signed off") == 1


def test_a_slow_connection_shows_words_before_pictures(somebody):
    one = somebody(**PHONE)
    page = ready(start(one))
    session = one.context.new_cdp_session(page)
    session.send(
        "Network.emulateNetworkConditions",
        {**_FREE, "latency": 400, "downloadThroughput": 50_000, "uploadThroughput": 20_000},
    )
    page.goto(f"{one.base}/order/{order_of(page)}/proof", wait_until="commit")
    expect(page.locator(".verdict").first).to_contain_text("It carves", timeout=10_000)


def test_pictures_that_a_busy_workshop_could_not_draw_in_time_are_asked_for_again(somebody):
    one = somebody()
    page = ready(start(one))
    asked: dict[str, list] = {"view.webp": [], "piece.webp": []}

    def held_at_first(route):
        asks = asked[route.request.url.partition("?")[0].rpartition("/")[2]]
        asks.append(route)
        if len(asks) > 1:
            route.continue_()

    page.route("**/*.webp*", held_at_first)
    page.goto(f"{one.base}/order/{order_of(page)}/proof", wait_until="commit")
    expect(page.locator(".tools").first).to_be_visible()
    page.locator("img.whole").scroll_into_view_if_needed()
    for name, asks in asked.items():
        for _ in range(300):
            if asks:
                break
            page.wait_for_timeout(50)
        with page.expect_response(f"**/{name}*", timeout=60_000):
            asks[0].fulfill(status=429)
    page.wait_for_function("() => document.querySelector('img.whole').naturalWidth > 0", timeout=60_000)
    for _ in range(600):
        if len(asked["view.webp"]) > 1:
            break
        page.wait_for_timeout(50)
    assert min(len(asks) for asks in asked.values()) > 1
    one.watched.errors.clear()  # the browser notes the two that were refused


def test_the_whole_of_it_by_keys_alone(somebody):
    one = somebody()
    page = one.page(BENCH)

    def press_to(seen, key="Tab", most=80):
        for _ in range(most):
            if page.evaluate(f"() => {{ const at = document.activeElement; return {seen}; }}"):
                return
            page.keyboard.press(key)
        raise AssertionError(f"never came to {seen}")

    press_to("at.value === 'back-centre'")
    page.keyboard.press("Space")
    press_to("at.id === 'f-quantity'")
    page.keyboard.press("Control+A")
    page.keyboard.type("4")
    page.locator("#f-file").set_input_files(file_of("crest.svg"))  # the system's own dialog is out of reach
    press_to("at.matches('button') && at.textContent.startsWith('Go on')")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("/order/.*/proof"))
    page.wait_for_selector("#sign", timeout=60_000)
    press_to("at.matches('a') && at.textContent.includes('Move, turn')")
    page.keyboard.press("Enter")
    page.wait_for_selector("svg.table")
    press_to("at.classList.contains('table')")
    for key in ("ArrowUp", "ArrowUp", "-", "["):
        page.keyboard.press(key)
    expect(page.locator("[name=turn]")).to_have_value("1")
    expect(page.locator("[name=y]")).to_have_value("217")
    page.keyboard.press("Control+z")
    expect(page.locator("[name=turn]")).to_have_value("0")
    press_to("at.matches('button') && at.textContent.startsWith('Keep this')")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/order/[a-z2-7]+(#|$)"))
    ready(page)
    press_to("at.matches('a') && at.textContent.includes('Check and sign')")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("/proof"))
    page.wait_for_selector("#sign", timeout=60_000)
    press_to("at.id === 'f-name'")
    page.keyboard.type("Imke Harrowdale")
    press_to("at.id === 'f-email'")
    page.keyboard.type("imke@quillfern.example")
    for name in ("rights_granted", "seen"):
        press_to(f"at.name === '{name}'")
        page.keyboard.press("Space")
    press_to("at.matches('button') && at.textContent.startsWith('Sign')")
    page.keyboard.press("Enter")
    expect(page.locator(".notice.good")).to_contain_text("Signed")


def test_the_bench_by_keys(somebody):
    client, maker = somebody(), somebody()
    page = ready(start(client))
    say_art_may_be_used(page)
    sign(page)
    bench = sign_in(maker, f"/bench/orders/{order_of(page)}")
    bench.keyboard.press("j")
    bench.keyboard.press("a")
    bench.keyboard.press("Enter")
    expect(bench.locator("#content")).to_contain_text("Judged feasible", timeout=READY_MS)
    bench.keyboard.press("r")
    bench.keyboard.press("Enter")
    expect(bench.locator("h1")).to_contain_text("released", timeout=READY_MS)
    for said in ("being made", "done"):
        bench.keyboard.press("p")
        bench.keyboard.press("Enter")
        expect(bench.locator("h1")).to_contain_text(said, timeout=READY_MS)
    bench.keyboard.press("?")
    expect(bench.locator("#keys")).to_be_visible()
