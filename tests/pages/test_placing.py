"""Laying art on a slat: fingers, wheel, buttons, without scripts; the camera; slats tapped on the picture."""

from __future__ import annotations

import math
import re

import pytest
from playwright.sync_api import Page, expect

from tests.pages.browsing import PHONE
from tests.pages.orders import Ready, opened, ready_order
from tests.pages.steps import BENCH

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def order(running) -> Ready:
    return ready_order(running)


def on_the_table(person, order: Ready) -> Page:
    page = opened(person, order, f"/carvings/{order.carving['id']}/placement")
    page.wait_for_selector("svg.table")
    expect(page.locator("#judged")).to_contain_text("It carves")
    return page


def width(page: Page) -> float:
    return float(page.get_by_label("Width, mm").input_value())


def judged(page: Page, act) -> None:
    """Do something, and wait until it has been judged and the page shows what came of it."""
    with page.expect_response("**/trials"):
        act()
    expect(page.locator("#judged")).to_have_attribute("aria-busy", "false")


def test_two_fingers_resize_and_turn_it(somebody, order):
    one = somebody(**PHONE)
    page = on_the_table(one, order)
    box = page.locator("svg.table").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    before = width(page)
    touch = one.context.new_cdp_session(page)

    def send(kind: str, apart: float, lean: float) -> None:
        points = [{"x": x - apart, "y": y - lean, "id": 0}, {"x": x + apart, "y": y + lean, "id": 1}]
        touch.send(
            "Input.dispatchTouchEvent", {"type": kind, "touchPoints": points if kind != "touchEnd" else []}
        )

    def pinch() -> None:
        send("touchStart", 80, 0)
        for step in range(1, 6):
            send("touchMove", 80 - 8 * step, 4 * step)
        send("touchEnd", 0, 0)

    judged(page, pinch)
    half_apart = (40**2 + 20**2) ** 0.5
    assert width(page) < before
    assert float(page.locator("[name=percent]").input_value()) == pytest.approx(
        100 * half_apart / 80, rel=0.02
    )
    assert abs(float(page.locator("[name=turn]").input_value())) == pytest.approx(26.6, abs=1.5)  # atan 20/40
    assert page.evaluate("scrollY") == 0  # the page did not scroll under the fingers


def test_a_drag_is_judged_when_it_lets_go_and_can_be_taken_back(somebody, order):
    page = on_the_table(somebody(), order)
    box = page.locator("svg.table").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def drag() -> None:
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 60, y, steps=5)
        page.mouse.up()

    judged(page, drag)
    expect(page.locator("#judged")).to_contain_text("It will not carve as it is")
    assert page.locator("#found li").count() > 0
    assert page.locator("svg.table .found path").count() > 0
    judged(page, lambda: page.get_by_role("button", name="Take back").click())
    expect(page.locator("#judged")).to_contain_text("It carves")
    expect(page.locator("[name=x]")).to_have_value("0")
    judged(page, lambda: page.get_by_role("button", name="Do again").click())
    expect(page.locator("#judged")).to_contain_text("It will not carve as it is")


INSIDE = """() => {
  const [art, safe] = [".art", ".safe"].map((name) => document.querySelector("svg.table " + name));
  const matrix = art.transform.baseVal.consolidate()?.matrix ?? new DOMMatrix();
  const svg = document.querySelector("svg.table");
  const long = art.getTotalLength();
  for (let at = 0; at < long; at += long / 300) {
    const { x, y } = art.getPointAtLength(at);
    const point = Object.assign(svg.createSVGPoint(), { x, y });
    if (!safe.isPointInFill(point.matrixTransform(matrix))) return false;
  }
  return true;
}"""


def test_the_largest_that_fits_touches_the_safe_areas_edge(somebody, order):
    """Against the browser's own geometry: all of the art is in the safe area, and 2 % more would not be."""
    page = on_the_table(somebody(), order)
    judged(page, lambda: page.locator("svg.table").press("["))
    page.get_by_label("Size, % of what it is now").fill("40")
    judged(page, lambda: page.keyboard.press("Enter"))
    small = width(page)
    judged(page, lambda: page.get_by_role("button", name="As large as it goes").click())
    expect(page.locator("[name=turn]")).to_have_value("1")  # it stays turned as it was
    assert width(page) > 2 * small
    assert page.evaluate(INSIDE)
    judged(page, lambda: page.locator("svg.table").press("+"))
    assert not page.evaluate(INSIDE)
    judged(page, lambda: page.locator("svg.table").press("l"))
    judged(page, lambda: page.keyboard.press("Control+z"))
    assert not page.evaluate(INSIDE)


