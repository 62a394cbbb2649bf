"""A cross-section through a groove as SVG: what is left on an even, a low and a high board."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.pages.drawing import short

Json = Mapping[str, Any]
_AIR = 1.5
"""Shown above the face as bought, mm."""
_SHARE = 0.7
"""A section is shown as deep as this share of its width; the board below that is broken off."""
_UNDER = 2.0
"""Wood shown under the deepest groove at least, mm."""
_TOOTH = 0.5
"""Size of the zigzag by which a drawing says that something is broken off, mm."""


@dataclass(frozen=True)
class SectionView:
    """Paths in mm, offset across and depth down.

    Attributes:
        view_box: of the whole.
        width, height: of the view box, mm.
        wood: the board as it is left where it is even; closed, unless it is broken off.
        low, high: the face where the board lies low or high.
        bought: the face as bought.
        rule: ticks every millimetre below the finished face, longer ones every five.
        figures: depth below the finished face → where its figure stands, every five millimetres.
        broken: whether the board goes on below what is drawn.
        enough: whether the depth that is sure to be left still reads.
    """

    view_box: str
    width: float
    height: float
    wood: str
    low: str
    high: str
    bought: str
    rule: str
    figures: Mapping[int, tuple[float, float]]
    broken: bool
    enough: bool


def section_view(section: Json) -> SectionView:
    """From the API's section."""
    offsets = section["offsets"]
    reach, thick = offsets[-1], section["thickness"]
    deepest = max(*section["high"], *section["even"])
    shown = min(thick, max(2 * reach * _SHARE, deepest + _UNDER))
    broken = shown < thick
    foot = _zigzag(reach, shown) if broken else f"L{short(reach)} {short(shown)}H{short(-reach)}"
    height = shown + _AIR + 2 * _TOOTH
    face = min(section["face"])
    depths = range(int(shown - face) + 1)
    return SectionView(
        view_box=f"{short(-reach)} {short(-_AIR)} {short(2 * reach)} {short(height)}",
        width=2 * reach,
        height=height,
        wood=f"{_line(offsets, section['even'])}{foot}Z",
        low=_line(offsets, section["low"]),
        high=_line(offsets, section["high"]),
        bought=f"M{short(-reach)} 0H{short(reach)}",
        rule="".join(
            f"M{short(-reach)} {short(face + mm)}h{short(0.05 * reach if mm % 5 else 0.1 * reach)}"
            for mm in depths
        ),
        figures={mm: (-reach + 0.12 * reach, face + mm) for mm in depths if mm % 5 == 0 and mm},
        broken=broken,
        enough=section["depth_left"] >= section["least_depth"],
    )


def _zigzag(reach: float, depth: float) -> str:
    """From the right edge to the left along a broken edge."""
    teeth = max(round(2 * reach / (2 * _TOOTH)), 2)
    step = 2 * reach / teeth
    points = [(reach - i * step, depth + (_TOOTH if i % 2 else 0.0)) for i in range(teeth + 1)]
    return "".join(f"L{short(x)} {short(y)}" for x, y in points)


def _line(offsets: Sequence[float], depths: Sequence[float]) -> str:
    """A polyline without the points that lie on the straight between their neighbours."""
    points = list(zip(offsets, depths, strict=True))
    kept = [points[0]]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        if abs((before[1] + after[1]) / 2 - here[1]) > 1e-6:
            kept.append(here)
    kept.append(points[-1])
    return "M" + "L".join(f"{short(x)} {short(y)}" for x, y in kept)
