"""Boards on the machine's bed: every part of the pieces where the plan of boards has it, bed after bed.

Boards lie along the bed's y, side by side, in rows where they are short; one bed is one set-up.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely import Polygon, affinity, box

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.drawings.bed import FOUR_BY_EIGHT, Bed
from artwork.drawings.part_shape import Hole, PartShape, part_shape
from artwork.errors import EngineError
from artwork.furniture import DrilledHole
from artwork.workpiece import Slat

_EXACT = 1e-6
_SCREW_STEP = 20.0
"""Places for screws are looked for on a grid of this width, mm."""
_SCREW_APART = 250.0
"""Screws nearer to one another than this hold no better, mm."""
_SCREW_FROM_END = 25.0
"""A screw nearer to a board's end may split it, mm (common practice, no source)."""
HELD_BY = 2
"""Screws that hold a board."""


@dataclass(frozen=True)
class BedPart:
    """One part of a board.

    Attributes:
        label: what is written on it.
        length, width: the rectangle it is cut from, mm; length along the grain.
        along, across: its corner nearest the board's foot, from the foot and from the left edge, mm.
        slat: its outline and holes; ``None`` for a plain rectangle.
        cut: what is carved on it, ``None`` for nothing.
        drilled: holes of a plain rectangle.
    """

    label: str
    length: float
    width: float
    along: float
    across: float
    slat: Slat | None = None
    cut: Cut | None = None
    drilled: tuple[DrilledHole, ...] = ()


@dataclass(frozen=True)
class BedBoard:
    """One board to be laid: its number in the plan, what people call it, its size in mm, what comes out of it."""

    number: int
    name: str
    length: float
    width: float
    parts: tuple[BedPart, ...]


@dataclass(frozen=True, eq=False)
class LaidPart:
    """A part on the bed: its own shape, moved by ``x``, ``y``."""

    part: BedPart
    shape: PartShape
    x: float
    y: float

    @property
    def outline(self) -> Polygon:
        """Its edge, bed mm."""
        return affinity.translate(self.shape.outline, self.x, self.y)

    @property
    def holes(self) -> tuple[Hole, ...]:
        """Of screws and bolts, bed mm."""
        return tuple(Hole(hole.x + self.x, hole.y + self.y, hole.radius) for hole in self.shape.holes)


@dataclass(frozen=True, eq=False)
class LaidBoard:
    """A board on the bed.

    Attributes:
        board: what it is.
        x, y: its lower left corner, bed mm.
        parts: what comes out of it.
        screws: middles of places where it may be screwed down, clear of every cut, bed mm.
    """

    board: BedBoard
    x: float
    y: float
    parts: tuple[LaidPart, ...]
    screws: tuple[tuple[float, float], ...]

    @property
    def outline(self) -> Polygon:
        """Its edge, bed mm."""
        return box(self.x, self.y, self.x + self.board.width, self.y + self.board.length)

    @property
    def label(self) -> str:
        """What is written at its foot."""
        return f"board {self.board.number}" + (
            "" if self.held else ": no room for two screws, clamp its ends"
        )

    @property
    def held(self) -> bool:
        """Whether screws hold it at two places or more, holes of its parts among them."""
        return len(self.screws) + sum(len(part.shape.holes) for part in self.parts) >= HELD_BY


@dataclass(frozen=True, eq=False)
class BedLayout:
    """One bed full: set up once, run once.

    Attributes:
        bed: the machine's.
        boards: what lies on it.
        number: of this bed, from 1.
        job: what it is for, in words.
    """

    bed: Bed
    boards: tuple[LaidBoard, ...]
    number: int
    job: str = ""

    @property
    def title(self) -> str:
        """What is written on the bed."""
        first, last = self.boards[0].board.number, self.boards[-1].board.number
        boards = f"board {first}" if len(self.boards) == 1 else f"boards {first} to {last}"
        return " · ".join(filter(None, (self.job, f"bed {self.number}", boards)))


def bed_layouts(boards: Sequence[BedBoard], bed: Bed = FOUR_BY_EIGHT, job: str = "") -> tuple[BedLayout, ...]:
    """The beds that these boards take, in their order.

    Raises:
        EngineError: a board does not lie on the bed, or a cut would leave it.
    """
    for board in boards:
        _refuse_too_large(board, bed)
    shapes = _Shapes(bed)
    return tuple(
        BedLayout(
            bed, tuple(_laid(board, corner, bed, shapes) for board, corner in filling.places), number, job
        )
        for number, filling in enumerate(_filled(boards, bed), start=1)
    )


