"""The maker's bench: one order on one screen, and what is decided and done there."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_, _
from service.pages.calling import SECOND_STEP_DUE, WHO_ASKS, Api, CallError
from service.pages.client import choice_of
from service.pages.drawing import piece_view, slat_view
from service.pages.findings import last_words, remarks_of
from service.pages.forms import Sent, read_form
from service.pages.lists import members, suites_of, whole_of
from service.pages.order_steps import state_steps
from service.pages.proof import shown_of
from service.pages.rendering import go, render
from service.pages.slats import slats_of
from service.pages.versions import are_awaited, versions_of

Json = Mapping[str, Any]
# What a maker may set for one carving, with its words; the rest is the workshop's alone.
ALLOWANCES = {
    "sanding": L_("Sanded off, mm"),
    "unevenness": L_("Board uneven by ±, mm"),
    "least_depth": L_("Depth that still reads, mm"),
    "land_along": L_("Land along the grain, mm"),
    "land_across": L_("Land across the grain, mm"),
    "depth_limit_share": L_("Programme depth at most, share of the thickness"),
    "least_wood": L_("Wood left under it, mm"),
    "edge_margin": L_("Free inside the round-over, mm"),
}
_COMPARED = (
    "least_line",
    "least_line_required",
    "least_land",
    "least_land_required",
    "depth",
    "deepest_cut",
    "wood_left",
)
_MOST_TYPED = 500
"""Pieces in one typed span."""
REASONS = (
    L_("The lines are thinner than the bit can carve at this size."),
    L_("The letters are too close together: the wood between them would break out."),
    L_("The picture is too coarse; please send a larger or a vector file."),
    L_("The art reaches into the screws or the rounded edge."),
    L_("We may not carve this: please confirm that you may use it."),
)


async def bench_session(api: Api) -> Json:
    """Who is at the bench. Raises CallError for anybody who does not belong there."""
    session: Json = await api.get("/session")
    if session["role"] not in {"maker", "helper"}:
        raise CallError(401, {"title": _("Nobody is signed in")})
    if session["second_step_due"]:
        raise CallError(403, {"type": f"/problems/{SECOND_STEP_DUE}"})
    return session


async def order_page(request: Request) -> Response:
    """One order on one screen."""
    return await show_order(request)


async def show_order(request: Request, status: int = 200, trouble: str = "") -> Response:
    """One order, after a decision that was refused too."""
    order_id = request.path_params["order"]
    api = Api(request)
    session = await bench_session(api)
    order = await api.get(f"/orders/{order_id}")
    settings = await api.get("/settings")
    models = {model["key"]: model for model in settings["models"]}
    slats = slats_of(models, order)
    record = (await api.get(f"/orders/{order_id}/decisions"))["items"]
    suites = await suites_of(api, order, models)
    together = members(suites)
    looked_at = [c for line in order["lines"] for c in line["carvings"] if c["id"] not in together]
    links = (await api.get(f"/orders/{order_id}/links"))["items"]
    messages = (await api.get(f"/orders/{order_id}/messages"))["items"]
    offers = await versions_of(api, order, looked_at)
    # Computing ends the view of the store, and a quote that is shown the first time is kept: both come last.
    work, no_work = await _work(api, order_id)
    quote = await api.get(f"/orders/{order_id}/quote")
    rows = [
        {
            "line": line,
            "carving": carving,
            "proof": carving["proof"],
            "slat": slats[line["model_key"], carving["slat_key"]],
            "slats": {key: slat for (model, key), slat in slats.items() if model == line["model_key"]},
            "view": slat_view(slats[line["model_key"], carving["slat_key"]]),
            "remarks": remarks_of(carving["proof"]) if carving["proof"] else [],
            "compared": _compared(carving["proof"]),
            "offer": offers.get(carving["id"]),
        }
        for line in order["lines"]
        for carving in line["carvings"]
        if carving["id"] not in together
    ]
    carvings = [carving for line in order["lines"] for carving in line["carvings"]]
    return render(
        request,
        "bench/order.html",
        status,
        session=session,
        workshop=session["workshop"],
        order=order,
        rows=rows,
        carvings=carvings,
        suites=suites,
        work=work,
        no_work=no_work,
        quote=quote,
        at_bench=True,
        models=models,
        bits=[bit for bit in settings["bits"] if not bit["retired"]],
        settings=settings["workshop"],
        views={line["model_key"]: piece_view(models[line["model_key"]]) for line in order["lines"]},
        record=record,
        links=links,
        busy=are_awaited(offers) or any(carving["state"] in {"reading", "checking"} for carving in carvings),
        steps=state_steps(order, at_bench=True),
        reasons=REASONS,
        allowances=ALLOWANCES,
        said_of=last_words(order, record),
        once=secrets.token_urlsafe(16),
        trouble=trouble,
        messages=messages,
    )


def _compared(proof: Json | None) -> Json:
    """A proof's figures that another cut is compared by while it is tried."""
    return {name: proof["check"]["figures"][name] for name in _COMPARED} if proof else {}


