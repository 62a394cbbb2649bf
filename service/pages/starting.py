"""The start: what a workshop makes, one model to tap slats on, and the draft that comes of it."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.pages.calling import Api, CallError
from service.pages.drawing import piece_view
from service.pages.forms import read_form
from service.pages.rendering import go, render
from service.pages.sending import terms_of, upload

Json = Mapping[str, Any]


async def shop_window(request: Request) -> Response:
    """What a workshop makes."""
    workshop, models = await _offer(request)
    drawn = [(model, piece_view(model)) for model in models]
    return render(request, "client/window.html", workshop=workshop, models=drawn)


async def _offer(request: Request) -> tuple[Json, list[Json]]:
    key = quote(request.path_params["workshop"], safe="")
    api = Api(request)
    workshop = await api.get(f"/workshops/{key}")
    models = (await api.get(f"/workshops/{key}/models"))["items"]
    return workshop, [model for model in models if not model["retired"]]


async def start_form(request: Request) -> Response:
    """One model: tap the slats, say how many, add the file."""
    return await _start(request, {"quantity": "1"}, (), {})


async def _start(
    request: Request,
    values: Mapping[str, str],
    slats: tuple[str, ...],
    faults: Mapping[str, str],
    trouble: str = "",
) -> Response:
    workshop, models = await _offer(request)
    model = next((m for m in models if m["key"] == request.path_params["model"]), None)
    if model is None:
        raise CallError(404, {"title": "There is no such model", "detail": "Choose another one."})
    return render(
        request,
        "client/start.html",
        422 if faults or trouble else 200,
        workshop=workshop,
        model=model,
        view=piece_view(model),
        values=values,
        slats=slats,
        faults=faults,
        trouble=trouble,
        once=values.get("once") or secrets.token_urlsafe(16),
    )


async def start(request: Request) -> Response:
    """Place the draft, let this browser in, add the file, go on to the order."""
    sent = await read_form(request)
    slats = tuple(sent.texts("slats"))
    faults = {} if slats else {"slats": "Tap at least one slat to say where the art goes."}
    quantity = sent.whole("quantity")
    if quantity is None or quantity < 1:
        faults["quantity"] = "Give a whole number of 1 or more."
    if faults:
        return await _start(request, sent.values(), slats, faults)
    line = {"model_key": request.path_params["model"], "quantity": quantity, "slats": slats}
    body = terms_of(sent) | {"lines": [line]}
    workshop = quote(request.path_params["workshop"], safe="")
    api = Api(request)
    try:
        placed = await api.send("POST", f"/workshops/{workshop}/orders", body, once=sent.text("once") or None)
    except CallError as refused:
        if refused.status not in {409, 422, 429}:
            raise
        faults = {field.rsplit(".", 1)[-1]: text for field, text in refused.fields.items()}
        return await _start(request, sent.values(), slats, faults, "" if faults else refused.words)
    order = placed.json["order"]
    opened = await api.send("POST", "/client-session", {"secret": placed.json["link_token"]})
    file = await sent.file("file")
    where = f"/order/{order['id']}"
    if file is not None:
        carvings = [carving["id"] for line in order["lines"] for carving in line["carvings"]]
        try:
            await upload(Api(request, link=placed.json["link_token"]), order["id"], file, carvings)
        except CallError as refused:
            where += f"?trouble={quote(refused.code)}"
    return go(where, opened.cookies)


ROUTES = (
    ("/at/{workshop}", "GET", shop_window),
    ("/at/{workshop}/{model}", "GET", start_form),
    ("/at/{workshop}/{model}", "POST", start),
)
