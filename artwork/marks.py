"""Marks on a picture: where each finding lies, with a shape for its severity and its number.

Shape and number carry the meaning; colour only repeats it, and both colours hold 7 : 1 against the white
figures on them, whatever the reader's colour vision.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw, ImageFont
from shapely import GeometryCollection, Polygon, dwithin, prepare
from shapely import points as points_at
from shapely.geometry.base import BaseGeometry, BaseMultipartGeometry

from artwork.curves import Floats

STOPS, WARNS, HALO = (142, 0, 56), (11, 79, 156), (255, 255, 255)
BADGE = 2.7
"""Radius of a mark, mm; never under ``LEAST_BADGE`` pixels."""
LEAST_BADGE = 9.0
WAYS = 16
"""Directions tried for a mark that must not cover another one."""
REACHES = (3.2, 4.6, 6.4, 8.6, 11.0, 14.0)
"""Distances tried, in radii of the mark."""


@dataclass(frozen=True)
class Mark:
    """One finding to be marked.

    Attributes:
        number: shown in the mark.
        stops: whether it stops the carving (a diamond) or warns (a disc).
        place: in picture pixels.
    """

    number: int
    stops: bool
    place: BaseGeometry

    @property
    def colour(self) -> tuple[int, int, int]:
        """Of its lines and its mark."""
        return STOPS if self.stops else WARNS


def draw_marks(picture: Image.Image, marks: Sequence[Mark], px_per_mm: float) -> None:
    """Draw every place, then a numbered mark beside each, none covering another while there is room."""
    marks = [mark for mark in marks if not mark.place.is_empty]
    pen = ImageDraw.Draw(picture)
    radius = max(BADGE * px_per_mm, LEAST_BADGE)
    line = max(1, round(0.35 * px_per_mm))
    for mark in marks:
        _draw_place(pen, mark, line, radius)
    font = ImageFont.load_default(size=radius * 1.15)
    # Measured by distance: a wide buffer around dense lines takes gigabytes.
    busy = GeometryCollection([mark.place for mark in marks])
    prepare(busy)
    taken: list[Floats] = []
    for mark in marks:
        anchor = np.array(mark.place.representative_point().coords[0])
        centre = _free_place(anchor, taken, busy, radius, picture.size)
        taken.append(centre)
        pen.line([*anchor, *centre], fill=HALO, width=line + 2)
        pen.line([*anchor, *centre], fill=mark.colour, width=line)
        draw_badge(pen, (float(centre[0]), float(centre[1])), radius, mark.stops)
        pen.text(tuple(centre), str(mark.number), fill=HALO, font=font, anchor="mm")


def draw_badge(pen: ImageDraw.ImageDraw, centre: tuple[float, float], radius: float, stops: bool) -> None:
    """The bare mark: a diamond that stops, a disc that warns."""
    x, y = centre
    for size, fill in ((radius + 1.5, HALO), (radius, STOPS if stops else WARNS)):
        if stops:
            r = size * 1.18
            pen.polygon([(x, y - r), (x + r, y), (x, y + r), (x - r, y)], fill=fill)
        else:
            pen.ellipse((x - size, y - size, x + size, y + size), fill=fill)


def _draw_place(pen: ImageDraw.ImageDraw, mark: Mark, line: int, radius: float) -> None:
    for points in _lines(mark.place):
        if len(points) == 1:
            (x, y), r = points[0], radius / 3
            pen.ellipse((x - r, y - r, x + r, y + r), outline=HALO, width=line + 2)
            pen.ellipse((x - r, y - r, x + r, y + r), outline=mark.colour, width=line)
            continue
        flat = [float(v) for v in points.ravel()]
        pen.line(flat, fill=HALO, width=line + 2, joint="curve")
        pen.line(flat, fill=mark.colour, width=line, joint="curve")


def _lines(place: BaseGeometry) -> Iterator[Floats]:
    """The place's lines, shape (n, 2) each; a single row for a point."""
    for part in place.geoms if isinstance(place, BaseMultipartGeometry) else (place,):
        if isinstance(part, Polygon):
            yield np.asarray(part.exterior.coords)
            yield from (np.asarray(ring.coords) for ring in part.interiors)
        elif isinstance(part, BaseMultipartGeometry):
            yield from _lines(part)
        else:
            yield np.asarray(part.coords)


def _free_place(
    anchor: Floats, taken: Iterable[Floats], busy: BaseGeometry, radius: float, size: tuple[int, int]
) -> Floats:
    """Where a mark stays in the picture, covers no other one and, if that can be, no marked place.

    Straight above its anchor when there is no such spot.
    """
    others = np.array([*taken]).reshape(-1, 2)
    turns = np.radians(-60) + np.arange(WAYS) * 2 * np.pi / WAYS
    rays = np.column_stack([np.cos(turns), np.sin(turns)])
    spots = anchor + radius * (np.array(REACHES)[:, None, None] * rays).reshape(-1, 2)
    inside = ((spots > radius * 1.3) & (spots < np.array(size) - radius * 1.3)).all(axis=1)
    apart = np.hypot(*(others[:, None] - spots).T).min(axis=1, initial=np.inf) > 2.5 * radius
    free = spots[inside & apart]
    if not len(free):
        above: Floats = anchor - np.array([0.0, radius * REACHES[0]])
        return above
    clear = ~dwithin(busy, points_at(free), 1.2 * radius)
    return np.asarray(free[int(np.argmax(clear))], np.float64)  # the first clear one, or the first of all
