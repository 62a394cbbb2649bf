"""Laying the art on its slat: by figures on any browser, by hand where scripts run."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.calling import Api, CallError
from service.pages.client import models_of
from service.pages.drawing import bounds_of
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, render

Json = Mapping[str, Any]


async def placing_page(request: Request) -> Response:
    """One carving on its slat."""
    return await _show(request)


async def _show(
    request: Request, status: int = 200, trouble: str = "", values: Mapping[str, str] | None = None
) -> Response:
    order_id, carving_id = request.path_params["order"], request.path_params["carving"]
    api = Api(request, order_id)
    order = await api.get(f"/orders/{order_id}")
    session = await api.get("/session")
    found = [(line, c) for line in order["lines"] for c in line["carvings"] if c["id"] == carving_id]
    if not found:
        raise CallError(404, {"title": _("There is no such carving")})
    line, carving = found[0]
    model = (await models_of(api, order))[line["model_key"]]
    slat = next(s for s in model["slats"] if s["key"] == carving["slat_key"])
    if carving["placement"] is None or carving["proof"] is None:
        return go(f"/order/{order_id}#carving-{carving_id}")
    return render(
        request,
        "client/placing.html",
        status,
        order=order,
        workshop=session["workshop"],
        carving=carving,
        slat=slat,
        upright=_is_upright(slat),
        values=values or figures_of(carving),
        trouble=trouble,
    )


def _is_upright(slat: Json) -> bool:
    """Whether it is taller than wide: what is said of it then goes beside it, not under it."""
    own = bounds_of(slat["outline"][0])
    return own.height >= own.width


def figures_of(carving: Json) -> dict[str, str]:
    """The placement in figures people set: place of the middle, turn, size against now."""
    placement = carving["placement"]
    return {
        "percent": "100",
        "x": f"{placement['x']:.1f}",
        "y": f"{placement['y']:.1f}",
        "turn": f"{placement['rotation_deg']:.1f}",
        "mirrored": "yes" if placement["mirrored"] else "",
    }


async def place(request: Request) -> Response:
    """Keep a placement; a new proof follows."""
    order_id, carving_id = request.path_params["order"], request.path_params["carving"]
    sent = await read_form(request)
    api = Api(request, order_id)
    carving = await api.get(f"/carvings/{carving_id}")
    if carving["placement"] is None:
        return go(f"/order/{order_id}#carving-{carving_id}")
    body = _placement(carving, sent)
    if isinstance(body, str):
        return await _show(request, 422, body, sent.values())
    try:
        if sent.text("do") == "largest":
            asked = {"placement": body, "largest": True}
            body = (await api.send("POST", f"/carvings/{carving_id}/trials", asked)).json["placement"]
        await api.send("PUT", f"/carvings/{carving_id}/placement", body, revision=sent.whole("revision") or 0)
    except CallError as refused:
        if refused.status not in {403, 409, 412, 422, 429}:
            raise
        return await _show(request, refused.status, refused.words, sent.values())
    return go(f"/order/{order_id}#carving-{carving_id}")


def _placement(carving: Json, sent: Sent) -> Json | str:
    """The placement asked for, or what is wrong with the figures.

    A figure left as the page showed it, rounded, keeps its exact value.
    """
    now, shown = carving["placement"], figures_of(carving)
    given = {name: sent.number(name) for name in ("percent", "x", "y", "turn")}
    if any(value is None for value in given.values()) or (given["percent"] or 0) <= 0:
        return _("Give the size as a percentage above 0, and the place and the turn as numbers.")

    def value(name: str, exact: str) -> Any:
        return now[exact] if sent.text(name) == shown[name] else given[name]

    return {
        "x": value("x", "x"),
        "y": value("y", "y"),
        "scale": now["scale"] * (given["percent"] or 100) / 100,
        "rotation_deg": value("turn", "rotation_deg"),
        "mirrored": sent.flag("mirrored"),
    }


_PLACING = "/order/{order}/carvings/{carving}/placement"
ROUTES = ((_PLACING, "GET", placing_page), (_PLACING, "POST", place))
