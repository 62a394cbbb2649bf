"""Settings in a browser: figures that explain themselves, bits, slats by figures and out of drawings, people, links."""

from __future__ import annotations

import io
import re

import ezdxf
import pytest
from playwright.sync_api import Page, expect

from artwork import tooling
from service.pages.shop_settings import HOLDING
from tests.pages.orders import ready_order
from tests.pages.test_bench import at, bench, maker_state  # noqa: F401 - fixtures

pytestmark = pytest.mark.browser


def no_more_noted(page: Page) -> None:
    """The browser notes every refusal that was looked for."""
    page.one.watched.errors.clear()  # type: ignore[attr-defined]


def test_a_figure_that_cannot_be_says_why_and_a_good_one_is_on_record(bench):  # noqa: F811
    bench.goto(f"{bench.base}/bench/settings")
    sanding = bench.get_by_label("Sanded off the face, mm")
    before = sanding.input_value()
    sanding.fill("-1")
    bench.get_by_role("button", name="Save the workshop’s settings").click()
    expect(bench.locator(".notice.bad")).to_contain_text("Sanded off the face")
    expect(sanding).to_have_value("-1")  # what was typed is still there
    no_more_noted(bench)
    needed = bench.locator(".cost").first.locator("strong").inner_text()
    sanding.fill(str(float(before) + 0.1))
    bench.get_by_role("button", name="Save the workshop’s settings").click()
    expect(bench.locator(".notice.good")).to_contain_text("Saved")
    assert bench.locator(".cost").first.locator("strong").inner_text() > needed  # a line must be wider now
    bench.goto(f"{bench.base}/bench/record")
    expect(bench.locator("tbody tr").first).to_contain_text("settings changed")
    expect(bench.locator("tbody tr").first).to_contain_text(re.compile(r"sanding [0-9.]+ → [0-9.]+"))
    expect(bench.locator("tbody tr").first).to_contain_text("Tamsin Oxbarrow, the maker")
    bench.goto(f"{bench.base}/bench/settings")
    bench.get_by_label("Sanded off the face, mm").fill(before)
    bench.get_by_role("button", name="Save the workshop’s settings").click()
    expect(bench.locator(".notice.good")).to_be_visible()


def test_how_boards_are_held_sets_the_unevenness(bench):  # noqa: F811
    assert {way: left for way, (_, left) in HOLDING.items()} == tooling.HOLDING
    bench.goto(f"{bench.base}/bench/settings")
    for way, left in (("one zero a bed", "0.6"), ("zeroed", "0.4")):
        bench.get_by_label("How boards are held").select_option(way)
        bench.get_by_role("button", name="Save the workshop’s settings").click()
        expect(bench.locator(".notice.good")).to_contain_text("Saved")
        expect(bench.get_by_label("Board uneven by ±, mm")).to_have_value(left)
        expect(bench.get_by_label("How boards are held")).to_have_value(way)


def test_a_bit_is_added_and_put_away(bench):  # noqa: F811
    bench.goto(f"{bench.base}/bench/settings")
    bench.locator("summary", has_text="Add a bit").click()
    new = bench.locator("details[data-name=new-bit]")
    for label, value in (
        ("Short name", "v45"),
        ("Included angle", "200"),
        ("Flat at the tip", "0.2"),
        ("Cutting diameter", "6.35"),
        ("Cutting height", "7"),
    ):
        new.get_by_label(label).fill(value)
    new.get_by_role("button", name="Add it").click()
    expect(bench.locator(".notice.bad")).to_contain_text("Included angle")
    no_more_noted(bench)
    expect(new.get_by_label("Flat at the tip")).to_have_value("0.2")  # what was typed is still there
    new.get_by_label("Included angle").fill("45")
    new.get_by_role("button", name="Add it").click()
    bench.locator("summary", has_text="(v45)").click()
    bench.get_by_role("button", name=re.compile("Stop using it.*v45")).click()
    expect(bench.locator("summary", has_text="v45")).to_contain_text("not used any more")


def dxf_of(width: float, length: float) -> bytes:
    drawing = ezdxf.new(units=ezdxf.units.MM)
    drawing.modelspace().add_lwpolyline([(0, 0), (width, 0), (width, length), (0, length)], close=True)
    text = io.StringIO()
    drawing.write(text)
    return text.getvalue().encode()


SIZELESS = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 300"><path d="M0 0h60v300H0z"/></svg>'
SVG = SIZELESS.replace(b"viewBox", b'width="60mm" height="300mm" viewBox')
DRAWINGS = [
    ("slat.dxf", "image/vnd.dxf", dxf_of(80, 400), (80, 400)),
    ("slat.svg", "image/svg+xml", SVG, (60, 300)),
]


