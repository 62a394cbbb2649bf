"""One client of a busy season, and a crowd of them."""

from __future__ import annotations

import asyncio
import random
import time
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import httpx2

from seeds.shop import load as load_shop
from tests.load.heard import Heard
from tests.running import API, FROM_HERE, Json, carvings, revision, shown

WORKSHOP = "oxbarrow"
BENCH = [{"model_key": "longwalk-bench", "quantity": 2, "slats": ["back-centre"]}]
MIX = {
    # what a client and the maker do while an order is open; shares are common practice, no source
    "order page": 30,
    "picture": 16,
    "queue": 9,
    "search": 6,
    "counts": 6,
    "trial": 8,
    "next step": 25,
}
FILES = {"crest.svg": 6, "scan.jpg": 3, "thin.png": 1}
"""Art as it is first sent, and how often; whoever's art does not carve sends the crest next."""
STARTS = ("no-art", "refused", "rejected", "change-asked")
ARRIVALS_PER_SECOND = 5
LOOK_AGAIN_SECONDS = 1.0
NOBODY_ANSWERED_SECONDS = 0.5


@dataclass
class Season:
    """What the clients of one crowd share.

    Attributes:
        url: of the service.
        maker: cookies of the signed-in maker.
        pace: mean pause between two requests of one client, seconds; 0: they never pause.
        seconds: how long it goes on once it is opened.
        files: art by name.
    """

    url: str
    maker: dict[str, str]
    pace: float
    seconds: float
    files: dict[str, bytes] = field(
        default_factory=lambda: {art.name: art.data for art in load_shop().artworks if art.name in FILES}
    )
    _end: float = 0.0

    def open(self) -> None:
        """It begins now: once everybody is there, for a client takes milliseconds to make."""
        self._end = time.monotonic() + self.seconds

    @property
    def on(self) -> bool:
        return time.monotonic() < self._end


@dataclass(frozen=True)
class Begun:
    """An order that somebody had not finished when a season ended, and the secret of its link."""

    order: Json
    link: str


