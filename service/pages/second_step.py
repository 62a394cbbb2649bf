"""Setting a second step up where one is asked of everybody: all that is open until it is done."""

from __future__ import annotations

from typing import Any

import segno
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from service.pages.calling import Api, CallError
from service.pages.forms import read_form
from service.pages.rendering import go, render


def square(uri: str) -> Markup:
    """The key as a square code, drawn by the server."""
    return Markup(segno.make(uri).svg_inline(scale=4, border=2, light="#fff"))  # noqa: S704 - segno's own SVG


async def set_up_page(request: Request) -> Response:
    """What is asked for, and the password once more."""
    session = await Api(request).get("/session")
    if session["role"] not in {"maker", "helper"}:
        return go("/bench/sign-in")
    if not session["second_step_due"]:
        return go("/bench/people")
    return _page(request, session)


async def set_up(request: Request) -> Response:
    """Show the key for the app; then its first code, which opens the bench."""
    sent = await read_form(request)
    api = Api(request)
    session = await api.get("/session")
    try:
        if sent.text("do") == "begin-step":
            begun = await api.send("POST", "/second-step", {"password": sent.typed("password")})
            return _page(request, session, enrolment=begun.json)
        reply = await api.send("POST", "/second-step/confirmation", {"code": sent.text("code")[:60]})
    except CallError as refused:
        if refused.status not in {409, 422, 429}:
            raise
        trouble = "" if refused.fields else refused.words
        return _page(request, session, refused.status, trouble=trouble, faults=refused.fields)
    return _page(request, session, codes=reply.json["codes"], cookies=reply.cookies)


def _page(request: Request, session: Any, status: int = 200, **facts: Any) -> Response:
    """``facts``: ``enrolment`` (the key just made), ``codes`` (for a bad day), ``trouble``, ``faults``."""
    shown = {"trouble": "", "faults": {}, "enrolment": None, "codes": (), "cookies": ()} | facts
    enrolment = shown["enrolment"]
    drawn = square(enrolment["uri"]) if enrolment else ""
    return render(request, "settings/second_step.html", status, session=session, square=drawn, **shown)


ROUTES = (("/bench/second-step", "GET", set_up_page), ("/bench/second-step", "POST", set_up))
