"""A file that lost its text: no door takes a signature before the loss is accepted by its name."""

from __future__ import annotations

from typing import Any

from tests.artwork.intake.made import svg
from tests.journeys.test_names import asked
from tests.running import API, Caller, Json, Running, carvings, revision, shown

BODY = '<path d="M50 10 L90 50 L50 90 L10 50 Z"/><text x="10" y="98">Quillfern</text>'
LOST = "file-text-left-out-1"
SIGN = """mutation($order: ID!, $shown: [ShownInput!]!, $quote: String!) {
  signOff(orderId: $order, shown: $shown, quote: $quote) {
    __typename ... on Conflict { code } ... on OrderChanged { order { id } } } }"""
WAIVE = """mutation($shown: ShownInput!, $remarks: [String!]!) {
  waiveRemarks(shown: $shown, remarks: $remarks) {
    __typename ... on OrderChanged { order { lines { carvings { proof { remarks waived } } } } } } }"""


def offered(running: Running) -> tuple[Json, Caller]:
    placed = running.caller().send_order()
    order, client = placed["order"], running.caller(placed["link_token"])
    client.upload(order["id"], "words.svg", svg(BODY), [carving["id"] for carving in carvings(order)])
    order = client.settled(order["id"])
    order = client.do("POST", f"/orders/{order['id']}/submission", headers=revision(order))
    return running.maker().do("POST", f"/orders/{order['id']}/offers", json={"shown": shown(order)}), client


def accept_all_but_the_loss(client: Caller, order: Json) -> None:
    for carving, seen in zip(carvings(order), shown(order), strict=True):
        others = [name for name in carving["proof"]["remarks"] if name != LOST]
        assert len(others) < len(carving["proof"]["remarks"])
        if others:
            client.do("POST", "/waivers", json={"shown": seen, "remarks": others})


def test_rest_takes_no_signature_before_the_loss_is_accepted(running: Running):
    order, client = offered(running)
    path, given = (
        f"/orders/{order['id']}/sign-offs",
        {"shown": shown(order), "quote": client.quote(order["id"])},
    )
    accept_all_but_the_loss(client, order)
    refused = client.post(API + path, json=given)
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/remarks-open")
    assert LOST in refused.json()["detail"]
    wrong = client.post(f"{API}/waivers", json={"shown": shown(order)[0], "remarks": ["text-left-out"]})
    assert wrong.status_code == 422
    assert client.post(API + path, json=given).status_code == 409
    for seen in shown(order):
        client.do("POST", "/waivers", json={"shown": seen, "remarks": [LOST]})
    signed = client.do("POST", path, json=given)
    assert {carving["state"] for carving in carvings(signed)} == {"signed"}
    entries = client.do("GET", f"/orders/{order['id']}/decisions")["items"]
    words = [each["facts"]["file_remarks"][LOST] for each in entries if "file_remarks" in each["facts"]]
    assert len(words) == len(carvings(order))
    assert all("left out" in each for each in words)


def test_graphql_takes_none_either(running: Running):
    order, client = offered(running)
    seen = [
        {"carvingId": s["carving_id"], "digest": s["digest"], "picture": s["picture"]} for s in shown(order)
    ]
    signature: dict[str, Any] = {"order": order["id"], "shown": seen, "quote": client.quote(order["id"])}
    accept_all_but_the_loss(client, order)
    refused = asked(client, SIGN, **signature)["signOff"]
    assert refused["__typename"] != "OrderChanged"
    assert refused["code"] == "remarks-open"
    for one in seen:
        done = asked(client, WAIVE, shown=one, remarks=[LOST])["waiveRemarks"]
        assert done["__typename"] == "OrderChanged"
    assert asked(client, SIGN, **signature)["signOff"]["__typename"] == "OrderChanged"