def _refuse_too_large(board: BedBoard, bed: Bed) -> None:
    cure = (
        "Crosscut your boards first and name the shorter length among the machine's boards, or give the bed's "
        "true size."
    )
    if board.length > bed.length + _EXACT or board.width > bed.width - 2 * bed.margin + _EXACT:
        raise EngineError(
            "bed-too-small",
            f"A board of {board.length:g} × {board.width:g} mm does not lie on a bed of {bed.length:g} × "
            f"{bed.width:g} mm with {bed.margin:g} mm kept free at its sides.",
            cure,
        )
    ends = [end for part in board.parts for end in (part.along, board.length - part.along - part.length)]
    if ends and min(ends) + max(0.0, bed.length - board.length) < bed.bit_diameter / 2 - _EXACT:
        raise EngineError(
            "cut-leaves-bed",
            f"On board {board.number} a cut lies {min(ends):g} mm from the board's end, and the board is as long as "
            f"the bed: the bit, {bed.bit_diameter:g} mm across, would leave it.",
            "Trim more off the boards' ends.",
        )


@dataclass
class _Filling:
    """A bed while it fills: rows as (y, height, x of the next board), and what lies where."""

    rows: list[tuple[float, float, float]] = field(default_factory=list)
    places: list[tuple[BedBoard, tuple[float, float]]] = field(default_factory=list)

    def take(self, board: BedBoard, bed: Bed) -> bool:
        """Lay one more board; whether there is room."""
        for row, (y, height, x) in enumerate(self.rows):
            if board.length <= height + _EXACT and x + board.width <= bed.width - bed.margin + _EXACT:
                self.rows[row] = (y, height, x + board.width + bed.spacing)
                self.places.append((board, (x, y)))
                return True
        y = (
            self.rows[-1][0] + self.rows[-1][1] + bed.spacing
            if self.rows
            else min(bed.margin, bed.length - board.length)
        )
        if y + board.length > bed.length + _EXACT:
            return False
        self.rows.append((y, board.length, bed.margin + board.width + bed.spacing))
        self.places.append((board, (bed.margin, y)))
        return True


def _filled(boards: Sequence[BedBoard], bed: Bed) -> list[_Filling]:
    """Boards in their order, each into the first bed with room for it."""
    beds: list[_Filling] = []
    for board in boards:
        if not any(filling.take(board, bed) for filling in beds):
            beds.append(_Filling())
            beds[-1].take(board, bed)
    return beds


class _Shapes:
    """The shapes of parts, each made once: hundreds of pieces are cut alike."""

    def __init__(self, bed: Bed) -> None:
        self._bed = bed
        self._made: dict[tuple[float, float, int, int, tuple[DrilledHole, ...]], PartShape] = {}

    def of(self, part: BedPart) -> PartShape:
        """The shape of a part."""
        key = (part.length, part.width, id(part.slat), id(part.cut), part.drilled)
        if key not in self._made:
            self._made[key] = part_shape(
                part.length, part.width, self._bed, part.slat, part.cut, drilled=part.drilled
            )
        return self._made[key]


def _laid(board: BedBoard, corner: tuple[float, float], bed: Bed, shapes: _Shapes) -> LaidBoard:
    x, y = corner
    parts = tuple(LaidPart(part, shapes.of(part), x + part.across, y + part.along) for part in board.parts)
    return LaidBoard(board, x, y, parts, tuple(_screws(board, corner, bed)))


def _screws(board: BedBoard, corner: tuple[float, float], bed: Bed) -> Iterator[tuple[float, float]]:
    """Places on the board that no cut comes near, far apart: towards the ends first, but not so near that it splits."""
    inset = bed.screw_radius
    clear = bed.bit_diameter + bed.screw_radius
    across = np.arange(inset, board.width - inset + _EXACT, _SCREW_STEP)
    along = np.arange(inset, board.length - inset + _EXACT, _SCREW_STEP)
    grid = np.stack(np.meshgrid(across, along), axis=-1).reshape(-1, 2)
    free = np.ones(len(grid), bool)
    for part in board.parts:
        away_x = np.maximum(part.across - grid[:, 0], grid[:, 0] - part.across - part.width)
        away_y = np.maximum(part.along - grid[:, 1], grid[:, 1] - part.along - part.length)
        apart = np.where((away_x > 0) & (away_y > 0), np.hypot(away_x, away_y), np.maximum(away_x, away_y))
        free &= apart >= clear - _EXACT
    places = grid[free]
    near_end = np.minimum(places[:, 1], board.length - places[:, 1]) < _SCREW_FROM_END
    by_end = np.argsort(-np.abs(places[:, 1] - board.length / 2), kind="stable")
    chosen: list[Floats] = []
    for at in (*by_end[~near_end[by_end]], *by_end[near_end[by_end]]):
        if near_end[at] and len(chosen) >= HELD_BY:
            break
        if all(np.hypot(*(places[at] - other)) >= _SCREW_APART for other in chosen):
            chosen.append(places[at])
    for place in sorted(chosen, key=lambda each: (each[1], each[0])):
        yield corner[0] + float(place[0]), corner[1] + float(place[1])
