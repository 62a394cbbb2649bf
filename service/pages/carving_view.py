"""A carved slat as a picture, its found places called out beside it as on a workshop drawing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.pages.drawing import Bounds, SlatView, bounds_of, centre_of, short, slat_view
from service.pages.findings import foremost
from service.pages.mark_path import mark_path

Json = Mapping[str, Any]

PICTURE_BORDER = 8.0
"""Paper around the slat in the API's views, mm."""
_FOOT_MM, _LEAST_FOOT_PX = 13.0, 34
_SCREEN = (520.0, 640.0)
"""Room that a picture usually has, CSS pixels: decides how large its marks are drawn."""
_BADGE = 11.0
_UNSEEN = 0.25
"""Share of a pixel by which a found place may be drawn off its place."""
_BARS = (500, 200, 100, 50, 20, 10)
_TOO_SMALL = 1.6
"""Mm per pixel at which art on a whole slat is too small to be judged: it is shown close then."""
_BESIDE_ART, _CLOSE_SHARE, _TOOTH = 90.0, 0.6, 6.0
"""Slat on either side of art shown close, mm; the most of a slat worth calling a part; teeth of a break, mm."""


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
        clip: SVG path of the picture that is seen: its paper, broken off with teeth where the slat goes on.
        part: the part of the slat that is shown, where it is not the whole.
        beyond: places that are marked without a number: severity and SVG path.
        bar: x, y and length of the scale bar, mm.
    """

    slat: SlatView
    view_box: str
    width: float
    height: float
    unit: float
    image: Mapping[int, tuple[float, float, float, float]]
    clip: str
    part: Bounds | None
    callouts: tuple[Callout, ...]
    beyond: tuple[tuple[str, str], ...]
    bar: tuple[float, float, int]


def carving_view(
    slat: Json, findings: Sequence[Json] = (), art: Bounds | None = None, *, few: bool = False
) -> CarvingView:
    """A slat with its found places called out beside it, as on a workshop drawing.

    Where ``art`` would be too small to be judged on the whole slat, the part around it is shown close.

    Args:
        few: only the worst of each kind get a number; the others are marked all the same.
    """
    numbered = foremost(findings) if few else frozenset(range(1, len(findings) + 1))
    own = bounds_of(slat["outline"][0])
    upright = own.height >= own.width
    part = _close(own, art, findings) if art and _unit(own) > _TOO_SMALL else None
    unit = _unit(part or own)
    room = 3.4 * _BADGE * unit if findings else 0.0
    paper = (part or own).grown(PICTURE_BORDER)
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
        clip=_clip(paper, own, upright),
        part=part,
        callouts=tuple(_callouts(findings, numbered, paper, unit, upright)),
        beyond=tuple(_beyond(findings, numbered, unit)),
        bar=_bar(paper, unit, 0.0 if upright else room),
    )


def art_of(proof: Json) -> Bounds:
    """Where a proof's art lies, slat mm."""
    at, figures = proof["facts"]["placement"], proof["check"]["figures"]
    aside, up = figures["width"] / 2, figures["height"] / 2
    return Bounds(at["x"] - aside, at["y"] - up, at["x"] + aside, at["y"] + up)


def _unit(seen: Bounds) -> float:
    return max((seen.width + 16) / _SCREEN[0], (seen.height + 16) / _SCREEN[1])


def _close(own: Bounds, art: Bounds, findings: Sequence[Json]) -> Bounds | None:
    """The part of a slat around its art and found places; ``None`` where that is most of it."""
    centres = [centre for one in findings if (centre := centre_of(one["place"]))]
    corners = [(art.left, art.low), (art.right, art.high), *centres]
    seen = bounds_of(corners).grown(_BESIDE_ART)
    upright = own.height >= own.width
    if upright:
        part = Bounds(own.left, max(own.low, seen.low), own.right, min(own.high, seen.high))
        return part if part.height < _CLOSE_SHARE * own.height else None
    part = Bounds(max(own.left, seen.left), own.low, min(own.right, seen.right), own.high)
    return part if part.width < _CLOSE_SHARE * own.width else None


def _clip(paper: Bounds, own: Bounds, upright: bool) -> str:
    """A box as an SVG path, y down; sides across which the slat goes on are broken off with teeth."""
    low, high = (paper.low, paper.high) if upright else (paper.left, paper.right)
    ends = (own.low, own.high) if upright else (own.left, own.right)
    near, far = (paper.left, paper.right) if upright else (paper.low, paper.high)
    first = _edge(near, far, low, _TOOTH if low > ends[0] else 0.0)
    last = _edge(far, near, high, -_TOOTH if high < ends[1] else 0.0)
    points = [(aside, along) if upright else (along, aside) for aside, along in (*first, *last)]
    return "M" + "L".join(f"{short(x)} {short(-y)}" for x, y in points) + "Z"


def _edge(start: float, stop: float, along: float, tooth: float) -> list[tuple[float, float]]:
    """One side of a box, straight or with teeth that point inwards."""
    count = max(2, round(abs(stop - start) / _TOOTH)) if tooth else 1
    step = (stop - start) / count
    return [(start + step * i, along + (tooth if i % 2 else 0.0)) for i in range(count + 1)]


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


def _beyond(findings: Sequence[Json], numbered: frozenset[int], unit: float) -> Iterable[tuple[str, str]]:
    """The places without a number, as one path for each severity."""
    places: dict[str, str] = {}
    for number, finding in enumerate(findings, start=1):
        if number not in numbered:
            drawn = mark_path(finding["place"], _UNSEEN * unit)
            places[finding["severity"]] = places.get(finding["severity"], "") + drawn
    return places.items()


def _callouts(
    findings: Sequence[Json], numbered: frozenset[int], paper: Bounds, unit: float, upright: bool
) -> Iterable[Callout]:
    """Numbers on the two long sides, in the order of their places, so that marks never meet."""
    middle = (paper.left + paper.right) / 2 if upright else (paper.low + paper.high) / 2
    sides: tuple[list[tuple[float, float, int, Json]], ...] = ([], [])
    for number, finding in enumerate(findings, start=1):
        centre = centre_of(finding["place"])
        if centre is None or number not in numbered:
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
            place = mark_path(finding["place"], _UNSEEN * unit)
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
