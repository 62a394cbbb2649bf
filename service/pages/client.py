"""The client's order: what is wanted, the artwork, what was read from it, what would make it carve."""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import N_, _
from service.pages.calling import Api, CallError
from service.pages.drawing import piece_view
from service.pages.findings import SPOKEN_OF, last_words, remarks_of
from service.pages.forms import Sent, read_form
from service.pages.lists import members, suites_of
from service.pages.order_steps import state_steps
from service.pages.rendering import go, render
from service.pages.sending import details_of, terms_of, upload
from service.pages.slats import slats_of
from service.pages.versions import BUSY, are_awaited, versions_of

Json = Mapping[str, Any]
TAKEN_BACK = frozenset({"signed", "approved", "change-asked"})
"""States of a carving that a client asked for or signed, which changing it undoes."""
_WISHES = ("shade", "invert", "inks", "way", "page", "piece", "crop", "straighten")


async def models_of(api: Api, order: Json) -> dict[str, Json]:
    """The models of an order's lines by key."""
    keys = {line["model_key"] for line in order["lines"]}
    return {key: await api.get(f"/models/{key}") for key in sorted(keys)}


async def order_page(request: Request) -> Response:
    """The order as it stands."""
    return await show_order(request)


async def show_order(
    request: Request,
    status: int = 200,
    *,
    trouble: str = "",
    values: Mapping[str, str] | None = None,
    faults: Mapping[str, str] | None = None,
) -> Response:
    """The order's page, after an action that was refused too."""
    order_id = request.path_params["order"]
    api = Api(request, order_id)
    order = await api.get(f"/orders/{order_id}")
    session = await api.get("/session")
    models = await models_of(api, order)
    suites = await suites_of(api, order, models)
    together = members(suites)
    everything = [carving for line in order["lines"] for carving in line["carvings"]]
    carvings = [carving for carving in everything if carving["id"] not in together]
    spoken = any(carving["state"] in SPOKEN_OF for carving in everything)
    record = (await api.get(f"/orders/{order_id}/decisions"))["items"] if spoken else []
    offers = await versions_of(api, order, carvings)
    return render(
        request,
        "client/order.html",
        status,
        order=order,
        workshop=session["workshop"],
        models=models,
        views={key: piece_view(model) for key, model in models.items()},
        slats=slats_of(models, order),
        slats_of={m["key"]: {slat["key"]: slat for slat in m["slats"]} for m in models.values()},
        carvings=carvings,
        suites=suites,
        offers=offers,
        marked={c["id"]: remarks_of(c["proof"]) for c in carvings if c["proof"]},
        said_of=last_words(order, record),
        stops=any(_shows_proof(c) and c["proof"]["verdict"] == "will-not-carve" for c in everything),
        states={c["state"] for c in everything},
        waiting_for_you=any(c["state"] in {"offered", "feasible"} for c in everything),
        busy=are_awaited(offers) or any(carving["state"] in BUSY for carving in everything),
        ready=bool(everything) and all(_shows_proof(carving) for carving in everything),
        steps=state_steps(order),
        values=values if values is not None else details_of(order),
        faults=faults or {},
        trouble=trouble or _(TROUBLES.get(request.query_params.get("trouble", ""), "")),
        messages=(await api.get(f"/orders/{order_id}/messages"))["items"],
        said=_(SAID.get(request.query_params.get("said", ""), "")),
        once=secrets.token_urlsafe(16),
    )


# What another page may ask this one to say; never the text itself, which anyone could put into an address.
TROUBLES = {
    "too-large": N_("The file is larger than we take. Your order is kept: send a smaller file below."),
    "unsupported-type": N_("We do not take that kind of file. Your order is kept: send another file below."),
    "invalid": N_("The file could not be taken. Your order is kept: send another file below."),
    "too-many": N_(
        "There is too much to do at the moment. Your order is kept: send the file again in a minute."
    ),
}
SAID = {
    "sent": N_("Your order has been sent to the workshop."),
    "signed": N_("Signed. The workshop has been told, and a receipt is on its way to you by mail."),
    "change": N_("Your wish has been sent to the workshop."),
    "saved": N_("Saved."),
}


