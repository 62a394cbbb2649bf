"""The whole job on the pages, as client and maker, with and without scripts, on a desk and on a phone."""

from __future__ import annotations

import hashlib
import io
import json
import time
import zipfile
from itertools import count

import ezdxf
import pytest
import shapely
from playwright.sync_api import Locator, Page, expect

from artwork.proof_facts import art_lines
from tests.pages.browsing import DESKTOP, PHONE
from tests.pages.steps import keep, order_of, ready, say_art_may_be_used, sign, sign_in, start

pytestmark = pytest.mark.browser


def archive_of(bench: Page, order: str) -> Locator:
    """The link to the archive of an order, among those of every batch of the workshop."""
    row = bench.locator("tr", has=bench.locator(f'a[href="/bench/orders/{order}"]'))
    return row.get_by_role("link", name="Save the archive")


def until(page: Page, seen, seconds: float = 30) -> None:
    """Load the page again until something is seen: how a person without scripts waits."""
    end = time.monotonic() + seconds
    while not seen() and time.monotonic() < end:
        page.wait_for_timeout(200)
        page.reload()
    assert seen()


@pytest.mark.parametrize("kind", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_from_the_first_tap_to_the_archive(somebody, kind, request):
    size = request.node.callspec.id
    client, maker = somebody(**kind), somebody(**kind)
    taken = count(1)

    def shot(seen: Page, name: str) -> None:
        keep(seen, f"{size}-{next(taken):02}-{name}")

    # A thin drawing on the slat first chosen: what is wrong, and what cures it.
    thin = ready(start(client, art="thin.png", pieces=4, filled=lambda form: shot(form, "form")))
    expect(thin.locator(".verdict").first).to_contain_text("It will not carve as it is")
    thin.locator("summary", has_text="What we read from your file").click()
    shot(thin, "what-is-wrong")
    thin.close()

    page = ready(start(client))
    expect(page.locator(".verdict").first).to_contain_text("It carves")
    shot(page, "checked")
    say_art_may_be_used(page)
    page.get_by_role("link", name="Move, turn or resize it").click()
    page.wait_for_selector("svg.table")
    expect(page.locator("#judged")).to_contain_text("It carves")
    shot(page, "placing")
    page.goto(f"{client.base}/order/{order_of(page)}/proof")
    shot(page, "proof")
    sign(page)
    shot(page, "signed-off")

    bench = sign_in(maker)
    shot(bench, "queue")
    bench.goto(f"{maker.base}/bench/orders/{order_of(page)}")
    shot(bench, "to-be-judged")
    bench.get_by_role("button", name="Feasible: approve").click()
    bench.get_by_role("button", name="Release it to be carved").click()
    expect(bench.locator("h1")).to_contain_text("released")
    shot(bench, "released")
    bench.get_by_role("button", name="Take the batch out").click()
    expect(archive_of(bench, order_of(page))).to_be_visible(timeout=30_000)
    shot(bench, "batch")
    with bench.expect_download() as download:
        archive_of(bench, order_of(page)).click()
    assert download.value.suggested_filename.endswith(".zip")

    page.reload()
    expect(page.locator("h1")).to_contain_text("released")
    shot(page, "where-it-stands")


def test_the_whole_job_without_scripts(somebody):
    client, maker = somebody(java_script_enabled=False), somebody(java_script_enabled=False)
    page = start(client)
    until(page, lambda: page.locator(".working").count() == 0)
    expect(page.locator(".verdict").first).to_contain_text("It carves")
    say_art_may_be_used(page)
    page.get_by_role("link", name="Move, turn or resize it").click()
    page.get_by_label("Size, % of what it is now").fill("90")
    page.get_by_role("button", name="Keep this placement").click()
    until(page, lambda: page.locator(".working").count() == 0)
    expect(page.locator(".figure").first).to_contain_text("105.8 mm")
    sign(page)

    bench = sign_in(maker)
    bench.goto(f"{maker.base}/bench/orders/{order_of(page)}")
    bench.get_by_role("button", name="Feasible: approve").click()
    bench.get_by_role("button", name="Release it to be carved").click()
    bench.get_by_role("button", name="Take the batch out").click()
    until(bench, lambda: archive_of(bench, order_of(page)).count() > 0)


def test_a_version_makes_it_carve_and_what_was_sent_comes_back(somebody):
    page = ready(start(somebody(), art="thin-ring.svg"))
    expect(page.locator(".verdict").first).to_contain_text("It will not carve as it is")
    before = page.locator("[data-proof]").first.get_attribute("data-proof")
    expect(page.locator(".versions figure").first).to_contain_text("You sent")
    page.get_by_role("button", name="Take this version").first.click()
    expect(page.locator(f'[data-proof="{before}"]')).to_have_count(0)
    ready(page)
    expect(page.locator(".verdict").first).to_contain_text("It carves")
    expect(page.locator("[data-chosen]")).to_contain_text("Chosen by you")
    page.get_by_role("button", name="Take what was sent instead").click()
    expect(page.locator("[data-chosen]")).to_have_count(0)
    ready(page)
    expect(page.locator(".verdict").first).to_contain_text("It will not carve as it is")
    expect(page.locator(".versions figure").first).to_be_visible()  # known already


def test_a_sturdier_version_is_one_tap_away_on_a_phone(somebody):
    page = ready(start(somebody(**PHONE), art="thin-ring.svg"))
    until(page, lambda: page.locator(".sturdier").count() > 0)
    keep(page, "phone-sturdier")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.get_by_role("button", name="Take the sturdier one").first.click()
    ready(page)
    expect(page.locator("[data-chosen]")).to_contain_text("All of it sturdier")
    expect(page.locator(".verdict").first).to_contain_text("It carves")


def test_the_version_that_was_signed_is_what_the_machine_gets(somebody):
    """Read by others: hashlib for what was signed, ezdxf for the drawing, shapely (densified) for the distance."""
    client, maker = somebody(), somebody()
    page = ready(start(client, art="thin-ring.svg"))
    page.get_by_role("button", name="Take this version").first.click()
    ready(page)
    expect(page.locator("[data-chosen]")).to_be_visible()
    page.goto(f"{client.base}/order/{order_of(page)}/proof")
    digest = page.locator("[name=shown]").first.get_attribute("value").split(":")[1]
    sign(page)
    bench = sign_in(maker, f"/bench/orders/{order_of(page)}")
    bench.get_by_role("button", name="Feasible: approve").click()
    bench.get_by_role("button", name="Release it to be carved").click()
    bench.get_by_role("button", name="Take the batch out").click()
    link = archive_of(bench, order_of(page))
    expect(link).to_be_visible(timeout=30_000)
    with bench.expect_download() as download:
        link.click()

    with zipfile.ZipFile(download.value.path()) as archive:
        (proof,) = [archive.read(name) for name in archive.namelist() if name.endswith("/proof.json")]
        (drawn,) = [archive.read(name) for name in archive.namelist() if name.endswith("/art.dxf")]
    assert hashlib.sha256(proof).hexdigest() == digest
    rings = ezdxf.read(io.StringIO(drawn.decode())).modelspace().query("LWPOLYLINE[layer=='ART']")
    carved = shapely.MultiLineString([[*ring.get_points("xy"), ring.get_points("xy")[0]] for ring in rings])
    signed = shapely.MultiLineString([[*ring, ring[0]] for ring in art_lines(json.loads(proof), 0.005)])
    assert len(carved.geoms) == 3
    assert shapely.hausdorff_distance(carved, signed, densify=0.1) < 0.011  # chords of both, mm
    bar = min(carved.geoms, key=lambda ring: shapely.Polygon(ring).area).bounds
    unit = (
        carved.bounds[2] - carved.bounds[0]
    ) / 90  # the ring that was sent is 90 units wide, its bar 1 high
    assert bar[3] - bar[1] > unit * 1.2


def test_asking_for_a_change_reaches_the_maker_with_its_place(somebody):
    client, maker = somebody(), somebody()
    page = ready(start(client))
    say_art_may_be_used(page)
    page.get_by_role("link", name="Check and sign", exact=True).first.click()
    page.locator("summary", has_text="Ask for a change").click()
    box = page.locator("svg.carving").bounding_box()
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 3)
    page.get_by_label("What should be different").fill("Please a little lower.")
    x, y = (float(page.locator(f"[name={name}]").input_value()) for name in ("x", "y"))
    assert x == pytest.approx(0, abs=1)
    page.get_by_role("button", name="Ask for this change").click()
    expect(page.locator(".notice.good")).to_contain_text("sent to the workshop")

    bench = sign_in(maker, f"/bench/orders/{order_of(page)}")
    expect(bench.locator(".history")).to_contain_text("Please a little lower.")
    tip = bench.locator("svg.carving .pin").get_attribute("d").split("L")[1].split("l")[0].split()
    assert (float(tip[0]), -float(tip[1])) == pytest.approx((x, y), abs=0.06)


