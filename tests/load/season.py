"""One client of a busy season, and a crowd of them."""

from __future__ import annotations

import asyncio
import random
import time
import uuid
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import httpx2

from seeds.shop import load as load_shop
from tests.running import API, FROM_HERE, Json, carvings, shown

WORKSHOP = "oxbarrow"
LONGEST_PAUSE = 5.0
BENCH = [{"model_key": "longwalk-bench", "quantity": 2, "slats": ["back-centre"]}]
MIX = {
    # what clients and the maker of a shop do in a busy week; shares are common practice, no source
    "order page": 40,
    "picture": 16,
    "queue": 12,
    "search": 8,
    "counts": 8,
    "trial": 6,
    "upload": 4,
    "new order": 3,
    "decide": 3,
}
STARTS = ("no-art", "checked", "refused", "rejected", "change-asked")
FILES = ("crest.svg", "scan.jpg", "thin.png")


@dataclass
class Heard:
    """Answers of all clients.

    Attributes:
        seconds: of good answers, by what was asked.
        refused: 429 and 503, each with ``Retry-After``; ``bare`` without it.
        wrong: any other status, and why.
        lost: no answer at all.
    """

    seconds: dict[str, list[float]] = field(default_factory=dict)
    refused: Counter[int] = field(default_factory=Counter)
    bare: int = 0
    wrong: Counter[str] = field(default_factory=Counter)
    lost: int = 0

    def take_in(self, what: str, answer: httpx2.Response, seconds: float) -> float:
        """Note one answer; how long to pause before the next request."""
        if answer.status_code in (429, 503):
            self.refused[answer.status_code] += 1
            after = answer.headers.get("retry-after")
            self.bare += after is None
            return min(float(after or 1), LONGEST_PAUSE)
        if answer.is_success or answer.status_code == 304:
            self.seconds.setdefault(what, []).append(seconds)
        else:
            self.wrong[f"{what}: {answer.status_code} {answer.json().get('type', '')}"] += 1
        return 0.0


