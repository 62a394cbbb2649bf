"""A carved slat as a picture, its found places called out beside it as on a workshop drawing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.pages.drawing import Bounds, SlatView, bounds_of, centre_of, geometry_path, short, slat_view

Json = Mapping[str, Any]

PICTURE_BORDER = 8.0
"""Paper around the slat in the API's views, mm."""
_FOOT_MM, _LEAST_FOOT_PX = 13.0, 34
_SCREEN = (520.0, 640.0)
"""Room that a picture usually has, CSS pixels: decides how large its marks are drawn."""
_BADGE = 11.0
_BARS = (500, 200, 100, 50, 20, 10)


@dataclass(frozen=True)
class Callout:
    """One found place with its number outside the slat and a line to it.

    Attributes:
        place: SVG path of the place itself.
        line: SVG path from the place to the number.
        x, y: middle of the number's mark, y down.
    """

    number: int
    severity: str
    place: str
    line: str
    x: float
    y: float


@dataclass(frozen=True)
class CarvingView:
    """A carved slat as a picture with room for its marks.

    Attributes:
        view_box: of the whole, mm, y down.
        width, height: of the view box, mm.
        unit: mm that one CSS pixel has at the usual size.
        image: x, y, width, height at which a view of a density is laid, by density.
        foot: y at which the paper under the slat ends.
        bar: x, y and length of the scale bar, mm.
    """

    slat: SlatView
    view_box: str
    width: float
    height: float
    unit: float
    image: Mapping[int, tuple[float, float, float, float]]
    callouts: tuple[Callout, ...]
    bar: tuple[float, float, int]


def carving_view(slat: Json, findings: Sequence[Json] = ()) -> CarvingView:
    """A slat with its found places called out beside it, as on a workshop drawing."""
    own = bounds_of(slat["outline"][0])
    upright = own.height >= own.width
    unit = max((own.width + 16) / _SCREEN[0], (own.height + 16) / _SCREEN[1])
    room = 3.4 * _BADGE * unit if findings else 0.0
    paper = own.grown(PICTURE_BORDER)
    below = 34 * unit
    box = Bounds(
        paper.left - (room if upright else 0.0),
        paper.low - below - (0.0 if upright else room),
        paper.right + (room if upright else 0.0),
        paper.high + (0.0 if upright else room),
    )
    return CarvingView(
        slat=slat_view(slat, 0.0),
        view_box=box.view_box,
        width=box.width,
        height=box.height,
        unit=unit,
        image={density: _laid(own, density) for density in (1, 2, 4, 8)},
        callouts=tuple(_callouts(findings, paper, unit, upright)),
        bar=_bar(paper, unit, 0.0 if upright else room),
    )


def slat_is_upright(slat: Json) -> bool:
    """Whether a slat is taller than wide: its words then go beside its picture, not under it."""
    own = bounds_of(slat["outline"][0])
    return own.height >= own.width


def density_of(slat: Json) -> int:
    """Pixels per mm that make a sharp picture of a slat on a page without making it heavy."""
    own = bounds_of(slat["outline"][0])
    return 4 if max(own.width, own.height) <= 650 else 2


def _laid(own: Bounds, density: int) -> tuple[float, float, float, float]:
    width = math.ceil((own.width + 2 * PICTURE_BORDER) * density)
    height = math.ceil((own.height + 2 * PICTURE_BORDER) * density)
    foot = max(round(_FOOT_MM * density), _LEAST_FOOT_PX)
    return (
        own.left - PICTURE_BORDER,
        -(own.high + PICTURE_BORDER),
        width / density,
        (height + foot) / density,
    )


def _bar(paper: Bounds, unit: float, lower: float) -> tuple[float, float, int]:
    length = next((mm for mm in _BARS if mm <= paper.width * 0.5), _BARS[-1])
    return paper.left + PICTURE_BORDER, -paper.low + lower + 14 * unit, length


def _callouts(findings: Sequence[Json], paper: Bounds, unit: float, upright: bool) -> Iterable[Callout]:
    """Numbers on the two long sides, in the order of their places, so that marks never meet."""
    middle = (paper.left + paper.right) / 2 if upright else (paper.low + paper.high) / 2
    sides: tuple[list[tuple[float, float, int, Json]], ...] = ([], [])
    for number, finding in enumerate(findings, start=1):
        centre = centre_of(finding["place"])
        if centre is None:
            continue
        along, aside = (centre[1], centre[0]) if upright else (centre[0], centre[1])
        sides[aside > middle].append((along, aside, number, finding))
    ends = (paper.low, paper.high) if upright else (paper.left, paper.right)
    out = 1.9 * _BADGE * unit
    at = ((paper.left - out, paper.right + out), (paper.low - out, paper.high + out))[not upright]
    for side, found in enumerate(sides):
        found.sort(key=lambda one: one[0])
        spots = _spread([one[0] for one in found], ends, 2.3 * _BADGE * unit)
        for (along, aside, number, finding), spot in zip(found, spots, strict=True):
            x, y = (at[side], -spot) if upright else (spot, -at[side])
            px, py = (aside, -along) if upright else (along, -aside)
            line = f"M{short(px)} {short(py)}L{short(x)} {short(y)}"
            place = geometry_path(finding["place"])
            yield Callout(number, finding["severity"], place, line, x, y)


def _spread(wanted: Sequence[float], ends: tuple[float, float], gap: float) -> list[float]:
    """Places near the wanted ones (ascending), ``gap`` apart where there is room for that."""
    if not wanted:
        return []
    gap = min(gap, (ends[1] - ends[0]) / len(wanted))
    spots: list[float] = []
    for place in wanted:
        spots.append(max(place, spots[-1] + gap if spots else ends[0] + gap / 2))
    limit = ends[1] - gap / 2
    for index in range(len(spots) - 1, -1, -1):
        spots[index] = min(spots[index], limit)
        limit = spots[index] - gap
    return spots
