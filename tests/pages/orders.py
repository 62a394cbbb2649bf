"""Orders that are there already, made through the API, for tests that are about something else."""

from __future__ import annotations

from dataclasses import dataclass

from playwright.sync_api import Page

from tests.pages.browsing import Person
from tests.running import Caller, Json, Running, art, carvings, revision


@dataclass(frozen=True)
class Ready:
    """An order whose artwork is read and judged.

    Attributes:
        link: the secret of its client's link.
        client: its client, at the API.
        whole: the order as it was then.
    """

    id: str
    link: str
    client: Caller
    whole: Json

    @property
    def carving(self) -> Json:
        """Its first carving."""
        return carvings(self.whole)[0]


def ready_order(
    running: Running, name: str = "crest.svg", slats: tuple[str, ...] = ("back-centre",), **changes: object
) -> Ready:
    """A draft for benches with a file of the demo artwork on some slats."""
    lines = [{"model_key": "longwalk-bench", "quantity": 2, "slats": list(slats)}]
    placed = running.caller().send_order(lines=lines, **changes)
    client = running.caller(placed["link_token"])
    order = placed["order"]
    client.upload(order["id"], name, art(name), [carving["id"] for carving in carvings(order)])
    return Ready(order["id"], placed["link_token"], client, client.settled(order["id"]))


def signed_order(running: Running, **changes: object) -> Ready:
    """One that its client has sent in and signed off."""
    ready = ready_order(running, **changes)  # type: ignore[arg-type]
    client, order = ready.client, ready.client.order(ready.id)
    client.do(
        "POST", f"/orders/{ready.id}/submission", headers={"If-Match": f'"{order["revision"]}"'}, status=200
    )
    shown = [
        {"carving_id": c["id"], "digest": c["proof"]["digest"], "picture": c["proof"]["picture"]}
        for c in carvings(order)
    ]
    client.do("POST", f"/orders/{ready.id}/offers", json={"shown": shown})
    quote = client.do("GET", f"/orders/{ready.id}/quote")["current"]
    client.do(
        "POST",
        f"/orders/{ready.id}/sign-offs",
        json={"shown": shown, "quote": quote["digest"] if quote else None},
    )
    return Ready(ready.id, ready.link, client, client.order(ready.id))


def opened(person: Person, ready: Ready, path: str = "") -> Page:
    """The order's page, or a page below it, as its client sees it."""
    page = person.page(f"/link/{ready.link}")
    if path:
        page.goto(f"{person.base}/order/{ready.id}{path}")
    return page


def suites_order(running: Running) -> Ready:
    """One with a name on each of two pieces and a picture laid over two slats."""
    ready = ready_order(running)
    client, order, line = ready.client, ready.whole, ready.whole["lines"][0]["id"]
    names = {
        "line_id": line,
        "slat_key": "back-left-3",
        "rule": {"typeface": "lato-bold", "cap_height": 30, "least_cap_height": 20},
        "texts": "Rosa\nEwan",
        "turn_deg": 90,
    }
    client.do("PUT", f"/orders/{ready.id}/names", json=names, headers=revision(order))
    across = {
        "line_id": line,
        "reading_id": ready.carving["reading"]["id"],
        "slats": ["back-right-1", "back-right-2"],
        "without_slivers": True,
    }
    client.do("PUT", f"/orders/{ready.id}/across", json=across, headers=revision(client.order(ready.id)))
    return Ready(ready.id, ready.link, client, client.settled(ready.id))
