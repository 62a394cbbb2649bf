"""Names on every piece, asked for by GraphQL, signed at the REST door, made and released as one."""

from __future__ import annotations

import io
import zipfile

from tests.running import Caller, Json, Running, revision

SET = """mutation($order: ID!, $revision: Int!, $names: NamesInput!) {
  setNames(orderId: $order, expectedRevision: $revision, names: $names) {
    __typename ... on Refusal { message } ... on OrderChanged { order { id revision } } } }"""
LOOK = "query($id: ID!) { order(id: $id) { suites { id digest sentence parts { text state } } } }"


def asked(caller: Caller, query: str, **variables: object) -> Json:
    answer = caller.post("/graphql", json={"query": query, "variables": variables}).json()
    assert "errors" not in answer, answer
    data: Json = answer["data"]
    return data


def test_names_go_from_a_list_to_the_batch(running: Running):
    placed = running.caller().send_order(
        lines=[{"model_key": "fernhollow-chair", "quantity": 1, "slats": []}]
    )
    client, maker = running.caller(placed["link_token"]), running.maker()
    order = placed["order"]
    names = {
        "lineId": order["lines"][0]["id"],
        "slatKey": "seat-front",
        "rule": {"typeface": "heebo-bold", "capHeight": 36, "leastCapHeight": 25, "tracking": 0.06},
        "texts": "Rosa\nEwan",
    }
    done = asked(client, SET, order=order["id"], revision=order["revision"], names=names)["setNames"]
    assert done["__typename"] == "OrderChanged", done
    again = asked(client, SET, order=order["id"], revision=order["revision"], names=names)["setNames"]
    assert again["__typename"] == "Stale"
    client.settled(order["id"])
    (suite,) = asked(client, LOOK, id=order["id"])["order"]["suites"]
    assert [part["text"] for part in suite["parts"]] == ["Rosa", "Ewan"]
    whole = {"whole": [{"suite_id": suite["id"], "digest": suite["digest"]}]}
    path = f"/orders/{order['id']}"
    order = client.do("POST", f"{path}/submission", headers=revision(client.order(order["id"])))
    client.do("POST", f"{path}/offers", json=whole)
    (listed,) = client.do("GET", f"{path}/suites")["items"]
    if listed["remarks"]:
        ask = {"whole": whole["whole"][0], "kinds": list(listed["remarks"])}
        client.do("POST", f"{path}/suite-waivers", json=ask)
    client.do("POST", f"{path}/sign-offs", json=whole | {"quote": client.quote(order["id"])})
    order = maker.do("POST", f"{path}/feasibility", json=whole)
    order = maker.do("POST", f"{path}/release", json=whole, headers=revision(order))
    assert order["state"] == "released"
    work = maker.do("GET", f"{path}/work")
    assert work["boards"] >= work["boards_at_least"] > 0
    batch = maker.archived([order["id"]], seconds=90)
    with zipfile.ZipFile(io.BytesIO(maker.get(batch["archive_url"]).content)) as archive:
        files = archive.namelist()
    assert sum(name.endswith("art.dxf") for name in files) == 2
    assert sum("contact-sheet" in name for name in files) == 1
