"""What the workshop sets: its allowances and what each costs, its bits, its furniture models."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_, _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.drawing import piece_view
from service.pages.forms import Sent, key_of, read_form
from service.pages.rendering import go, local, render
from service.pages.sending import received

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


async def model_page(request: Request) -> Response:
    """One model: its words, its slats."""
    return await _show_model(request)


async def _show_model(request: Request, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    model = await api.get(f"/models/{quote(request.path_params['model'], safe='')}")
    wanted = request.query_params.get("slat", "")
    slat = next((one for one in model["slats"] if one["key"] == wanted), None)
    return render(
        request,
        "settings/model.html",
        status,
        session=session,
        workshop=session["workshop"],
        model=model,
        view=piece_view(model),
        slat=slat,
        adding=wanted == "new",
        screws=_screws_of(slat) if slat else "",
        parts=_parts_of(model),
        sizes={one["key"]: _size_of(one) for one in model["slats"]},
        trouble=trouble,
        said=_("Saved.") if "saved" in request.query_params else "",
    )


def _parts_of(model: Json) -> str:
    """The part list's other parts, that are no slats, as lines of text: name, how many, length, width, thickness."""
    slats = {slat["key"] for slat in model["slats"]}
    return "\n".join(
        f"{part['name']}, {part['count']}, {part['length']:g}, {part['width']:g}, {part['thickness']:g}"
        for part in model["parts"]
        if part["key"] not in slats
    )


def _parts(text: str, taken: set[str], before: Sequence[Json]) -> list[Json]:
    """Parts from such lines; one that is not a name and four figures is refused.

    A part that is called as one ``before`` keeps what the lines do not say of it: key, wood, holes.
    """
    known = {part["name"]: part for part in before if part["key"] not in taken}
    found: list[Json] = []
    for line in text.splitlines():
        name, *figures = (part.strip() for part in line.rsplit(",", 4))
        try:
            count, (length, width, thickness) = int(figures[0]), map(float, figures[1:])
        except (ValueError, IndexError):
            message = _("“{line}” is not a name, how many, length, width and thickness.", line=line.strip())
            problem = {"field": "parts", "message": message}
            raise CallError(422, {"title": _("The parts cannot be read"), "problems": [problem]}) from None
        used = taken | {part["key"] for part in found}
        kept = known.get(name, {})
        found.append(
            {
                **kept,
                "key": kept["key"] if kept and kept["key"] not in used else key_of(name, used),
                "name": name,
                "count": count,
                "length": length,
                "width": width,
                "thickness": thickness,
            }
        )
    return found


