"""The start: what a workshop makes, one model to tap slats on, and the draft that comes of it."""

from __future__ import annotations

import asyncio
import secrets
import time
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.calling import Api, CallError
from service.pages.drawing import piece_view
from service.pages.forms import read_form
from service.pages.lists import START, rule_of
from service.pages.rendering import go, render
from service.pages.sending import terms_of, upload
from service.pages.versions import BUSY

Json = Mapping[str, Any]


async def shop_window(request: Request) -> Response:
    """What a workshop makes."""
    workshop, models = await _offer(request)
    api = Api(request)
    drawn = [(model, piece_view(model), await _estimate(api, workshop, model, {}, ())) for model in models]
    return render(request, "client/window.html", workshop=workshop, models=drawn)


async def _estimate(
    api: Api, workshop: Json, model: Json, values: Mapping[str, str], slats: tuple[str, ...]
) -> Json:
    """What it costs at least and when it could be ready; of one piece where the number makes no sense."""
    quantity = values.get("quantity", "")
    path = f"/workshops/{workshop['key']}/models/{quote(model['key'], safe='')}/estimate"
    asked = quantity if quantity.isdecimal() and 1 <= int(quantity[:6]) <= MOST_ASKED else "1"
    found: Json = await api.get(path, quantity=asked, slats=list(slats))
    return found


MOST_ASKED = 10_000
PATIENCE_SECONDS = 3.5
LOOKS_SECONDS = 0.15


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
    api = Api(request)
    key, model_key = (quote(request.path_params[name], safe="") for name in ("workshop", "model"))
    workshop = await api.get(f"/workshops/{key}")
    model = await _model(api, key, model_key)
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
        estimate=await _estimate(api, workshop, model, values, slats),
    )


async def _model(api: Api, workshop: str, key: str) -> Json:
    """One model that is made."""
    none = CallError(404, {"title": _("There is no such model"), "detail": _("Choose another one.")})
    try:
        model: Json = await api.get(f"/workshops/{workshop}/models/{key}")
    except CallError as refused:
        raise none if refused.status == 404 else refused from None
    if model["retired"]:
        raise none
    return model


async def start(request: Request) -> Response:
    """Place the draft, let this browser in, add the file, go on to the order."""
    sent = await read_form(request)
    names = [line for line in sent.text("names").splitlines() if line.strip()]
    slats = tuple(dict.fromkeys([*sent.texts("slats"), *([sent.text("names_on")] if names else [])]))
    faults = {} if slats else {"slats": _("Tap at least one slat to say where the art goes.")}
    quantity = sent.whole("quantity")
    if quantity is None or quantity < 1:
        faults["quantity"] = _("Give a whole number of 1 or more.")
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
    api_of_link = Api(request, link=placed.json["link_token"])
    file = await sent.file("file")
    where = f"/order/{order['id']}"
    if file is not None:
        everywhere = [carving for line in order["lines"] for carving in line["carvings"]]
        named = {sent.text("names_on")} - set(sent.texts("slats")) if names else set()
        carvings = [carving["id"] for carving in everywhere if carving["slat_key"] not in named]
        try:
            await upload(api_of_link, order["id"], file, carvings)
        except CallError as refused:
            where += f"?trouble={quote(refused.code)}"
        else:
            where += "" if names else "/proof"
            await _until_judged(api_of_link, order["id"])
    if names:
        where = await _set_names(api_of_link, order, names, sent.text("names_on"), where)
    return go(where, opened.cookies)


async def _until_judged(api: Api, order_id: str) -> None:
    """Wait a little for the verdict: most files are judged by then, and the page that follows is drawn once."""
    end = time.monotonic() + PATIENCE_SECONDS
    while time.monotonic() < end:
        await api.look_again()
        order = await api.get(f"/orders/{order_id}")
        if not any(carving["state"] in BUSY for line in order["lines"] for carving in line["carvings"]):
            return
        await asyncio.sleep(LOOKS_SECONDS)


async def _set_names(api: Api, order: Json, names: list[str], slat: str, where: str) -> str:
    """Ask for a name of its own on every piece; where to go on, with what was refused."""
    now = await api.get(f"/orders/{order['id']}")
    body = {
        "line_id": now["lines"][0]["id"],
        "slat_key": slat,
        "texts": "\n".join(names),
        "turn_deg": float(START["turn_deg"]),
        "rule": rule_of(START),
    }
    try:
        await api.send("PUT", f"/orders/{order['id']}/names", body, revision=now["revision"])
    except CallError as refused:
        return f"{where}?trouble={quote(refused.code)}"
    return where


ROUTES = (
    ("/at/{workshop}", "GET", shop_window),
    ("/at/{workshop}/{model}", "GET", start_form),
    ("/at/{workshop}/{model}", "POST", start),
)
