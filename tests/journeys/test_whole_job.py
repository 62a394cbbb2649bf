"""From an order to a verified archive, through the public API only: once by REST, once by GraphQL."""

from __future__ import annotations

import io
import zipfile

from tests.running import API, Caller, Running, art, carvings, revision, shown


def test_an_order_goes_from_upload_to_archive_by_rest(running: Running):
    placed = running.caller().send_order()
    order, client, maker = placed["order"], running.caller(placed["link_token"]), running.maker()
    carving = carvings(order)[0]

    client.upload(order["id"], "crest.svg", art("crest.svg"), [carving["id"]])
    order = client.settled(order["id"])
    carving = carvings(order)[0]
    assert (carving["state"], carving["proof"]["verdict"]) == ("checked", "carves")
    assert client.get(carving["proof"]["picture_url"]).content.startswith(b"\x89PNG")
    assert client.get(carving["reading"]["picture_url"]).content.startswith(b"\x89PNG")
    original = client.get(order["artworks"][0]["original_url"])
    assert original.content == art("crest.svg")

    smaller = carving["placement"] | {"scale": carving["placement"]["scale"] * 0.9}
    tried = client.do("POST", f"/carvings/{carving['id']}/trials", json={"placement": smaller})
    assert tried["digest"] != carving["proof"]["digest"]
    client.do("PUT", f"/carvings/{carving['id']}/placement", json=smaller, headers=revision(carving))
    order = client.settled(order["id"])
    assert carvings(order)[0]["proof"]["digest"] == tried["digest"], (
        "a trial judges what the proof then holds"
    )

    order = client.do("POST", f"/orders/{order['id']}/submission", headers=revision(order))
    early = maker.post(
        f"{API}/orders/{order['id']}/release", json={"shown": shown(order)}, headers=revision(order)
    )
    assert early.json()["type"] == "/problems/not-approved"
    order = maker.do("POST", f"/orders/{order['id']}/offers", json={"shown": shown(order)})
    order = client.sign(order)
    order = maker.do("POST", f"/orders/{order['id']}/feasibility", json={"shown": shown(order)})
    assert carvings(order)[0]["state"] == "approved"
    order = maker.do(
        "POST", f"/orders/{order['id']}/release", json={"shown": shown(order)}, headers=revision(order)
    )
    assert order["state"] == "released"

    archive = maker.get(maker.archived([order["id"]])["archive_url"]).content
    names = zipfile.ZipFile(io.BytesIO(archive)).namelist()
    assert any(name.endswith(".svg") for name in names)
    kinds = [entry["kind"] for entry in maker.do("GET", f"/orders/{order['id']}/decisions")["items"]]
    assert kinds[-1] in ("batch", "release") and {
        "submission",
        "offer",
        "sign-off",
        "feasibility",
        "release",
    } <= set(kinds)
    assert maker.do("GET", "/record/verification")["holds"] is True


OUTCOME = """__typename
  ... on Refusal { message }
  ... on OrderChanged { order { id revision state carvings {
    id state revision slatKey placement { x y scale rotationDeg mirrored }
    proof { digest picture verdict findings { kind severity message } } } } }"""


class Graph:
    """Somebody who calls the GraphQL door."""

    def __init__(self, caller: Caller) -> None:
        self.caller = caller

    def ask(self, query: str, **variables: object) -> dict:
        answer = self.caller.post("/graphql", json={"query": query, "variables": variables}).json()
        assert "errors" not in answer, answer["errors"]
        return answer["data"]

    def change(self, name: str, expect: str = "OrderChanged", **arguments: str) -> dict:
        given = ", ".join(f"{key}: {value}" for key, value in arguments.items())
        outcome = self.ask(f"mutation {{ {name}({given}) {{ {OUTCOME} }} }}")[name]
        assert outcome["__typename"] == expect, outcome
        return outcome.get("order") or outcome


def shown_in_graph(order: dict) -> str:
    parts = []
    for carving in order["carvings"]:
        names = {"carvingId": carving["id"]} | {key: carving["proof"][key] for key in ("digest", "picture")}
        parts.append("{" + ", ".join(f'{key}: "{value}"' for key, value in names.items()) + "}")
    return f"[{', '.join(parts)}]"


def test_an_order_goes_from_upload_to_archive_by_graphql(running: Running):
    nobody, maker = Graph(running.caller()), Graph(running.maker())
    place = """mutation($order: OrderInput!) {
      placeOrder(workshop: "oxbarrow", order: $order, onceKey: "0b5f7c1e-6c1c-4f7a-9a1e-0d7b6f3f5f11") {
        ... on OrderPlaced { linkToken order { id carvings { id slatKey } } } } }"""
    order = {
        "contact": {"name": "Imke Harrowdale", "email": "imke@quillfern.example"},
        "lines": [{"modelKey": "longwalk-bench", "quantity": 2, "slats": ["back-centre"]}],
        "rightsGranted": True,
        "neededBy": "2027-05-01",
    }
    placed = nobody.ask(place, order=order)["placeOrder"]
    again = nobody.ask(place, order=order)["placeOrder"]
    assert again["order"]["id"] == placed["order"]["id"], "the same call under the same key does nothing new"

    client = Graph(running.caller(again["linkToken"]))  # the last answer's is the one that opens
    order_id = placed["order"]["id"]
    carving_id = placed["order"]["carvings"][0]["id"]
    client.caller.upload(order_id, "crest.svg", art("crest.svg"), [carving_id])
    carving = carvings(client.caller.settled(order_id))[0]
    given = {"carvingId": f'"{carving_id}"', "artworkId": f'"{carving["artwork_id"]}"'}
    client.change("useArtwork", "Stale", expectedRevision="99", **given)
    client.change("useArtwork", expectedRevision=str(carving["revision"]), **given)
    client.caller.settled(order_id)

    look = "query($id: ID!) { order(id: $id) { id revision carvings { id proof { digest picture } } } }"
    order = client.ask(look, id=order_id)["order"]
    order = client.change("submitOrder", orderId=f'"{order_id}"', expectedRevision=str(order["revision"]))
    given = {"orderId": f'"{order_id}"', "shown": shown_in_graph(order)}
    maker.change("releaseOrder", "Conflict", expectedRevision=str(order["revision"]), **given)
    maker.change("offerProofs", **given)
    maker.change("signOff", "NotAllowed", **given)
    client.change("signOff", "Conflict", **given)  # the price belongs to what is signed
    price = client.ask("query($id: ID!) { order(id: $id) { quote { current { digest } } } }", id=order_id)
    client.change("signOff", quote=f'"{price["order"]["quote"]["current"]["digest"]}"', **given)
    order = maker.change("findFeasible", **given)
    order = maker.change("releaseOrder", expectedRevision=str(order["revision"]), **given)
    assert order["state"] == "RELEASED"

    take = "mutation($id: ID!) { takeBatch(orderIds: [$id]) { ... on BatchTaken { batch { id state } } } }"
    assert maker.ask(take, id=order_id)["takeBatch"]["batch"]["state"] == "WAITING"
    batch = maker.caller.archived([order_id])
    assert maker.caller.get(batch["archive_url"]).content.startswith(b"PK")
