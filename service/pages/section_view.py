"""A cross-section through a groove as SVG: what is left on an even, a low and a high board."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.pages.drawing import short

Json = Mapping[str, Any]
_AIR, _BELOW = 3.0, 2.0


@dataclass(frozen=True)
class SectionView:
    """Paths in mm, offset across and depth down.

    Attributes:
        view_box: of the whole.
        width, height: of the view box, mm.
        wood: the board as it is left where it is even.
        low, high: the face where the board lies low or high.
        bought: the face as bought.
        enough: whether the depth that is sure to be left still reads.
    """

    view_box: str
    width: float
    height: float
    wood: str
    low: str
    high: str
    bought: str
    enough: bool


def section_view(section: Json) -> SectionView:
    """From the API's section."""
    offsets = section["offsets"]
    reach, thick = offsets[-1], section["thickness"]
    height = thick + _AIR + _BELOW
    even = _line(offsets, section["even"])
    return SectionView(
        view_box=f"{short(-reach)} {short(-_AIR)} {short(2 * reach)} {short(height)}",
        width=2 * reach,
        height=height,
        wood=f"{even}L{short(reach)} {short(thick)}H{short(-reach)}Z",
        low=_line(offsets, section["low"]),
        high=_line(offsets, section["high"]),
        bought=f"M{short(-reach)} 0H{short(reach)}",
        enough=section["depth_left"] >= section["least_depth"],
    )


def _line(offsets: Sequence[float], depths: Sequence[float]) -> str:
    """A polyline without the points that lie on the straight between their neighbours."""
    points = list(zip(offsets, depths, strict=True))
    kept = [points[0]]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        if abs((before[1] + after[1]) / 2 - here[1]) > 1e-6:
            kept.append(here)
    kept.append(points[-1])
    return "M" + "L".join(f"{short(x)} {short(y)}" for x, y in kept)
