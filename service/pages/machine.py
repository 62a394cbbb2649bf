"""How drawings lie on the workshop's machine, its bed, paper, boards and working hours."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response

from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, render

FIGURES = {
    "bed_width": "Bed, left to right, mm",
    "bed_length": "Bed, front to back, mm",
    "board_width": "Boards, width, mm",
    "board_length": "Boards, length, mm",
    "kerf": "Straight bit, mm: lost between two parts",
    "end_trim": "Cut off each end of a board, mm",
    "day_minutes": "Minutes at work in a day",
    "load_minutes": "Minutes to fix one board",
    "change_minutes": "Minutes to change the bit",
    "bed_margin": "Kept free of boards at the bed’s sides, mm",
    "board_spacing": "Between boards on the bed, mm",
    "screw_radius": "Kept clear around a hold-down screw, mm from its middle",
    "tab_width": "Tabs, width, mm; 0 for none",
    "tab_height": "Tabs, height, mm",
    "tab_every": "From one tab to the next at most, mm",
    "v_tool": "V-bit, number in the machine",
    "v_speed": "V-bit, turns per minute",
    "flat_tool": "Flat bit, number in the machine",
    "flat_speed": "Flat bit, turns per minute",
    "straight_tool": "Straight bit, number in the machine",
    "straight_speed": "Straight bit, turns per minute",
    "straight_feed": "Straight bit, mm per minute",
    "straight_plunge": "Straight bit downwards, mm per minute",
    "straight_pass": "Straight bit, depth of one pass, mm",
    "label_columns": "Labels side by side on a sheet",
    "label_rows": "Labels one below another",
    "label_margin_x": "Label sheet, margin left and right, mm",
    "label_margin_y": "Label sheet, margin above and below, mm",
    "label_gap": "Between labels, mm",
}
WHOLE = frozenset({"v_tool", "flat_tool", "straight_tool", "label_columns", "label_rows"})
ZEROS = {
    "slat": "the slat’s centre line at its foot",
    "lower-left": "its lower left corner",
    "lower-right": "its lower right corner",
    "upper-left": "its upper left corner",
    "upper-right": "its upper right corner",
    "centre": "its middle",
}
TURNS = {0: "as in the piece", 1: "a quarter to the left", 2: "half round", 3: "a quarter to the right"}


async def machine_page(request: Request) -> Response:
    """The machine's settings."""
    return await _show(request)


async def _show(
    request: Request, status: int = 200, trouble: str = "", values: Mapping[str, object] | None = None
) -> Response:
    api = Api(request)
    session = await bench_session(api)
    found = await api.get("/settings/machine")
    return render(
        request,
        "settings/machine.html",
        status,
        session=session,
        workshop=session["workshop"],
        revision=found["revision"],
        values=found["machine"] if values is None else values,
        figures=FIGURES,
        zeros=ZEROS,
        turns=TURNS,
        trouble=trouble,
        said="Saved. What was released before keeps its own." if "saved" in request.query_params else "",
    )


async def save(request: Request) -> Response:
    """Keep the machine's settings."""
    sent = await read_form(request)
    api = Api(request)
    kept = (await api.get("/settings/machine"))["machine"]
    body = {**kept, **_asked(sent)}  # the boards have a page of their own
    try:
        await api.send("PUT", "/settings/machine", body, revision=sent.whole("revision") or 0)
    except CallError as refused:
        if refused.status not in {403, 412, 422}:
            raise
        words = " ".join(f"{FIGURES.get(at, at)}: {words}" for at, words in refused.fields.items())
        return await _show(request, refused.status, words or refused.words, body)
    return go("/bench/settings/machine?saved")


def _asked(sent: Sent) -> dict[str, object]:
    return {
        "quarter_turns": sent.whole("quarter_turns") or 0,
        "mirrored": sent.flag("mirrored"),
        "zero": sent.text("zero"),
        "splines": sent.flag("splines"),
        "paper": sent.text("paper"),
        "zero_per": sent.text("zero_per") or "board",
        **{name: sent.whole(name) if name in WHOLE else sent.number(name) for name in FIGURES},
    }


ROUTES = (
    ("/bench/settings/machine", "GET", machine_page),
    ("/bench/settings/machine", "POST", save),
)
