"""Whole-bed layouts: the slats of a run side by side on the machine's bed, each on its own blank of board.

Blanks lie along the bed's y, side by side in rows; a run too long for one bed goes on on the next. Each blank
is longer than its slat at both ends; there, off every cut, are the places where it may be screwed down.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

import numpy as np
from shapely import Point, Polygon, box

from artwork.curves import Contour, Floats
from artwork.cut import Cut
from artwork.drawings.bed import FOUR_BY_EIGHT, Bed
from artwork.drawings.dxf import CHORD_TOLERANCE, add_ring, dxf_bytes, new_drawing
from artwork.drawings.scene import rings
from artwork.drawings.svg import number, path_data, ring_data
from artwork.errors import EngineError

LAYERS = {"ART": 7, "SLAT_OUTLINE": 5, "KEEP_OUTS": 1, "BOARD": 8, "SCREW_SAFE": 3, "BED": 9, "LABELS": 2}
LABEL_HEIGHT = 8.0


@dataclass(frozen=True)
class Run:
    """So many of one cut, labelled."""

    cut: Cut
    count: int
    label: str


@dataclass(frozen=True, eq=False)
class Laid:
    """One slat on its blank: bed millimetres, the slat's grain along y.

    Attributes:
        label: what is written beside it.
        blank: the board it is cut from.
        slat, keep_outs, art: of the cut, moved.
        screws: places where the blank may be screwed down.
    """

    label: str
    blank: Polygon
    slat: Polygon
    keep_outs: tuple[Polygon, ...]
    art: tuple[Contour, ...]
    screws: tuple[Polygon, ...]


@dataclass(frozen=True, eq=False)
class BedLayout:
    """One bed full: set up once, run through as many times as it says.

    Attributes:
        bed: the machine's.
        laid: what lies on it.
        number: of this layout, from 1.
        times: how many beds look like this one.
    """

    bed: Bed
    laid: tuple[Laid, ...]
    number: int
    times: int

    @property
    def title(self) -> str:
        """What is written on the bed."""
        return f"bed layout {self.number}, " + ("cut once" if self.times == 1 else f"cut {self.times} times")

    def svg(self) -> bytes:
        """At true size, grouped: bed, boards, screw-safe, slat-outlines, keep-outs, art, labels."""
        return _svg(self).encode()

    def dxf(self) -> bytes:
        """R2010, millimetres, layers as in ``LAYERS``."""
        return _dxf(self)


def bed_layouts(runs: Sequence[Run], bed: Bed = FOUR_BY_EIGHT) -> tuple[BedLayout, ...]:
    """The beds that a job takes, longest blanks first, so that rows waste little; equal ones once.

    Raises:
        EngineError: a blank does not fit the bed at all.
    """
    sizes = [_blank_size(run.cut, bed) for run in runs]
    for run, (width, length) in zip(runs, sizes, strict=True):
        if width > bed.width - 2 * bed.margin or length > bed.length - 2 * bed.margin:
            raise EngineError(
                "bed-too-small",
                f"A blank of {width:.0f} × {length:.0f} mm for '{run.cut.slat.name}' does not fit the bed.",
                "Give the bed's true size, or less room at the blank's ends.",
            )
    order = sorted(range(len(runs)), key=lambda at: (-sizes[at][1], -sizes[at][0], at))
    runs, sizes = [runs[at] for at in order], [sizes[at] for at in order]
    alike = Counter(_filled(runs, sizes, bed))
    return tuple(
        BedLayout(bed, tuple(_lay(runs[at], corner, bed) for at, corner in places), number, times)
        for number, (places, times) in enumerate(alike.items(), start=1)
    )


_Places = tuple[tuple[int, tuple[float, float]], ...]


def _filled(runs: Sequence[Run], sizes: Sequence[tuple[float, float]], bed: Bed) -> Iterator[_Places]:
    """Bed by bed: which run lies at which lower left corner.

    Runs come longest first; a blank goes into the first row with room beside it, else opens a row on the first
    bed with room for one (first fit by decreasing height, Coffman, Garey, Johnson and Tarjan, 1980).
    """
    beds: list[_Filling] = []
    for at, _ in ((at, k) for at, run in enumerate(runs) for k in range(run.count)):
        corner = next((c for filling in beds if (c := filling.take(sizes[at], bed))), None)
        if corner is None:
            beds.append(_Filling())
            corner = beds[-1].take(sizes[at], bed)
        if corner is not None:
            corner[0].places.append((at, corner[1]))
    for filling in beds:
        yield tuple(filling.places)


@dataclass
class _Filling:
    """A bed while it fills: rows as (y, height, x of the next blank), and what lies where."""

    rows: list[tuple[float, float, float]] = field(default_factory=list)
    places: list[tuple[int, tuple[float, float]]] = field(default_factory=list)

    def take(self, size: tuple[float, float], bed: Bed) -> tuple[_Filling, tuple[float, float]] | None:
        """Room for one more blank, and itself; ``None`` where there is none."""
        width, length = size
        for row, (y, height, x) in enumerate(self.rows):
            if length <= height and x + width <= bed.width - bed.margin:
                self.rows[row] = (y, height, x + width + bed.spacing)
                return self, (x, y)
        y = bed.margin if not self.rows else self.rows[-1][0] + self.rows[-1][1] + bed.spacing
        if y + length > bed.length - bed.margin:
            return None
        self.rows.append((y, length, bed.margin + width + bed.spacing))
        return self, (bed.margin, y)


def _upright(cut: Cut) -> Floats:
    """The turn that lays the slat's grain along the bed's y, shape (2, 2)."""
    angle = np.radians(90.0 - cut.slat.grain_deg)
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]).round(12)


def _blank_size(cut: Cut, bed: Bed) -> tuple[float, float]:
    points = np.asarray(cut.slat.outline.exterior.coords) @ _upright(cut).T
    width, length = np.ptp(points, axis=0)
    return max(float(width), bed.board_width), float(length) + 2 * bed.end_room


def _lay(run: Run, corner: tuple[float, float], bed: Bed) -> Laid:
    cut = run.cut
    turn = _upright(cut)
    points = np.asarray(cut.slat.outline.exterior.coords) @ turn.T
    width, length = _blank_size(cut, bed)
    low, high = points.min(axis=0), points.max(axis=0)
    foot = np.array([(low[0] + high[0]) / 2, low[1]])
    shift = np.array([corner[0] + width / 2, corner[1] + bed.end_room]) - foot

    def moved(shape: Polygon) -> Polygon:
        shell, *holes = (ring @ turn.T + shift for ring in rings(shape))
        return Polygon(shell, holes)

    x, y = corner
    return Laid(
        run.label,
        box(x, y, x + width, y + length),
        moved(cut.slat.outline),
        tuple(moved(keep_out.shape) for keep_out in cut.slat.keep_outs),
        tuple(contour.moved(turn, shift) for contour in cut.placed().contours),
        tuple(_screws(moved(cut.slat.outline), (x, y, x + width, y + length), bed)),
    )


def _screws(slat: Polygon, blank: tuple[float, float, float, float], bed: Bed) -> Iterator[Polygon]:
    """Two places at each end of the blank, clear of the straight bit's way around the slat."""
    x0, y0, x1, y1 = blank
    cut_out = slat.buffer(bed.bit_diameter)
    for y in (y0 + 1.5 * bed.screw_radius, y1 - 1.5 * bed.screw_radius):
        for share in (0.25, 0.75):
            place = Point(x0 + share * (x1 - x0), y).buffer(bed.screw_radius, quad_segs=8)
            if not place.intersects(cut_out):
                yield place


