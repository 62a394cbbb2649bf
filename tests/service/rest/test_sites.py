"""What shop sites need besides: numbers and values of their own, payments, checks, many verdicts, tests, tokens.

No source beside the code's own promises: ``docs/api.md``.
"""

from __future__ import annotations

import uuid
from datetime import UTC, datetime

import pytest

from tests.running import API, Caller, Json, Running, art, carvings, revision, shown

DOOR = "/workshops/oxbarrow/orders"
EVERY = (
    *("orders.read", "orders.write", "orders.sign", "orders.release", "orders.payments"),
    *("batches.read", "batches.write"),
)


def token(running: Running, *scopes: str, **more: object) -> Json:
    given = {"name": "the garden's shop", "scopes": scopes or EVERY} | more
    made: Json = running.maker().do("POST", "/tokens", status=201, json=given)
    return made


@pytest.fixture(scope="module")
def site(running: Running) -> Caller:
    return running.caller(token(running)["secret"])


def ordered(site: Caller, **terms: object) -> Json:
    placed: Json = site.send_order(site=terms)["order"]
    return placed


def numbers(site: Caller, **wanted: object) -> list[int]:
    found = site.do("GET", "/orders", params={"first": 100, **wanted})["items"]
    return [order["number"] for order in found]


def test_orders_are_kept_with_the_sites_number_and_values_and_found_by_them(running: Running, site: Caller):
    mine = f"WEB-{uuid.uuid4().hex[:8]}"
    values = [{"name": "cart", "text": "c-17"}, {"name": "till", "text": "Gärtnerei \N{TULIP}"}]
    before = datetime.now(UTC).isoformat()
    order = ordered(site, order_number=mine, unique=True, metadata=values)
    assert order["site"] == {"order_number": mine, "unique": True, "metadata": values}
    assert numbers(site, site_order_number=mine) == numbers(site, words=mine) == [order["number"]]
    assert numbers(site, number=order["number"], email="IMKE@quillfern.example") == [order["number"]]
    assert numbers(site, number=order["number"], email="somebody@quillfern.example") == []
    assert order["number"] in numbers(site, updated_since=before)
    assert numbers(site, updated_since="2199-01-01T00:00:00Z") == []
    assert site.get(f"{API}/orders", params={"updated_since": "2027-01-01T00:00:00"}).status_code == 422
    other = ordered(site, order_number=mine)  # which does not ask to be the only one
    page = site.do("GET", "/orders", params={"site_order_number": mine, "first": 1, "count": True})
    assert (page["total"], len(page["items"])) == (2, 1) and page["next"]
    taken = site.request("POST", API + DOOR, json={"site": {"order_number": mine, "unique": True}})
    assert (taken.status_code, taken.json()["type"]) == (409, "/problems/site-number-taken")
    changed = site.request(
        "PATCH", f"{API}/orders/{other['id']}", json={"site": {"unique": True}}, headers=revision(other)
    )
    assert (changed.status_code, changed.json()["type"]) == (409, "/problems/site-number-taken")
    kept = site.do(
        "PATCH", f"/orders/{other['id']}", json={"site": {"metadata": values[:1]}}, headers=revision(other)
    )
    assert kept["site"] == {"order_number": mine, "unique": False, "metadata": values[:1]}


def test_clients_do_not_set_what_the_site_keeps(running: Running):
    refused = running.caller().request("POST", API + DOOR, json={"site": {"order_number": "mine"}})
    assert refused.status_code == 403
    placed = running.caller().send_order()
    client, order = running.caller(placed["link_token"]), placed["order"]
    change = {"json": {"site": {"order_number": "mine"}}, "headers": revision(order)}
    assert client.request("PATCH", f"{API}/orders/{order['id']}", **change).status_code == 403
    assert (
        client.request("PUT", f"{API}/orders/{order['id']}/payment", json={"state": "paid"}).status_code
        == 403
    )


