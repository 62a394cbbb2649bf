"""Days, counts and states as people read them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

from service.language.chosen import N_, _, ngettext
from service.language.figures import day_words, decimal, moment_words
from service.language.phrasebook import figures

FILTERS = (
    "day", "moment", "order_state", "carving_state", "verdict", "plural", "file_size", "minutes", "percent",
    "finding_kind", "numbers", "deed", "doer", "days_left", "change_kind", "bit_words", "called", "payment", "amount",
    "days_told", "rounding", "finish_name", "nudge",
)  # fmt: skip


def bit_words(bit: Mapping[str, Any]) -> str:
    """A bit as people tell it from others: its angle and the flat at its tip."""
    return _("{angle}° bit, tip {tip} mm", angle=_plain(bit["angle_deg"]), tip=_plain(bit["tip_flat"]))


def _plain(number: float) -> str:
    """A number with no more decimals than it has, as the language writes it."""
    return figures(f"{number:g}") if number < 1000 else f"{number:g}"


def day(value: str | date | None) -> str:
    """A day with its weekday (``Fri 4 Dec 2026``)."""
    if not value:
        return _("no date")
    when = date.fromisoformat(value[:10]) if isinstance(value, str) else value
    return day_words(when)


def days_told(work: Mapping[str, Any]) -> str:
    """When an order is ready and whether that holds, of the API's plan of its days."""
    ready = ngettext(
        "Ready on {day}, after one working day.",
        "Ready on {day}, after {count} working days.",
        work["work_days"],
        day=day(work["ready_on"]),
    )
    by_machine = work["machine_minutes"] > work["bench_minutes"]
    pace = _("The machine sets the pace.") if by_machine else _("The bench sets the pace.")
    said = f"{ready} {pace}"
    if work["needed_by"] is None or work["spare_days"] is None:
        return said
    needed, spare = day(work["needed_by"]), abs(work["spare_days"])
    if work["holds"]:
        end = ngettext(
            "Needed by {day}: that holds, with one working day to spare.",
            "Needed by {day}: that holds, with {count} working days to spare.",
            spare,
            day=needed,
        )
    else:
        end = ngettext(
            "Needed by {day}: one working day too late.",
            "Needed by {day}: {count} working days too late.",
            spare,
            day=needed,
        )
    return f"{said} {end}"


def moment(value: str | datetime | None) -> str:
    """A moment to the minute, UTC."""
    if not value:
        return "–"
    when = datetime.fromisoformat(value) if isinstance(value, str) else value
    when = when.astimezone(UTC)
    return moment_words(when)


_ORDERS = {
    "draft": N_("draft"),
    "submitted": N_("with the workshop"),
    "released": N_("released"),
    "in-production": N_("being made"),
    "done": N_("done"),
    "cancelled": N_("cancelled"),
}
_CARVINGS = {
    "no-art": N_("no art yet"),
    "reading": N_("reading the file"),
    "refused": N_("the file cannot be used"),
    "checking": N_("checking"),
    "checked": N_("checked"),
    "offered": N_("waiting to be signed off and judged"),
    "signed": N_("signed off, waiting for the workshop"),
    "feasible": N_("the workshop says yes, waiting to be signed off"),
    "approved": N_("approved"),
    "change-asked": N_("change asked"),
    "rejected": N_("rejected"),
    "stale": N_("settings changed since: check again"),
    "released": N_("released"),
}
_VERDICTS = {
    "carves": N_("It carves"),
    "carves-with-remarks": N_("It carves, with remarks"),
    "will-not-carve": N_("It will not carve as it is"),
}


_PAYMENTS = {
    "unsaid": N_("nobody has said"),
    "due": N_("to be paid"),
    "paid": N_("paid"),
    "refunded": N_("paid back"),
}


def payment(value: str) -> str:
    """Whether an order is paid, in words."""
    return _(_PAYMENTS[value]) if value in _PAYMENTS else value


def called(order: Mapping[str, Any]) -> str:
    """What people call an order: checks and tests have no number."""
    return _("order {number}", number=order["number"]) if order["kind"] == "order" else str(order["kind"])


