"""Makes the stored data folder of a schema: run with the code of that version, never again afterwards.

``python -m tests.service.upgrades.make FILE``: a released order with its batch, a signed one, a draft with what later
schemas brought (a list of names, a mark, machine settings, a second step), and an upload whose reading was asked for
when the service was stopped. The folder of schema 0001 was made before there were lists and marks.
"""

from __future__ import annotations

import base64
import sys
import tarfile
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from seeds.shop import load
from service.access import second_factor
from service.root import build
from tests.running import Caller, Running, art, carvings, revision, serve, settings_for, shown

LARGE = 100_000
"""Pictures and archives are left out: no migration touches files, and the fixture stays small."""


def main() -> int:
    with tempfile.TemporaryDirectory() as name:
        data = Path(name)
        serving = serve(build(settings_for(data)))
        running = next(serving)
        maker = running.maker()
        order = approved(running, maker)
        path = f"/orders/{order['id']}/release"
        order = maker.do("POST", path, json={"shown": shown(order)}, headers=revision(order))
        maker.archived([order["id"]])
        approved(running, maker)
        add_later(running, maker)
        next(serving, None)
        # With nobody there to do the work, an upload stays in flight.
        serving = serve(build(settings_for(data, role="web")))
        running = next(serving)
        placed = running.caller().send_order()
        client = running.caller(placed["link_token"])
        client.upload(
            placed["order"]["id"], "crest.svg", art("crest.svg"), [carvings(placed["order"])[0]["id"]]
        )
        next(serving, None)
        with tarfile.open(sys.argv[1], "w:gz") as archive:
            for path in sorted(data.rglob("*")):
                if path.suffix == ".db" or (
                    path.is_file() and path.stat().st_size < LARGE and "blobs" in path.parts
                ):
                    archive.add(path, path.relative_to(data), filter=_plain)
    return 0


def approved(running: Running, maker: Caller) -> dict:
    placed = running.caller().send_order()
    client, order = running.caller(placed["link_token"]), placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
    order = client.settled(order["id"])
    order = client.do("POST", f"/orders/{order['id']}/submission", headers=revision(order))
    order = maker.do("POST", f"/orders/{order['id']}/offers", json={"shown": shown(order)})
    order = client.sign(order)
    return maker.do("POST", f"/orders/{order['id']}/feasibility", json={"shown": shown(order)})


def add_later(running: Running, maker: Caller) -> None:
    """A row or more in every table that came after the first schema."""
    order = running.caller().send_order()["order"]
    maker.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
    order = maker.settled(order["id"])
    mark = maker.do("POST", "/settings/marks", status=201, json=shown(order)[0])
    seen = {"digest": mark["digest"], "picture": mark["picture"]}
    maker.do("POST", f"/settings/marks/{mark['id']}/approval", json=seen)
    names = {
        "line_id": order["lines"][0]["id"],
        "slat_key": "back-left-3",
        "rule": {"typeface": "lato-bold", "cap_height": 30, "least_cap_height": 20},
        "texts": "Rosa\nEwan",
        "turn_deg": 90,
    }
    maker.do("PUT", f"/orders/{order['id']}/names", json=names, headers=revision(order))
    maker.settled(order["id"])
    machine = maker.do("GET", "/settings/machine")
    maker.do("PUT", "/settings/machine", json={"paper": "Letter"}, headers=revision(machine))
    password = {"password": load().password}
    begun = maker.do("POST", "/second-step", status=201, json=password)
    code = second_factor.code_at(base64.b32decode(begun["secret"]), datetime.now(UTC))
    maker.do("POST", "/second-step/confirmation", json={"code": code})


def _plain(entry: tarfile.TarInfo) -> tarfile.TarInfo:
    entry.uid = entry.gid = entry.mtime = 0
    entry.uname = entry.gname = ""
    return entry


if __name__ == "__main__":
    sys.exit(main())
