"""Who listens to an order hears no more once their session ends or their link is revoked: at every door."""

from __future__ import annotations

import json
import time

import pytest
from websockets.sync.client import connect

import schema.subscriptions
from service.orders.actors import Role
from service.rest import events
from service.usecases import people, shop
from tests.running import API, FROM_HERE, Caller, Json, Running

GIVEN_UP = 20.0


@pytest.fixture(autouse=True)
def asked_often(monkeypatch):
    for module in (events, schema.subscriptions):
        monkeypatch.setattr(module, "ASK_AGAIN_SECONDS", 0.05)


@pytest.fixture
def placed(running: Running) -> Json:
    sent: Json = running.caller().send_order()
    return sent


def shut_out(running: Running, order: str) -> None:
    revoked = running.maker().do("DELETE", f"/orders/{order}/links")
    assert revoked["revoked"] >= 1


def test_by_events(running: Running, placed: Json):
    order, client = placed["order"]["id"], running.caller(placed["link_token"])
    heard, end = [], time.monotonic() + GIVEN_UP
    with client.stream("GET", f"{API}/orders/{order}/events") as answer:
        for line in answer.iter_lines():
            if line.startswith("event: "):
                heard.append(line.removeprefix("event: "))
                if heard == ["jobs", "order"]:
                    shut_out(running, order)
            assert time.monotonic() < end, heard
    assert heard[:2] == ["jobs", "order"] and heard[-1] == "gone"


@pytest.mark.parametrize("subscription", ["orderChanged", "jobsChanged"])
def test_by_the_socket(running: Running, placed: Json, subscription):
    order = placed["order"]["id"]
    address = running.url.replace("http", "ws") + "/graphql"
    with connect(address, subprotocols=["graphql-transport-ws"]) as socket:
        token = {"authorization": f"Bearer {placed['link_token']}"}
        socket.send(json.dumps({"type": "connection_init", "payload": token}))
        assert json.loads(socket.recv(timeout=5))["type"] == "connection_ack"
        query = f'subscription {{ {subscription}(orderId: "{order}") {{ id }} }}'
        socket.send(json.dumps({"id": "1", "type": "subscribe", "payload": {"query": query}}))
        said = json.loads(socket.recv(timeout=GIVEN_UP))
        assert "errors" not in said["payload"]
        shut_out(running, order)
        while said["type"] == "next" and "errors" not in said["payload"]:
            said = json.loads(socket.recv(timeout=GIVEN_UP))
    assert "UNAUTHENTICATED" in json.dumps(said)


def test_by_events_of_the_graph_as_somebody_signs_out(running: Running, placed: Json):
    maker = signed_in(running)
    query = f'subscription {{ orderChanged(orderId: "{placed["order"]["id"]}") {{ activity }} }}'
    headers = {"Accept": "text/event-stream"}
    heard, end = [], time.monotonic() + GIVEN_UP
    with maker.stream("POST", "/graphql", json={"query": query}, headers=headers) as answer:
        for line in answer.iter_lines():
            if line.startswith("data:") and len(line) > len("data: "):
                heard.append(line)
                if len(heard) == 1:
                    twin(running, maker).do("DELETE", "/session", status=204)
            assert time.monotonic() < end, heard
    assert '"activity"' in heard[0] and "UNAUTHENTICATED" in heard[-1]


def signed_in(running: Running) -> Caller:
    """A maker whose session is nobody else's."""
    ctx, email, password = running.service.ctx, "ena@oxbarrow.example", "the drawknife is not for tins"
    workshop = shop.find_workshop(ctx, "oxbarrow")
    people.open_account(ctx, workshop.id, email, name="Ena Oxbarrow", role=Role.MAKER, password=password)
    caller = running.caller(headers=FROM_HERE)
    caller.do("POST", "/session", json={"email": email, "password": password})
    return caller


def twin(running: Running, caller: Caller) -> Caller:
    """The same browser, for a second request at once."""
    return running.caller(headers=FROM_HERE, cookies=dict(caller.cookies))