def order_state(value: str) -> str:
    """An order's state in words."""
    return _(_ORDERS[value]) if value in _ORDERS else value


def carving_state(value: str) -> str:
    """A carving's state in words."""
    return _(_CARVINGS[value]) if value in _CARVINGS else value


def verdict(value: str | None) -> str:
    """A verdict in words."""
    return _(_VERDICTS[value]) if value in _VERDICTS else _("Not checked yet")


_FINISHES = {
    "bare": N_("bare wood"),
    "oiled": N_("oiled"),
    "paint-filled": N_("grooves filled with paint"),
}


def finish_name(finish: str) -> str:
    """What people call a finish."""
    return _(_FINISHES[finish]) if finish in _FINISHES else finish


_DEEDS = {
    "submission": N_("sent in"),
    "offer": N_("proof offered"),
    "waiver": N_("remarks accepted"),
    "sign-off": N_("signed off"),
    "change-request": N_("change asked"),
    "feasibility": N_("judged feasible"),
    "rejection": N_("rejected"),
    "release": N_("released"),
    "recall": N_("release recalled"),
    "production": N_("production"),
    "tick": N_("ticked"),
    "remake": N_("a board made again"),
    "shift": N_("the art of a board shifted"),
    "split": N_("part of it made an order of its own"),
    "cancellation": N_("cancelled"),
    "erasure": N_("particulars erased"),
    "setting": N_("settings changed"),
    "access": N_("who may come in changed"),
    "program-check": N_("a program checked"),
    "mark-approval": N_("the workshop’s mark approved"),
    "mark-end": N_("the workshop’s mark ended"),
    "version": N_("version chosen"),
}
_CHANGES = {
    "thickened": (N_("stroke thickened by up to"), N_("strokes thickened by up to")),
    "thinned": (N_("stroke thinned by up to"), N_("strokes thinned by up to")),
    "moved": (N_("part moved by up to"), N_("parts moved by up to")),
    "gap-opened": (N_("gap opened by up to"), N_("gaps opened by up to")),
    "gap-filled": (N_("gap carved, as long as"), N_("gaps carved, as long as")),
    "counter-opened": (N_("counter opened by up to"), N_("counters opened by up to")),
    "counter-filled": (
        N_("small island carved away, as long as"),
        N_("small islands carved away, as long as"),
    ),
    "dot-grown": (N_("small part enlarged by up to"), N_("small parts enlarged by up to")),
    "end-shortened": (N_("thin end left out, as long as"), N_("thin ends left out, as long as")),
    "stroke-cut": (N_("stroke interrupted over"), N_("strokes interrupted over up to")),
    "hatch-thinned": (
        N_("stroke of a hatching left out, as long as"),
        N_("strokes of hatchings left out, as long as"),
    ),
    "left-out": (N_("small part left out: plain wood"), N_("small parts left out: plain wood")),
    "letters-spaced": (N_("gap between letters widened by"), N_("gaps between letters widened by up to")),
    "stacked": (N_("Set on"), ""),
    "turned": (N_("Turned by"), ""),
    "resized": (N_("Its size is"), ""),
    "bit": (N_("Carved with a bit of"), ""),
}
_ACTORS = {
    "client": N_("the client"),
    "maker": N_("the maker"),
    "helper": N_("a helper"),
    "shop-site": N_("the shop’s site"),
    "system": N_("the service"),
}


def change_kind(kind: str, count: int) -> str:
    """What was done to a drawing, and how often."""
    one, many = _CHANGES[kind]
    return f"{count} {_(one if count == 1 else many)}" if many else _(one)


def nudge(by: str) -> str:
    """How much wider or narrower a button makes something (``+0.05 mm``)."""
    return f"{'+' if float(by) > 0 else '−'}{figures(by.lstrip('-'))} mm"


def deed(kind: str) -> str:
    """What an entry of the record says was done."""
    return _(_DEEDS[kind]) if kind in _DEEDS else kind.replace("-", " ")


