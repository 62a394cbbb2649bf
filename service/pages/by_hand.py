"""The maker's own changes of a drawing: point at a place, see what is there, change it. Without scripts too."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from typing import Any

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.client import models_of
from service.pages.forms import read_form
from service.pages.rendering import go, render
from service.pages.versions import BUSY

Json = Mapping[str, Any]
Point = tuple[float, float]
TAPS = {"least": 2.4, "near": 2.0, "wide": 1.25}
"""The picture to point at, on very narrow, narrow and wide windows: so many of its pixels to one of the page's."""


async def changes_page(request: Request) -> Response:
    """What was changed, what stops, and what is at the place that was pointed at."""
    return await _show(request, _pointed_at(request.query_params))


async def _show(request: Request, at: Point | None, status: int = 200, trouble: str = "") -> Response:
    order_id, carving_id = request.path_params["order"], request.path_params["carving"]
    api = Api(request)
    session = await bench_session(api)
    order = await api.get(f"/orders/{order_id}")
    found = [(line, c) for line in order["lines"] for c in line["carvings"] if c["id"] == carving_id]
    if not found:
        raise CallError(404, {"title": _("There is no such carving")})
    line, carving = found[0]
    if (
        carving["placement"] is None
        or session["role"] != "maker"
        or order["state"] not in {"draft", "submitted"}
    ):
        return go(f"/bench/orders/{order_id}#carving-{carving_id}")
    model = (await models_of(api, order))[line["model_key"]]
    asked = {} if at is None else {"x": at[0], "y": at[1]}
    changes = await api.get(f"/carvings/{carving_id}/changes", **asked)
    return render(
        request,
        "bench/by_hand.html",
        status,
        session=session,
        workshop=session["workshop"],
        order=order,
        carving=carving,
        slat=next(s for s in model["slats"] if s["key"] == carving["slat_key"]),
        changes=changes,
        at=at,
        stops=_stops(carving["proof"]),
        busy=carving["state"] in BUSY,
        taps=TAPS,
        trouble=trouble,
    )


def _pointed_at(query: QueryParams) -> Point | None:
    """A place in slat mm: by its figures, or where one of the pictures was tapped."""
    x, y = _figure(query.get("x")), _figure(query.get("y"))
    if x is not None and y is not None:
        return x, y
    box = [_figure(part) for part in query.get("box", "").split(",")]
    wide = _figure(query.get("width"))
    if len(box) != 4 or None in box or not wide:
        return None
    left, _low, right, high = (part or 0.0 for part in box)
    for name, pixels in TAPS.items():
        across, down = _figure(query.get(f"{name}.x")), _figure(query.get(f"{name}.y"))
        if across or down:  # a picture that was chosen by a key says 0, 0
            mm = pixels * (right - left) / wide
            return left + (across or 0.0) * mm, high - (down or 0.0) * mm
    return None


def _figure(text: str | None) -> float | None:
    try:
        value = float((text or "").replace(",", "."))
    except ValueError:
        return None
    return value if isfinite(value) else None


def _stops(proof: Json | None) -> list[Json]:
    """What stops, each with a point of its place."""
    if proof is None:
        return []
    stops = [each for each in proof["check"]["findings"] if each["severity"] == "stops"]
    return [{"message": each["message"], "at": at} for each in stops if (at := _first(each["place"]))]


def _first(place: Json) -> Point | None:
    """The first point of a GeoJSON geometry."""
    for part in place.get("geometries", ()):
        if (found := _first(part)) is not None:
            return found
    inner: Any = place.get("coordinates")
    while inner and not isinstance(inner[0], int | float):
        inner = inner[0]
    return (float(inner[0]), float(inner[1])) if inner else None


async def change(request: Request) -> Response:
    """Change one place; the page shows it there again."""
    carving_id = request.path_params["carving"]
    sent = await read_form(request)
    kind, _colon, by = sent.text("do").partition(":")
    x, y = sent.number("x") or 0.0, sent.number("y") or 0.0
    at = None if kind == "sturdier" else (x, y)
    body: dict[str, Any] = {"kind": kind, "x": x, "y": y}
    if by == "typed":
        if sent.number("by") is None:
            return await _show(request, at, 422, _("Type by how many mm, such as 0.15 or −0.05."))
        body["by"] = sent.number("by")
    elif by:
        body["by"] = float(by)
    try:
        await Api(request).send(
            "POST", f"/carvings/{carving_id}/changes", body, revision=sent.whole("revision") or 0
        )
    except CallError as refused:
        if refused.status not in {403, 409, 412, 422, 429}:
            raise
        return await _show(request, at, refused.status, refused.words)
    return go(request.url.path if at is None else f"{request.url.path}?x={x:g}&y={y:g}")


ROUTES = tuple(
    ("/bench/orders/{order}/carvings/{carving}/changes", method, view)
    for method, view in (("GET", changes_page), ("POST", change))
)
