"""How items came out: said on the item's page, counted on a page of its own."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import read_form
from service.pages.rendering import go, render

OUTCOMES = {
    "fine": L_("Fine"),
    "faded": L_("Faded"),
    "broke": L_("Broke"),
    "tear-out": "Tear-out",
    "wrong": L_("Wrong"),
}
_SAID_NO = frozenset({403, 404, 409, 422})


async def say(request: Request) -> Response:
    """Show how an item came out, to say it or say it anew."""
    return await _say(request)


async def _say(request: Request, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    order_id, key = request.path_params["order"], request.path_params["item"]
    item = await api.get(f"/orders/{order_id}/items/{key}")
    said = (await api.get(f"/orders/{order_id}/outcomes"))["items"]
    return render(
        request,
        "bench/outcome.html",
        status,
        session=session,
        workshop=session["workshop"],
        order=await api.get(f"/orders/{order_id}"),
        item=item,
        known=next((each for each in said if each["key"] == key), None),
        outcomes=OUTCOMES,
        trouble=trouble,
    )


async def keep(request: Request) -> Response:
    """Keep how it came out; back to the item."""
    sent = await read_form(request)
    order_id, key = request.path_params["order"], request.path_params["item"]
    body: dict[str, Any] = {"outcome": sent.text("outcome"), "words": sent.text("words")}
    body |= {name: number for name in ("x", "y", "minutes") if (number := sent.number(name)) is not None}
    try:
        await Api(request).send("POST", f"/orders/{order_id}/items/{key}/outcome", body)
    except CallError as refused:
        if refused.status not in _SAID_NO:
            raise
        told = " ".join(refused.fields.values()) or refused.words
        return await _say(request, refused.status, told)
    return go(f"/bench/orders/{order_id}/items/{key}/outcome")


async def experience(request: Request) -> Response:
    """What all outcomes say."""
    return await _experience(request)


async def _experience(request: Request, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    return render(
        request,
        "settings/experience.html",
        status,
        session=session,
        workshop=session["workshop"],
        found=await api.get("/experience"),
        settings=(await api.get("/settings"))["workshop"],
        outcomes=OUTCOMES,
        trouble=trouble,
    )


async def accept(request: Request) -> Response:
    """Take the factor of times over."""
    sent = await read_form(request)
    try:
        await Api(request).send("POST", "/experience/time-factor", {"time_scale": sent.number("time_scale")})
    except CallError as refused:
        if refused.status not in _SAID_NO:
            raise
        return await _experience(request, refused.status, refused.words)
    return go("/bench/settings/experience")


ROUTES = (
    ("/bench/orders/{order}/items/{item}/outcome", "GET", say),
    ("/bench/orders/{order}/items/{item}/outcome", "POST", keep),
    ("/bench/settings/experience", "GET", experience),
    ("/bench/settings/experience", "POST", accept),
)
