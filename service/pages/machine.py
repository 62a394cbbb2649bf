"""How drawings lie on the workshop's machine, its bed, paper, boards and working hours."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import ENGLISH, L_, _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, render

FIGURES = {
    "bed_width": L_("Bed, left to right, mm"),
    "bed_length": L_("Bed, front to back, mm"),
    "board_width": L_("Boards, width, mm"),
    "board_length": L_("Boards, length, mm"),
    "kerf": L_("Straight bit, mm: lost between two parts"),
    "end_trim": L_("Cut off each end of a board, mm"),
    "day_minutes": L_("Minutes at work in a day"),
    "load_minutes": L_("Minutes to fix one board"),
    "change_minutes": L_("Minutes to change the bit"),
    "bed_margin": L_("Kept free of boards at the bed’s sides, mm"),
    "board_spacing": L_("Between boards on the bed, mm"),
    "screw_radius": L_("Kept clear around a hold-down screw, mm from its middle"),
    "tab_width": L_("Tabs, width, mm; 0 for none"),
    "tab_height": L_("Tabs, height, mm"),
    "tab_every": L_("From one tab to the next at most, mm"),
    "v_tool": L_("V-bit, number in the machine"),
    "v_speed": L_("V-bit, turns per minute"),
    "flat_tool": L_("Flat bit, number in the machine"),
    "flat_speed": L_("Flat bit, turns per minute"),
    "straight_tool": L_("Straight bit, number in the machine"),
    "straight_speed": L_("Straight bit, turns per minute"),
    "straight_feed": L_("Straight bit, mm per minute"),
    "straight_plunge": L_("Straight bit downwards, mm per minute"),
    "straight_pass": L_("Straight bit, depth of one pass, mm"),
    "label_columns": L_("Labels side by side on a sheet"),
    "label_rows": L_("Labels one below another"),
    "label_margin_x": L_("Label sheet, margin left and right, mm"),
    "label_margin_y": L_("Label sheet, margin above and below, mm"),
    "label_gap": L_("Between labels, mm"),
}
WHOLE = frozenset({"v_tool", "flat_tool", "straight_tool", "label_columns", "label_rows"})
ZEROS = {
    "slat": L_("the slat’s centre line at its foot"),
    "lower-left": L_("its lower left corner"),
    "lower-right": L_("its lower right corner"),
    "upper-left": L_("its upper left corner"),
    "upper-right": L_("its upper right corner"),
    "centre": L_("its middle"),
}
TURNS = {
    0: L_("as in the piece"),
    1: L_("a quarter to the left"),
    2: L_("half round"),
    3: L_("a quarter to the right"),
}


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
        said=_("Saved. What was released before keeps its own.") if "saved" in request.query_params else "",
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
        "language": sent.text("language") or ENGLISH,
        "zero_per": sent.text("zero_per") or "board",
        **{name: sent.whole(name) if name in WHOLE else sent.number(name) for name in FIGURES},
    }


ROUTES = (
    ("/bench/settings/machine", "GET", machine_page),
    ("/bench/settings/machine", "POST", save),
)
