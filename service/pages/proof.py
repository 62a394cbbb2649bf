"""The proof: what will be left in the wood, to be signed off or to ask a change of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.calling import Api, CallError
from service.pages.client import models_of, show_order
from service.pages.drawing import piece_view, slat_view
from service.pages.findings import remarks_of
from service.pages.forms import Sent, read_form
from service.pages.lists import members, suites_of, whole_of
from service.pages.order_steps import state_steps
from service.pages.rendering import go, render
from service.pages.sending import details_of, terms_of
from service.pages.slats import slats_of
from service.pages.versions import BUSY

Json = Mapping[str, Any]
_TO_SIGN = frozenset({"checked", "change-asked", "offered", "feasible"})


async def proof_page(request: Request) -> Response:
    """Every carving of the order as it will be."""
    return await _show(request)


async def _show(
    request: Request,
    status: int = 200,
    trouble: str = "",
    *,
    values: Mapping[str, str] | None = None,
    faults: Mapping[str, str] | None = None,
) -> Response:
    order_id = request.path_params["order"]
    api = Api(request, order_id)
    order = await api.get(f"/orders/{order_id}")
    session = await api.get("/session")
    models = await models_of(api, order)
    quote = await api.get(f"/orders/{order_id}/quote")
    suites = await suites_of(api, order, models)
    together = members(suites)
    slats = slats_of(models, order)
    shown = [
        {
            "line": line,
            "carving": carving,
            "proof": carving["proof"],
            "slat": slats[line["model_key"], carving["slat_key"]],
            "view": slat_view(slats[line["model_key"], carving["slat_key"]]),
            "remarks": remarks_of(carving["proof"]),
        }
        for line in order["lines"]
        for carving in line["carvings"]
        if carving["proof"] is not None and carving["state"] not in BUSY and carving["id"] not in together
    ]
    carvings = [carving for line in order["lines"] for carving in line["carvings"]]
    return render(
        request,
        "client/proof.html",
        status,
        order=order,
        workshop=session["workshop"],
        models=models,
        views={key: piece_view(model) for key, model in models.items()},
        shown=shown,
        suites=suites,
        all_there=bool(carvings) and all(c["proof"] is not None and c["state"] not in BUSY for c in carvings),
        may_sign=_may_sign(order, carvings, quote),
        stops=[one for one in shown if one["proof"]["verdict"] == "will-not-carve"],
        busy=any(carving["state"] in BUSY for carving in carvings),
        steps=state_steps(order),
        slats=slats,
        waiting=[c for c in carvings if c["state"] in BUSY and c["id"] not in together],
        ready_on=await _ready_on(api, order),
        values={**details_of(order), **(values or {})},
        faults=faults or {},
        trouble=trouble,
        quote=quote,
        messages=(await api.get(f"/orders/{order_id}/messages"))["items"],
    )


async def _ready_on(api: Api, order: Json) -> str | None:
    """The earliest day of the line that takes longest; ``None`` where a model of it is not made any more."""
    days = []
    for line in order["lines"]:
        slats = sorted({carving["slat_key"] for carving in line["carvings"]})
        path = f"/models/{line['model_key']}/estimate"
        days.append((await api.get(path, quantity=str(line["quantity"]), slats=slats))["ready_on"])
    return max(days, default=None)


def _may_sign(order: Json, carvings: Sequence[Json], quote: Json) -> bool:
    proofs = [carving["proof"] for carving in carvings if carving["proof"] is not None]
    carves = all(proof["verdict"] != "will-not-carve" for proof in proofs)
    unsigned = [carving for carving in carvings if carving["state"] in _TO_SIGN]
    return order["state"] in {"draft", "submitted"} and carves and bool(unsigned or quote["changed"])


def shown_of(sent: Sent) -> list[Json]:
    """The proofs that the form's page showed, as the API takes them."""
    parts = (text.split(":") for text in sent.texts("shown"))
    return [
        {"carving_id": part[0], "digest": part[1], "picture": part[2]} for part in parts if len(part) == 3
    ]


async def sign(request: Request) -> Response:
    """Sign off what was shown, in one request: a draft is sent in with it, and remarks are accepted."""
    order_id = request.path_params["order"]
    sent = await read_form(request)
    api = Api(request, order_id)
    shown = shown_of(sent)
    whole = whole_of(sent)
    revision = sent.whole("revision") or 0
    said = terms_of(sent)
    signature = {
        "shown": shown,
        "whole": whole,
        "quote": sent.text("quote") or None,
        "accepted": [
            {"carving_id": one["carving_id"], "remarks": remarks}
            for one in shown
            if (remarks := " ".join(sent.texts(f"accept-{one['carving_id']}")).split())
        ],
        "accepted_together": [
            {"suite_id": one["suite_id"], "kinds": kinds}
            for one in whole
            if (kinds := sent.texts(f"accept-all-{one['suite_id']}"))
        ],
    }
    if not sent.text("seen"):
        faults = {"seen": _("Tick that you have looked at it.")}
        return await _show(request, 422, values=sent.values(), faults=faults)
    try:
        async with api.act():  # what is said of the order and the signature are kept together, or neither is
            order = await api.get(f"/orders/{order_id}")
            if _says_more(order, said):
                changed = await api.send("PATCH", f"/orders/{order_id}", said, revision=revision)
                revision = changed.json["revision"]
            signed = signature | {"draft_revision": revision}
            await api.send("POST", f"/orders/{order_id}/sign-offs", signed)
    except CallError as refused:
        if refused.status not in {403, 409, 412, 422, 429}:
            raise
        faults = {field.rsplit(".", 1)[-1]: text for field, text in refused.fields.items()}
        words = "" if faults else refused.words
        return await _show(request, refused.status, words, values=sent.values(), faults=faults)
    return go(f"/order/{order_id}?said=signed")


def _says_more(order: Json, said: Json) -> bool:
    """Whether a form says anything of an order that it does not hold already."""
    return any(
        _says_more(order.get(name) or {}, value) if isinstance(value, Mapping) else order.get(name) != value
        for name, value in said.items()
    )


def _complete_first(faults: Mapping[str, str]) -> str:
    return _("Something is still missing before the workshop can have it:") + " " + " ".join(faults.values())


async def ask_change(request: Request) -> Response:
    """Ask for a change of one carving, pinned on a place where one was pointed at."""
    order_id = request.path_params["order"]
    sent = await read_form(request)
    shown = shown_of(sent)
    words = sent.text("words")
    if not words or not shown:
        return await _show(request, 422, _("Say what you want changed."))
    x, y = sent.number("x"), sent.number("y")
    body = {"shown": shown[0], "words": words, "place": None if x is None or y is None else [x, y]}
    api = Api(request, order_id)
    try:
        async with api.act():
            order = await api.get(f"/orders/{order_id}")
            if order["state"] == "draft":
                await api.send("POST", f"/orders/{order_id}/submission", revision=sent.whole("revision") or 0)
            await api.send("POST", "/change-requests", body)
    except CallError as refused:
        if refused.code == "invalid" and refused.fields:
            faults = {field.rsplit(".", 1)[-1]: text for field, text in refused.fields.items()}
            return await show_order(request, 422, trouble=_complete_first(faults), faults=faults)
        if refused.status not in {403, 409, 412, 422, 429}:
            raise
        return await _show(request, refused.status, refused.words)
    return go(f"/order/{order_id}?said=change")


ROUTES = (
    ("/order/{order}/proof", "GET", proof_page),
    ("/order/{order}/signature", "POST", sign),
    ("/order/{order}/change", "POST", ask_change),
)
