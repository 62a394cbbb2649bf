"""One running service for every test that goes through a door: real sockets, real work, the seed shop.

DBOS keeps one state per process, so there is one such service per process; tests make their own orders in it.
"""

from __future__ import annotations

import ssl
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx2
import pytest
import uvicorn

from seeds.shop import load
from service.root import Service, build
from service.seeding import seed_shop
from service.settings import Settings
from tests.waiting import looks

API = "/api/v1"
Json = dict[str, Any]
FROM_HERE = {"Sec-Fetch-Site": "same-origin"}


ORDER_BODY: Json = {
    "contact": {"name": "Imke Harrowdale", "email": "imke@quillfern.example"},
    "lines": [{"model_key": "longwalk-bench", "quantity": 2, "slats": ["back-centre"]}],
    "needed_by": "2027-05-01",
    "rights_granted": True,
}


_TRUSTED = ssl.create_default_context()
"""Made once: reading the list of all authorities takes as long as a dozen calls."""


class Caller(httpx2.Client):
    """Somebody who calls the service."""

    def __init__(self, **more: Any) -> None:
        super().__init__(verify=_TRUSTED, **more)

    def send_order(self, **changes: Any) -> Json:
        """Place an order for two benches with art on three slats; the answer."""
        return self.send_order_to(load().key, **changes)

    def send_order_to(self, workshop: str, **changes: Any) -> Json:
        """As :meth:`send_order`, at another workshop's door."""
        body = ORDER_BODY | changes
        return self.do("POST", f"/workshops/{workshop}/orders", json=body, status=201)

    def do(self, method: str, path: str, status: int = 200, **more: Any) -> Any:
        """One call that must go as said; its JSON."""
        answer = self.request(method, API + path, **more)
        assert answer.status_code == status, f"{method} {path}: {answer.status_code} {answer.text[:500]}"
        return answer.json() if answer.content else None

    def order(self, order_id: str) -> Json:
        """An order as it is now."""
        found: Json = self.do("GET", f"/orders/{order_id}")
        return found

    def settled(self, order_id: str, seconds: float = 150) -> Json:
        """The order once nothing is being read or checked in it."""
        for _ in looks(seconds):
            order = self.order(order_id)
            if not any(c["state"] in ("reading", "checking") for c in carvings(order)):
                return order
        raise AssertionError(f"still busy: {self.do('GET', f'/orders/{order_id}/jobs')}")

    def sign(self, order: Json) -> Json:
        """Accept every remark and sign every proof of an order, as its client."""
        for carving, seen in zip(carvings(order), shown(order), strict=True):
            if carving["proof"]["remarks"]:
                given = {"shown": seen, "remarks": carving["proof"]["remarks"]}
                self.do("POST", "/waivers", json=given)
        given = {"shown": shown(order), "quote": self.quote(order["id"])}
        signed: Json = self.do("POST", f"/orders/{order['id']}/sign-offs", json=given)
        return signed

    def quote(self, order_id: str) -> str:
        """Digest of what an order costs now."""
        digest: str = self.do("GET", f"/orders/{order_id}/quote")["current"]["digest"]
        return digest

    def archived(self, order_ids: list[str], seconds: float = 150) -> Json:
        """A batch of released orders, once its archive is there."""
        batch: Json = self.do("POST", "/batches", status=202, json={"order_ids": order_ids})
        for _ in looks(seconds):
            if batch["state"] != "waiting":
                break
            batch = self.do("GET", f"/batches/{batch['id']}")
        assert batch["state"] == "ready", batch
        return batch

    def upload(self, order_id: str, name: str, data: bytes, carving_ids: list[str], **more: Any) -> Json:
        """Upload a file for carvings."""
        form = {"carvings": ",".join(carving_ids)}
        path = f"/orders/{order_id}/artworks"
        sent: Json = self.do("POST", path, status=201, files={"file": (name, data)}, data=form, **more)
        return sent


def placed_order(url: str) -> tuple[Json, Caller]:
    """A new order of the service at ``url``, and its client."""
    with Caller(base_url=url, timeout=60, headers=FROM_HERE) as visitor:
        placed = visitor.send_order()
    token = {"Authorization": f"Bearer {placed['link_token']}"}
    return placed["order"], Caller(base_url=url, timeout=60, headers=token)


@dataclass(frozen=True)
class Running:
    """A service that answers at ``url``."""

    service: Service
    url: str
    callers: list[Caller] = field(default_factory=list)
    session: dict[str, str] = field(default_factory=dict)

    def caller(self, token: str | None = None, **more: Any) -> Caller:
        """Somebody without credentials, or with a link or token."""
        headers = {"Authorization": f"Bearer {token}"} if token else {}
        made = Caller(base_url=self.url, headers=headers | more.pop("headers", {}), timeout=60, **more)
        self.callers.append(made)
        return made

    def maker(self) -> Caller:
        """The maker of the seed shop, signed in once: signing in over and over has to wait."""
        caller = self.caller(headers=FROM_HERE)
        if self.session:
            caller.cookies.update(self.session)
        else:
            maker = next(person for person in load().people if person.role == "maker")
            caller.do("POST", "/session", json={"email": maker.email, "password": load().password})
            self.session.update(caller.cookies)
        return caller


def carvings(order: Json) -> list[Json]:
    """Every carving of an order."""
    return [carving for line in order["lines"] for carving in line["carvings"]]


def shown(order: Json) -> list[Json]:
    """What a decision about every current proof of an order names."""
    return [
        {"carving_id": c["id"], "digest": c["proof"]["digest"], "picture": c["proof"]["picture"]}
        for c in carvings(order)
        if c["proof"]
    ]


def revision(thing: Json) -> dict[str, str]:
    """The precondition for changing an order or carving."""
    return {"If-Match": f'"{thing["revision"]}"'}


def art(name: str) -> bytes:
    """A file of the demo artwork."""
    return load().artwork(name).data


def settings_for(folder: Path, **changes: Any) -> Settings:
    """Settings of a service for tests."""
    return Settings(
        **(
            {
                "data": folder,
                "port": 0,
                "compute": 1,
                "seed": True,
                "orders_an_hour": 0,
                "requests_a_minute": 0,
                "repair_seconds": 3.0,
            }
            | changes
        )
    )


def serve(service: Service) -> Iterator[Running]:
    """Serve in a thread until the caller is done."""
    service.migrate()
    if service.settings.seed:
        seed_shop(service.ctx)
    server = uvicorn.Server(uvicorn.Config(service.app, host="127.0.0.1", port=0, log_level="warning"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        assert thread.is_alive(), "the service did not start"
        time.sleep(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    running = Running(service, f"http://127.0.0.1:{port}")
    try:
        yield running
    finally:
        for caller in running.callers:
            caller.close()
        server.should_exit = True
        thread.join()


@pytest.fixture(scope="session")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """The running service."""
    yield from serve(build(settings_for(tmp_path_factory.mktemp("data"))))
