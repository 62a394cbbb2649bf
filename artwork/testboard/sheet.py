"""The sheet that goes to the bench with a test board: what to do, where everything is, and a list to write on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from shapely import simplify

from artwork.curves import Floats
from artwork.lettering.paper import A4, Ink, Page, Words, frame, pdf, rectangle, straight
from artwork.shapes import areas
from artwork.testboard.design import LANDS, TestBoard
from artwork.testboard.readings import TAP, Slot, slots

_MARGIN = 15.0
_LINE = 5.4
_ROW = 5.2
_CAP = 2.4
_BLACK, _GREY, _WOOD = (0, 0, 0), (120, 120, 120), (236, 224, 205)
_COLUMNS = 4
_WRAP = 104
"""Letters on a line of the sheet."""
_CHORD = 0.05


def sheet(board: TestBoard, cautions: Sequence[str] = ()) -> bytes:
    """PDF, A4: how to cut and measure the board, its picture, then every reading with a place to write it.

    Args:
        board: to be cut.
        cautions: sentences for whoever works at the machine.
    """
    return pdf([_first(board, cautions), *_lists(board)], "Test board")


def steps(board: TestBoard) -> tuple[str, ...]:
    """What is done with the board, in order."""
    bit, slat = board.plan.bit, board.plan.slat
    return (
        f"Take an offcut of the wood you carve in, {slat.outline.bounds[2]:g} by {slat.outline.bounds[3]:g} mm, "
        f"{slat.thickness:g} mm thick, the grain along its length. Hold it as you hold your boards.",
        f"Carve what is black with the bit “{bit.key}”, as you carve your orders: same program settings, same zero. "
        f"It takes about {board.minutes:.0f} minutes (an estimate).",
        "Measure the thickness at P1 to P6, beside the marks.",
        "Round over the edge that the grooves E run off, and nothing else.",
        "Sand the whole face as you sand a piece. Measure the thickness at P1 to P6 again.",
        "Measure and look at the rest. Grooves, lands and islands are counted from their letter; the lands of a comb "
        "from the narrowest on. Skip what you cannot measure.",
    )


def _first(board: TestBoard, cautions: Sequence[str]) -> Page:
    width, height = A4
    items: list[Ink | Words] = [Words("Test board", _MARGIN, height - 22, 5.0, _BLACK)]
    y = height - 34
    for number, step in enumerate(steps(board), 1):
        for at, line in enumerate(_wrapped(step)):
            items.append(Words((f"{number}. " if at == 0 else "    ") + line, _MARGIN, y, _CAP, _BLACK))
            y -= _LINE
        y -= 1.5
    x1, y1 = board.plan.slat.outline.bounds[2:]
    scale = (width - 2 * _MARGIN) / x1
    low = y - 4 - y1 * scale
    items += _picture(board, scale, np.array([_MARGIN, low]))
    y = low - 9
    items.append(Words(_widths(), _MARGIN, y, _CAP, _GREY))
    for caution in cautions:
        y -= _LINE
        for line in _wrapped(caution):
            items.append(Words(line, _MARGIN, y, 2.0, _BLACK))
            y -= 4.2
    return Page(A4, items)


def _widths() -> str:
    return "Lands of every comb, mm: " + ", ".join(f"{width:g}" for width in LANDS) + "."


def _picture(board: TestBoard, scale: float, shift: Floats) -> Iterator[Ink]:
    x1, y1 = board.plan.slat.outline.bounds[2:]
    yield rectangle(shift[0], shift[1], x1 * scale, y1 * scale, _WOOD)
    yield frame((float(shift[0]), float(shift[1])), x1 * scale, y1 * scale, 0.3, _GREY)
    rings = [
        straight(np.asarray(ring.coords)[:-1] * scale + shift)
        for part in areas(simplify(board.cut.placed().region(_CHORD), _CHORD))
        for ring in (part.exterior, *part.interiors)
    ]
    yield Ink(rings, _BLACK)


def _lists(board: TestBoard) -> Iterator[Page]:
    """Readings column by column; a tap has two words to ring, a measure a line to write on."""
    height = A4[1]
    rows = int((height - 46) / _ROW)
    every = slots(board.plan)
    per_page = rows * _COLUMNS
    for start in range(0, len(every), per_page):
        items: list[Ink | Words] = [Words("Readings", _MARGIN, height - 22, 4.0, _BLACK)]
        for at, slot in enumerate(every[start : start + per_page]):
            x = _MARGIN + (at // rows) * (A4[0] - 2 * _MARGIN) / _COLUMNS
            y = height - 34 - (at % rows) * _ROW
            items += _row(slot, x, y)
        yield Page(A4, items)


def _row(slot: Slot, x: float, y: float) -> Iterator[Ink | Words]:
    yield Words(slot.key, x, y, 2.0, _BLACK)
    if slot.unit == TAP:
        yield Words("yes / no", x + 24, y, 2.0, _GREY)
    else:
        yield rectangle(x + 23, y - 0.6, 12, 0.2, _GREY)
        yield Words("mm", x + 36, y, 1.8, _GREY)


def _wrapped(text: str) -> Iterator[str]:
    line = ""
    for word in text.split():
        if len(line) + len(word) + 1 > _WRAP:
            yield line
            line = word
        else:
            line = f"{line} {word}".strip()
    yield line
