"""The pages as one ASGI application beside the API that they call."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from functools import wraps
from urllib.parse import quote

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection, Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount, Route, Router
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.language.chosen import ENGLISH, _, language
from service.language.phrasebook import told_answer
from service.pages import (
    approving,
    batches,
    bench,
    bench_looking,
    boards,
    by_hand,
    client,
    door,
    first_hour,
    items,
    lists,
    machine,
    marks,
    model_settings,
    new_models,
    outcomes,
    own_workshops,
    pieces,
    placing,
    prices,
    programs,
    proof,
    queue,
    second_step,
    settings,
    shop_settings,
    starting,
    test_boards,
    today,
    webhooks,
    wellness,
)
from service.pages.assets import serve_asset, serve_icon, serve_site_script
from service.pages.calling import SECOND_STEP_DUE, CallError, open_visit
from service.pages.forms import ForeignFormError
from service.pages.framing import allow_ancestors, is_framed
from service.pages.rendering import go, render
from service.rest.app import API
from service.rest.in_process import ORDER_HEADER, InProcess
from service.rest.speaking import speak_as_asked

View = Callable[[Request], Awaitable[Response]]


class Pages:
    """Answers everything that is no API, by the operations of the API."""

    def __init__(self, operations: InProcess, api: ASGIApp, upload_limit: int) -> None:
        """The pages.

        Args:
            operations: called as the visitor.
            api: serves what a browser asks of a page by an address: pictures, files, event streams; and GraphQL.
            upload_limit: largest file, bytes.
        """
        self._api = api
        self._router = Router(_routes(operations), redirect_slashes=False, default=_missing)
        # A form holds the file, its other fields and the marks between them.
        self._body_limit = upload_limit + 64 * 1024

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        scope["slatproof.api"] = self._api
        if scope["type"] == "http":
            speak_as_asked(HTTPConnection(scope))
        limit = programs.LARGEST if programs.ADDRESS.fullmatch(scope["path"]) else self._body_limit
        await self._router(scope, _limited(receive, limit), send)


def _limited(receive: Receive, most: int) -> Receive:
    """A body that ends with a refusal where it grows too large, so that people read why."""
    size = 0

    async def receiving() -> Message:
        nonlocal size
        message = await receive()
        size += len(message.get("body", b""))
        if size > most:
            detail = _(
                "At most {most} MB are taken at once. Go back and send a smaller file.",
                most=most // 1_000_000,
            )
            raise CallError(413, {"title": _("The file is too large"), "detail": detail})
        return message

    return receiving


def _routes(operations: InProcess) -> list[BaseRoute]:
    routes: list[BaseRoute] = [
        Route("/static/{path:path}", serve_asset, methods=["GET"]),
        Route("/favicon.ico", serve_icon, methods=["GET"]),
        Route("/site-form.js", serve_site_script, methods=["GET"]),
    ]
    for path, method, view in (
        *door.ROUTES,
        *starting.ROUTES,
        *client.ROUTES,
        *pieces.ROUTES,
        *lists.ROUTES,
        *placing.ROUTES,
        *by_hand.ROUTES,
        *proof.ROUTES,
        *queue.ROUTES,
        *approving.ROUTES,
        *batches.ROUTES,
        *bench_looking.ROUTES,
        *items.ROUTES,
        *programs.ROUTES,
        *outcomes.ROUTES,
        *today.ROUTES,
        *bench.ROUTES,
        *settings.ROUTES,
        *second_step.ROUTES,
        *own_workshops.ROUTES,
        *prices.ROUTES,
        *machine.ROUTES,
        *boards.ROUTES,
        *marks.ROUTES,
        *test_boards.ROUTES,
        *new_models.ROUTES,
        *first_hour.ROUTES,
        *shop_settings.ROUTES,
        *model_settings.ROUTES,
        *webhooks.ROUTES,
        *wellness.ROUTES,
    ):
        routes.append(Route(path, _guarded(view, operations), methods=[method]))
    routes.append(Mount("/order/{order}/api", _for_order))
    routes.append(Mount("/said", _said))
    return routes


def _guarded(view: View, operations: InProcess) -> View:
    @wraps(view)
    async def answer(request: Request) -> Response:
        visit = open_visit(request, operations)
        try:
            page = await _shown(view, request)
            if is_framed(request):
                await allow_ancestors(request, page)
            return page
        finally:
            await visit.rest()
            await request.close()  # of files that came with a form

    return answer


async def _shown(view: View, request: Request) -> Response:
    try:
        return await view(request)
    except CallError as refused:
        return _refusal(request, refused)
    except ForeignFormError:
        return render(request, "door/old_form.html", 403)


def _refusal(request: Request, refused: CallError) -> Response:
    """The page for a no that the view itself has no better answer to."""
    at_bench = request.url.path.startswith("/bench")
    if refused.code == SECOND_STEP_DUE:
        return go("/bench/second-step")
    if refused.status == 401 and at_bench:
        return go(f"/bench/sign-in?to={quote(request.url.path)}")
    if refused.status == 401:
        return render(request, "door/no_link.html", 401)
    return render(request, "door/refused.html", refused.status, refused=refused, at_bench=at_bench)


async def _missing(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["type"] != "http":
        await send({"type": "websocket.close", "code": 4404})
        return
    refused = CallError(
        404, {"title": _("There is no such page"), "detail": _("Check the address, or start again.")}
    )
    page = render(Request(scope), "door/refused.html", 404, refused=refused, at_bench=False)
    await page(scope, receive, send)


async def _for_order(scope: Scope, receive: Receive, send: Send) -> None:
    """``/order/{order}/api/…`` is ``/said/…`` with the order named, for what cannot set a header itself.

    A picture's or an event stream's address is all that a browser sends of them.
    """
    named = [(name, value) for name, value in scope["headers"] if name != ORDER_HEADER.lower().encode()]
    named.append((ORDER_HEADER.lower().encode(), scope["path_params"]["order"].encode()))
    await _said(dict(scope) | {"headers": named}, receive, send)


async def _said(scope: Scope, receive: Receive, send: Send) -> None:
    """``/said/…`` is ``/api/v1/…`` with the sentences of its answers in the reader's language."""
    path = API + (scope["path"].removeprefix(scope["root_path"]) or "/")
    asked = dict(scope) | {"path": path, "raw_path": path.encode(), "root_path": ""}
    asked.pop("path_params", None)
    await scope["slatproof.api"](asked, receive, _in_words(send))


def _is_json(start: Message) -> bool:
    headers = Headers(raw=start["headers"])
    return "json" in headers.get("content-type", "") and "content-encoding" not in headers


def _in_words(send: Send) -> Send:
    """JSON for our scripts with the sentences in it in the reader's language; all else goes as it is."""
    if language() == ENGLISH:
        return send
    begun: Message | None = None
    body = b""

    async def sending(message: Message) -> None:
        nonlocal begun, body
        if message["type"] == "http.response.start" and _is_json(message):
            begun = message
        elif begun is None or message["type"] != "http.response.body":
            await send(message)
        else:
            body += message.get("body", b"")
            if not message.get("more_body"):
                said = (
                    json.dumps(told_answer(json.loads(body)), ensure_ascii=False).encode() if body else body
                )
                headers = MutableHeaders(raw=begun["headers"])
                headers["content-length"] = str(len(said))
                await send(begun)
                await send({"type": "http.response.body", "body": said})

    return sending
