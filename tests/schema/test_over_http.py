"""GraphQL over HTTP, its limits, its subscriptions, and how many statements a page costs."""

from __future__ import annotations

import json
import shutil
import subprocess
import threading
import time
from pathlib import Path

import httpx2
import pytest
from sqlalchemy import event
from websockets.exceptions import ConnectionClosedError
from websockets.sync.client import connect

from service.orders.actors import Visitor
from service.rest.in_thread import NAMED
from service.store import wall
from service.usecases import ordering, shop
from service.usecases.commands import LineContent, OrderContent
from tests.running import Caller, Running, art, carvings, revision

HERE = Path(__file__).parent


def post(caller: Caller, query: str, **more) -> httpx2.Response:
    return caller.post("/graphql", json={"query": query} | more)


@pytest.mark.skipif(shutil.which("node") is None, reason="the audits are written for node")
def test_every_audit_of_the_specification_is_ok(running: Running):
    """npm graphql-http 1.23.1: the audits of the GraphQL-over-HTTP specification."""
    command = ["node", str(HERE / "audit.mjs"), f"{running.url}/graphql"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60)
    assert json.loads(done.stdout) == {"audits": 61, "rest": []}


DEEP = "{ orders { edges { node " + "{ carvings { order " * 4 + "{ id" + " } }" * 4 + " } } } }"


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("{" + " ".join(f"a{i}: viewer {{ role }}" for i in range(16)) + "}", "aliases"),
        ("{ viewer { " + " ".join(["role"] * 1600) + " } }", "tokens"),
        ("{ orders { edges { node { lines { carvings { reading { artwork { id } } } } } } } }", None),
        (DEEP, "depth"),
        ("{ __schema { types { fields { type { fields { type { fields { name } } } } } } } }", "depth"),
    ],
    ids=["aliases", "tokens", "as deep as is needed", "deeper", "about itself"],
)
def test_a_query_that_asks_too_much_is_refused(running: Running, query, words):
    answer = post(running.maker(), query).json()
    if words is None:
        assert "errors" not in answer
    else:
        assert words in json.dumps(answer["errors"]).lower()


def test_a_body_that_is_too_large_is_refused(running: Running):
    answer = post(running.caller(), "{ viewer { role } }" + " " * 70_000)
    assert (answer.status_code, answer.json()["type"]) == (413, "/problems/too-large")


