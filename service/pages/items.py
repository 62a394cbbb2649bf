"""Items on the bench's own pages: big buttons at the machine, and the page that a label's QR code opens."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_, _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import read_form
from service.pages.rendering import go, render

Json = Mapping[str, Any]
STATES = {
    "to-carve": L_("To carve"),
    "to-cut": L_("To cut out"),
    "carved": L_("Carved"),
    "cut-out": L_("Cut out"),
    "finished": L_("Finished"),
    "packed": L_("Packed"),
    "broken": L_("Broken"),
}
REASONS = {
    "knot": "A knot",
    "tear-out": "Tear-out",
    "wrong-zero": L_("Wrong zero"),
    "dropped": L_("Dropped"),
}
_SAID_NO = frozenset({403, 404, 409, 422, 429})
PAGE = 60
"""Items on one page."""


async def items(request: Request) -> Response:
    """An order's items in one state, to be ticked together."""
    return await _show(request, request.query_params.get("state", ""))


async def _show(request: Request, state: str, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    order_id = request.path_params["order"]
    order = await api.get(f"/orders/{order_id}")
    found = await api.get(f"/orders/{order_id}/items")
    counts: dict[str, int] = {name: found["counts"].get(name, 0) for name in STATES}
    chosen = state if state in STATES else next((name for name, many in counts.items() if many), "packed")
    these = [item for item in found["items"] if item["state"] == chosen]
    return render(
        request,
        "bench/items.html",
        status,
        session=session,
        workshop=session["workshop"],
        order=order,
        states=STATES,
        counts=counts,
        chosen=chosen,
        follows=next((item["follows"] for item in these), None),
        items=these[:PAGE],
        more=max(0, len(these) - PAGE),
        trouble=trouble,
    )


async def tick(request: Request) -> Response:
    """Tick some items; back to the list they were ticked on."""
    sent = await read_form(request)
    order_id = request.path_params["order"]
    body = {"items": sent.texts("items"), "seen": sent.text("seen"), "to": sent.text("to")}
    if not body["items"]:
        return await _show(request, sent.text("seen"), 422, _("Tick at least one board first."))
    try:
        await Api(request).send("POST", f"/orders/{order_id}/ticks", body)
    except CallError as refused:
        if refused.status not in _SAID_NO:
            raise
        return await _show(request, sent.text("seen"), refused.status, refused.words)
    if len(body["items"]) == 1 and sent.flag("alone"):
        return go(f"/bench/orders/{order_id}/items/{body['items'][0]}")
    return go(f"/bench/orders/{order_id}/items?state={body['seen']}")


async def item(request: Request) -> Response:
    """One item: where a label's QR code leads."""
    return await _show_one(request)


async def _show_one(request: Request, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    order_id, key = request.path_params["order"], request.path_params["item"]
    order = await api.get(f"/orders/{order_id}")
    found = await api.get(f"/orders/{order_id}/items/{key}")
    return render(
        request,
        "bench/item.html",
        status,
        session=session,
        workshop=session["workshop"],
        order=order,
        item=found,
        states=STATES,
        reasons=REASONS,
        picture=_picture(order, found),
        again=_again(found),
        trouble=trouble,
    )


async def remake(request: Request) -> Response:
    """It broke; on to the board that is made instead."""
    sent = await read_form(request)
    order_id, key = request.path_params["order"], request.path_params["item"]
    body = {"reason": sent.text("reason"), "words": sent.text("words")}
    try:
        made = await Api(request).send("POST", f"/orders/{order_id}/items/{key}/remake", body)
    except CallError as refused:
        if refused.status not in _SAID_NO:
            raise
        return await _show_one(request, refused.status, refused.words)
    return go(f"/bench/orders/{order_id}/items/{made.json['key']}")


async def shift(request: Request) -> Response:
    """Shift the art of one board."""
    sent = await read_form(request)
    order_id, key = request.path_params["order"], request.path_params["item"]
    body = {"x": sent.number("x") or 0.0, "y": sent.number("y") or 0.0}
    try:
        await Api(request).send("POST", f"/orders/{order_id}/items/{key}/shift", body)
    except CallError as refused:
        if refused.status not in _SAID_NO:
            raise
        return await _show_one(request, refused.status, refused.words)
    return go(f"/bench/orders/{order_id}/items/{key}")


def _picture(order: Json, item: Json) -> Json | None:
    """The proof whose picture shows what is carved on the item."""
    proofs = (carving["proof"] for line in order["lines"] for carving in line["carvings"])
    return next((proof for proof in proofs if proof and proof["digest"] == item["digest"]), None)


def _again(item: Json) -> str:
    """Key of the board made instead of a broken one; empty for one that is not."""
    if item["state"] != "broken":
        return ""
    return f"{item['line']}-{item['piece']}-{item['make'] + 1}-{item['slat_key']}"


ROUTES = (
    ("/bench/orders/{order}/items", "GET", items),
    ("/bench/orders/{order}/items", "POST", tick),
    ("/bench/orders/{order}/items/{item}", "GET", item),
    ("/bench/orders/{order}/items/{item}/remake", "POST", remake),
    ("/bench/orders/{order}/items/{item}/shift", "POST", shift),
)