class Visitor:
    """One client with an order of their own, who now and then is the maker."""

    def __init__(self, url: str, maker: dict[str, str], heard: Heard, seed: int, end: float) -> None:
        self._heard, self._end, self._dice = heard, end, random.Random(seed)
        limits = httpx2.Limits(max_connections=2)
        self._client = httpx2.AsyncClient(base_url=url, headers=FROM_HERE, timeout=60, limits=limits)
        self._maker = httpx2.AsyncClient(
            base_url=url, headers=FROM_HERE, cookies=maker, timeout=60, limits=limits
        )
        self._order: Json | None = None
        self._files = {art.name: art.data for art in load_shop().artworks if art.name in FILES}

    async def go(self) -> None:
        """Work through the mix until the end."""
        try:
            while self._order is None and time.monotonic() < self._end:
                await self._new_order()
            while time.monotonic() < self._end:
                (what,) = self._dice.choices(list(MIX), list(MIX.values()))
                await self._do(what)
        finally:
            await self._client.aclose()
            await self._maker.aclose()

    async def _do(self, what: str) -> None:
        assert self._order is not None
        order = f"/orders/{self._order['id']}"
        match what:
            case "order page":
                if seen := await self._ask(what, self._client, "GET", order):
                    self._order = seen
            case "picture":
                proof = carvings(self._order)[0]["proof"]
                if proof:
                    await self._ask(what, self._client, "GET", proof["picture_url"].removeprefix(API))
            case "queue":
                await self._ask(what, self._maker, "GET", "/orders?state=submitted&first=50")
            case "search":
                await self._ask(what, self._maker, "GET", "/orders?words=harrow&first=20")
            case "counts":
                await self._ask(what, self._maker, "GET", "/orders/counts")
            case "trial":
                await self._trial()
            case "upload":
                await self._upload()
            case "new order":
                await self._new_order()
            case "decide":
                await self._decide()

    async def _new_order(self) -> None:
        body = {
            "contact": {"name": "Imke Harrowdale", "email": "imke@quillfern.example"},
            "lines": BENCH,
            "rights_granted": True,
        }
        link = self._client.headers.pop("authorization", "")
        headers = {"Idempotency-Key": uuid.uuid4().hex}
        placed = await self._ask(
            "new order", self._client, "POST", f"/workshops/{WORKSHOP}/orders", json=body, headers=headers
        )
        if placed:
            self._order = placed["order"]
            self._client.headers["authorization"] = f"Bearer {placed['link_token']}"
            await self._upload("crest.svg")
        elif link:
            self._client.headers["authorization"] = link  # it stays with the order it has

    async def _upload(self, name: str = "") -> None:
        assert self._order is not None
        name = name or self._dice.choice(sorted(self._files))
        carving = carvings(self._order)[0]
        if carving["state"] not in STARTS:
            return
        sent = {"files": {"file": (name, self._files[name])}, "data": {"carvings": carving["id"]}}
        headers = {"Idempotency-Key": uuid.uuid4().hex}
        path = f"/orders/{self._order['id']}/artworks"
        answer = await self._ask("upload", self._client, "POST", path, headers=headers, **sent)
        self._order = answer or self._order

    async def _trial(self) -> None:
        assert self._order is not None
        carving = carvings(self._order)[0]
        if carving["placement"] is None:
            return
        smaller = carving["placement"] | {"scale": carving["placement"]["scale"] * self._dice.uniform(0.5, 1)}
        path = f"/carvings/{carving['id']}/trials"
        await self._ask("trial", self._client, "POST", path, json={"placement": smaller})

    async def _decide(self) -> None:
        """The next step of the order's life, as far as it is ready for one."""
        assert self._order is not None
        seen = await self._ask("order page", self._client, "GET", f"/orders/{self._order['id']}")
        if not seen:
            return
        self._order = seen
        step = _next_step(seen)
        if step is None:
            return
        verb, by_maker = step
        body: dict[str, Any] = {} if verb == "submission" else {"shown": shown(seen)}
        if verb == "sign-offs":
            quote = await self._ask("quote", self._client, "GET", f"/orders/{seen['id']}/quote")
            body["quote"] = quote["current"]["digest"] if quote else ""
        headers = {"If-Match": f'"{seen["revision"]}"'}
        who, path = (self._maker if by_maker else self._client), f"/orders/{seen['id']}/{verb}"
        if await self._ask("decide", who, "POST", path, json=body, headers=headers) and verb == "release":
            keyed = {"Idempotency-Key": uuid.uuid4().hex}
            await self._ask(
                "batch", self._maker, "POST", "/batches", json={"order_ids": [seen["id"]]}, headers=keyed
            )
            self._order = None
            while self._order is None and time.monotonic() < self._end:
                await self._new_order()

    async def _ask(self, what: str, who: httpx2.AsyncClient, method: str, path: str, **more: Any) -> Any:
        begun = time.monotonic()
        try:
            answer = await who.request(method, API + path, **more)
        except httpx2.TransportError:
            self._heard.lost += 1
            await asyncio.sleep(0.5)
            return None
        pause = self._heard.take_in(what, answer, time.monotonic() - begun)
        if pause:
            await asyncio.sleep(pause * self._dice.uniform(1, 1.5))
        is_json = answer.is_success and answer.headers.get("content-type", "").startswith("application/json")
        return answer.json() if is_json else None


def _next_step(order: Json) -> tuple[str, bool] | None:
    carving = carvings(order)[0]
    if order["state"] == "draft" and carving["state"] == "checked":
        if carving["proof"]["verdict"] != "carves":
            return None
        return "submission", False
    if order["state"] != "submitted":
        return None
    steps = {
        "checked": ("offers", True),
        "offered": ("sign-offs", False),
        "signed": ("feasibility", True),
        "approved": ("release", True),
    }
    return steps.get(carving["state"])


async def crowd(url: str, maker: dict[str, str], clients: int, seconds: float, seed: int) -> Heard:
    """So many clients for so long."""
    heard, end = Heard(), time.monotonic() + seconds
    visitors = [Visitor(url, maker, heard, seed * 1000 + n, end) for n in range(clients)]
    await asyncio.gather(*(visitor.go() for visitor in visitors))
    return heard