def test_a_logo_is_checked_before_there_is_an_order(running: Running):
    wanted = {"model": "longwalk-bench", "slat": "back-centre"}
    form = {"files": {"file": ("crest.svg", art("crest.svg"))}, "data": wanted}
    placed = running.caller().do("POST", "/workshops/oxbarrow/logo-checks", status=201, **form)
    client, check = running.caller(placed["link_token"]), placed["order"]
    assert check["kind"] == "check" and check["number"] < 0
    check = client.settled(check["id"])
    (carving,) = carvings(check)
    assert carving["proof"]["verdict"] in {"carves", "carves-with-remarks"}
    versions = client.do("GET", f"/carvings/{carving['id']}/versions")
    assert versions["state"] in {"not-needed", "not-asked"}
    maker = running.maker()
    assert check["id"] not in {
        each["id"] for each in maker.do("GET", "/orders", params={"first": 100})["items"]
    }
    refused = client.request("POST", f"{API}/orders/{check['id']}/submission", headers=revision(check))
    assert refused.json()["type"] == "/problems/not-an-order"
    counted = maker.do("GET", "/orders/counts")["draft"]
    order = client.do("POST", f"/orders/{check['id']}/keeping", headers=revision(check))
    assert order["kind"] == "order" and order["number"] > 0 and carvings(order) == carvings(check)
    assert maker.do("GET", "/orders/counts")["draft"] == counted + 1
    assert maker.do("GET", "/orders", params={"number": order["number"]})["items"][0]["id"] == check["id"]
    unknown = running.caller().request("POST", f"{API}/workshops/oxbarrow/logo-checks", **form | {"data": {}})
    assert unknown.status_code == 422


def test_a_site_pays_releases_and_fetches_the_batch_by_its_own_scopes(running: Running, site: Caller):
    order = site.send_order(lines=[{"model_key": "longwalk-bench", "quantity": 1, "slats": ["back-centre"]}])[
        "order"
    ]
    path, maker = f"/orders/{order['id']}", running.maker()
    site.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
    order = site.settled(order["id"])
    verdicts = site.do("GET", "/verdicts", params={"order": order["id"], "carving": carvings(order)[0]["id"]})
    proof = carvings(order)[0]["proof"]
    (verdict,) = verdicts["items"]
    assert (verdict["digest"], verdict["verdict"]) == (proof["digest"], proof["verdict"])
    order = site.do("POST", f"{path}/submission", headers=revision(order))
    order = site.do("POST", f"{path}/offers", json={"shown": shown(order)})
    order = site.sign(order)
    order = maker.do("POST", f"{path}/feasibility", json={"shown": shown(order)})
    settings = maker.do("GET", "/settings")["workshop"]
    changes = {
        name: settings[name] for name in ("name", "allowances", "usual_bit", "place", "phone", "email")
    }
    strict = maker.do(
        "PUT", "/settings/workshop", json=changes | {"payment_required": True}, headers=revision(settings)
    )
    try:
        release = {"json": {"shown": shown(order)}, "headers": revision(order)}
        unpaid = site.request("POST", f"{API}{path}/release", **release)
        assert unpaid.json()["type"] == "/problems/not-paid"
        order = site.do("PUT", f"{path}/payment", json={"state": "paid", "reference": "inv 4711"})
        again = site.do("PUT", f"{path}/payment", json={"state": "paid", "reference": "inv 4711"})
        assert (order["payment"], again["revision"]) == ("paid", order["revision"])
        lesser = running.caller(token(running, "orders.read", "orders.write")["secret"])
        release = {"json": {"shown": shown(order)}, "headers": revision(order)}
        assert lesser.request("POST", f"{API}{path}/release", **release).status_code == 403
        order = site.do("POST", f"{path}/release", **release)
    finally:
        maker.do("PUT", "/settings/workshop", json=changes, headers=revision(strict))
    assert order["state"] == "released"
    assert lesser.request("POST", f"{API}/batches", json={"order_ids": [order["id"]]}).status_code == 403
    assert site.archived([order["id"]])["state"] == "ready"