@pytest.mark.parametrize(
    "body",
    [
        b"[" * 60_000,
        b'{"query":' * 6_000,
        b"\xff",
        b"5",
        b"null",
        b'"{viewer{role}}"',
        b'{"query": NaN}',
        b"",
    ],
    ids=["brackets", "objects", "no UTF-8", "a number", "null", "text", "no number", "nothing"],
)
def test_what_is_no_request_is_refused(running: Running, body):
    with Caller(base_url=running.url) as caller:
        answer = caller.post("/graphql", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["message"]


@pytest.mark.parametrize(
    "said",
    [
        "[" * 60_000,
        "5",
        "null",
        "{",
        '{"type": ["ping"]}',
        '{"type": "' + "a" * 200 + '"}',
        '{"type": "connection_init", "payload": 5}',
        '{"type": "subscribe", "id": ["a"], "payload": {"query": "{ viewer { role } }"}}',
        '{"type": "subscribe", "id": "a", "payload": {"query": 5}}',
    ],
    ids=lambda said: said[:40],
)
def test_what_is_no_message_ends_a_socket_alone(running: Running, said):
    address = running.url.replace("http", "ws") + "/graphql"
    with connect(address, subprotocols=["graphql-transport-ws"]) as socket:
        socket.send(said)
        with pytest.raises(ConnectionClosedError):
            socket.recv(timeout=10)
        assert socket.close_code == 4400, "graphql-transport-ws: an invalid message closes with 4400"


def test_a_page_has_at_most_a_hundred(running: Running):
    answer = post(running.maker(), "{ orders(first: 101) { edges { cursor } } }").json()
    assert answer["errors"][0]["extensions"]["code"] == "INVALID"


@pytest.mark.parametrize("cursor", ["", "x", "YXJyYXljb25uZWN0aW9uOjE=", "\u0000", "9" * 400])
def test_a_made_up_cursor_says_nothing_of_the_inside(running: Running, cursor):
    query = "query($after: String) { orders(after: $after) { edges { cursor } } }"
    answer = post(running.maker(), query, variables={"after": cursor}).json()
    assert answer["errors"][0]["extensions"]["code"] == "INVALID"
    assert "Traceback" not in json.dumps(answer) and "cursor" in answer["errors"][0]["message"]


def test_a_misspelt_field_is_not_helped_along(running: Running):
    answer = post(running.caller(), "{ viewr { role } }").json()
    assert "Did you mean" not in json.dumps(answer)


def test_nothing_is_changed_by_get(running: Running):
    maker = running.maker()
    answer = maker.get("/graphql", params={"query": 'mutation { revokeLinks(orderId: "a") { __typename } }'})
    assert answer.status_code == 405 or "data" not in answer.json()


def test_another_sites_page_cannot_post(running: Running):
    maker = running.maker()
    answer = maker.post(
        "/graphql", json={"query": "{ viewer { role } }"}, headers={"Sec-Fetch-Site": "cross-site"}
    )
    assert answer.status_code == 403


def test_pages_follow_one_another_by_cursor(running: Running):
    maker = running.maker()
    for _ in range(6):
        running.caller().send_order()
    query = """query($after: String) { orders(first: 2, after: $after) {
      edges { cursor node { id number } } pageInfo { hasNextPage hasPreviousPage endCursor } } }"""
    seen, after = [], None
    for _ in range(3):
        page = post(maker, query, variables={"after": after}).json()["data"]["orders"]
        assert page["pageInfo"]["hasPreviousPage"] is (after is not None)
        seen += [edge["node"]["number"] for edge in page["edges"]]
        after = page["pageInfo"]["endCursor"]
        assert after == page["edges"][-1]["cursor"]
    assert seen == sorted(seen, reverse=True) and len(set(seen)) == 6


PAGE = """query($first: Int!) { orders(first: $first) { edges { node { number state contact { name }
  carvings { slatKey state artwork { name } reading { state } proof { verdict findings { kind message } } }
  lines { quantity carvings { id } } artworks { name } jobs { state } decisions { kind } } } } }"""


def test_a_page_costs_the_same_statements_however_long_it_is(running: Running):
    """5 orders with 50 carvings or 50 with 500 on a page: the same number of SQL statements."""
    maker = running.maker()
    placed = running.caller().send_order()
    client = running.caller(placed["link_token"])
    client.upload(placed["order"]["id"], "crest.svg", art("crest.svg"), [carvings(placed["order"])[0]["id"]])
    client.settled(placed["order"]["id"])
    ctx = running.service.ctx
    visitor = Visitor(shop.find_workshop(ctx, "oxbarrow").id)
    slats = tuple(f"back-{side}-{n}" for side in ("left", "right") for n in range(1, 6))
    for _ in range(50):
        ordering.place_order(ctx, visitor, OrderContent(lines=(LineContent("longwalk-bench", 1, slats),)))
    counted: list[int] = []
    engine = running.service.database.engine

    def count(*_args):
        # Background work and mail go on beside, in threads of their own.
        counted[-1] += threading.current_thread().name.startswith(NAMED)

    post(maker, PAGE, variables={"first": 1})  # what is kept in memory is in memory
    event.listen(engine, "before_cursor_execute", count)
    try:
        for first in (5, 50):
            counted.append(0)
            answer = post(maker, PAGE, variables={"first": first}).json()
            assert "errors" not in answer and len(answer["data"]["orders"]["edges"]) == first
    finally:
        event.remove(engine, "before_cursor_execute", count)
    assert counted[0] == counted[1] > 0


def test_a_workshops_public_page_is_read_inside_its_wall(running: Running):
    served: list[str] = []
    engine = running.service.database.engine

    def note(_connection, _cursor, statement, *_args):
        if threading.current_thread().name.startswith(NAMED) and "shop_models" in statement:
            served.append(wall._SERVED.get())

    own = shop.find_workshop(running.service.ctx, "oxbarrow")
    event.listen(engine, "before_cursor_execute", note)
    try:
        answer = post(running.caller(), f'{{ workshop(key: "{own.key}") {{ models {{ key }} }} }}').json()
    finally:
        event.remove(engine, "before_cursor_execute", note)
    assert answer["data"]["workshop"]["models"]
    assert set(served) == {own.id}


def test_a_subscription_over_a_socket_tells_of_every_change(running: Running):
    placed = running.caller().send_order()
    order = placed["order"]
    address = running.url.replace("http", "ws") + "/graphql"
    with connect(address, subprotocols=["graphql-transport-ws"]) as socket:
        hello = {"type": "connection_init", "payload": {"authorization": f"Bearer {placed['link_token']}"}}
        socket.send(json.dumps(hello))
        assert json.loads(socket.recv(timeout=5))["type"] == "connection_ack"
        query = f'subscription {{ orderChanged(orderId: "{order["id"]}") {{ activity note }} }}'
        socket.send(json.dumps({"id": "1", "type": "subscribe", "payload": {"query": query}}))
        first = json.loads(socket.recv(timeout=5))
        assert first["payload"]["data"]["orderChanged"]["note"] == ""
        client = running.caller(placed["link_token"])
        path = f"/orders/{order['id']}"
        client.do("PATCH", path, json={"note": "by the pond"}, headers=revision(order))
        second = json.loads(socket.recv(timeout=5))
        assert second["payload"]["data"]["orderChanged"]["note"] == "by the pond"


def test_a_subscription_to_a_strangers_order_gives_nothing(running: Running):
    placed = running.caller().send_order()
    other = running.caller().send_order()["link_token"]
    address = running.url.replace("http", "ws") + "/graphql"
    with connect(address, subprotocols=["graphql-transport-ws"]) as socket:
        socket.send(json.dumps({"type": "connection_init", "payload": {"authorization": f"Bearer {other}"}}))
        socket.recv(timeout=5)
        query = f'subscription {{ orderChanged(orderId: "{placed["order"]["id"]}") {{ activity }} }}'
        socket.send(json.dumps({"id": "1", "type": "subscribe", "payload": {"query": query}}))
        answer = json.loads(socket.recv(timeout=5))
    assert answer["type"] in ("error", "next") and "There is no such order" in json.dumps(answer)


def test_a_subscription_by_server_sent_events(running: Running):
    placed = running.caller().send_order()
    client = running.caller(placed["link_token"])
    query = f'subscription {{ jobsChanged(orderId: "{placed["order"]["id"]}") {{ kind state }} }}'
    carving = carvings(placed["order"])[0]["id"]
    headers = {"Accept": "text/event-stream"}
    seen = []
    with client.stream("POST", "/graphql", json={"query": query}, headers=headers) as answer:
        assert answer.headers["content-type"].startswith("text/event-stream")
        client.upload(placed["order"]["id"], "crest.svg", art("crest.svg"), [carving])
        end = time.monotonic() + 20
        for line in answer.iter_lines():
            if line.startswith("data:") and "jobsChanged" in line:
                jobs = json.loads(line[5:])["data"]["jobsChanged"]
                seen.append({job["kind"]: job["state"] for job in jobs})
                if seen[-1].get("PROVE") == "DONE" or time.monotonic() > end:
                    break
    assert seen[-1] == {"READ_ARTWORK": "DONE", "PROVE": "DONE"}
