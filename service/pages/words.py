"""Figures, days and states as people read them."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from contextvars import ContextVar
from datetime import UTC, date, datetime
from typing import Any, NamedTuple

from service.language.chosen import N_, _, ngettext
from service.language.figures import day_words, decimal, moment_words
from service.language.phrasebook import figures

FILTERS = (
    "mm", "inch", "both", "up_mm", "up_both", "day", "moment", "order_state", "carving_state", "verdict", "plural",
    "file_size", "minutes", "percent", "finding_kind", "numbers", "size", "one_unit", "deed", "doer", "days_left",
    "change_kind", "length_found", "bit_words", "called", "payment", "amount", "rounding", "finish_name",
)  # fmt: skip
_MM_PER_INCH = 25.4
_SIXTEENTHS = 16


def mm(value: float | None, digits: int = 1) -> str:
    """Millimetres, rounded to the nearest: for sizes, never for a limit that wood is cut by."""
    return "–" if value is None else f"{decimal(value, digits)} mm"


def up_mm(value: float | None) -> str:
    """Millimetres needed, rounded up to a hundredth: what is asked for is never understated."""
    return "–" if value is None else f"{decimal(math.ceil(round(value * 100, 6)) / 100, 2)} mm"


def up_both(value: float | None) -> str:
    """As :func:`up_mm`, with inches to a thousandth, rounded up too: bits are set by decimals, wood by fractions."""
    if value is None:
        return "–"
    return f"{up_mm(value)} ({decimal(math.ceil(round(value / _MM_PER_INCH * 1000, 6)) / 1000, 3)} in)"


def inch(value: float | None) -> str:
    """Inches to the nearest sixteenth, as a rule shows them (``4 7/16 in``)."""
    if value is None:
        return "–"
    sixteenths = round(abs(value) / _MM_PER_INCH * _SIXTEENTHS)
    whole, part = divmod(sixteenths, _SIXTEENTHS)
    sign = "−" if value < 0 and sixteenths else ""
    if part == 0:
        return f"{sign}{whole} in"
    common = math.gcd(part, _SIXTEENTHS)
    fraction = f"{part // common}/{_SIXTEENTHS // common}"
    return f"{sign}{whole} {fraction} in" if whole else f"{sign}{fraction} in"


def both(value: float | None) -> str:
    """Millimetres with inches beside them."""
    return "–" if value is None else f"{mm(value)} ({inch(value)})"


def bit_words(bit: Mapping[str, Any]) -> str:
    """A bit as people tell it from others: its angle and the flat at its tip."""
    return _("{angle:g}° bit, tip {tip:g} mm", angle=bit["angle_deg"], tip=bit["tip_flat"])


INCHES: ContextVar[bool] = ContextVar("inches", default=False)
"""Whether whoever reads the page that is being drawn wants inches."""
_IN_BOTH = re.compile(r"(−?[0-9][0-9.,]*)\s?mm \(([^()]*? in)\)")


def size(value: float | None, digits: int = 1) -> str:
    """A length in the reader's own unit: millimetres, or inches as :func:`inch`."""
    if value is None:
        return "–"
    return inch(value) if INCHES.get() else mm(value, digits)


def length_found(value: float) -> str:
    """A small length in the reader's own unit, to a hundredth of a millimetre or a thousandth of an inch."""
    return f"{decimal(value / _MM_PER_INCH, 3)} in" if INCHES.get() else f"{decimal(value, 2)} mm"


def one_unit(text: str) -> str:
    """A sentence that says lengths in both units, with the reader's own alone."""
    return _IN_BOTH.sub(r"\2" if INCHES.get() else r"\1 mm", text)


def day(value: str | date | None) -> str:
    """A day with its weekday (``Fri 4 Dec 2026``)."""
    if not value:
        return _("no date")
    when = date.fromisoformat(value[:10]) if isinstance(value, str) else value
    return day_words(when)


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
    return f"{figures(quantity)} {_(one if quantity in {'1', '1.0'} else many)}"


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


class Step(NamedTuple):
    """One step of an order: its name once it is done, what has to happen before, and whether it is done."""

    done_words: str
    words: str
    done: bool


def state_steps(order: Mapping[str, Any], *, at_bench: bool = False) -> list[Step]:
    """Where an order stands, in the words of whoever looks."""
    carvings = [carving for line in order["lines"] for carving in line["carvings"]]
    states = {carving["state"] for carving in carvings}
    verdicts = {carving["proof"]["verdict"] for carving in carvings if carving["proof"]}
    sent = order["state"] != "draft"
    proved = bool(carvings) and all(carving["proof"] for carving in carvings)
    carves = proved and "will-not-carve" not in verdicts
    signed = bool(carvings) and states <= {"signed", "approved", "released"}
    judged = bool(carvings) and states <= {"feasible", "approved", "released"}
    made = {"released": 1, "in-production": 2, "done": 3}.get(order["state"], 0)
    who = _BENCH_STEPS if at_bench else _CLIENT_STEPS
    reached = [
        bool(carvings) and not states & {"no-art", "refused"},
        carves and not states & {"reading", "checking", "no-art", "refused"},
        sent and signed,
        sent and judged,
        made >= 1,
        made >= 2,
        made >= 3,
    ]
    steps = [
        Step(_(done_words), _(words), done) for (done_words, words), done in zip(who, reached, strict=True)
    ]
    if "will-not-carve" in verdicts:
        steps[1] = steps[1]._replace(words=_("change something so that it carves"))
    for state, words in _TURNED_BACK:
        if state in states:
            steps[2] = steps[2]._replace(words=_(words[at_bench]))
    return steps


# What is next where a proof was turned back, for the client and at the bench; what comes later in the list is said.
_TURNED_BACK = (
    ("stale", (N_("check it again: the workshop has changed something"),) * 2),
    (
        "change-asked",
        (
            N_("the workshop looks at the change you asked for"),
            N_("answer the change that the client asks for"),
        ),
    ),
    ("rejected", (N_("change what the workshop said no to"), N_("the client changes what you said no to"))),
)


_CLIENT_STEPS = (
    (N_("Artwork in"), N_("send the artwork")),
    (N_("It carves"), N_("it is read and checked")),
    (N_("You signed off"), N_("look at the proof and sign it off")),
    (N_("Workshop said yes"), N_("the workshop judges it")),
    (N_("Released"), N_("the workshop releases it")),
    (N_("Being made"), N_("it is cut and carved")),
    (N_("Done"), N_("the last piece is finished")),
)
_BENCH_STEPS = (
    (N_("Artwork in"), N_("the client sends the artwork")),
    (N_("It carves"), N_("it is read and checked")),
    (N_("Client signed off"), N_("the client signs it off")),
    (N_("Judged feasible"), N_("judge whether it is feasible")),
    (N_("Released"), N_("release it")),
    (N_("Being made"), N_("put the first board on")),
    (N_("Done"), N_("finish the last piece")),
)


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