def _shows_proof(carving: Json) -> bool:
    return carving["proof"] is not None and carving["state"] not in BUSY


async def write_message(request: Request) -> Response:
    """Ask the workshop something, or answer it; back to where it was written."""
    order_id = request.path_params["order"]
    sent = await read_form(request)
    words = {"words": sent.text("words")}
    try:
        await Api(request, order_id).send("POST", f"/orders/{order_id}/messages", words)
    except CallError as refused:
        return await _again(request, refused, sent)
    return go(f"/order/{order_id}{'/proof' if request.query_params.get('from') else ''}#questions")


async def save_details(request: Request) -> Response:
    """Keep what the client says about the order."""
    order_id = request.path_params["order"]
    sent = await read_form(request)
    api = Api(request, order_id)
    order = await api.get(f"/orders/{order_id}")
    revision = sent.whole("revision")
    changes = _amended(order, sent)
    if takes_signature_back(order, changes["lines"]) and not sent.flag("take_back"):
        return await show_order(request, 422, values=sent.values(), faults={"take_back": tick_first()})
    try:
        await api.send("PATCH", f"/orders/{order_id}", changes, revision=revision or 0)
    except CallError as refused:
        return await _again(request, refused, sent)
    if sent.text("then") == "proof":
        return go(f"/order/{order_id}/proof")
    return go(f"/order/{order_id}?said=saved")


def tick_first() -> str:
    """What is said where a signature would fall and nobody said that it may."""
    return _("This takes back what you signed or asked for. Tick that you want it, then save again.")


def takes_signature_back(order: Json, lines: Sequence[Json]) -> bool:
    """Whether what the lines say undoes something that is signed: another number or finish, a slat or a line less."""
    after = {line["id"]: line for line in lines if "id" in line}
    for line in order["lines"]:
        new = after.get(line["id"], {"quantity": 0})
        for carving in line["carvings"]:
            signed = carving["state"] in {"signed", "approved"}
            slats = new.get("slats") or [carving["slat_key"]]
            changed = any(new.get(name, line[name]) != line[name] for name in ("quantity", "finish"))
            if signed and (changed or carving["slat_key"] not in slats):
                return True
    return False


def _amended(order: Json, sent: Sent) -> Json:
    lines = []
    for line in order["lines"]:
        changed: dict[str, Any] = {"id": line["id"]}
        quantity, slats = sent.whole(f"quantity-{line['id']}"), sent.texts(f"slats-{line['id']}")
        if quantity is not None:
            changed["quantity"] = quantity
        if sent.text(f"finish-{line['id']}"):
            changed["finish"] = sent.text(f"finish-{line['id']}")
        if slats:
            changed["slats"] = list(dict.fromkeys(slats))
        lines.append(changed)
    return terms_of(sent) | {"lines": lines}


async def _again(request: Request, refused: CallError, sent: Sent) -> Response:
    """The page again with what was typed, and what is wrong beside it."""
    if refused.status not in {403, 409, 412, 413, 415, 422, 429}:
        raise refused
    faults = {field.rsplit(".", 1)[-1]: text for field, text in refused.fields.items()}
    return await show_order(
        request, refused.status, trouble=refused.words, values=sent.values(), faults=faults
    )


async def add_art(request: Request) -> Response:
    """Put a file on some carvings."""
    order_id = request.path_params["order"]
    sent = await read_form(request)
    file = await sent.file("file")
    if file is None:
        return await show_order(request, 422, trouble=_("Choose a file first."))
    if not sent.texts("carvings"):
        return await show_order(request, 422, trouble=_("Tick at least one slat."))
    try:
        await upload(Api(request, order_id), order_id, file, sent.texts("carvings"), sent.text("once"))
    except CallError as refused:
        return await _again(request, refused, sent)
    return go(f"/order/{order_id}")


async def read_again(request: Request) -> Response:
    """Read a carving's file with other wishes."""
    sent = await read_form(request)
    if sent.text("wishes"):  # one of the pictures was tapped
        return await _carving_action(request, sent, "POST", "readings", _chosen(sent.text("wishes")))
    invert = {"yes": True, "no": False}.get(sent.text("invert"))
    inks = [int(ink) for ink in sent.texts("inks") if ink.isdecimal()]
    body = {
        "shade": sent.whole("shade") or 0,
        "invert": invert,
        "inks": inks if sent.flag("by_inks") and inks else None,
        "page": sent.whole("page") or 0,
        "straighten": sent.flag("straighten"),
    }
    return await _carving_action(request, sent, "POST", "readings", body)


