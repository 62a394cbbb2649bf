"""Figures, days and states as people read them."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from contextvars import ContextVar
from datetime import UTC, date, datetime
from typing import Any, NamedTuple

FILTERS = (
    "mm", "inch", "both", "up_mm", "up_both", "day", "moment", "order_state", "carving_state", "verdict", "plural",
    "file_size", "minutes", "percent", "finding_kind", "numbers", "size", "one_unit", "deed", "doer", "days_left",
    "change_kind", "length_found",
)  # fmt: skip
_MM_PER_INCH = 25.4
_SIXTEENTHS = 16


def mm(value: float | None, digits: int = 1) -> str:
    """Millimetres, rounded to the nearest: for sizes, never for a limit that wood is cut by."""
    return "–" if value is None else f"{value:.{digits}f} mm"


def up_mm(value: float | None) -> str:
    """Millimetres needed, rounded up to a hundredth: what is asked for is never understated."""
    return "–" if value is None else f"{math.ceil(round(value * 100, 6)) / 100:.2f} mm"


def up_both(value: float | None) -> str:
    """As :func:`up_mm`, with inches to a thousandth, rounded up too: bits are set by decimals, wood by fractions."""
    if value is None:
        return "–"
    return f"{up_mm(value)} ({math.ceil(round(value / _MM_PER_INCH * 1000, 6)) / 1000:.3f} in)"


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
    return f"{value / _MM_PER_INCH:.3f} in" if INCHES.get() else f"{value:.2f} mm"


def one_unit(text: str) -> str:
    """A sentence that says lengths in both units, with the reader's own alone."""
    return _IN_BOTH.sub(r"\2" if INCHES.get() else r"\1 mm", text)


def day(value: str | date | None) -> str:
    """A day with its weekday (``Fri 4 Dec 2026``)."""
    if not value:
        return "no date"
    when = date.fromisoformat(value[:10]) if isinstance(value, str) else value
    return f"{when:%a} {when.day} {when:%b %Y}"


def moment(value: str | datetime | None) -> str:
    """A moment to the minute, UTC."""
    if not value:
        return "–"
    when = datetime.fromisoformat(value) if isinstance(value, str) else value
    when = when.astimezone(UTC)
    return f"{when.day} {when:%b %Y, %H:%M} UTC"


_ORDERS = {
    "draft": "draft",
    "submitted": "with the workshop",
    "released": "released",
    "in-production": "being made",
    "done": "done",
    "cancelled": "cancelled",
}
_CARVINGS = {
    "no-art": "no art yet",
    "reading": "reading the file",
    "refused": "the file cannot be used",
    "checking": "checking",
    "checked": "checked",
    "offered": "waiting to be signed off and judged",
    "signed": "signed off, waiting for the workshop",
    "feasible": "the workshop says yes, waiting to be signed off",
    "approved": "approved",
    "change-asked": "change asked",
    "rejected": "rejected",
    "stale": "settings changed since: check again",
    "released": "released",
}
_VERDICTS = {
    "carves": "It carves",
    "carves-with-remarks": "It carves, with remarks",
    "will-not-carve": "It will not carve as it is",
}


def order_state(value: str) -> str:
    """An order's state in words."""
    return _ORDERS.get(value, value)


def carving_state(value: str) -> str:
    """A carving's state in words."""
    return _CARVINGS.get(value, value)


def verdict(value: str | None) -> str:
    """A verdict in words."""
    return _VERDICTS.get(value or "", "Not checked yet")


_DEEDS = {
    "submission": "sent in",
    "offer": "proof offered",
    "waiver": "remarks accepted",
    "sign-off": "signed off",
    "change-request": "change asked",
    "feasibility": "judged feasible",
    "rejection": "rejected",
    "release": "released",
    "recall": "release recalled",
    "production": "production",
    "tick": "ticked",
    "remake": "a board made again",
    "cancellation": "cancelled",
    "erasure": "particulars erased",
    "setting": "settings changed",
    "access": "who may come in changed",
    "program-check": "a program checked",
    "mark-approval": "the workshop’s mark approved",
    "mark-end": "the workshop’s mark ended",
    "version": "version chosen",
}
_CHANGES = {
    "thickened": ("stroke thickened by up to", "strokes thickened by up to"),
    "thinned": ("stroke thinned by up to", "strokes thinned by up to"),
    "moved": ("part moved by up to", "parts moved by up to"),
    "gap-opened": ("gap opened by up to", "gaps opened by up to"),
    "gap-filled": ("gap carved, as long as", "gaps carved, as long as"),
    "counter-opened": ("counter opened by up to", "counters opened by up to"),
    "counter-filled": ("small island carved away, as long as", "small islands carved away, as long as"),
    "dot-grown": ("small part enlarged by up to", "small parts enlarged by up to"),
    "end-shortened": ("thin end left out, as long as", "thin ends left out, as long as"),
    "stroke-cut": ("stroke interrupted over", "strokes interrupted over up to"),
    "left-out": ("small part left out: plain wood", "small parts left out: plain wood"),
    "letters-spaced": ("gap between letters widened by", "gaps between letters widened by up to"),
    "stacked": ("Set on", ""),
    "turned": ("Turned by", ""),
    "resized": ("Its size is", ""),
    "bit": ("Carved with a bit of", ""),
}
_ACTORS = {
    "client": "the client",
    "maker": "the maker",
    "helper": "a helper",
    "shop-site": "the shop’s site",
    "system": "the service",
}