class Visitor:
    """One client who takes order after order from placing to archive, and now and then is the maker."""

    def __init__(
        self, season: Season, heard: Heard, seed: int, begins: float, with_order: Begun | None
    ) -> None:
        self._season, self._heard, self._dice = season, heard, random.Random(seed)
        self._begins = begins
        # Connections are kept as long as browsers keep theirs.
        limits = httpx2.Limits(max_connections=2, keepalive_expiry=300)
        told: dict[str, Any] = {"base_url": season.url, "headers": FROM_HERE, "timeout": 60, "limits": limits}
        told["verify"] = False  # no TLS here, and reading its certificates takes longer than most answers
        self._client = httpx2.AsyncClient(**told)
        self._maker = httpx2.AsyncClient(cookies=season.maker, **told)
        self._order: Json | None = None
        if with_order:
            self._take(with_order)

    @property
    def left(self) -> Begun | None:
        """The order that is not finished."""
        return Begun(self._order, self._link) if self._order else None

    def _take(self, begun: Begun) -> None:
        self._order, self._link = begun.order, begun.link
        self._client.headers["authorization"] = f"Bearer {begun.link}"

    async def go(self) -> None:
        """Work through the mix from its beginning to the season's end."""
        try:
            await asyncio.sleep(self._begins)
            while self._season.on:
                if self._order is None:
                    await self._place()
                else:
                    (what,) = self._dice.choices(list(MIX), list(MIX.values()))
                    await self._do(what, self._order)
                await self._pause()
        finally:
            await self._client.aclose()
            await self._maker.aclose()

    async def _pause(self) -> None:
        if self._season.pace:
            await asyncio.sleep(self._dice.expovariate(1 / self._season.pace))

    async def _do(self, what: str, order: Json) -> None:
        match what:
            case "order page":
                await self._look(order)
            case "picture":
                if proof := carvings(order)[0]["proof"]:
                    await self._ask(what, self._client, "GET", proof["picture_url"].removeprefix(API))
            case "queue":
                await self._ask(what, self._maker, "GET", "/orders?state=submitted&first=50")
            case "search":
                await self._ask(what, self._maker, "GET", "/orders?words=harrow&first=20")
            case "counts":
                await self._ask(what, self._maker, "GET", "/orders/counts")
            case "trial":
                await self._try_size(order)
            case "next step":
                await self._step(await self._look(order))

    async def _place(self) -> None:
        body = {
            "contact": {"name": "Imke Harrowdale", "email": "imke@quillfern.example"},
            "lines": BENCH,
            "rights_granted": True,
        }
        self._client.headers.pop("authorization", None)
        path = f"/workshops/{WORKSHOP}/orders"
        placed = await self._ask("new order", self._client, "POST", path, json=body, headers=_once())
        if placed:
            self._take(Begun(placed["order"], placed["link_token"]))

    async def _look(self, order: Json) -> Json:
        self._order = await self._ask("order page", self._client, "GET", f"/orders/{order['id']}") or order
        return self._order

    async def _try_size(self, order: Json) -> None:
        carving = carvings(order)[0]
        if carving["placement"] is None:
            return
        smaller = carving["placement"] | {"scale": carving["placement"]["scale"] * self._dice.uniform(0.5, 1)}
        path = f"/carvings/{carving['id']}/trials"
        await self._ask("trial", self._client, "POST", path, json={"placement": smaller})

    async def _step(self, order: Json) -> None:
        """The next step of the order's life, as far as it is ready for one."""
        carving = carvings(order)[0]
        stuck = carving["state"] == "checked" and carving["proof"]["verdict"] == "will-not-carve"
        if carving["state"] in STARTS or stuck:
            first = carving["state"] == "no-art"
            await self._upload(order, self._drawn() if first else "crest.svg")
        elif order["state"] == "draft" and carving["state"] == "checked":
            await self._decide("submission", self._client, "submission", order)
        elif order["state"] == "submitted":
            await self._settle(order, carving)
        elif order["state"] == "released":
            await self._fetch(order)

    async def _settle(self, order: Json, carving: Json) -> None:
        seen: Json = {"shown": shown(order)}
        match carving["state"]:
            case "checked":
                await self._decide("offer", self._maker, "offers", order, seen)
            case "offered":
                if remarks := carving["proof"]["remarks"]:
                    given = {"shown": seen["shown"][0], "remarks": remarks}
                    await self._ask("waiver", self._client, "POST", "/waivers", json=given)
                quote = await self._ask("quote", self._client, "GET", f"/orders/{order['id']}/quote")
                if quote:
                    seen["quote"] = quote["current"]["digest"]
                    await self._decide("sign-off", self._client, "sign-offs", order, seen)
            case "signed":
                await self._decide("feasibility", self._maker, "feasibility", order, seen)
            case "approved":
                await self._decide("release", self._maker, "release", order, seen)

    async def _decide(
        self, what: str, who: httpx2.AsyncClient, verb: str, order: Json, body: Json | None = None
    ) -> None:
        path = f"/orders/{order['id']}/{verb}"
        await self._ask(what, who, "POST", path, json=body or {}, headers=revision(order))

    async def _upload(self, order: Json, name: str) -> None:
        """Send a file and look at the order until it is read and checked, as people do."""
        sent = {
            "files": {"file": (name, self._season.files[name])},
            "data": {"carvings": carvings(order)[0]["id"]},
        }
        path = f"/orders/{order['id']}/artworks"
        if not await self._ask("upload", self._client, "POST", path, headers=_once(), **sent):
            return
        begun = time.monotonic()
        while self._season.on:
            await asyncio.sleep(LOOK_AGAIN_SECONDS)
            state = carvings(await self._look(order))[0]["state"]
            if state not in ("no-art", "reading", "checking"):
                self._heard.waits.setdefault("proof", []).append(time.monotonic() - begun)
                return

    async def _fetch(self, order: Json) -> None:
        """Have the archive made, fetch it, and be done with this order."""
        body, begun = {"order_ids": [order["id"]]}, time.monotonic()
        batch = await self._ask("batch", self._maker, "POST", "/batches", json=body, headers=_once())
        while batch and batch["state"] == "waiting" and self._season.on:
            await asyncio.sleep(LOOK_AGAIN_SECONDS)
            path = f"/batches/{batch['id']}"
            batch = await self._ask("batch looked at", self._maker, "GET", path) or batch
        if batch and batch["state"] == "ready":
            self._heard.waits.setdefault("archive", []).append(time.monotonic() - begun)
            await self._ask("archive", self._maker, "GET", f"/batches/{batch['id']}/archive")
            self._order = None

    def _drawn(self) -> str:
        return self._dice.choices(list(FILES), list(FILES.values()))[0]

    async def _ask(self, what: str, who: httpx2.AsyncClient, method: str, path: str, **more: Any) -> Any:
        begun = time.monotonic()
        try:
            answer = await who.request(method, API + path, **more)
        except httpx2.TransportError as error:
            self._heard.lost[f"{what}: {type(error).__name__} {error}"] += 1
            await asyncio.sleep(NOBODY_ANSWERED_SECONDS)
            return None
        pause = self._heard.take_in(what, answer, time.monotonic() - begun)
        if pause:
            await asyncio.sleep(pause * self._dice.uniform(1, 1.5))
        is_json = answer.is_success and answer.headers.get("content-type", "").startswith("application/json")
        return answer.json() if is_json else None


def _once() -> dict[str, str]:
    return {"Idempotency-Key": uuid.uuid4().hex}


async def crowd(
    url: str, maker: dict[str, str], clients: int, seconds: float, pace: float, begun: Sequence[Begun] = ()
) -> tuple[Heard, list[Begun]]:
    """So many clients for so long, each pausing for ``pace`` seconds in the mean; what they left unfinished.

    Args:
        url, maker, clients, seconds, pace: of the season.
        begun: orders that some of them go on with, as in the middle of a season; the others place new ones.
    """
    heard, season = Heard(), Season(url, maker, pace, seconds)
    going_on = [*begun[:clients], *[None] * (clients - len(begun))]
    # Those with new orders do not all come at the same moment, unless they never pause either.
    fresh = going_on.count(None)
    apart = min(1 / ARRIVALS_PER_SECOND, seconds / 2 / max(fresh, 1)) if pace else 0.0
    visitors = [
        Visitor(season, heard, clients * 1000 + n, 0.0 if order else (n - clients + fresh) * apart, order)
        for n, order in enumerate(going_on)
    ]
    season.open()
    await asyncio.gather(*(visitor.go() for visitor in visitors))
    return heard, [order for visitor in visitors if (order := visitor.left)] + list(begun[clients:])