def _svg(layout: BedLayout) -> str:
    bed = layout.bed
    size = number(bed.width), number(bed.length)
    outline = box(0, 0, bed.width, bed.length)
    groups = (
        ("bed", [outline], "#777777"),
        ("boards", [laid.blank for laid in layout.laid], "#b08050"),
        ("screw-safe", [place for laid in layout.laid for place in laid.screws], "#2f6f4f"),
        ("slat-outlines", [laid.slat for laid in layout.laid], "#000000"),
        ("keep-outs", [shape for laid in layout.laid for shape in laid.keep_outs], "#b3261e"),
    )
    lines = "".join(
        f'<g id="{name}" fill="none" stroke="{colour}" stroke-width="0.5">'
        + "".join(f'<path d="{"".join(map(ring_data, rings(shape)))}"/>' for shape in shapes)
        + "</g>\n"
        for name, shapes, colour in groups
    )
    art = "".join(f'<path d="{path_data(laid.art)}"/>' for laid in layout.laid)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{size[0]}mm" height="{size[1]}mm" '
        f'viewBox="0 {number(-bed.length)} {size[0]} {size[1]}">\n'
        f"<title>{escape(layout.title)}, true size</title>\n"
        f'{lines}<g id="art" fill="#000000" fill-rule="evenodd" stroke="none">{art}</g>\n'
        f"{_labels(layout)}</svg>\n"
    )


def _labels(layout: BedLayout) -> str:
    words = "".join(
        f'<text x="{number(x)}" y="{number(-y)}">{escape(laid.label)}</text>'
        for laid in layout.laid
        for x, y in [_label_place(laid)]
    )
    style = f'font-family="sans-serif" font-size="{number(LABEL_HEIGHT)}" fill="#555555"'
    x, y = _title_place(layout)
    title = f'<text x="{number(x)}" y="{number(-y)}">{escape(layout.title)}</text>'
    return f'<g id="labels" {style}>{title}{words}</g>\n'


def _title_place(layout: BedLayout) -> tuple[float, float]:
    """In the bed's front margin."""
    return layout.bed.margin, 2.0


def _label_place(laid: Laid) -> tuple[float, float]:
    """On the blank's lower end, beside the left screw."""
    x0, y0, _, _ = laid.blank.bounds
    return x0 + 4.0, y0 + laid.slat.bounds[1] / 2 - y0 / 2 + LABEL_HEIGHT


def _dxf(layout: BedLayout) -> bytes:
    drawing = new_drawing(LAYERS)
    space = drawing.modelspace()
    bed = layout.bed

    def add_label(words: str, place: tuple[float, float]) -> None:
        space.add_text(words, height=LABEL_HEIGHT, dxfattribs={"layer": "LABELS", "insert": place})

    add_ring(space, rings(box(0, 0, bed.width, bed.length))[0], "BED")
    add_label(layout.title, _title_place(layout))
    for laid in layout.laid:
        for layer, shapes in (
            ("BOARD", (laid.blank,)),
            ("SCREW_SAFE", laid.screws),
            ("SLAT_OUTLINE", (laid.slat,)),
            ("KEEP_OUTS", laid.keep_outs),
        ):
            for shape in shapes:
                for ring in rings(shape):
                    add_ring(space, ring, layer)
        for contour in laid.art:
            add_ring(space, contour.polyline(CHORD_TOLERANCE), "ART")
        add_label(laid.label, _label_place(laid))
    return dxf_bytes(drawing)
