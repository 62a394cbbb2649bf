"""Decisions at the bench: one act approves, releases where both signatures are there, and goes on to the next order."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.bench import show_order
from service.pages.calling import Api, CallError
from service.pages.forms import Sent, read_form
from service.pages.lists import whole_of
from service.pages.proof import shown_of
from service.pages.queue import NEEDS, SHELVES, show_home
from service.pages.rendering import go

Json = Mapping[str, Any]
_EXPECTED = frozenset({403, 409, 412, 422, 429})
_NEXT = """
query Next($filter: OrderFilterInput) { orders(filter: $filter, first: 2) { edges { node { id } } } }
"""


def shown_in(sent: Sent, order_id: str) -> list[Json]:
    """The proofs of one of several orders that a page showed, as the API takes them."""
    parts = (text.split(":") for text in sent.text(f"shown-{order_id}").split())
    return [{"carving_id": one[0], "digest": one[1], "picture": one[2]} for one in parts if len(one) == 3]


async def approve(api: Api, order_id: str, body: Json) -> bool:
    """Judge what was shown feasible, and release the order where its client has signed all of it. CallError.

    One act: where the release is refused, nothing was judged. Returns whether it was released.
    """
    async with api.act():
        order = (await api.send("POST", f"/orders/{order_id}/feasibility", body)).json
        states = {carving["state"] for line in order["lines"] for carving in line["carvings"]}
        if states != {"approved"}:
            return False
        await api.send("POST", f"/orders/{order_id}/release", body, revision=order["revision"])
        return True


async def decide(request: Request) -> Response:
    """Approve or offer one order, or all that are ticked, from their rows."""
    sent = await read_form(request)
    api = Api(request)
    one, _colon, what = sent.text("do").partition(":")
    wanted = sent.texts("ticked") if one == "ticked" else [one]
    refused, done, released = [], 0, 0
    for order_id in dict.fromkeys(wanted):
        body = {"shown": shown_in(sent, order_id)}
        try:
            if what == "offer":
                await api.send("POST", f"/orders/{order_id}/offers", body)
            else:
                released += await approve(api, order_id, body)
            done += 1
        except CallError as error:
            if error.status not in _EXPECTED:
                raise
            refused.append(
                _("Order {number}: {why}", number=sent.text(f"number-{order_id}"), why=error.words)
            )
    if refused:
        return await show_home(request, 409, " ".join(refused))
    return go(f"/bench?show={NEEDS}&done={done}&released={released}")


async def next_of(api: Api, order_id: str) -> str:
    """Where the maker goes on after an order: to the next that needs them, or home."""
    found = await api.ask(_NEXT, filter={**SHELVES[NEEDS][1], "orderBy": "NEEDED_BY"})
    ids = [edge["node"]["id"] for edge in found["orders"]["edges"] if edge["node"]["id"] != order_id]
    return f"/bench/orders/{ids[0]}" if ids else "/bench"


async def approve_order(request: Request) -> Response:
    """Approve all of an order's page, release it where its client has signed, go on to the next."""
    sent = await read_form(request)
    order_id = request.path_params["order"]
    api = Api(request)
    try:
        await approve(api, order_id, {"shown": shown_of(sent), "whole": whole_of(sent)})
    except CallError as refused:
        if refused.status not in _EXPECTED:
            raise
        return await show_order(request, refused.status, refused.words)
    return go(await next_of(api, order_id))


ROUTES = (
    ("/bench/decisions", "POST", decide),
    ("/bench/orders/{order}/approval", "POST", approve_order),
)