def change_kind(kind: str, count: int) -> str:
    """What was done to a drawing, and how often."""
    one, many = _CHANGES[kind]
    return f"{count} {one if count == 1 else many}" if many else one


def deed(kind: str) -> str:
    """What an entry of the record says was done."""
    return _DEEDS.get(kind, kind.replace("-", " "))


def doer(entry: Mapping[str, Any]) -> str:
    """Who did what an entry of the record says: by name where that is still known, else by their part."""
    part = _ACTORS.get(entry["actor"].split(":")[0], entry["actor"].split(":")[0])
    return f"{entry['name']}, {part}" if entry["name"] else part


def days_left(value: str | None) -> str:
    """How long it is until a day, in words; empty without one."""
    if not value:
        return ""
    days = (date.fromisoformat(value[:10]) - datetime.now(UTC).date()).days
    if days < 0:
        return f"{plural(-days, 'day')} late"
    return ("today", "tomorrow")[days] if days < 2 else f"in {days} days"


def plural(count: int, one: str, many: str | None = None) -> str:
    """A count with its noun."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def file_size(value: int) -> str:
    """Bytes as people say them."""
    if value < 1000:
        return f"{value} bytes"
    return f"{value / 1000:.0f} kB" if value < 1_000_000 else f"{value / 1e6:.1f} MB"


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
    steps = [Step(*words, done) for words, done in zip(who, reached, strict=True)]
    if "will-not-carve" in verdicts:
        steps[1] = steps[1]._replace(words="change something so that it carves")
    for state, words in _TURNED_BACK:
        if state in states:
            steps[2] = steps[2]._replace(words=words[at_bench])
    return steps


# What is next where a proof was turned back, for the client and at the bench; what comes later in the list is said.
_TURNED_BACK = (
    ("stale", ("check it again: the workshop has changed something",) * 2),
    (
        "change-asked",
        ("the workshop looks at the change you asked for", "answer the change that the client asks for"),
    ),
    ("rejected", ("change what the workshop said no to", "the client changes what you said no to")),
)


_CLIENT_STEPS = (
    ("Artwork in", "send the artwork"),
    ("It carves", "it is read and checked"),
    ("You signed off", "look at the proof and sign it off"),
    ("Workshop said yes", "the workshop judges it"),
    ("Released", "the workshop releases it"),
    ("Being made", "it is cut and carved"),
    ("Done", "the last piece is finished"),
)
_BENCH_STEPS = (
    ("Artwork in", "the client sends the artwork"),
    ("It carves", "it is read and checked"),
    ("Client signed off", "the client signs it off"),
    ("Judged feasible", "judge whether it is feasible"),
    ("Released", "release it"),
    ("Being made", "put the first board on"),
    ("Done", "finish the last piece"),
)


_KINDS = {
    "line": "Lines too thin",
    "tip": "Points that end early",
    "vanishing": "Parts that vanish",
    "land": "Wood between the lines too thin",
    "land-tip": "Wood that ends in a point",
    "counter": "Islands of wood too small",
    "touching": "Shapes that touch",
    "gaps": "Parts lost between slats",
    "depth": "Cut too deep",
    "floor": "Wide parts with a flat floor",
    "fleck": "Specks too small to be seen",
    "nick": "Nicks in the edges that will not be seen",
    "hidden": "Parts that lie over one another",
    "round-over": "Into the rounded edge",
    "edge-margin": "Close to the edge",
    "end-margin": "Close to the end of the slat",
    "off-slat": "Off the slat",
    "keep-out": "On a screw or a joint",
    "edge-land": "Thin wood at the edge",
    "resolution": "The picture is coarse",
}


def finding_kind(value: str) -> str:
    """A kind of finding in words."""
    return _KINDS.get(value, value)


def numbers(values: list[int]) -> str:
    """Numbers as people list them: ``2–5, 9``."""
    runs: list[list[int]] = []
    for value in sorted(values):
        if runs and value == runs[-1][1] + 1:
            runs[-1][1] = value
        else:
            runs.append([value, value])
    return ", ".join(str(a) if a == b else f"{a}–{b}" for a, b in runs)
