"""Preconditions, idempotency keys, strict types and partial answers at both doors.

RFC 9110 §8.8 and §13.1.1 (entity tags), draft-ietf-httpapi-idempotency-key-header-07 (keys), GraphQL specification
October 2021 §6.4.4 (a nullable field that fails is null, the rest of the answer stands).
"""

from __future__ import annotations

import uuid
from typing import Any

import httpx2
import pytest

from tests.running import API, Caller, Json, Running, carvings

DOOR = f"{API}/workshops/oxbarrow/orders"
ORDER = {
    "contact": {"name": "Imke"},
    "lines": [{"model_key": "longwalk-bench", "quantity": 1, "slats": ["back-rail"]}],
}


def amend(client: Caller, order_id: str, tag: str) -> httpx2.Response:
    path = f"{API}/orders/{order_id}"
    return client.request("PATCH", path, json={"note": "by the pond"}, headers={"If-Match": tag})


def test_a_tag_is_compared_whole_and_belongs_to_one_order(running: Running):
    mine, other = running.caller().send_order(), running.caller().send_order()
    client, order = running.caller(mine["link_token"]), mine["order"]["id"]
    tag = client.get(f"{API}/orders/{order}").headers["etag"]
    theirs = running.caller(other["link_token"]).get(f"{API}/orders/{other['order']['id']}").headers["etag"]
    revision, body, mark, *_coding = tag.strip('"').split(".")
    of_carving = client.get(f"{API}/carvings/{carvings(mine['order'])[0]['id']}").headers["etag"]
    for wrong in (theirs, of_carving, f'"{revision}.{"f" * 16}.{mark}"', f'"{revision}.{body}.{"f" * 12}"'):
        refused = amend(client, order, wrong)
        assert (refused.status_code, refused.json()["type"]) == (412, "/problems/stale"), wrong
    done = amend(client, order, tag)
    assert done.status_code == 200
    assert amend(client, order, tag).status_code == 412
    assert amend(client, order, done.headers["etag"]).status_code == 200


def place(caller: Caller, key: str, body: object, **headers: str) -> httpx2.Response:
    return caller.request("POST", DOOR, json=body, headers={"Idempotency-Key": key} | headers)


def test_a_key_answers_the_same_again_by_meaning(running: Running):
    visitor, key = running.caller(), str(uuid.uuid4())
    first = place(visitor, key, ORDER)
    usual = ORDER | {"note": "", "needed_by": None, "rights_granted": False}
    again = place(visitor, key, dict(reversed(usual.items())))
    assert (first.status_code, again.status_code) == (201, 201)
    assert "idempotency-replayed" not in first.headers and again.headers["idempotency-replayed"] == "true"
    assert again.json()["link_token"] == first.json()["link_token"]
    assert again.headers["location"] == first.headers["location"]
    other = place(visitor, key, ORDER | {"note": "another"})
    assert (other.status_code, other.json()["type"]) == (422, "/problems/key-reused")


def test_a_key_belongs_to_one_operation(running: Running):
    placed = running.caller().send_order()
    client, key = running.caller(placed["link_token"]), str(uuid.uuid4())
    path, headers = f"{API}/orders/{placed['order']['id']}", {"Idempotency-Key": key}
    carving = carvings(placed["order"])[0]["id"]
    svg = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><circle cx="5" cy="5" r="4"/></svg>'
    sent: dict[str, Any] = {
        "files": {"file": ("a.svg", svg)},
        "data": {"carvings": carving},
        "headers": headers,
    }
    assert client.request("POST", f"{path}/artworks", **sent).status_code == 201
    copied = client.request("POST", f"{path}/reorders", headers=headers)
    assert copied.status_code in (201, 404), copied.text
    assert copied.status_code == 404 or "idempotency-replayed" not in copied.headers
    assert client.request("POST", f"{path}/artworks", **sent).headers["idempotency-replayed"] == "true"


PLACE = """mutation($key: String, $order: OrderInput!) {
  placeOrder(workshop: "oxbarrow", onceKey: $key, order: $order) {
  __typename ... on OrderPlaced { replayed linkToken order { id } } ... on Conflict { code } } }"""


def graph(caller: Caller, query: str, **variables: object) -> Json:
    answer: Json = caller.post("/graphql", json={"query": query, "variables": variables}).json()
    return answer