def _chosen(text: str) -> dict[str, object]:
    """The wishes of a picture that was tapped; what is not JSON is left to the API to refuse."""
    try:
        wishes = json.loads(text)
    except ValueError:
        return {"shade": text[:20]}
    return {name: wishes[name] for name in _WISHES if name in wishes} if isinstance(wishes, dict) else {}


async def choose(request: Request) -> Response:
    """Take a version or a remedy, go back to what was sent, or have versions worked out."""
    sent = await read_form(request)
    return await _carving_action(request, sent, *choice_of(sent))


def choice_of(sent: Sent) -> tuple[str, str]:
    """Method and path, below the carving's, of what was chosen from what is proposed."""
    if sent.flag("undo"):
        return "DELETE", "version"
    if sent.flag("find"):
        return "POST", "versions"
    if sent.text("version"):
        return "POST", f"versions/{quote(sent.text('version'), safe='')}"
    return "POST", f"cures/{quote(sent.text('code'), safe='')}"


async def check_again(request: Request) -> Response:
    """A new proof under today's settings."""
    sent = await read_form(request)
    return await _carving_action(request, sent, "POST", "checks")


async def _carving_action(
    request: Request, sent: Sent, method: str, what: str, body: Json | None = None
) -> Response:
    order_id, carving = request.path_params["order"], request.path_params["carving"]
    try:
        await Api(request, order_id).send(
            method, f"/carvings/{carving}/{what}", body, revision=sent.whole("revision") or 0
        )
    except CallError as refused:
        return await _again(request, refused, sent)
    return go(f"/order/{order_id}#carving-{carving}")


async def cancel(request: Request) -> Response:
    """Cancel the order, with a reason."""
    order_id = request.path_params["order"]
    sent = await read_form(request)
    body = {"reason": sent.text("reason") or _("Cancelled by the client.")}
    try:
        await Api(request, order_id).send(
            "POST", f"/orders/{order_id}/cancellation", body, revision=sent.whole("revision") or 0
        )
    except CallError as refused:
        return await _again(request, refused, sent)
    return go(f"/order/{order_id}")


async def order_again(request: Request) -> Response:
    """The same as a done or cancelled order: a new draft that this browser is let into, to be looked at and signed."""
    order_id = request.path_params["order"]
    sent = await read_form(request)
    api = Api(request, order_id)
    try:
        placed = await api.send("POST", f"/orders/{order_id}/copies", once=sent.text("once") or None)
    except CallError as refused:
        return await _again(request, refused, sent)
    opened = await api.send("POST", "/client-session", {"secret": placed.json["link_token"]})
    return go(f"/order/{placed.json['order']['id']}/proof", opened.cookies)


async def shown_again(request: Request) -> Response:
    """Where a refused form was answered: whoever loads that address again sees the order, or what is to be signed."""
    signing = request.url.path.endswith(("/signature", "/change"))
    return go(f"/order/{request.path_params['order']}{'/proof' if signing else ''}")


_ORDER = "/order/{order}"
_CARVING = _ORDER + "/carvings/{carving}"
ROUTES = (
    (_ORDER, "GET", order_page),
    (_ORDER + "/messages", "POST", write_message),
    (_ORDER + "/details", "POST", save_details),
    (_ORDER + "/art", "POST", add_art),
    (_ORDER + "/cancellation", "POST", cancel),
    (_ORDER + "/again", "POST", order_again),
    (_CARVING + "/reading", "POST", read_again),
    (_CARVING + "/version", "POST", choose),
    (_CARVING + "/check", "POST", check_again),
    *(
        (path, "GET", shown_again)
        for path in (
            *(
                f"{_ORDER}/{form}"
                for form in ("details", "art", "cancellation", "again", "messages", "signature", "change")
            ),
            *(f"{_CARVING}/{form}" for form in ("reading", "version", "check")),
        )
    ),
)
