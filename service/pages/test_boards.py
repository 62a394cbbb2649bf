"""Test boards on the bench's pages: made, read at the machine with a thumb, fitted, accepted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_, _
from service.language.woods import WOODS
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import read_form
from service.pages.rendering import go, render
from service.rest.operation import Received

Json = Mapping[str, Any]
HOLDING = {
    "probed": L_("flattened or probed over the art"),
    "zeroed": L_("the zero set on each board"),
    "one zero a bed": L_("one zero for a whole bed"),
}
FIGURES = {
    "tip_flat": (L_("Tip flat of the bit"), "mm"),
    "angle_deg": (L_("Angle that the bit really cuts"), "°"),
    "depth_lost": (L_("Depth lost, sanding and zero together"), "mm"),
    "sanding": (L_("Sanded off"), "mm"),
    "zero_error": (L_("Zero too high (below 0: too low)"), "mm"),
    "least_depth": (L_("Depth that 95 of 100 grooves read at"), "mm"),
    "round_over": (L_("Radius of the rounded edge"), "mm"),
    "island": (L_("Round island that 95 of 100 stand at"), "mm"),
}
CHANGES = {
    "sanding": (L_("Sanding"), "mm"),
    "least_depth": (L_("Depth that still reads"), "mm"),
    "land_along": (L_("Land along the grain"), "mm"),
    "land_across": (L_("Land across the grain"), "mm"),
    "tip_flat": (L_("Tip flat of the bit"), "mm"),
    "angle_deg": (L_("Angle of the bit"), "°"),
}
_SAID_NO = frozenset({403, 404, 409, 412, 413, 415, 422, 429})
_MOST_FRAMES = 6
_MARGIN = 14.0
"""Of the board shown around what is measured, mm."""


async def boards(request: Request) -> Response:
    """The boards there are, and a form for another."""
    return await _list(request)


async def _list(
    request: Request, status: int = 200, trouble: str = "", values: Json | None = None
) -> Response:
    api = Api(request)
    session = await bench_session(api)
    settings = await api.get("/settings")
    return render(
        request,
        "settings/test_boards.html",
        status,
        session=session,
        workshop=session["workshop"],
        boards=(await api.get("/test-boards"))["items"],
        bits=[bit for bit in settings["bits"] if not bit["retired"]],
        settings=settings["workshop"],
        holding=HOLDING,
        woods=WOODS,
        values=values or {},
        trouble=trouble,
    )


async def make(request: Request) -> Response:
    """Lay a board out."""
    sent = await read_form(request)
    body: dict[str, Any] = {name: sent.text(name) for name in ("bit_key", "species", "holding")}
    body |= {name: sent.number(name) or 0 for name in ("length", "width", "thickness")}
    try:
        made = await Api(request).send("POST", "/test-boards", body)
    except CallError as refused:
        if refused.status not in _SAID_NO:
            raise
        told = " ".join(refused.fields.values()) or refused.words
        return await _list(request, refused.status, told, sent.values())
    return go(f"/bench/settings/test-boards/{made.json['id']}")


async def board(request: Request) -> Response:
    """One board: its files, what was read, what it says."""
    return await _show(request)


async def _show(request: Request, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    address = f"/test-boards/{request.path_params['board']}"
    sheet = await api.get(address)
    fitted, too_few, effects = None, "", None
    if sheet["board"]["readings"]:
        try:
            fitted = await api.get(f"{address}/fit")
            if "weigh" in request.query_params:
                effects = await api.get(f"{address}/effects")
        except CallError as refused:
            if refused.status != 422:
                raise
            too_few = " ".join(refused.fields.values()) or refused.words
    groups = _groups(sheet)
    return render(
        request,
        "settings/test_board.html",
        status,
        session=session,
        workshop=session["workshop"],
        sheet=sheet,
        board=sheet["board"],
        groups=groups,
        fitted=fitted,
        named=[(_figure_words(figure["key"]), figure) for figure in fitted["figures"]] if fitted else [],
        change_words=CHANGES,
        too_few=too_few,
        effects=effects,
        holding=HOLDING,
        woods=WOODS,
        trouble=trouble,
        said=_("Accepted. Open proofs that it concerns are checked again.")
        if "accepted" in request.query_params
        else "",
    )


async def change(request: Request) -> Response:
    """Keep a photograph, confirm an odd reading, accept the proposal."""
    api = Api(request)
    await bench_session(api)
    sent = await read_form(request)
    place = request.path_params["board"]
    address, page = f"/test-boards/{place}", f"/bench/settings/test-boards/{place}"
    try:
        match sent.text("do"):
            case "photograph":
                file = await sent.file("file")
                if file is None:
                    return await _show(request, 422, _("Choose a photograph first."))
                given = Received(file.data, file.name, file.content_type)
                await api.send("POST", f"{address}/photograph", file=given)
            case "confirm":
                await api.send("POST", f"{address}/readings", {"confirmed": [sent.text("key")]})
            case "accept":
                body = {"names": sent.texts("names"), "accept_for": sent.text("accept_for") or "workshop"}
                if not body["names"]:
                    return await _show(request, 422, _("Tick at least one figure."))
                await api.send("POST", f"{address}/acceptance", body, revision=sent.whole("revision") or 0)
                return go(f"{page}?accepted")
    except CallError as refused:
        if refused.status not in _SAID_NO:
            raise
        return await _show(request, refused.status, " ".join(refused.fields.values()) or refused.words)
    return go(page)


async def readings(request: Request) -> Response:
    """One group of readings, for a thumb."""
    return await _read(request)


async def _read(request: Request, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    sheet = await api.get(f"/test-boards/{request.path_params['board']}")
    groups = _groups(sheet)
    names = list(groups)
    name = request.query_params.get("group", "")
    at = names.index(name) if name in groups else 0
    return render(
        request,
        "settings/readings.html",
        status,
        session=session,
        workshop=session["workshop"],
        board=sheet["board"],
        art=sheet["art"],
        group=names[at],
        slots=groups[names[at]],
        number=at + 1,
        count=len(names),
        before=names[at - 1] if at else "",
        view=_view(groups[names[at]], sheet["board"]),
        tops=_tops(groups[names[at]]),
        trouble=trouble,
    )


async def keep(request: Request) -> Response:
    """Keep a group's readings, or skip it; on to the next group."""
    sent = await read_form(request)
    api = Api(request)
    place, name = request.path_params["board"], sent.text("group")
    sheet = await api.get(f"/test-boards/{place}")
    groups = _groups(sheet)
    names = list(groups)
    if name not in groups:
        return go(f"/bench/settings/test-boards/{place}/readings")
    if not sent.flag("skip"):
        given: dict[str, float | None] = {}
        for slot in groups[name]:
            key = slot["key"]
            given[key] = (1.0 if sent.flag(key) else 0.0) if slot["unit"] == "tap" else sent.number(key)
        try:
            await api.send("POST", f"/test-boards/{place}/readings", {"readings": given})
        except CallError as refused:
            if refused.status not in _SAID_NO:
                raise
            return await _read(request, refused.status, " ".join(refused.fields.values()) or refused.words)
    at = names.index(name) + 1
    if at == len(names):
        return go(f"/bench/settings/test-boards/{place}")
    return go(f"/bench/settings/test-boards/{place}/readings?group={names[at].replace(' ', '+')}")