def test_a_key_means_the_same_at_both_doors(running: Running):
    visitor, key = running.caller(), str(uuid.uuid4())
    first = place(visitor, key, ORDER).json()
    line = {"modelKey": "longwalk-bench", "quantity": 1, "slats": ["back-rail"]}
    order = {"contact": {"name": "Imke"}, "lines": [line]}
    again = graph(visitor, PLACE, key=key, order=order)["data"]["placeOrder"]
    assert again == {
        "__typename": "OrderPlaced",
        "replayed": True,
        "linkToken": first["link_token"],
        "order": {"id": first["order"]["id"]},
    }
    other = graph(visitor, PLACE, key=key, order=order | {"note": "x"})["data"]["placeOrder"]
    assert other == {"__typename": "Conflict", "code": "key-reused"}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"rights_granted": "yes"}, "rights_granted"),
        ({"rights_granted": 1}, "rights_granted"),
        ({"lines": [{"model_key": "longwalk-bench", "quantity": "2"}]}, "lines.0.quantity"),
        ({"needed_by": 20270501}, "needed_by"),
        ({"note": 7}, "note"),
    ],
)
def test_types_are_strict(running: Running, change, field):
    answer = running.caller().request("POST", DOOR, json=ORDER | change)
    assert answer.status_code == 422 and [p["field"] for p in answer.json()["problems"]] == [field]


def test_a_draft_goes_off_with_a_contact_and_a_day_to_come_only(running: Running):
    body = ORDER | {"contact": {"name": " "}, "needed_by": "2020-01-01"}
    placed = running.caller().request("POST", DOOR, json=body).json()
    client, order = running.caller(placed["link_token"]), placed["order"]
    answer = client.request(
        "POST", f"{API}/orders/{order['id']}/submission", headers={"If-Match": f'"{order["revision"]}"'}
    )
    assert answer.status_code == 422
    assert {p["field"] for p in answer.json()["problems"]} >= {"contact.name", "contact.email", "needed_by"}


def test_a_forbidden_field_is_null_with_its_error(running: Running):
    placed = running.caller().send_order()
    client = running.caller(placed["link_token"])
    query = "query($id: ID!) { order(id: $id) { number work { boards } marks { line } } settings { bits { key } } }"
    answer = graph(client, query, id=placed["order"]["id"])
    order = placed["order"]["number"]
    assert answer["data"] == {"order": {"number": order, "work": None, "marks": None}, "settings": None}
    assert {(tuple(e["path"]), e["extensions"]["code"]) for e in answer["errors"]} == {
        (("order", "work"), "NOT_ALLOWED"),
        (("order", "marks"), "NOT_ALLOWED"),
        (("settings",), "NOT_ALLOWED"),
    }


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ("{ viewr { role } }", "BAD_DOCUMENT"),
        ("{ viewer { role }", "BAD_DOCUMENT"),
        ("query($a: ID!) { order(id: $a) { id } }", "BAD_DOCUMENT"),
        ("{ viewer { role } }", "UNAUTHENTICATED"),
    ],
)
def test_every_error_has_a_code(running: Running, query, code):
    errors = graph(running.caller(), query)["errors"]
    assert [error["extensions"]["code"] for error in errors] == [code]


BOARD = """mutation { makeTestBoard(content: {bitKey: "v60"}) { __typename
  ... on TestBoardChanged { board { id number minutes } } } }"""
READ = """mutation($id: ID!, $taken: TestBoardReadingsInput!) { saveTestBoardReadings(boardId: $id, taken: $taken) {
  __typename ... on TestBoardChanged { board { revision note readings { key value } accepted { name } } }
  ... on Invalid { problems { field } } } }"""


def test_a_test_board_is_made_and_read_in_the_graph_as_at_the_rest_door(running: Running):
    maker = running.maker()
    made = graph(maker, BOARD)["data"]["makeTestBoard"]["board"]
    assert 5 < made["minutes"] < 10
    readings = [{"key": "L9.width", "value": 2.2}, {"key": "L10.width", "value": 2.5}]
    given = {"readings": readings, "note": "by the window"}
    kept = graph(maker, READ, id=made["id"], taken=given)["data"]["saveTestBoardReadings"]["board"]
    assert sorted(kept["readings"], key=lambda each: -len(each["key"]))[0] == readings[1]
    assert (kept["note"], kept["accepted"]) == ("by the window", None)
    again = {"readings": [{"key": "L9.width"}]}
    kept = graph(maker, READ, id=made["id"], taken=again)["data"]["saveTestBoardReadings"]["board"]
    at_rest = maker.get(f"{API}/test-boards/{made['id']}").json()["board"]
    assert at_rest["readings"] == {"L10.width": 2.5} and kept["readings"] == [readings[1]]
    wrong = graph(maker, READ, id=made["id"], taken={"readings": [{"key": "L99.width", "value": 1}]})
    assert wrong["data"]["saveTestBoardReadings"]["problems"][0]["field"].startswith("readings")
    asked = """query($id: ID!) { testBoard(id: $id) { board { number } slots { key box } }
      testBoards { number } experience { counts { name } } }"""
    found = graph(maker, asked, id=made["id"])["data"]
    assert found["testBoard"]["board"]["number"] == found["testBoards"][0]["number"] == made["number"]
    assert all(len(slot["box"]) == 4 for slot in found["testBoard"]["slots"])
    assert {"name": "fine"} in found["experience"]["counts"]