def test_tests_never_reach_the_maker_and_their_token_reaches_nothing_else(running: Running, site: Caller):
    tester = running.caller(token(running, test=True)["secret"])
    real, test = site.send_order()["order"], tester.send_order()["order"]
    assert test["kind"] == "test" and test["number"] < 0
    for path in (
        f"/orders/{real['id']}",
        f"/orders/{real['id']}/activity",
        f"/carvings/{carvings(real)[0]['id']}",
    ):
        assert tester.get(API + path).status_code == 404
    assert tester.do("GET", "/verdicts", params={"order": real["id"]})["items"] == []
    found = tester.do("GET", "/orders", params={"first": 100})["items"]
    assert {order["kind"] for order in found} == {"test"}
    test = tester.do("POST", f"/orders/{test['id']}/submission", headers=revision(test))
    seen = running.maker().do("GET", "/orders", params={"first": 100})["items"]
    assert test["id"] not in {order["id"] for order in seen}
    kinds = running.maker().do("GET", "/orders", params={"kind": "test"})["items"]
    assert test["id"] in {order["id"] for order in kinds}


def test_a_renewed_token_overlaps_and_says_whether_the_old_secret_is_used(running: Running):
    made = token(running, "orders.read")
    maker, old = running.maker(), running.caller(made["secret"])
    new = maker.do("POST", f"/tokens/{made['id']}/secrets", status=201, json={"overlap_hours": 1})
    assert new["id"] == made["id"] and new["secret"] != made["secret"]
    old.do("GET", "/orders")
    uses = maker.do("GET", f"/tokens/{made['id']}/uses")["items"]
    assert [(use["by_previous"], use["spans"]) for use in uses] == [(True, 1)]
    running.caller(new["secret"]).do("GET", "/orders")
    maker.do("POST", f"/tokens/{made['id']}/secrets", status=201, json={"overlap_hours": 0})
    assert old.get(f"{API}/orders").status_code == 401
    assert running.caller(new["secret"]).get(f"{API}/orders").status_code == 401


def test_a_site_reads_prices_and_has_something_quoted(running: Running, site: Caller):
    prices = site.do("GET", "/settings/prices")
    lines = [
        {"model_key": "longwalk-bench", "quantity": 2, "slats": [{"slat_key": "back-centre", "minutes": 3}]}
    ]
    quoted = site.do("POST", "/quotes", json={"lines": lines})["quote"]
    assert quoted["price_list_version"] == prices["version"]
    assert quoted["total"] == sum(line["amount"] for line in quoted["lines"]) > 0
    told = """{ quoteFor(lines: [{modelKey: "longwalk-bench", quantity: 2,
      slats: [{slatKey: "back-centre", minutes: 3}]}]) { quote { digest } } }"""
    answer = site.request("POST", "/graphql", json={"query": told}).json()
    assert answer["data"]["quoteFor"]["quote"]["digest"] == quoted["digest"]


def test_a_token_is_told_how_many_requests_it_has_left_and_waits_when_it_has_none(
    running: Running, monkeypatch: pytest.MonkeyPatch
):
    """Fields of draft-ietf-httpapi-ratelimit-headers-11; 429 and ``Retry-After`` of RFC 6585 §4."""
    monkeypatch.setattr(running.service.ctx.requests, "times", 3)
    mine, other = (running.caller(token(running)["secret"]) for _ in range(2))
    first, asked = mine.get(f"{API}/orders"), mine.post("/graphql", json={"query": "{ viewer { role } }"})
    assert first.headers["ratelimit-policy"] == asked.headers["ratelimit-policy"] == '"requests";q=3;w=60'
    assert first.headers["ratelimit"].startswith('"requests";r=2;t=')
    assert asked.headers["ratelimit"].startswith('"requests";r=1;t=')
    assert mine.get(f"{API}/orders").status_code == 200
    refused = mine.get(f"{API}/orders")
    assert (refused.status_code, refused.json()["type"]) == (429, "/problems/too-many")
    assert 0 < int(refused.headers["retry-after"]) <= 60
    assert refused.headers["ratelimit"].startswith('"requests";r=0;t=')
    errors = mine.post("/graphql", json={"query": "{ viewer { role } }"}).json()["errors"]
    assert [error["extensions"]["code"] for error in errors] == ["TOO_MANY"]
    assert other.get(f"{API}/orders").status_code == 200  # each token has its own
    assert "ratelimit" not in running.maker().get(f"{API}/orders").headers
