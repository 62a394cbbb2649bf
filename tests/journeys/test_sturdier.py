"""A version of a drawing in two strengths: looked at, chosen and signed for by REST and by GraphQL."""

from __future__ import annotations

import io

from PIL import Image

from tests.running import Caller, Json, Running, carvings, revision
from tests.waiting import until

THIN_RING = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"><path fill-rule="evenodd" '
    b'd="M50 5a45 45 0 1 0 .01 0zM50 9a41 41 0 1 1-.01 0z"/><path d="M30 49.5h40v1H30z"/></svg>'
)
LINE = {"model_key": "fernhollow-chair", "quantity": 1, "slats": ["back-centre"]}
OFFERED = """query($id: ID!) { versions(carvingId: $id) {
  versions { code sentence sturdierOf } sturdier { code sentence sturdierOf likeness verdict pictureUrl } } }"""
CHOOSE = """mutation($id: ID!, $seen: Int!, $code: String!) {
  chooseVersion(carvingId: $id, expectedRevision: $seen, code: $code) { __typename } }"""


def stopped(running: Running) -> tuple[Caller, str, Json]:
    """A client whose ring will not carve, with all that is offered for it."""
    placed = running.caller().send_order(lines=[LINE])
    client, order = running.caller(placed["link_token"]), placed["order"]["id"]
    (carving,) = carvings(placed["order"])
    client.upload(order, "ring.svg", THIN_RING, [carving["id"]])
    (carving,) = carvings(client.settled(order))
    assert carving["proof"]["verdict"] == "will-not-carve"
    until(lambda: offer(client, carving)["state"] == "ready")
    return client, order, carving


def offer(client: Caller, carving: Json) -> Json:
    return client.do("GET", f"/carvings/{carving['id']}/versions")


def taken(client: Caller, order: str) -> Json:
    """The carving once the version that was chosen is judged."""
    (carving,) = carvings(client.settled(order))
    assert carving["proof"]["verdict"] != "will-not-carve"
    return carving


def test_both_strengths_are_seen_and_each_gives_its_own_proof(running: Running):
    client, order, carving = stopped(running)
    offered = offer(client, carving)
    least, sturdier = offered["versions"][0], offered["sturdier"][0]
    assert (sturdier["sturdier_of"], least["sturdier_of"]) == (least["code"], None)
    assert sturdier["likeness"] >= 0.9 and sturdier["verdict"] != "will-not-carve"
    pictures = [client.get(each["picture_url"]).content for each in (least, sturdier)]
    assert pictures[0] != pictures[1]
    assert all(Image.open(io.BytesIO(data)).format == "WEBP" for data in pictures)
    variables = {"id": carving["id"]}
    graph = client.post("/graphql", json={"query": OFFERED, "variables": variables}).json()["data"][
        "versions"
    ]
    for name, seen in (("versions", least), ("sturdier", sturdier)):
        assert graph[name][0]["sentence"] == seen["sentence"]
        assert graph[name][0]["sturdierOf"] == seen["sturdier_of"]

    path = f"/carvings/{carving['id']}/versions"
    client.do("POST", f"{path}/{sturdier['code']}", headers=revision(carving))
    by_rest = taken(client, order)
    assert "All of it sturdier" in by_rest["version"]["sentence"]
    assert by_rest["version"]["chosen_by"] == "client"

    other, another, same = stopped(running)
    chosen = {"id": same["id"], "seen": same["revision"], "code": sturdier["code"]}
    said = other.post("/graphql", json={"query": CHOOSE, "variables": chosen}).json()
    assert said["data"]["chooseVersion"]["__typename"] == "OrderChanged"
    assert taken(other, another)["proof"]["digest"] == by_rest["proof"]["digest"]

    third, order, same = stopped(running)
    third.do("POST", f"/carvings/{same['id']}/versions/{least['code']}", headers=revision(same))
    assert taken(third, order)["proof"]["digest"] != by_rest["proof"]["digest"]
