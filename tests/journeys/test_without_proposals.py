"""Pages and orders stand without what is only proposed: cures, boards, days."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace

import pytest

from service.orders.actors import Maker
from service.usecases import computing_versions, shop
from service.work.processes import ComputeFaultError
from tests.running import API, FROM_HERE, Running, art, carvings, revision

OTHER = "nineteen"


@pytest.fixture(scope="module")
def thin_model(running: Running) -> None:
    """A model of 19 mm boards, where the machine's settings know 25.4 mm only."""
    ctx = running.service.ctx
    workshop = shop.find_workshop(ctx, "oxbarrow")
    maker = Maker(workshop_id=workshop.id, account_id="a", name="Maker")
    layout = shop.get_model(ctx, maker, "longwalk-bench").layout
    parts = tuple(replace(part, thickness=19.0) for part in layout.parts)
    shop.save_model(ctx, maker, replace(layout, key=OTHER, parts=parts), {}, 0)


def test_an_order_whose_boards_cannot_be_planned(running: Running, thin_model):
    """It was 500 for the plan and its pages, and GraphQL gave no order at all."""
    maker = running.maker()
    placed = running.caller().send_order(
        lines=[{"model_key": OTHER, "quantity": 1, "slats": ["back-centre"]}]
    )
    order = placed["order"]["id"]
    answer = maker.get(f"/api/v1/orders/{order}/work")
    assert (answer.status_code, answer.json()["type"]) == (409, "/problems/no-board")
    assert "19 mm thick" in answer.json()["detail"]
    page = maker.get(f"/bench/orders/{order}")
    assert page.status_code == 200 and "19 mm thick" in page.text
    query = "query($id: ID!) { order(id: $id) { number work { boardsWords } } }"
    found = maker.post("/graphql", json={"query": query, "variables": {"id": order}}).json()
    assert found["data"]["order"] == {"number": placed["order"]["number"], "work": None}
    assert found["errors"][0]["extensions"]["code"] == "CONFLICT"


@pytest.fixture
def no_versions(running: Running, monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """Looking for remedies is a fault, whatever it is asked about."""
    seen: list[str] = []
    run = running.service.ctx.compute.run

    def fail(function, *args, **more):
        if function is computing_versions.find_cures:
            seen.append("asked")
            raise ComputeFaultError("GEOSException: TopologyException: side location conflict")
        return run(function, *args, **more)

    monkeypatch.setattr(running.service.ctx.compute, "run", fail)
    return seen


def test_pages_stand_where_versions_are_a_fault(running: Running, no_versions):
    placed = running.caller().send_order()
    order, client = placed["order"]["id"], running.caller(placed["link_token"])
    carving = carvings(placed["order"])[0]
    client.upload(order, "crest.svg", art("crest.svg"), [carving["id"]])
    carving = carvings(client.settled(order))[0]
    tiny = {**carving["placement"], "scale": carving["placement"]["scale"] / 20}
    client.do("PUT", f"/carvings/{carving['id']}/placement", json=tiny, headers=revision(carving))
    assert carvings(client.settled(order))[0]["proof"]["verdict"] == "will-not-carve"
    browser = running.caller(headers=FROM_HERE)
    browser.get(f"/link/{placed['link_token']}", follow_redirects=True)
    address = f"{API}/carvings/{carving['id']}/versions"
    deadline = time.monotonic() + 60
    while client.get(address).json()["state"] != "failed":
        assert time.monotonic() < deadline
        time.sleep(0.1)
    assert no_versions
    for page in (
        browser.get(f"/order/{order}", follow_redirects=True),
        running.maker().get(f"/bench/orders/{order}"),
    ):
        assert page.status_code == 200
        assert "Something went wrong here" in page.text and "Work out versions that carve" in page.text
    assert client.get(f"{API}/carvings/{carving['id']}/cures").json() == {"items": []}
