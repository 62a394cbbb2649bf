"""A disk with nothing left on it: writing is refused in time and words, reading goes on, nothing has to be mended."""

from __future__ import annotations

import pytest

from tests.parts.small import SmallShape, can_mount
from tests.running import API, FROM_HERE, Caller, art, carvings

pytestmark = pytest.mark.skipif(not can_mount(), reason="a disk of its own needs root")


def test_writing_is_refused_until_there_is_room(tmp_path):
    shape = SmallShape(tmp_path, disk_mb=64)
    shape.start()
    try:
        with Caller(base_url=shape.url, timeout=60, headers=FROM_HERE) as visitor:
            placed = visitor.send_order()
        order = placed["order"]
        token = {"Authorization": f"Bearer {placed['link_token']}"}
        with Caller(base_url=shape.url, timeout=60, headers=token) as client:
            shape.fill()
            sent = {"files": {"file": ("crest.svg", art("crest.svg"))}}
            form = {"carvings": carvings(order)[0]["id"]}
            refused = client.post(f"{API}/orders/{order['id']}/artworks", data=form, **sent)
            assert (refused.status_code, refused.headers["retry-after"]) == (503, "5")
            assert client.order(order["id"])["artworks"] == []
            shape.empty()
            client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
            assert carvings(client.settled(order["id"], 60))[0]["state"] == "checked"
    finally:
        shape.stop()
