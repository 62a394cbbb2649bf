"""A site follows the workshop: by list, by stream with a cursor, and by a webhook that it checks with the library."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import httpx2

from tests.running import API, Caller, Json, Running, revision


def site(running: Running) -> Caller:
    given = {"name": "events", "scopes": ["orders.read"]}
    return running.caller(running.maker().do("POST", "/tokens", json=given, status=201)["secret"])


def heard(answer: httpx2.Response) -> Iterator[tuple[int, str, Json]]:
    number, kind = 0, ""
    for line in answer.iter_lines():
        name, _, value = line.partition(": ")
        if name == "id":
            number = int(value)
        elif name == "event":
            kind = value
        elif name == "data":
            yield number, kind, json.loads(value)


def test_a_stream_that_was_cut_goes_on_where_it_was(running: Running):
    program = site(running)
    before = running.maker().do("GET", "/events?first=1")["items"]
    start = max((each["number"] for each in before), default=0)
    while more := program.do("GET", f"/events?after={start}&first=100")["items"]:
        start = more[-1]["number"]
    placed = running.caller().send_order()
    headers = {"Last-Event-ID": str(start)}
    with program.stream("GET", f"{API}/events/stream", headers=headers) as answer:
        assert answer.headers["content-type"].startswith("text/event-stream")
        number, kind, told = next(heard(answer))
    assert (number, kind, told["order_id"]) == (start + 1, "order.place", placed["order"]["id"])
    client, order = running.caller(placed["link_token"]), placed["order"]
    client.do("PATCH", f"/orders/{order['id']}", json={"note": "by the pond"}, headers=revision(order))
    with program.stream("GET", f"{API}/events/stream", headers={"Last-Event-ID": str(number)}) as answer:
        number, kind, told = next(heard(answer))
    assert (kind, told["data"]["activity"] > order["activity"]) == ("order.amend", True)
    listed = program.do("GET", f"/events?after={start}")["items"]
    assert [each["kind"] for each in listed][:2] == ["order.place", "order.amend"]


def test_webhooks_are_the_makers(running: Running):
    maker, url = running.maker(), "https://shop.example/hooks"
    made: Any = maker.request("POST", f"{API}/webhooks", json={"url": url, "kinds": ["order"]})
    assert made.status_code == 201 and made.json()["secret"].startswith("whsec_")
    hook = made.json()["id"]
    (listed,) = (each for each in maker.do("GET", "/webhooks")["items"] if each["id"] == hook)
    assert listed["url"] == url and "secret" not in listed
    renewed = maker.do("POST", f"/webhooks/{hook}/secrets", status=201)
    assert renewed["secret"] != made.json()["secret"] and renewed["earlier_until"]
    assert maker.do("GET", f"/webhooks/{hook}/deliveries")["items"] == []
    refused = maker.request("POST", f"{API}/webhooks", json={"url": "http://127.0.0.1/"})
    assert refused.status_code == 422 and refused.json()["problems"][0]["field"] == "url"
    assert site(running).get(f"{API}/webhooks").status_code == 403
    assert running.caller().get(f"{API}/events").status_code == 401
    maker.do("DELETE", f"/webhooks/{hook}", status=204)
    assert hook not in {each["id"] for each in maker.do("GET", "/webhooks")["items"]}
