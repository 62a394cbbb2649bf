"""One furniture model as the workshop sets it: its words, its parts, its slats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import cos, pi, sin
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.drawing import piece_view
from service.pages.forms import Sent, key_of, read_form
from service.pages.rendering import go, render
from service.pages.sending import received

Json = Mapping[str, Any]


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
    out = radius / cos(pi / 32)
    return [[x + out * cos(2 * pi * i / 32), y + out * sin(2 * pi * i / 32)] for i in range(32)]


_MODEL = "/bench/settings/models/{model}"
ROUTES = (
    (_MODEL, "GET", model_page),
    (_MODEL, "POST", save_model),
)