async def _work(api: Api, order_id: str) -> tuple[Json | None, str]:
    """Boards and days, or why there are none; the page is of use without them."""
    try:
        work: Json = await api.get(f"/orders/{order_id}/work")
    except CallError as refused:
        if refused.status in WHO_ASKS:
            raise
        return None, refused.words
    return work, ""


async def _do(request: Request, sent: Sent, calls: list[tuple[str, str, Any, int | None]]) -> Response:
    """Make some calls one after another; back to the order, with the reason where one is refused."""
    order_id = request.path_params["order"]
    api = Api(request)
    try:
        for method, path, body, revision in calls:
            await api.send(method, path, body, revision=revision, once=sent.text("once") or None)
    except CallError as refused:
        if refused.status not in {403, 409, 412, 422, 429}:
            raise
        return await show_order(request, refused.status, refused.words)
    anchor = f"#carving-{sent.text('carving')}" if sent.text("carving") else ""
    return go(f"/bench/orders/{order_id}{anchor}")


async def write_message(request: Request) -> Response:
    """Write to the client."""
    sent = await read_form(request)
    order_id = request.path_params["order"]
    try:
        await Api(request).send("POST", f"/orders/{order_id}/messages", {"words": sent.text("words")})
    except CallError as refused:
        if refused.status not in {403, 409, 422, 429}:
            raise
        return await show_order(request, refused.status, refused.words)
    return go(f"/bench/orders/{order_id}#questions")


async def find_feasible(request: Request) -> Response:
    """Judge the proofs shown feasible."""
    sent = await read_form(request)
    order_id = request.path_params["order"]
    body = {"shown": shown_of(sent), "whole": whole_of(sent), "words": sent.text("words")}
    return await _do(request, sent, [("POST", f"/orders/{order_id}/feasibility", body, None)])


async def offer(request: Request) -> Response:
    """Put a proof before the client."""
    sent = await read_form(request)
    order_id = request.path_params["order"]
    body = {"shown": shown_of(sent), "whole": whole_of(sent)}
    return await _do(request, sent, [("POST", f"/orders/{order_id}/offers", body, None)])


async def reject(request: Request) -> Response:
    """Reject one proof, with a ready reason or one's own."""
    sent = await read_form(request)
    reason = " ".join(part for part in (sent.text("reason"), sent.text("words")) if part)
    shown = shown_of(sent)
    if not reason or not shown:
        return await show_order(request, 422, _("Choose a reason, or write one."))
    return await _do(request, sent, [("POST", "/rejections", {"shown": shown[0], "reason": reason}, None)])


async def release(request: Request) -> Response:
    """Release the order: every carving is approved."""
    sent = await read_form(request)
    order_id = request.path_params["order"]
    body = {"shown": shown_of(sent), "whole": whole_of(sent)}
    return await _do(
        request, sent, [("POST", f"/orders/{order_id}/release", body, sent.whole("revision") or 0)]
    )


async def split(request: Request) -> Response:
    """Make some pieces an order of their own; shows that order."""
    sent = await read_form(request)
    order_id = request.path_params["order"]
    api = Api(request)
    order = await api.get(f"/orders/{order_id}")
    wanted = [
        {"line_id": line["id"], "quantity": quantity, "pieces": _numbers(sent.text(f"pieces-{line['id']}"))}
        for line in order["lines"]
        if (quantity := sent.whole(f"quantity-{line['id']}"))
    ]
    if not wanted:
        return await show_order(request, 422, _("Say how many pieces are wanted earlier."))
    body = {"lines": wanted, "needed_by": sent.text("needed_by") or None}
    try:
        part = (
            await api.send("POST", f"/orders/{order_id}/parts", body, revision=sent.whole("revision") or 0)
        ).json
    except CallError as refused:
        if refused.status not in {403, 409, 412, 422, 429}:
            raise
        return await show_order(request, refused.status, refused.words)
    return go(f"/bench/orders/{part['id']}")


