"""The maker changes a version by hand: with a thumb on a phone, without scripts, and through both doors of the API."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.pages.browsing import PHONE
from tests.pages.steps import READY_MS, THIN_RING, sign_in
from tests.running import Caller, Json, Running, carvings, revision
from tests.waiting import until

pytestmark = pytest.mark.browser
CHANGES = """mutation ($id: ID!, $revision: Int!, $change: ByHandInput!) {
  changeByHand(carvingId: $id, expectedRevision: $revision, change: $change) {
    __typename ... on OrderChanged { order { id } } ... on Conflict { code message }
  }
}"""


def order_with_version(running: Running) -> tuple[Caller, Caller, Json]:
    """Its client, its maker, and the carving, whose version is a thickened bar."""
    lines = [{"model_key": "longwalk-bench", "quantity": 2, "slats": ["back-centre"]}]
    placed = running.caller().send_order(lines=lines)
    client, maker, order = running.caller(placed["link_token"]), running.maker(), placed["order"]
    client.upload(order["id"], "ring.svg", THIN_RING, [each["id"] for each in carvings(order)])
    carving = carvings(client.settled(order["id"]))[0]
    path = f"/carvings/{carving['id']}"
    until(lambda: client.do("GET", f"{path}/versions")["state"] == "ready")
    client.do("POST", f"{path}/versions/as-placed", headers=revision(carving))
    return client, maker, carvings(client.settled(order["id"]))[0] | {"order": order["id"]}


def now(caller: Caller, carving: Json) -> Json:
    return carvings(caller.settled(carving["order"]))[0]


@pytest.fixture(scope="module")
def made(running) -> tuple[Caller, Caller, Json]:
    return order_with_version(running)


def test_rest_and_graph_change_one_place_and_the_record_says_so(made):
    client, maker, carving = made
    path = f"/carvings/{carving['id']}/changes"
    found = maker.do("GET", path)
    assert [place["kind"] for place in found["places"]] == ["thickened"] and found["here"] is None
    client.do("GET", path, status=403)
    (place,) = found["places"]
    here = maker.do("GET", path, params={"x": place["x"], "y": place["y"]})["here"]
    assert here["changed"] == 1 and here["stroke"]["width"] >= here["stroke"]["needed"]
    wider = {"kind": "thicken", "x": here["stroke"]["x"], "y": here["stroke"]["y"], "by": 0.1}
    client.do("POST", path, status=403, json=wider, headers=revision(carving))
    maker.do("POST", path, json=wider, headers=revision(carving))
    after = now(maker, carving)
    assert (
        after["proof"]["digest"] != carving["proof"]["digest"]
        and after["proof"]["verdict"] != "will-not-carve"
    )
    assert after["version"]["by_hand"] == ["One stroke thickened by 0.10 mm (0.004 in)."]
    assert after["version"]["chosen_by"] == "client"  # the version; the change by hand is the maker's
    again = maker.do("GET", path, params={"x": place["x"], "y": place["y"]})["here"]
    assert again["stroke"]["width"] == pytest.approx(here["stroke"]["width"] + 0.1, abs=0.015)
    asked = {"id": carving["id"], "change": {"kind": "AS_DRAWN", "x": place["x"], "y": place["y"]}}

    def by_graph(revision: int) -> Json:
        body = {"query": CHANGES, "variables": asked | {"revision": revision}}
        return maker.post("/graphql", json=body).json()["data"]["changeByHand"]

    assert by_graph(after["revision"])["__typename"] == "OrderChanged"
    back = now(maker, carving)
    assert back["proof"]["verdict"] == "will-not-carve" and maker.do("GET", path)["places"] == []
    assert by_graph(back["revision"])["code"] == "nothing-there"
    record = maker.do("GET", f"/orders/{carving['order']}/decisions")["items"]
    entries = [entry for entry in record if entry["kind"] == "version"]
    assert [e["facts"]["kind"] for e in entries] == ["as-placed", "by-hand", "by-hand"]
    assert [e["actor"].split(":")[0] for e in entries] == ["client", "maker", "maker"]
    assert entries[1]["facts"]["asked"] == wider and entries[1]["facts"]["done"]["kind"] == "thickened"
    assert entries[1]["facts"]["instead_of"] == entries[0]["facts"]["outline"]
    client.do("DELETE", f"/carvings/{carving['id']}/version", headers=revision(back))
    assert now(client, carving)["version"] is None


def test_a_thumb_points_nudges_and_puts_back(somebody, running):
    _client, maker, carving = order_with_version(running)
    person = somebody(**PHONE, java_script_enabled=False)
    page = sign_in(person, f"/bench/orders/{carving['order']}")
    page.get_by_role("link", name="Change strokes and gaps by hand").click()
    picture = page.locator(".pointing input:visible")
    box = picture.bounding_box()
    assert page.viewport_size and box and box["x"] + box["width"] <= page.viewport_size["width"]
    picture.click(position={"x": box["width"] / 2, "y": box["height"] / 2})  # the bar is in the middle
    stroke = page.locator("section", has=page.get_by_role("heading", name="The stroke"))
    before = stroke.locator("p").first.inner_text()
    nudge(page, maker, carving, stroke.get_by_role("button", name="+0.05 mm"))
    expect(stroke.locator("p").first).not_to_have_text(before)
    assert now(maker, carving)["version"]["by_hand"] == ["One stroke thickened by 0.05 mm (0.002 in)."]
    by = stroke.get_by_label("Or by so many mm")
    by.fill("-0,5")  # typed as Germans do, and by a key
    stroke.get_by_role("button", name="Change it").focus()
    nudge(page, maker, carving, None)
    expect(page.locator(".verdict")).to_contain_text("It will not carve as it is")
    expect(page.get_by_role("heading", name="What stops")).to_be_visible()
    nudge(page, maker, carving, stroke.get_by_role("button", name="As wide as it needs"))
    expect(page.locator(".verdict")).not_to_contain_text("It will not carve as it is")
    nudge(page, maker, carving, page.get_by_role("button", name="back as it was drawn").first)
    expect(page.get_by_text("Nothing: it is carved as it was sent.")).to_be_visible()


def nudge(page: Page, maker: Caller, carving: Json, button: Locator | None) -> None:
    """One change, and the page once the new proof is there."""
    seen = now(maker, carving)["revision"]
    with page.expect_navigation():
        if button is None:
            page.keyboard.press("Enter")
        else:
            button.click()
    assert now(maker, carving)["revision"] > seen
    # while it is worked on, a page without scripts loads itself again; a reload of ours would come between
    expect(page.locator('meta[http-equiv="refresh"]')).to_have_count(0, timeout=READY_MS)
