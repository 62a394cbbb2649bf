"""Makes the stored data folder of a schema: run with the code of the version that released it, never again afterwards.

``python -m tests.service.upgrades.make SCHEMA FILE``: a released order with its batch, a signed one, what later schemas
brought as far as this one has it (a draft with a list of names, a second step, machine settings, a mark), and an upload
whose reading was asked for when the service was stopped.

Each was made by the code of the last commit of its schema, but 0003: its migration came with that of 0004, so no code
ever ran on it. Its folder is that of 0002, brought to 0003 by ``upgrade``, with a worker on the roll.
"""

from __future__ import annotations

import base64
import sys
import tarfile
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from seeds.shop import load
from service.root import build
from tests.running import Caller, Json, Running, art, carvings, revision, serve, settings_for, shown

LARGE = 100_000
"""Pictures and archives are left out: no migration touches files, and the fixture stays small."""


def main() -> int:
    schema, target = sys.argv[1:]
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
        add_later(running, maker, schema)
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
        with tarfile.open(target, "w:xz") as archive:
            for path in sorted(data.rglob("*")):
                if path.suffix == ".db" or (
                    path.is_file() and path.stat().st_size < LARGE and "blobs" in path.parts
                ):
                    archive.add(path, path.relative_to(data), filter=_plain)
    return 0


def approved(running: Running, maker: Caller) -> Json:
    placed = running.caller().send_order()
    client, order = running.caller(placed["link_token"]), placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
    order = client.settled(order["id"])
    order = client.do("POST", f"/orders/{order['id']}/submission", headers=revision(order))
    order = maker.do("POST", f"/orders/{order['id']}/offers", json={"shown": shown(order)})
    order = client.sign(order)
    return maker.do("POST", f"/orders/{order['id']}/feasibility", json={"shown": shown(order)})


def add_later(running: Running, maker: Caller, schema: str) -> None:
    """A row or more in every table that came after the first schema, as far as this one has it."""
    if schema >= "0005":
        order = running.caller().send_order()["order"]
        maker.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
        order = maker.settled(order["id"])
        if schema >= "0009":
            add_mark(maker, order)
        add_names(maker, order)
    if schema >= "0007":
        machine = maker.do("GET", "/settings/machine")
        maker.do("PUT", "/settings/machine", json={"paper": "Letter"}, headers=revision(machine))
    if schema >= "0006":
        add_second_step(maker)


def add_mark(maker: Caller, order: Json) -> None:
    mark = maker.do("POST", "/settings/marks", status=201, json=shown(order)[0])
    seen = {"digest": mark["digest"], "picture": mark["picture"]}
    maker.do("POST", f"/settings/marks/{mark['id']}/approval", json=seen)


def add_names(maker: Caller, order: Json) -> None:
    names = {
        "line_id": order["lines"][0]["id"],
        "slat_key": "back-left-3",
        "rule": {"typeface": "lato-bold", "cap_height": 30, "least_cap_height": 20},
        "texts": "Rosa\nEwan",
        "turn_deg": 90,
    }
    maker.do("PUT", f"/orders/{order['id']}/names", json=names, headers=revision(order))
    maker.settled(order["id"])


def add_second_step(maker: Caller) -> None:
    from service.access import second_factor  # not there before 0006

    begun = maker.do("POST", "/second-step", status=201, json={"password": load().password})
    code = second_factor.code_at(base64.b32decode(begun["secret"]), datetime.now(UTC))
    maker.do("POST", "/second-step/confirmation", json={"code": code})


def _plain(entry: tarfile.TarInfo) -> tarfile.TarInfo:
    entry.uid = entry.gid = entry.mtime = 0
    entry.uname = entry.gname = ""
    return entry


if __name__ == "__main__":
    sys.exit(main())