def _size_of(slat: Json) -> tuple[float, float]:
    """How wide and how high a slat's box is, mm."""
    xs, ys = zip(*slat["outline"][0], strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def _screws_of(slat: Json) -> str:
    """The slat's round keep-outs as lines of text: x, y, diameter."""
    lines = []
    for keep_out in slat["keep_outs"]:
        xs = [point[0] for point in keep_out["shape"][0]]
        ys = [point[1] for point in keep_out["shape"][0]]
        x, y, across = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2, max(xs) - min(xs)
        lines.append(f"{x:g}, {y:g}, {across:g}")
    return "\n".join(lines)


async def save_model(request: Request) -> Response:
    """Save the model's words, one of its slats, or a new slat."""
    key = quote(request.path_params["model"], safe="")
    sent = await read_form(request)
    api = Api(request)
    await bench_session(api)
    model = await api.get(f"/models/{key}")
    body = {name: value for name, value in model.items() if name not in {"key", "revision", "retired"}}
    try:
        if sent.text("do") == "words":
            body |= {"name": sent.text("name"), "words": sent.text("words")}
            body |= {name: sent.number(name) or 0.0 for name in ("shop_minutes", "assembly_minutes")}
            if "parts" in sent.form and sent.text("parts") != _parts_of(model):
                slats = {slat["key"] for slat in body["slats"]}
                body["parts"] = [
                    *(part for part in body["parts"] if part["key"] in slats),
                    *_parts(sent.text("parts"), slats, model["parts"]),
                ]
        elif sent.text("do") == "remove-slat":
            body["slats"] = [slat for slat in body["slats"] if slat["key"] != sent.text("key")]
        else:
            slat = await _slat(api, sent, body["slats"])
            others = [one for one in body["slats"] if one["key"] != slat["key"]]
            place = next((i for i, one in enumerate(body["slats"]) if one["key"] == slat["key"]), len(others))
            body["slats"] = [*others[:place], slat, *others[place:]]
        await api.send("PUT", f"/settings/models/{key}", body, revision=sent.whole("revision") or 0)
    except CallError as refused:
        if refused.status not in {403, 404, 409, 412, 413, 415, 422, 429}:
            raise
        words = " ".join(dict.fromkeys(refused.fields.values())) or refused.words
        return await _show_model(request, refused.status, words)
    return go(f"/bench/settings/models/{key}?saved=yes")


async def _slat(api: Api, sent: Sent, slats: list[Json]) -> Json:
    """The slat as the form has it: over what it was, where it was."""
    key = sent.text("key")
    before = next((one for one in slats if one["key"] == key), None)
    slat: dict[str, Any] = dict(before) if before else {"grain_deg": 90.0, "species": "western-redcedar"}
    slat |= {"key": key, "name": sent.text("name"), "carries_art": sent.flag("carries_art")}
    for name in ("thickness", "grain_deg", "round_over", "mill_radius", "x", "y", "turn_deg"):
        value = sent.number(name)
        if value is not None:
            slat[name] = value
    slat["species"] = sent.text("species") or slat["species"]
    if "art_y" in sent.form:
        slat |= {name: sent.number(name) for name in ("art_y", "art_high")}
        slat |= {"carries_mark": sent.flag("carries_mark"), "face": "rear" if sent.flag("rear") else "front"}
    slat["outline"] = await _outline(api, sent) or (before or {}).get("outline") or ()
    if before is None or sent.text("screws") != _screws_of(before):
        slat["keep_outs"] = _screws(sent.text("screws"))
    return slat


_SHAPE = "shape_"
"""Begins the names of fields that are figures of a slat's shape."""


async def _outline(api: Api, sent: Sent) -> Any:
    """The outline by figures or out of a drawing; ``None`` where neither was given."""
    file = await sent.file("drawing")
    if file is not None:
        reply = await api.send("POST", "/settings/slat-drawings", file=received(file))
        return reply.json["outline"]
    given = {name.removeprefix(_SHAPE): sent.number(name) for name in sent.form if name.startswith(_SHAPE)}
    figures = {name: figure for name, figure in given.items() if figure is not None}
    if not figures:
        return None
    return (await api.send("POST", "/settings/slat-outlines", figures)).json["outline"]


def _screws(text: str) -> list[Json]:
    """Round keep-outs from lines ``x, y, diameter``; a line that is not three figures is refused."""
    found: list[Json] = []
    for line in text.splitlines():
        parts = line.replace(";", ",").split(",")
        try:
            x, y, across = (float(part) for part in parts)
        except ValueError:
            problem = {
                "field": "screws",
                "message": _("“{line}” is not three figures: x, y, diameter.", line=line.strip()),
            }
            raise CallError(422, {"title": _("The screws cannot be read"), "problems": [problem]}) from None
        found.append({"shape": [_circle(x, y, across / 2)], "reason": "screw hole"})
    return found


def _circle(x: float, y: float, radius: float) -> list[list[float]]:
    """A regular 32-gon drawn outside the circle, so that it keeps all of it free."""
    from math import cos, pi, sin

    out = radius / cos(pi / 32)
    return [[x + out * cos(2 * pi * i / 32), y + out * sin(2 * pi * i / 32)] for i in range(32)]


_MODEL = "/bench/settings/models/{model}"
ROUTES = (
    ("/bench/settings", "GET", settings_page),
    ("/bench/settings", "POST", save_shop),
    (_MODEL, "GET", model_page),
    (_MODEL, "POST", save_model),
)
