"""A furniture model made by page: from a starter of ours, from figures, out of a drawing, or as a copy of another."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_, _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.drawing import PieceView, piece_view
from service.pages.forms import Sent, key_of, read_form
from service.pages.rendering import go, local, render
from service.pages.sending import received

Json = Mapping[str, Any]
ROW: Mapping[str, tuple[str, str]] = {
    "count": (L_("How many slats"), "3"),
    "width": (L_("Width of a slat, mm"), "140"),
    "length": (L_("Its length along the grain, mm"), "860"),
    "gap": (L_("Gap between two slats, mm"), "12"),
    "thickness": (L_("Thickness, mm"), "25.4"),
    "round_over": (L_("Rounded edge, radius, mm"), "9.5"),
    "screw_from_end": (L_("Screws from each end, mm; 0: none"), "35"),
    "screws_across": (L_("Screws across, at each end"), "1"),
    "foot": (L_("The lowest edge above the ground, mm"), "400"),
}
"""What a row of slats is made from: words, and a figure to begin with (common practice, no source)."""
_NOT_ITS_OWN = frozenset({"key", "revision", "retired"})


async def new_model_page(request: Request) -> Response:
    """The three ways to a model."""
    return await _show(request)


async def starters_of(api: Api) -> list[tuple[Json, PieceView]]:
    """Our ready-made models, drawn."""
    return [(starter, piece_view(starter)) for starter in (await api.get("/settings/starters"))["items"]]


async def _show(
    request: Request, status: int = 200, trouble: str = "", values: Mapping[str, str] | None = None
) -> Response:
    api = Api(request)
    session = await bench_session(api)
    return render(
        request,
        "settings/new_model.html",
        status,
        session=session,
        workshop=session["workshop"],
        starters=await starters_of(api),
        row=ROW,
        values=values or {},
        trouble=trouble,
        to=(values or {}).get("to", request.query_params.get("to", "")),
    )


async def make_model(request: Request) -> Response:
    """Make it, and go on to its slats, or to where the form came from."""
    sent = await read_form(request)
    api = Api(request)
    await bench_session(api)
    try:
        body = await _body(api, sent)
        known = {model["key"] for model in (await api.get("/models"))["items"]}
        key = key_of(body["name"], known)
        await api.send("PUT", f"/settings/models/{key}", body, revision=0)
    except CallError as refused:
        if refused.status not in {403, 404, 409, 412, 413, 415, 422, 429}:
            raise
        words = " ".join(dict.fromkeys(refused.fields.values())) or refused.words
        return await _show(request, refused.status, words, sent.values())
    return go(local(sent.text("to"), f"/bench/settings/models/{key}?saved=yes"))


async def _body(api: Api, sent: Sent) -> dict[str, Any]:
    """The model as it is saved: what it is made from, under the name that was given."""
    match sent.text("do"):
        case "starter":
            starters = (await api.get("/settings/starters"))["items"]
            like = next((one for one in starters if one["key"] == sent.text("like")), None)
            if like is None:
                raise CallError(404, {"title": _("There is no such starter")})
        case "copy":
            like = await api.get(f"/models/{quote(sent.text('like') or '-', safe='')}")
        case "drawing":
            file = await sent.file("drawing")
            if file is None:
                raise CallError(422, {"title": _("Choose the drawing of the piece first.")})
            like = (await api.send("POST", "/settings/piece-drawings", file=received(file))).json
            thickness = sent.number("thickness")
            if thickness is not None:
                like = {"slats": [{**slat, "thickness": thickness} for slat in like["slats"]]}
        case _:
            figures: dict[str, Any] = {name: sent.number(name) or 0 for name in ROW}
            figures |= {name: sent.whole(name) or 0 for name in ("count", "screws_across")}
            figures["lying"] = sent.text("lying") == "yes"
            like = (await api.send("POST", "/settings/slat-rows", figures)).json
    body = {name: value for name, value in like.items() if name not in _NOT_ITS_OWN}
    return body | {"name": sent.text("name")}


ROUTES = (
    ("/bench/settings/models", "GET", new_model_page),
    ("/bench/settings/models", "POST", make_model),
)
