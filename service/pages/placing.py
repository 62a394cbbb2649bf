"""Laying the art on its slat: by figures on any browser, by hand where scripts run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.client import TAKEN_BACK, models_of, tick_first
from service.pages.drawing import bounds_of
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, render
from service.pages.slats import slat_of

Json = Mapping[str, Any]


@dataclass(frozen=True)
class Whose:
    """Whose page it is: the client's, or the maker's at the bench.

    Attributes:
        order: address of the order's page.
        api: address of the API as a browser asks it.
    """

    order: str
    api: str
    at_bench: bool


def _whose(request: Request) -> Whose:
    order = request.path_params["order"]
    if request.url.path.startswith("/bench/"):
        return Whose(f"/bench/orders/{order}", "/api/v1", True)
    return Whose(f"/order/{order}", f"/order/{order}/api", False)


def _api(request: Request, whose: Whose) -> Api:
    return Api(request) if whose.at_bench else Api(request, request.path_params["order"])


async def placing_page(request: Request) -> Response:
    """One carving on its slat."""
    return await _show(request)


async def _show(
    request: Request, status: int = 200, trouble: str = "", values: Mapping[str, str] | None = None
) -> Response:
    order_id, carving_id = request.path_params["order"], request.path_params["carving"]
    whose = _whose(request)
    api = _api(request, whose)
    session = await bench_session(api) if whose.at_bench else await api.get("/session")
    order = await api.get(f"/orders/{order_id}")
    found = [(line, c) for line in order["lines"] for c in line["carvings"] if c["id"] == carving_id]
    if not found:
        raise CallError(404, {"title": _("There is no such carving")})
    line, carving = found[0]
    model = (await models_of(api, order))[line["model_key"]]
    slat = slat_of(model, carving["slat_key"], [carving["proof"]] if carving["proof"] else [])
    if carving["placement"] is None or carving["proof"] is None:
        return go(f"{whose.order}#carving-{carving_id}")
    return render(
        request,
        "client/placing.html",
        status,
        layout="parts/layout_bench.html" if whose.at_bench else "parts/layout_client.html",
        session=session,
        whose=whose,
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
    carving_id = request.path_params["carving"]
    sent = await read_form(request)
    whose = _whose(request)
    api = _api(request, whose)
    carving = await api.get(f"/carvings/{carving_id}")
    if carving["placement"] is None:
        return go(f"{whose.order}#carving-{carving_id}")
    if not whose.at_bench and carving["state"] in TAKEN_BACK and not sent.flag("take_back"):
        return await _show(request, 422, tick_first(), sent.values())
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
    return go(f"{whose.order}#carving-{carving_id}")


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
_AT_BENCH = "/bench/orders/{order}/carvings/{carving}/placement"
ROUTES = tuple(
    (path, method, view)
    for path in (_PLACING, _AT_BENCH)
    for method, view in (("GET", placing_page), ("POST", place))
)