def test_the_wheel_resizes_and_the_page_stays_where_it_is(somebody, order):
    page = on_the_table(somebody(), order)
    before = width(page)
    box = page.locator("svg.table").bounding_box()
    page.evaluate(
        "addEventListener('wheel', (event) => (window.wheeled = (window.wheeled ?? 0) + event.deltaY), true)"
    )
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    wheeled = 0
    while not wheeled:  # a browser that is busy drops wheel events: what counts is what the page was given
        page.mouse.wheel(0, 200)
        page.wait_for_timeout(1000)
        wheeled = page.evaluate("window.wheeled ?? 0")
    assert width(page) == pytest.approx(before * math.exp(-wheeled / 1000), rel=0.01)
    assert page.evaluate("scrollY") == 0
    expect(page.locator("[data-inch=p-width]")).to_have_text(re.compile(r"^\d+( \d+/\d+)? in$"))


def test_without_scripts_it_is_made_as_large_as_fits(somebody, running):
    order = ready_order(running)
    page = opened(somebody(java_script_enabled=False), order, f"/carvings/{order.carving['id']}/placement")
    page.get_by_label("Turn, degrees").fill("90")
    page.get_by_label("Size, % of what it is now").fill("20")
    page.get_by_role("button", name="Make it as large as fits").click()
    placed = order.client.settled(order.id)["lines"][0]["carvings"][0]
    assert placed["placement"]["rotation_deg"] == 90
    # Upright it filled the safe area's width; lying, its height (153.8 mm) has to go into that width (117.6).
    before = order.carving["placement"]["scale"]
    assert placed["placement"]["scale"] == pytest.approx(before * 117.6 / 153.8, rel=0.01)


def test_a_phone_offers_its_camera_and_the_photograph_goes_into_the_file_field(somebody):
    page = somebody(**PHONE).page(BENCH)
    camera = page.locator("input[capture]")
    assert camera.get_attribute("capture") == "environment"
    assert camera.get_attribute("accept") == "image/*"
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Photograph it").click()
    chooser.value.set_files({"name": "photo.jpg", "mimeType": "image/jpeg", "buffer": b"\xff\xd8\xff"})
    expect(page.locator("#h-file")).to_contain_text("photo.jpg")
    assert page.locator("#f-file").evaluate("(field) => field.files[0].name") == "photo.jpg"
    assert somebody().page(BENCH).locator("input[capture]").count() == 0


def test_a_file_can_be_dropped_or_pasted_anywhere(somebody):
    page = somebody().page(BENCH)
    for kind, how in (("drop", "dataTransfer"), ("paste", "clipboardData")):
        page.evaluate(
            """([kind, how]) => {
                const data = new DataTransfer();
                data.items.add(new File(["x"], `${kind}.png`, { type: "image/png" }));
                const init = { bubbles: true, cancelable: true, [how]: data };
                const Kind = { drop: DragEvent, paste: ClipboardEvent }[kind];
                document.body.dispatchEvent(new Kind(kind, init));
            }""",
            [kind, how],
        )
        expect(page.locator("#h-file")).to_contain_text(f"{kind}.png")


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
def test_a_tap_on_the_drawn_slat_chooses_it(somebody, scripts):
    page = somebody(**PHONE, java_script_enabled=scripts).page(BENCH)
    box = page.locator(".tapped .piece").bounding_box()
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] * 0.4)
    expect(page.get_by_label("wide centre back slat")).to_be_checked()
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] * 0.08)
    expect(page.get_by_label("back rail", exact=True)).to_be_checked()
    sizes = page.locator(".slat-box").evaluate_all("(all) => all.map((one) => one.offsetHeight)")
    assert min(sizes) >= 44  # WCAG 2.2, 2.5.5: a target large enough for a finger
