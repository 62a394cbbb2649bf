"""Headers of answers: those sent are declared, limits are told, and what is on its way out says so.

draft-ietf-httpapi-ratelimit-headers-11 (field names and members), RFC 9745, RFC 8594, RFC 8288, RFC 9110 §8.4.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from pathlib import Path

import httpx2

from service.load_shedding import HEADERS as SHIELDS
from service.rest.deprecation import LEAST
from service.rest.openapi import document
from service.rest.openapi_parts import answers_of
from service.rest.table import OPERATIONS
from tests.running import API, Running, art, carvings

# What HTTP itself, the server and the shields put on every answer, and cookies, which the security schemes name.
OF_ALL = {name.lower() for name in SHIELDS} | {
    "date",
    "server",
    "content-length",
    "content-type",
    "set-cookie",
}


def undeclared(operation: str, answer: httpx2.Response) -> set[str]:
    """Headers of an answer that the contract does not name there."""
    found = [op for methods in document()["paths"].values() for op in methods.values()]
    (told,) = (op for op in found if op["operationId"] == operation)
    named = {
        name.lower() for name in answers_of(document(), told)[str(answer.status_code)].get("headers", {})
    }
    return {f"{operation} {answer.status_code} {name}" for name in answer.headers} - {
        f"{operation} {answer.status_code} {name}" for name in named | OF_ALL
    }


def test_what_is_sent_is_declared_and_counts_are_told(running: Running):
    placed = running.caller().post(f"{API}/workshops/oxbarrow/orders", json={})
    wrong = undeclared("placeOrder", placed)
    made = running.caller().send_order()
    client, maker, order = running.caller(made["link_token"]), running.maker(), made["order"]
    form = {
        "files": {"file": ("crest.svg", art("crest.svg"))},
        "data": {"carvings": carvings(order)[0]["id"]},
    }
    sent = client.post(f"{API}/orders/{order['id']}/artworks", **form)
    got = client.get(f"{API}/orders/{order['id']}")
    kept = client.get(f"{API}/orders/{order['id']}", headers={"If-None-Match": got.headers["etag"]})
    listed = maker.get(f"{API}/orders", params={"first": 1, "count": True})
    carving = client.settled(order["id"])["lines"][0]["carvings"][0]
    picture = client.get(carving["proof"]["picture_url"])
    part = client.get(carving["proof"]["picture_url"], headers={"Range": "bytes=0-9"})
    for name, answer in (
        ("uploadArtwork", sent), ("getOrder", got), ("getOrder", kept), ("listOrders", listed),
        ("getProofPicture", picture), ("getProofPicture", part), ("getOrder", running.caller().get(got.url)),
    ):  # fmt: skip
        wrong |= undeclared(name, answer)
    assert not wrong
    assert listed.json()["total"] >= 1 and got.headers["content-encoding"] == "br"
    record = maker.do("GET", "/record", params={"first": 2, "count": True})
    assert record["total"] >= record["items"][0]["number"] > 2 == len(record["items"])
    # 600 MB an hour for one network
    assert sent.headers["ratelimit-policy"] == '"uploads";q=600000000;w=3600;qu="content-bytes"'
    left, seconds = re.fullmatch(r'"uploads";r=(\d+);t=(\d+)', sent.headers["ratelimit"]).groups()
    assert 0 < int(left) < 600_000_000 and 0 < int(seconds) <= 3600
    assert "ratelimit" not in got.headers


def test_what_is_on_its_way_out_says_so_and_still_answers(running: Running):
    made = running.caller().send_order()
    client, carving = running.caller(made["link_token"]), carvings(made["order"])[0]["id"]
    answer = client.get(f"{API}/carvings/{carving}/proofs")
    assert answer.status_code == 200 and answer.json() == [] and not undeclared("listProofs", answer)
    since = datetime.fromtimestamp(int(answer.headers["deprecation"].removeprefix("@")), UTC)
    assert parsedate_to_datetime(answer.headers["sunset"]) - since >= LEAST
    (instead,) = re.findall(r'<([^>]+)>; rel="successor-version"', answer.headers["link"])
    assert client.get(instead).json() == {"items": [], "total": 0}
    changelog = (Path(__file__).parents[2] / "CHANGELOG.md").read_text(encoding="utf-8")
    for each in (op for op in OPERATIONS if op.deprecated):
        assert each.deprecated.until - each.deprecated.since >= LEAST
        assert f"`{each.name}` is on its way out" in changelog