def doer(entry: Mapping[str, Any]) -> str:
    """Who did what an entry of the record says: by name where that is still known, else by their part."""
    kind = entry["actor"].split(":")[0]
    part = _(_ACTORS[kind]) if kind in _ACTORS else kind
    return f"{entry['name']}, {part}" if entry["name"] else part


def days_left(value: str | None) -> str:
    """How long it is until a day, in words; empty without one."""
    if not value:
        return ""
    days = (date.fromisoformat(value[:10]) - datetime.now(UTC).date()).days
    if days < 0:
        return ngettext("{count} day late", "{count} days late", -days)
    return (
        (_("today"), _("tomorrow"))[days] if days < 2 else ngettext("in {count} day", "in {count} days", days)
    )


def plural(count: int, one: str, many: str | None = None) -> str:
    """A count with its noun."""
    return f"{count} {one if count == 1 else many or one + 's'}"


_UNITS = {
    "piece": (N_("piece"), N_("pieces")),
    "carved slat": (N_("carved slat"), N_("carved slats")),
    "minute": (N_("minute"), N_("minutes")),
    "personalised piece": (N_("personalised piece"), N_("personalised pieces")),
    "order": (N_("order"), N_("orders")),
    "cubic metre": (N_("cubic metre"), N_("cubic metres")),
    "delivery": (N_("delivery"), N_("deliveries")),
    "km": (N_("km"), N_("km")),
    "of the sum": (N_("of the sum"), N_("of the sum")),
}


def amount(quantity: str, unit: str) -> str:
    """How much of what a line of a quote counts."""
    one, many = _UNITS.get(unit, (unit, f"{unit}s"))
    counted = one if quantity in {"1", "1.0"} else many
    return f"{figures(quantity)} {_(counted)}"


ROUNDINGS = {
    "half-even": N_("to the nearest; a tie to the even unit"),
    "half-up": N_("to the nearest; a tie up"),
}


def rounding(value: str) -> str:
    """How a price list rounds."""
    return _(ROUNDINGS[value]) if value in ROUNDINGS else value


def file_size(value: int) -> str:
    """Bytes as people say them."""
    if value < 1000:
        return ngettext("{count} byte", "{count} bytes", value)
    return f"{decimal(value / 1000, 0)} kB" if value < 1_000_000 else f"{decimal(value / 1e6, 1)} MB"


def minutes(value: float | None) -> str:
    """Minutes, as hours where there are many."""
    if value is None:
        return "–"
    whole = math.ceil(value)
    return f"{whole} min" if whole < 90 else f"{whole // 60} h {whole % 60:02d} min"


def percent(value: float) -> str:
    """A share as a whole percentage."""
    return f"{round(value * 100)} %"


_KINDS = {
    "line": N_("Lines too thin"),
    "tip": N_("Points that end early"),
    "vanishing": N_("Parts that vanish"),
    "land": N_("Wood between the lines too thin"),
    "land-tip": N_("Wood that ends in a point"),
    "counter": N_("Islands of wood too small"),
    "touching": N_("Shapes that touch"),
    "gaps": N_("Parts lost between slats"),
    "depth": N_("Cut too deep"),
    "floor": N_("Wide parts with a flat floor"),
    "fleck": N_("Specks too small to be seen"),
    "nick": N_("Nicks in the edges that will not be seen"),
    "hidden": N_("Parts that lie over one another"),
    "round-over": N_("Into the rounded edge"),
    "edge-margin": N_("Close to the edge"),
    "end-margin": N_("Close to the end of the slat"),
    "off-slat": N_("Off the slat"),
    "keep-out": N_("On a screw or a joint"),
    "edge-land": N_("Thin wood at the edge"),
    "resolution": N_("The picture is coarse"),
}


def finding_kind(value: str) -> str:
    """A kind of finding in words."""
    return _(_KINDS[value]) if value in _KINDS else value


def numbers(values: list[int]) -> str:
    """Numbers as people list them: ``2–5, 9``."""
    runs: list[list[int]] = []
    for value in sorted(values):
        if runs and value == runs[-1][1] + 1:
            runs[-1][1] = value
        else:
            runs.append([value, value])
    return ", ".join(str(a) if a == b else f"{a}–{b}" for a, b in runs)