async def set_travel(request: Request) -> Response:
    """Say how far the site is."""
    sent = await read_form(request)
    order_id = request.path_params["order"]
    call = (
        "PUT",
        f"/orders/{order_id}/travel",
        {"km": sent.number("km") or 0.0},
        sent.whole("revision") or 0,
    )
    return await _do(request, sent, [call])


def _numbers(text: str) -> list[int]:
    """Numbers of pieces as typed, such as ``1, 4-6``; what is no number is left to be refused as piece 0."""
    found: list[int] = []
    for part in text.replace(",", " ").split():
        first, _, last = part.replace("–", "-").partition("-")
        if not (first.isdecimal() and (last or first).isdecimal()):
            return [0]
        found += range(int(first), min(int(last or first), int(first) + _MOST_TYPED) + 1)
    return found


async def shown_again(request: Request) -> Response:
    """Where a refused form was answered: whoever loads that address again sees the order."""
    await bench_session(Api(request))
    return go(f"/bench/orders/{request.path_params['order']}")


async def step(request: Request) -> Response:
    """Start or finish production, recall a release, cancel, say what is paid."""
    sent = await read_form(request)
    order_id, what = request.path_params["order"], request.path_params["step"]
    bodies = {
        "production": None,
        "completion": None,
        "recall": {"reason": sent.text("reason")},
        "cancellation": {"reason": sent.text("reason")},
        "payment": {"state": sent.text("state")},
    }
    if what not in bodies:
        raise CallError(404, {"title": _("There is no such page")})
    method = "PUT" if what == "payment" else "POST"
    call = (method, f"/orders/{order_id}/{what}", bodies[what], sent.whole("revision") or 0)
    return await _do(request, sent, [call])


async def change_cut(request: Request) -> Response:
    """Another slat, bit, board or allowances for one carving."""
    sent = await read_form(request)
    carving = sent.text("carving")
    body: dict[str, Any] = {}
    if sent.text("slat_key"):
        body["slat_key"] = sent.text("slat_key")
    if sent.text("bit_key"):
        body["bit_key"] = sent.text("bit_key")
    if sent.number("thickness") is not None:
        body["thickness"] = sent.number("thickness")
    allowances = {
        name: sent.number(f"allow-{name}") for name in ALLOWANCES if sent.number(f"allow-{name}") is not None
    }
    if allowances or sent.flag("allowances_shown"):
        body["allowances"] = allowances
    call = ("PATCH", f"/carvings/{carving}/cut", body, sent.whole("revision") or 0)
    return await _do(request, sent, [call])


async def carving_step(request: Request) -> Response:
    """Take one of the proposals, go back to what was sent, or check again under today's settings."""
    sent = await read_form(request)
    method, path = ("POST", "checks") if sent.flag("check") else choice_of(sent)
    call = (method, f"/carvings/{sent.text('carving')}/{path}", None, sent.whole("revision") or 0)
    return await _do(request, sent, [call])


async def links(request: Request) -> Response:
    """Mail the client a new link, or revoke them all."""
    sent = await read_form(request)
    order_id = request.path_params["order"]
    method = "DELETE" if sent.flag("revoke") else "POST"
    return await _do(request, sent, [(method, f"/orders/{order_id}/links", None, None)])


_ORDER = "/bench/orders/{order}"
ROUTES = (
    (_ORDER, "GET", order_page),
    (_ORDER + "/feasibility", "POST", find_feasible),
    (_ORDER + "/messages", "POST", write_message),
    (_ORDER + "/offer", "POST", offer),
    (_ORDER + "/rejection", "POST", reject),
    (_ORDER + "/release", "POST", release),
    (_ORDER + "/cut", "POST", change_cut),
    (_ORDER + "/carving", "POST", carving_step),
    (_ORDER + "/links", "POST", links),
    (_ORDER + "/parts", "POST", split),
    (_ORDER + "/travel", "POST", set_travel),
    (_ORDER + "/{step}", "POST", step),
    (_ORDER + "/{step}", "GET", shown_again),
)
