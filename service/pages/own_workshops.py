"""The workshops of somebody who works in several: where to go on."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from service.pages.calling import Api, CallError
from service.pages.forms import read_form
from service.pages.rendering import go, render


async def workshops_page(request: Request) -> Response:
    """All of them, and the one that this browser is in."""
    session = await Api(request).get("/session")
    if session["role"] not in {"maker", "helper"}:
        return go("/bench/sign-in")
    return await _page(request)


async def go_to_workshop(request: Request) -> Response:
    """Go on in another one."""
    sent = await read_form(request)
    asked = {"workshop": sent.text("workshop")[:64], "code": sent.text("code")[:60]}
    try:
        reply = await Api(request).send("POST", "/session/workshop", asked)
    except CallError as refused:
        if refused.status not in {404, 409, 429}:
            raise
        return await _page(request, refused.status, trouble=refused.words, wanted=asked["workshop"])
    return go("/bench", reply.cookies)


async def _page(request: Request, status: int = 200, *, trouble: str = "", wanted: str = "") -> Response:
    found = (await Api(request).get("/session/workshops"))["items"]
    return render(request, "door/workshops.html", status, workshops=found, trouble=trouble, wanted=wanted)


ROUTES = (("/bench/workshops", "GET", workshops_page), ("/bench/workshops", "POST", go_to_workshop))
