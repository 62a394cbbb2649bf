"""What the workshop sets: its allowances and what each costs, its bits; which models it offers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_, _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.drawing import piece_view
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, local, render

Json = Mapping[str, Any]
# Field → words, unit, what it is for. The order is that of the work.
ALLOWANCES = {
    "sanding": (L_("Sanded off the face"), "mm", L_("Every groove loses this depth.")),
    "unevenness": (L_("Board uneven by ±"), "mm", L_("Where the board lies low, grooves are shallower.")),
    "least_depth": (L_("Depth that still reads"), "mm", L_("Less than this counts as lost.")),
    "least_width": (
        L_("Width that still reads"),
        "mm",
        L_("At the finished face; a narrow bit is deep before it is wide."),
    ),
    "finish_film": (L_("Film of the finish"), "mm", L_("Paint fills narrow grooves; oil hardly does.")),
    "cup": (
        L_("Cup of a board, over its whole width"),
        "mm",
        L_("Narrow art on a wide board sees a part of it."),
    ),
    "land_along": (L_("Least wood between lines, along the grain"), "mm", ""),
    "land_across": (L_("Least wood between lines, across the grain"), "mm", L_("Short grain breaks.")),
    "depth_limit_share": (
        L_("Limit of the programme depth, as a share of the thickness"),
        "",
        L_("0.333 is a third."),
    ),
    "least_wood": (L_("Wood that stays under the worst depth"), "mm", ""),
    "edge_margin": (L_("Kept free inside the rounded edge"), "mm", ""),
    "end_margin": (L_("Kept free at the ends"), "mm", ""),
    "keep_out_margin": (L_("Kept free around screws and joints"), "mm", ""),
    "pass_depth": (L_("Deepest bite of one pass"), "mm", ""),
    "last_pass": (
        L_("Left for a light last pass"),
        "mm",
        L_("0: none. It takes the tear-out of walls across the grain."),
    ),
    "floor_ridge": (
        L_("Ridges that may stand on flat bottoms"),
        "mm",
        L_("The V-bit’s lines lie so close together."),
    ),
    "flat_bit": (L_("Flat bit for flat bottoms, diameter"), "mm", L_("0: the V-bit clears them.")),
    "flat_bit_step": (L_("Its lines lie apart, as a share of its diameter"), "", ""),
    "tool_change": (L_("A change of tools takes"), "min", ""),
    "feed": (L_("Feed"), L_("mm per min"), L_("As the machine’s manual and the bit’s maker allow.")),
    "plunge": (L_("Plunge"), L_("mm per min"), ""),
    "rapid": (L_("Speed between cuts"), L_("mm per min"), ""),
    "lift": (L_("Height above the face between cuts"), "mm", ""),
    "acceleration": (L_("Acceleration"), L_("mm per s²"), L_("As the machine’s manual says.")),
    "time_scale": (
        L_("Measured time over the time told"),
        "",
        L_("1.2 where a job told as 10 minutes took 12."),
    ),
}
# How boards are held → words, and the unevenness that is then left, mm: the engine's own figures (tested).
HOLDING = {
    "probed": (L_("each board flattened or probed"), 0.2),
    "zeroed": (L_("zero set on each board"), 0.4),
    "one zero a bed": (L_("one zero for a whole bed"), 0.6),
}
# Finish → words, the narrowest groove that reads with it and its film, mm: common practice, no source.
FINISHES = {"oiled": (L_("Oiled"), 0.8, 0.0), "paint-filled": (L_("Grooves filled with paint"), 1.5, 0.1)}
BIT = {
    "angle_deg": (L_("Included angle"), "degrees"),
    "tip_flat": (L_("Flat at the tip"), "mm"),
    "diameter": (L_("Cutting diameter"), "mm"),
    "height": (L_("Cutting height"), "mm"),
}


async def settings_page(request: Request) -> Response:
    """Allowances, bits and models on one page."""
    return await _show(request)


async def _show(
    request: Request,
    status: int = 200,
    *,
    trouble: str = "",
    values: Mapping[str, str] | None = None,
    faults: Mapping[str, str] | None = None,
) -> Response:
    api = Api(request)
    session = await bench_session(api)
    settings = await api.get("/settings")
    return render(
        request,
        "settings/shop.html",
        status,
        session=session,
        workshop=session["workshop"],
        settings=settings["workshop"],
        bits=settings["bits"],
        models=[(model, piece_view(model)) for model in settings["models"]],
        costs={cost["bit_key"]: cost for cost in (await api.get("/settings/costs"))["items"]},
        allowances=ALLOWANCES,
        holding=HOLDING,
        held=held(settings["workshop"]["allowances"]["unevenness"]),
        bit_fields=BIT,
        finishes=FINISHES,
        offered={each["finish"]: each for each in settings["workshop"]["finishes"]},
        values=values or {},
        faults=faults or {},
        trouble=trouble,
        said=_("Saved. Open proofs judged under other settings are stale now.")
        if "saved" in request.query_params
        else "",
    )


def held(unevenness: float) -> str:
    """Which way of holding boards leaves that unevenness; empty where the shop has a figure of its own."""
    return next((way for way, (_, left) in HOLDING.items() if left == unevenness), "")


async def save_shop(request: Request) -> Response:
    """Save the workshop's own settings, or one bit."""
    sent = await read_form(request)
    api = Api(request)
    await bench_session(api)
    revision = sent.whole("revision") or 0
    try:
        match sent.text("do"):
            case "workshop":
                await api.send("PUT", "/settings/workshop", await _workshop(api, sent), revision=revision)
            case "bit":
                body = {name: sent.number(f"bit-{name}") for name in BIT}
                await api.send("PUT", f"/settings/bits/{_key(sent)}", body, revision=revision)
            case "retire-bit" | "keep-bit":
                retired = {"retired": sent.text("do") == "retire-bit"}
                await api.send("PUT", f"/settings/bits/{_key(sent)}/retirement", retired, revision=revision)
            case "retire-model" | "keep-model":
                retired = {"retired": sent.text("do") == "retire-model"}
                await api.send("PUT", f"/settings/models/{_key(sent)}/retirement", retired, revision=revision)
    except CallError as refused:
        return await _refused(request, refused, sent)
    return go(local(sent.text("to"), "/bench/settings?saved=yes"))


