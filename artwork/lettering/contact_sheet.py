"""The contact sheet of a run: every piece at a glance, exceptions marked and listed, one digest to sign."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon, affinity

from artwork.curves import Contour, Floats
from artwork.cut import Cut
from artwork.drawings.scene import rings
from artwork.lettering.fitting import Lettered
from artwork.lettering.paper import A4, Colour, Ink, Page, Words, frame, straight
from artwork.lettering.runs import JudgedRun, Piece
from artwork.lettering.typefaces import typeface
from artwork.shapes import areas

MARGIN = 12.0
HEAD = 22.0
FOOT = 8.0
GAP = 3.0
LABEL = 5.0
"""Strip under a picture for its number and verdict, mm."""
TALLEST = 60.0
"""A picture is not drawn higher than this, mm."""
WIDEST = 60.0
"""A picture is not drawn wider than this, mm: three side by side on A4."""
CAP, SMALL_CAP = 2.6, 1.9
LINE = 4.2
"""From line to line of the list of exceptions, mm."""
COLUMN_CHARACTERS = 150
AROUND = 8.0
"""How much of the slat is shown around the field, mm on the wood."""
MARK = 1.2
"""How far marks of findings reach beyond their place, mm on the wood."""
WOOD: Colour = (226, 196, 160)
CARVED: Colour = (62, 39, 24)
RED: Colour = (176, 32, 24)
AMBER: Colour = (150, 92, 0)
GREY: Colour = (90, 90, 90)

Item = Ink | Words


def contact_sheet(
    judged: JudgedRun, title: str, size: tuple[float, float] = A4, signed: str = ""
) -> list[Page]:
    """The pages: pieces in order, then the exceptions in words.

    Args:
        judged: the run.
        title: whose order and which line of it.
        size: of the paper, mm.
        signed: digest that names what is signed, on every page; the run's own where none is given.
    """
    view = _View.of(judged, size)
    per_page = view.columns * view.rows
    pieces = judged.pieces
    sheets = [_pieces(view, pieces[at : at + per_page]) for at in range(0, len(pieces), per_page)]
    sheets += _listed(judged, size)
    return [
        Page(size, [*_head(judged, title, size, (number, len(sheets)), signed or judged.digest), *inks])
        for number, inks in enumerate(sheets, 1)
    ]


@dataclass(frozen=True)
class Cell:
    """Where a piece's picture is on the sheet.

    Attributes:
        page: counted from 0.
        x, y: its lower left on the page, mm.
        width, height: mm.
    """

    page: int
    x: float
    y: float
    width: float
    height: float


def cells(judged: JudgedRun, size: tuple[float, float] = A4) -> Iterator[Cell]:
    """Where each piece is on the sheet that :func:`contact_sheet` makes, in the order of the pieces."""
    view = _View.of(judged, size)
    per_page = view.columns * view.rows
    for place in range(len(judged.pieces)):
        page, on_page = divmod(place, per_page)
        x, y = _corner(view, on_page)
        yield Cell(page, x, y, view.window[2] * view.scale, view.window[3] * view.scale)


@dataclass(frozen=True, eq=False)
class _View:
    """How pieces are drawn: the field turned upright, with some of the slat around it.

    Attributes:
        window: least x, least y, width and height of what is shown, in the field's own upright frame.
        slat: the slat within the window, same frame.
        scale: paper mm per mm of wood.
        columns, rows: pictures on a page.
        size: of the page.
        turn_deg: of the field on the slat.
    """

    window: tuple[float, float, float, float]
    slat: tuple[Polygon, ...]
    scale: float
    columns: int
    rows: int
    size: tuple[float, float]
    turn_deg: float

    @classmethod
    def of(cls, judged: JudgedRun, size: tuple[float, float]) -> _View:
        field = judged.run.field
        upright = affinity.rotate(judged.run.slat.outline, -field.turn_deg, origin=(0, 0))
        middle = affinity.rotate(shapely.Point(field.x, field.y), -field.turn_deg, origin=(0, 0))
        width, height = field.width + 2 * AROUND, field.height + 2 * AROUND
        left, low = middle.x - width / 2, middle.y - height / 2
        shown = upright.intersection(shapely.box(left, low, left + width, low + height))
        scale = min(WIDEST / width, TALLEST / height)
        room_across = size[0] - 2 * MARGIN + GAP
        room_up = size[1] - 2 * MARGIN - HEAD - FOOT + GAP
        columns = max(int(room_across / (width * scale + GAP)), 1)
        rows = max(int(room_up / (height * scale + LABEL + GAP)), 1)
        return cls(
            (left, low, width, height), tuple(areas(shown)), scale, columns, rows, size, field.turn_deg
        )

    def onto_paper(self, corner: tuple[float, float]) -> tuple[Floats, Floats]:
        """Slat mm → page mm for a picture whose lower left is at ``corner``: matrix and shift."""
        angle = -np.radians(self.turn_deg)
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        return self.scale * turn, np.array(corner) - self.scale * np.array(self.window[:2])


def _head(
    judged: JudgedRun, title: str, size: tuple[float, float], page: tuple[int, int], signed: str
) -> Iterator[Item]:
    """Title, the run in words, and the digest that is signed, on every page."""
    rule = judged.run.rule
    top = size[1] - MARGIN
    yield Words(title, MARGIN, top - 4, 3.6)
    said = (
        f"{judged.sentence} {typeface(rule.typeface).name}, capitals {rule.cap_height:g} mm "
        f"(no less than {rule.least_cap_height:g}), on “{judged.run.slat.name}”."
    )
    yield Words(said, MARGIN, top - 10, SMALL_CAP, GREY)
    yield Words(f"Signed as one: {signed}", MARGIN, top - 15, SMALL_CAP, GREY)
    yield Words(f"Page {page[0]} of {page[1]}", MARGIN, MARGIN, SMALL_CAP, GREY)


def _pieces(view: _View, pieces: Sequence[Piece]) -> list[Item]:
    inks: list[Item] = []
    for place, piece in enumerate(pieces):
        inks += _piece(view, piece, *_corner(view, place))
    return inks


def _corner(view: _View, place: int) -> tuple[float, float]:
    """Lower left of the picture at a place of its page, mm."""
    width, height = view.window[2] * view.scale, view.window[3] * view.scale
    row, column = divmod(place, view.columns)
    x = MARGIN + column * (width + GAP)
    return x, view.size[1] - MARGIN - HEAD - (row + 1) * (height + LABEL) - row * GAP + LABEL


def _piece(view: _View, piece: Piece, x: float, y: float) -> Iterator[Item]:
    """One picture with its number; what stops or is noted is told by words and frame, not by colour alone."""
    judged = piece.judged
    width, height = view.window[2] * view.scale, view.window[3] * view.scale
    wood = view.scale * np.eye(2), np.array([x, y]) - view.scale * np.array(view.window[:2])
    yield Ink([each for part in view.slat for each in _polygon(part, *wood)], WOOD)
    if judged.cut is not None:
        yield Ink(_carved(judged.cut, *view.onto_paper((x, y))), CARVED)
        if judged.check is not None and judged.stops:
            stops = [finding.place for finding in judged.check.findings if finding.severity == "stops"]
            marks = shapely.union_all([place.buffer(MARK, quad_segs=4) for place in stops])
            ring = marks.difference(marks.buffer(-0.5))
            yield Ink(
                [each for part in areas(ring) for each in _polygon(part, *view.onto_paper((x, y)))], RED
            )
    else:
        shown = textwrap.shorten(piece.entry.text, int(width / SMALL_CAP), placeholder="…")
        yield Words(shown, x + 2, y + height / 2, SMALL_CAP, RED)
    label, colour = str(piece.number), GREY
    if judged.stops:
        label, colour = f"{piece.number}  cannot be made", RED
        yield frame((x, y), width, height, 0.7, RED)
    elif judged.notes:
        label, colour = f"{piece.number}  see note", AMBER
    yield Words(label, x, y - 3.4, SMALL_CAP, colour)


def _carved(cut: Cut, matrix: Floats, shift: Floats) -> list[Contour]:
    """The outline straight from its own units onto the page."""
    placement = cut.placement
    onto_slat = np.array([placement.x, placement.y]) - placement.matrix @ cut.centre
    both, moved = matrix @ placement.matrix, matrix @ onto_slat + shift
    return [contour.moved(both, moved) for contour in cut.outline.contours]


def _polygon(shape: Polygon, matrix: Floats, shift: Floats) -> list[Contour]:
    return [straight(ring @ matrix.T + shift) for ring in rings(shape)]


def _listed(judged: JudgedRun, size: tuple[float, float]) -> list[list[Item]]:
    """The exceptions in words, over as many pages as they need."""
    lines = [*_stopped(judged), *_noted(judged)]
    fit = int((size[1] - 2 * MARGIN - HEAD - FOOT) / LINE)
    top = size[1] - MARGIN - HEAD
    return [
        [
            Words(text, MARGIN, top - (at + 1) * LINE, SMALL_CAP, colour)
            for at, (text, colour) in enumerate(lines[first : first + fit])
        ]
        for first in range(0, len(lines), fit)
    ]


def _stopped(judged: JudgedRun) -> Iterator[tuple[str, Colour]]:
    """Every piece that cannot be made, with all that is the matter."""
    stopped = [piece for piece in judged.exceptions if piece.judged.stops]
    if stopped:
        yield "Cannot be made as they are", RED
    for piece in stopped:
        text = piece.entry.text.replace("\n", " / ")
        yield f"{piece.number}, row {piece.entry.row}: {text}", RED
        for line in textwrap.wrap(" ".join(piece.judged.notes), COLUMN_CHARACTERS):
            yield line, GREY


def _noted(judged: JudgedRun) -> Iterator[tuple[str, Colour]]:
    """What is to be noted of the others: every note once, with the pieces it is about."""
    found: dict[str, list[str]] = {}
    for piece in judged.exceptions:
        lettered, check = piece.judged.lettered, piece.judged.check
        if lettered is None or check is None or piece.judged.stops:
            continue
        if check.verdict != "carves":
            found.setdefault(check.sentence, []).append(str(piece.number))
        for remark in lettered.remarks:
            heading, figure = _FIGURES[remark.code]
            found.setdefault(heading, []).append(f"{piece.number}{figure(lettered)}")
    if found:
        yield "To be noted", AMBER
    for note, pieces in found.items():
        yield note, AMBER
        for line in textwrap.wrap(f"Pieces {', '.join(pieces)}.", COLUMN_CHARACTERS):
            yield line, GREY


_FIGURES: dict[str, tuple[str, Callable[[Lettered], str]]] = {
    "smaller-letters": (
        "Smaller letters than wanted, so that they fit (height of the capitals, mm).",
        lambda lettered: f"\u00a0({int(lettered.cap_height * 10) / 10:g})",
    ),
    "tighter-spacing": (
        "Tighter letter spacing than wanted, so that they fit (em).",
        lambda lettered: f"\u00a0({lettered.tracking:g})",
    ),
    "two-lines": ("Set in two lines, so that they fit.", lambda _: ""),
}
"""Remarks of the rule of fit: heading, and the figure told of each piece."""
