"""Uploads that go on where the line broke, by tus 1.0.0, with a client of others (tus-js-client) and by hand."""

from __future__ import annotations

import base64
import json
import subprocess
from pathlib import Path

import pytest

from tests.running import API, Json, Running, art, carvings

SPOKEN = {"Tus-Resumable": "1.0.0"}
PART = SPOKEN | {"Content-Type": "application/offset+octet-stream"}


def told(**fields: str) -> str:
    return ",".join(f"{name} {base64.b64encode(value.encode()).decode()}" for name, value in fields.items())


@pytest.fixture
def placed(running: Running) -> Json:
    return running.caller().send_order()


def test_a_published_client_goes_on_where_it_broke_off(running: Running, placed: Json, tmp_path: Path):
    order, file = placed["order"], tmp_path / "crest.svg"
    file.write_bytes(art("crest.svg"))
    carving, part = carvings(order)[0]["id"], len(art("crest.svg")) // 3 + 1
    endpoint = f"{running.url}{API}/orders/{order['id']}/uploads"
    script = Path(__file__).with_name("tus.mjs")
    asked = ["node", str(script), endpoint, placed["link_token"], carving, str(file), str(part)]
    given = json.loads(subprocess.run(asked, capture_output=True, text=True, check=True, timeout=60).stdout)
    assert given["broken"] == part and given["offsets"] == [2 * part, len(art("crest.svg"))]
    client = running.caller(placed["link_token"])
    (known,) = client.settled(order["id"])["artworks"]
    original = client.get(known["original_url"])
    assert original.content == art("crest.svg") and known["name"] == "crest.svg"
    assert client.head(given["dropped"], headers=SPOKEN).status_code == 404  # termination


def test_the_specification_step_by_step(running: Running, placed: Json):
    """70 and 30 bytes of 100, as in the specification's example; then everything that is to be refused."""
    order, client = placed["order"], running.caller(placed["link_token"])
    collection = f"{API}/orders/{order['id']}/uploads"
    spoken = client.options(collection)
    assert spoken.status_code == 204 and spoken.headers["tus-version"] == "1.0.0"
    assert spoken.headers["tus-extension"] == "creation,termination,expiration"
    body = (b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M1 1h7v7H1z"/></svg>').ljust(
        100
    )
    fields = told(filename="square.svg", filetype="image/svg+xml", carvings=carvings(order)[0]["id"])
    length = {"Upload-Length": "100", "Upload-Metadata": fields}
    assert client.post(collection, headers=length).status_code == 412
    large = SPOKEN | length | {"Upload-Length": str(int(spoken.headers["tus-max-size"]) + 1)}
    assert client.post(collection, headers=large).status_code == 413
    nowhere = SPOKEN | {"Upload-Length": "100", "Upload-Metadata": told(filename="square.svg")}
    assert client.post(collection, headers=nowhere).status_code == 422
    made = client.post(collection, headers=SPOKEN | length)
    assert made.status_code == 201 and made.headers["upload-expires"].endswith("GMT")
    assert made.headers["ratelimit-policy"].startswith('"uploads"')
    place = made.headers["location"]
    assert (
        running.caller(running.caller().send_order()["link_token"]).head(place, headers=SPOKEN).status_code
        == 404
    )
    wrong = SPOKEN | {"Upload-Offset": "0", "Content-Type": "image/svg+xml"}
    assert client.patch(place, headers=wrong, content=body[:70]).status_code == 415
    sent = client.patch(place, headers=PART | {"Upload-Offset": "0"}, content=body[:70])
    assert sent.status_code == 204 and sent.headers["upload-offset"] == "70"
    again = client.patch(place, headers=PART | {"Upload-Offset": "0"}, content=body[:70])
    assert again.status_code == 409 and again.headers["upload-offset"] == "70"
    looked = client.head(place, headers=SPOKEN)
    assert looked.headers["cache-control"] == "no-store" and looked.headers["upload-length"] == "100"
    assert client.patch(place, headers=PART | {"Upload-Offset": "70"}, content=body).status_code == 413
    override = PART | {"Upload-Offset": "70", "X-HTTP-Method-Override": "PATCH"}
    last = client.post(place, headers=override, content=body[70:])
    assert last.status_code == 204 and last.headers["upload-offset"] == "100"
    assert [each["size"] for each in client.order(order["id"])["artworks"]] == [100]
    assert client.head(place, headers=SPOKEN).status_code == 404
    stranger = running.caller().head(place, headers=SPOKEN)
    assert stranger.status_code == 401