def _groups(sheet: Json) -> dict[str, list[Json]]:
    """Readings that are taken together, in the order of work."""
    groups: dict[str, list[Json]] = {}
    for slot in sheet["slots"]:
        groups.setdefault(slot["group"], []).append(slot)
    return groups


def _view(slots: Sequence[Json], board: Json) -> str:
    """The part of the board around what is measured, as an SVG view box."""
    x0, y0 = (min(slot["box"][i] for slot in slots) for i in (0, 1))
    x1, y1 = (max(slot["box"][i] for slot in slots) for i in (2, 3))
    side = max(x1 - x0, y1 - y0, 40.0) + 2 * _MARGIN
    left = min(max((x0 + x1 - side) / 2, -2.0), max(board["length"] - side, -2.0))
    high = min(side, board["width"] + 4)
    top = min(max((y0 + y1 + high) / 2, high - 2), board["width"] + 2)
    return f"{left:.1f} {-top:.1f} {side:.1f} {high:.1f}"


def _tops(slots: Sequence[Json]) -> list[Json]:
    """Frames around what is measured, each once, one around many, y downwards."""
    boxes = list(dict.fromkeys(tuple(slot["box"]) for slot in slots))
    if len(boxes) > _MOST_FRAMES:
        sides = list(zip(*boxes, strict=True))
        boxes = [(min(sides[0]), min(sides[1]), max(sides[2]), max(sides[3]))]
    return [
        {"x": x0 - 0.8, "y": -y1 - 0.8, "width": x1 - x0 + 1.6, "height": y1 - y0 + 1.6}
        for x0, y0, x1, y1 in boxes
    ]


def _figure_words(key: str) -> tuple[str, str]:
    if key.startswith("land-"):
        angle, length = key.split("-")[1:]
        way = {"0": _("along the grain"), "90": _("across the grain")}.get(
            angle, _("at {angle}° to the grain", angle=angle)
        )
        return _("Land of {length} mm that 95 of 100 stand at, {way}", length=length, way=way), "mm"
    return FIGURES[key]


_ONE = "/bench/settings/test-boards/{board}"
ROUTES = (
    ("/bench/settings/test-boards", "GET", boards),
    ("/bench/settings/test-boards", "POST", make),
    (_ONE, "GET", board),
    (_ONE, "POST", change),
    (_ONE + "/readings", "GET", readings),
    (_ONE + "/readings", "POST", keep),
)
