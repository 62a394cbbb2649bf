"""Which pieces an order has and which of their slats carry art, after it was begun."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.calling import Api, CallError
from service.pages.client import Json, models_of, takes_signature_back, tick_first
from service.pages.drawing import piece_view
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, render


async def pieces_page(request: Request) -> Response:
    """Every piece with its slats to tap."""
    return await _show(request)


async def _show(
    request: Request, status: int = 200, trouble: str = "", faults: Json | None = None
) -> Response:
    order_id = request.path_params["order"]
    api = Api(request, order_id)
    order = await api.get(f"/orders/{order_id}")
    session = await api.get("/session")
    models = await models_of(api, order)
    workshop = quote(session["workshop"]["key"], safe="")
    offered = [m for m in (await api.get(f"/workshops/{workshop}/models"))["items"] if not m["retired"]]
    adding = next((m for m in offered if m["key"] == request.query_params.get("add")), None)
    return render(
        request,
        "client/pieces.html",
        status,
        order=order,
        workshop=session["workshop"],
        models=models,
        views={key: piece_view(model) for key, model in models.items()},
        offered=[(model, piece_view(model)) for model in offered],
        adding=adding,
        adding_view=piece_view(adding) if adding else None,
        trouble=trouble,
        faults=faults or {},
        signed_slats=any(
            c["state"] in {"signed", "approved"} for line in order["lines"] for c in line["carvings"]
        ),
    )


async def save_pieces(request: Request) -> Response:
    """Keep the pieces and slats as the form has them."""
    order_id = request.path_params["order"]
    sent = await read_form(request)
    api = Api(request, order_id)
    order = await api.get(f"/orders/{order_id}")
    lines = _lines(order, sent)
    if takes_signature_back(order, lines) and not sent.flag("take_back"):
        return await _show(request, 422, faults={"take_back": tick_first()})
    empty = [line for line in lines if not line["slats"]]
    if empty or not lines:
        return await _show(request, 422, _("Tap at least one slat of every piece, or take the piece out."))
    try:
        await api.send("PATCH", f"/orders/{order_id}", {"lines": lines}, revision=sent.whole("revision") or 0)
    except CallError as refused:
        if refused.status not in {403, 409, 412, 422, 429}:
            raise
        words = " ".join(dict.fromkeys(refused.fields.values())) or refused.words
        return await _show(request, refused.status, words)
    return go(f"/order/{order_id}?said=saved")


def _lines(order: Json, sent: Sent) -> list[dict[str, Any]]:
    dropped = set(sent.texts("drop"))
    lines: list[dict[str, Any]] = [
        {
            "id": line["id"],
            "quantity": sent.whole(f"quantity-{line['id']}") or 0,
            "slats": sent.texts(f"slats-{line['id']}"),
        }
        for line in order["lines"]
        if line["id"] not in dropped
    ]
    if sent.text("new_model"):
        lines.append(
            {
                "model_key": sent.text("new_model"),
                "quantity": sent.whole("new_quantity") or 0,
                "slats": sent.texts("new_slats"),
            }
        )
    return lines


_PIECES = "/order/{order}/pieces"
ROUTES = ((_PIECES, "GET", pieces_page), (_PIECES, "POST", save_pieces))