def extent(page: Page, key: str) -> tuple[float, float]:
    model = page.request.get(f"{page.base}/api/v1/models/longwalk-bench").json()  # type: ignore[attr-defined]
    (ring,) = next(slat for slat in model["slats"] if slat["key"] == key)["outline"]
    xs, ys = zip(*ring, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def test_slats_are_drawn_by_figures_or_taken_out_of_a_drawing(bench):  # noqa: F811
    address = f"{bench.base}/bench/settings/models/longwalk-bench"

    def new_slat(key: str) -> None:
        bench.goto(f"{address}?slat=new")
        bench.get_by_label("Short name", exact=True).fill(key)
        bench.locator("input[name=name]").first.fill(f"slat {key}")

    new_slat("tried")
    bench.get_by_label("Width", exact=True).fill("90")
    bench.get_by_label("Length", exact=True).fill("500")
    bench.get_by_role("button", name="Save the slat").click()
    expect(bench.get_by_role("link", name="slat tried")).to_be_visible()
    assert extent(bench, "tried") == pytest.approx((90, 500))
    for name, kind, data, size in DRAWINGS:
        bench.goto(f"{address}?slat=tried")
        bench.get_by_label("Or out of a drawing").set_input_files(
            {"name": name, "mimeType": kind, "buffer": data}
        )
        bench.get_by_role("button", name="Save the slat").click()
        expect(bench.get_by_role("link", name="slat tried")).to_be_visible()
        assert extent(bench, "tried") == pytest.approx(size, abs=0.1), name
    bench.goto(f"{address}?slat=tried")
    bench.get_by_label("Or out of a drawing").set_input_files(
        {"name": "x.svg", "mimeType": "image/svg+xml", "buffer": SIZELESS}
    )
    bench.get_by_role("button", name="Save the slat").click()
    expect(bench.locator(".notice.bad")).to_contain_text("does not say how large it is")
    bench.goto(f"{address}?slat=tried")
    bench.get_by_label("Screw holes").fill("10, 20")
    bench.get_by_role("button", name="Save the slat").click()
    expect(bench.locator(".notice.bad")).to_contain_text("not three figures")
    no_more_noted(bench)
    bench.goto(f"{address}?slat=tried")
    bench.get_by_role("button", name="Take this slat out of the model").click()
    expect(bench.get_by_role("link", name="slat tried")).to_have_count(0)


def test_somebody_is_invited_and_shut_out(bench):  # noqa: F811
    bench.goto(f"{bench.base}/bench/people")
    bench.locator("summary", has_text="Invite somebody").click()
    bench.get_by_label("Name", exact=True).fill("Orrin Fenwick")
    bench.get_by_label("E-mail", exact=True).fill("orrin@oxbarrow.example")
    bench.get_by_role("button", name="Invite").click()
    row = bench.locator("tr", has_text="Orrin Fenwick")
    expect(row).to_contain_text("invited")
    row.get_by_role("button", name="Shut out").click()
    expect(row).to_contain_text("shut out")


def test_a_revoked_link_opens_nothing_and_a_new_one_is_mailed(bench, running, somebody):  # noqa: F811
    order = ready_order(running)
    at(bench, order)
    bench.get_by_role("button", name="Revoke all").click()
    expect(bench.locator("#content")).to_contain_text("0 links can be used")
    one = somebody()
    page = one.page(f"/link/{order.link}")
    expect(page.locator("h1")).not_to_contain_text("Order")
    one.watched.errors.clear()  # the browser notes the refusal that was looked for
    bench.get_by_role("button", name="Mail a new link").click()
    expect(bench.locator("#content")).to_contain_text("on its way to the client")
    for _ in range(100):  # the link is made as the mail goes out, by the background engine
        if "1 link can be used" in bench.locator("#content").inner_text():
            break
        bench.wait_for_timeout(100)
        bench.reload()
    expect(bench.locator("#content")).to_contain_text("1 link can be used")


def test_a_draft_is_gone_on_with_by_the_mailed_link(running, somebody):
    """Begun on one device, gone on with on another: the mail's own link, read from the outbox folder."""
    order = ready_order(running, contact={"name": "Imke Harrowdale", "email": "imke.draft@quillfern.example"})
    outbox = running.service.settings.data / "outbox"
    page = somebody().page("/at/oxbarrow")
    for _ in range(100):
        mails = [path.read_bytes() for path in outbox.glob("*") if path.is_file()] if outbox.exists() else []
        mine = [mail for mail in mails if b"imke.draft@quillfern.example" in mail]
        if mine:
            break
        page.wait_for_timeout(100)
    text = re.sub(rb"=\r?\n", b"", mine[0]).decode()
    link = re.search(r"/link/[A-Za-z0-9_-]+", text)
    assert link
    page.goto(running.url + link[0])
    expect(page.locator("h1")).to_contain_text(f"Order {order.whole['number']} · draft")
    expect(page.get_by_label("Your name")).to_have_value("Imke Harrowdale")
    expect(page.locator(".verdict").first).to_contain_text("It carves")


def test_the_price_list_shows_every_price_and_saving_changes_only_what_was_typed(bench, running):  # noqa: F811
    maker = running.maker()
    before = maker.do("GET", "/settings/prices")
    bench.goto(f"{bench.base}/bench/settings/prices")
    expect(bench.get_by_label("Longwalk bench")).to_have_value("1299.00")  # an entry whose key is "bench"
    expect(bench.get_by_label("Each carved slat")).to_have_value("18.00")
    bench.get_by_label("Each minute of carving").fill("0.955")
    bench.get_by_role("button", name="Save the price list").click()
    expect(bench.locator(".fault")).to_contain_text("at most 2 decimals")
    no_more_noted(bench)
    bench.get_by_label("Each minute of carving").fill("1.05")
    bench.get_by_role("button", name="Save the price list").click()
    expect(bench.locator(".notice.good")).to_contain_text("keeps its price")
    after = maker.do("GET", "/settings/prices")
    prices = [{entry["key"]: entry["price"] for entry in one["entries"]} for one in (before, after)]
    assert prices[1] == prices[0] | {"minute": 105}
    assert after["version"] == before["version"] + 1