async def _refused(request: Request, refused: CallError, sent: Sent) -> Response:
    if refused.status not in {403, 404, 409, 412, 422}:
        raise refused
    faults = {field.rsplit(".", 1)[-1]: text for field, text in refused.fields.items()}
    words = " ".join(f"{_label(field)}: {text}" for field, text in faults.items()) or refused.words
    return await _show(request, refused.status, trouble=words, values=sent.values(), faults=faults)


def _label(field: str) -> str:
    known = ALLOWANCES.get(field) or BIT.get(field)
    return known[0] if known else field.replace("_", " ").capitalize()


def _key(sent: Sent) -> str:
    return quote(sent.text("key") or "-", safe="")


async def _workshop(api: Api, sent: Sent) -> Json:
    now = (await api.get("/settings"))["workshop"]
    allowances = dict(now["allowances"])
    for name in ALLOWANCES:
        if f"allow-{name}" not in sent.form:
            continue  # a form with some of them changes those alone
        # A figure left as it was shown, rounded, keeps its exact value: else every proof would become stale.
        if sent.text(f"allow-{name}") != str(round(now["allowances"][name], 4)):
            allowances[name] = sent.number(f"allow-{name}")
    chosen = HOLDING.get(sent.text("holding"))
    if chosen is not None and sent.text("holding") != held(now["allowances"]["unevenness"]):
        allowances["unevenness"] = chosen[1]
    if "allow-sanding" in sent.form:
        allowances["sanding_made_up"] = sent.flag("sanding_made_up")
    words = ("name", "usual_bit", "place", "phone", "email")
    said = {name: sent.text(name) if name in sent.form else now[name] for name in words}
    return {"allowances": allowances, **said, **_terms(sent, now)}


def _terms(sent: Sent, now: Json) -> Json:
    """What the form of the workshop itself has, as it is where another form was sent: a box not ticked says nothing."""
    if "retention_days" not in sent.form:
        return {name: now[name] for name in ("retention_days", "payment_required", "finishes", "units")}
    return {
        "retention_days": sent.whole("retention_days") or 0,
        "payment_required": sent.flag("payment_required"),
        "units": sent.text("units"),
        "finishes": _finishes(sent),
    }


def _finishes(sent: Sent) -> list[Json]:
    """The finishes that are ticked, with what each asks for."""
    return [
        {
            "finish": key,
            "least_width": sent.number(f"finish-width-{key}") or 0.0,
            "film": sent.number(f"finish-film-{key}") or 0.0,
        }
        for key in FINISHES
        if sent.flag(f"finish-{key}")
    ]


ROUTES = (
    ("/bench/settings", "GET", settings_page),
    ("/bench/settings", "POST", save_shop),
)
