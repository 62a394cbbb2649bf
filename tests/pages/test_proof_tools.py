"""What a client can do with a proof: slide, see it weathered, at true size, on paper, in 3D, on the piece."""

from __future__ import annotations

import io

import pypdfium2
import pytest
from PIL import Image, ImageChops
from playwright.sync_api import Page, expect

from tests.pages.browsing import PHONE
from tests.pages.orders import Ready, opened, ready_order

pytestmark = pytest.mark.browser

CARD = (85.60, 53.98)
"""ISO/IEC 7810, ID-1: the size of a bank card, mm."""


@pytest.fixture(scope="module")
def order(running) -> Ready:
    return ready_order(running)


SOLID_MS = 60_000  # a solid is drawn without a graphics card: on a busy machine a frame takes seconds


def picture_of(page: Page, what: str) -> Image.Image:
    return Image.open(io.BytesIO(page.locator(what).first.screenshot(timeout=SOLID_MS))).convert("RGB")


def differ(a: Image.Image, b: Image.Image) -> float:
    """Share of the pixels that are not alike."""
    seen = ImageChops.difference(a, b).convert("L").point(lambda value: 255 if value > 24 else 0)
    return seen.histogram()[255] / (a.width * a.height)


def test_the_slider_lays_the_drawing_over_the_wood(somebody, order):
    page = opened(somebody(), order, "/proof")
    page.wait_for_load_state("networkidle")
    wood = picture_of(page, "svg.carving")
    slider = page.get_by_label("From the wood to your drawing")
    slider.fill("100")
    drawn = picture_of(page, "svg.carving")
    assert differ(wood, drawn) > 0.3
    slider.focus()
    page.keyboard.press("Home")
    assert differ(wood, picture_of(page, "svg.carving")) < 0.01
    with page.expect_response("**part=art*wood=weathered*") as grey:
        page.locator("[name=wood]").select_option("weathered")
    grey.value.finished()
    page.wait_for_timeout(200)
    assert differ(wood, picture_of(page, "svg.carving")) > 0.1


def test_true_size_is_set_by_a_bank_card_and_remembered(somebody, order):
    one = somebody()
    page = opened(one, order, "/proof")
    page.get_by_role("button", name="True size").click()
    card = page.locator(".card").bounding_box()
    assert card["width"] / card["height"] == pytest.approx(CARD[0] / CARD[1], rel=0.01)
    page.get_by_label("Wider or narrower").fill("428")  # five pixels a millimetre
    assert page.locator(".card").bounding_box()["width"] == pytest.approx(428, abs=1)
    page.get_by_role("button", name="That fits").click()
    pixels = page.evaluate(
        """() => { const svg = document.querySelector("svg.carving");
            return svg.getBoundingClientRect().width / svg.viewBox.baseVal.width; }"""
    )
    assert pixels == pytest.approx(428 / CARD[0], rel=1e-3)
    again = opened(one, order, "/proof")
    again.get_by_role("button", name="True size").click()
    expect(again.locator("#calibrate")).to_be_hidden()
    width = again.locator("svg.carving").bounding_box()["width"]
    assert width == pytest.approx(page.locator("svg.carving").bounding_box()["width"], abs=0.5)
    again.get_by_role("button", name="True size").click()
    assert again.locator("svg.carving").bounding_box()["width"] < width


# ISO 216 A4 and ANSI/ASME Y14.1 A (Letter), mm.
@pytest.mark.parametrize(("paper", "size"), [("A4", (210, 297)), ("Letter", (215.9, 279.4))])
def test_the_print_is_on_several_sheets_with_a_bar_of_100_mm(somebody, order, paper, size):
    page = opened(somebody(), order, "/proof")
    page.locator("summary", has_text="Print it at true size").click()
    address = page.get_by_role("link", name=f"on {paper}").get_attribute("href")
    answer = page.request.get(page.url.split("/order/")[0] + address)
    assert answer.headers["content-type"] == "application/pdf"
    sheets = pypdfium2.PdfDocument(answer.body())
    assert len(sheets) >= 2  # a slat of 140 × 430 mm is on no single sheet
    for sheet in sheets:
        assert sorted(mm / 72 * 25.4 for mm in sheet.get_size()) == pytest.approx(sorted(size), abs=0.2)
        assert "100 mm" in sheet.get_textpage().get_text_bounded()
        widths = [right - left for left, _, right, _ in (part.get_bounds() for part in sheet.get_objects())]
        assert any(width / 72 * 25.4 == pytest.approx(100, abs=0.6) for width in widths)


def test_the_slat_is_turned_in_3d_by_keys_and_only_fetched_when_asked_for(somebody, order):
    still = {"viewport": {"width": 420, "height": 460}, "reduced_motion": "reduce"}
    page = opened(somebody(**still), order, "/proof")
    fetched: list[str] = []
    page.on("request", lambda request: fetched.append(request.url))
    page.wait_for_load_state("networkidle")
    assert not [url for url in fetched if "three" in url or ".glb" in url]
    page.get_by_role("button", name="Walk around it").click()
    page.wait_for_selector("canvas.solid")
    page.wait_for_timeout(300)
    assert [url for url in fetched if ".glb" in url]
    front = picture_of(page, "canvas.solid")
    assert len(front.getcolors(front.width * front.height)) > 500  # it shows wood
    for key, least in (("ArrowRight", 0.01), ("ArrowUp", 0.01), ("+", 0.02)):
        before = picture_of(page, "canvas.solid")
        for _ in range(4):
            page.keyboard.press(key)
        page.wait_for_timeout(100)
        assert differ(before, picture_of(page, "canvas.solid")) > least, key
    page.get_by_role("button", name="Back to the picture").click()
    expect(page.locator("canvas.solid")).to_have_count(0)
    expect(page.locator("svg.carving")).to_be_visible()
    page.get_by_role("button", name="Walk around it").click()
    page.wait_for_selector("canvas.solid")


def test_without_webgl_the_picture_stays_and_the_button_says_why(somebody, order):
    one = somebody()
    one.context.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    page = opened(one, order, "/proof")
    page.locator("[data-turn]").click()
    expect(page.locator("[data-turn]")).to_contain_text("cannot be turned on this device")
    expect(page.locator("svg.carving")).to_be_visible()
    one.watched.errors.clear()  # three.js notes that it has no WebGL


def test_the_whole_piece_is_shown_with_its_carvings(somebody, order):
    page = opened(somebody(**PHONE), order, "/proof")
    piece = page.get_by_alt_text("with every carving in its place")
    piece.scroll_into_view_if_needed()
    page.wait_for_function("() => document.querySelector('img.whole').naturalWidth > 0")
    assert piece.evaluate("(image) => image.naturalWidth") == 1600


def test_a_place_is_pinned_on_a_long_slat_that_is_shown_close(somebody, running):
    page = opened(somebody(), ready_order(running, "mark.svg", slats=("back-rail",)), "/proof")
    expect(page.locator(".beside")).to_contain_text("The whole slat, 1500 mm")
    page.locator("summary", has_text="Ask for a change").click()
    box = page.locator("svg.carving").bounding_box()
    page.locator("svg.carving").click(position={"x": box["width"] / 4, "y": box["height"] / 2})
    seen = page.locator("svg.carving").evaluate("(svg) => svg.viewBox.baseVal.width")
    middle = page.locator("svg.carving").evaluate("(svg) => svg.viewBox.baseVal.x") + seen / 2
    assert seen < 400
    assert float(page.locator("[name=x]").input_value()) == pytest.approx(middle - seen / 4, abs=1)
