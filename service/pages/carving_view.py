"""The art of a proof close, its found places called out beside it as on a workshop drawing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.pages.drawing import Bounds, bounds_of, centre_of, short
from service.pages.findings import foremost
from service.pages.mark_path import mark_path

Json = Mapping[str, Any]

PICTURE_BORDER = 8.0
"""What the API's picture of a whole slat shows around it, mm."""
MARKS = 8
"""Places that are marked at once, at most: more would hide the art."""
_SCREEN = (560.0, 620.0)
"""Room that a picture usually has, CSS pixels: decides how large its marks are drawn."""
_BADGE = 11.0
_UNSEEN = 0.25
"""Share of a pixel by which a found place may be drawn off its place."""
_BARS = (500, 200, 100, 50, 20, 10)
_SHARPEST = 1400.0
"""Pixels of a picture's longer side that are sharp enough and still light."""


@dataclass(frozen=True)
class Callout:
    """One found place with its number beside the art and a line to it.

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
    """The art of a proof close, with the slat it lies on beside it.

    Attributes:
        view_box: of the close picture with its scale bar, mm, y down.
        width, height: of the view box, mm.
        unit: mm that one CSS pixel has at the usual size.
        close: the part of the slat that is shown close.
        density: pixels per mm at which it is asked for.
        slat: the slat's own bounds, with the border of its picture.
        bar: x, y and length of the scale bar, mm.
    """

    view_box: str
    width: float
    height: float
    unit: float
    close: Bounds
    density: int
    slat: Bounds
    callouts: tuple[Callout, ...]
    bar: tuple[float, float, int]


def carving_view(slat: Json, proof: Json, *, marks: int | None = MARKS) -> CarvingView:
    """A proof's art close, its found places called out beside it as on a workshop drawing.

    Args:
        slat: the model's, as the API gives it.
        proof: as the API gives it.
        marks: how many places are marked, the worst of each kind first; ``None`` for all of them.
    """
    close = Bounds(*proof["close_up"])
    findings = proof["check"]["findings"]
    unit = max(close.width / _SCREEN[0], close.height / _SCREEN[1])
    box = Bounds(close.left, close.low - 34 * unit, close.right, close.high)
    whole = bounds_of(slat["outline"][0]).grown(PICTURE_BORDER)
    return CarvingView(
        view_box=box.view_box,
        width=box.width,
        height=box.height,
        unit=unit,
        close=close,
        density=_density(close, 8),
        slat=whole,
        callouts=tuple(_callouts(findings, foremost(findings, marks), close, unit)),
        bar=_bar(close, unit),
    )


def _density(seen: Bounds, most: int) -> int:
    """Pixels per mm that make a sharp picture on a page without making it heavy."""
    longer = max(seen.width, seen.height)
    return next((d for d in (8, 4, 2) if d <= most and d * longer <= _SHARPEST), 1)


def _bar(close: Bounds, unit: float) -> tuple[float, float, int]:
    length = next((mm for mm in _BARS if mm <= close.width * 0.5), _BARS[-1])
    return close.left + 4 * unit, -close.low + 14 * unit, length


def _callouts(
    findings: Sequence[Json], numbered: frozenset[int], close: Bounds, unit: float
) -> Iterable[Callout]:
    """Numbers along the two sides, in the order of their places, so that lines never cross."""
    middle = (close.left + close.right) / 2
    sides: tuple[list[tuple[float, float, int, Json]], ...] = ([], [])
    for number, finding in enumerate(findings, start=1):
        centre = centre_of(finding["place"])
        if centre is not None and number in numbered:
            sides[centre[0] > middle].append((centre[1], centre[0], number, finding))
    at = close.left + 1.3 * _BADGE * unit, close.right - 1.3 * _BADGE * unit
    for side, found in enumerate(sides):
        found.sort(key=lambda one: one[0])
        spots = _spread([one[0] for one in found], (close.low, close.high), 2.3 * _BADGE * unit)
        for (up, aside, number, finding), spot in zip(found, spots, strict=True):
            line = f"M{short(aside)} {short(-up)}L{short(at[side])} {short(-spot)}"
            place = mark_path(finding["place"], _UNSEEN * unit)
            yield Callout(number, finding["severity"], place, line, at[side], -spot)


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