def test_the_maker_rejects_with_a_ready_reason_and_the_client_reads_it(somebody):
    client, maker = somebody(), somebody()
    page = ready(start(client))
    say_art_may_be_used(page)
    sign(page)
    bench = sign_in(maker, f"/bench/orders/{order_of(page)}")
    bench.locator("summary", has_text="Reject it").click()
    bench.get_by_label("The picture is too coarse").check()
    bench.get_by_role("button", name="Reject", exact=True).click()
    expect(bench.locator("section", has_text="The wide centre back slat").first).to_contain_text("rejected")
    page.reload()
    expect(page.locator("#carvings")).to_contain_text("rejected")
    expect(page.locator("#carvings")).to_contain_text("too coarse")
    expect(page.locator(".stand-now")).to_contain_text("change what the workshop said no to")
    expect(page.get_by_role("link", name="sign it off")).to_have_count(0)


def test_another_slat_and_another_piece_are_added_to_the_order(somebody):
    page = ready(start(somebody()))
    page.get_by_role("link", name="Other slats, another piece").click()
    page.get_by_label("back rail", exact=True).check()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="The back rail")).to_be_visible()
    expect(page.get_by_role("heading", name="The wide centre back slat")).to_be_visible()
    page.get_by_role("link", name="Other slats, another piece").click()
    page.get_by_role("link", name="Add the Fernhollow chair").click()
    page.locator("[name=new_slats]").first.check()
    page.get_by_label("How many").last.fill("3")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#content")).to_contain_text("3 × Fernhollow chair")
    page.get_by_role("link", name="Other slats, another piece").click()
    page.get_by_label("back rail", exact=True).uncheck()
    page.get_by_label("Take this piece out").last.check()
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#carvings > section")).to_have_count(1)
