"""What a shape of an office document is, and the outlines of shapes that are known by a name."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from artwork.curves import Floats

_TINY = 1e-9
_FARTHEST = 1e5
"""From the corner of its page a shape lies no farther, mm."""
_BOXES = ("rect", "rectangle", "flowChartProcess")
_ROUND_BOXES = ("roundRect", "round-rectangle", "flowChartAlternateProcess")
_ELLIPSES = ("ellipse", "circle", "flowChartConnector")
_LINES = ("line", "straightConnector1")


@dataclass(frozen=True, eq=False)
class Shape:
    """One shape, mm.

    Attributes:
        path: SVG path data.
        fitted: SVG transform that brings the path into its box, whose corner is 0, 0.
        size: of the box, width and height.
        matrix: shape (2, 3), from the box onto the page.
        fill, stroke: ``"#rrggbb"``, empty for none.
        pen: width of the stroke.
        rule: how the path is filled.
        words: written in it.
        plain: whether it is an upright box.
    """

    path: str
    fitted: str
    size: tuple[float, float]
    matrix: Floats
    fill: str
    stroke: str
    pen: float
    rule: str = "nonzero"
    words: str = ""
    plain: bool = False

    @property
    def shown(self) -> bool:
        """Whether anything of it is seen, on a page of a size that there is."""
        drawn = bool(self.path) and bool(self.fill or (self.stroke and self.pen > 0))
        return drawn and bool((np.abs(self.corners) < _FARTHEST).all())

    @property
    def corners(self) -> Floats:
        """Shape (4, 2): its box on the page, with half of its pen."""
        w, h, half = *self.size, self.pen / 2 if self.stroke else 0.0
        box = np.array(
            [[-half, -half, 1], [w + half, -half, 1], [w + half, h + half, 1], [-half, h + half, 1]]
        )
        return np.asarray(box @ self.matrix.T)


def moved(x: float, y: float) -> Floats:
    """A 3 × 3 matrix that moves."""
    return np.array([[1.0, 0.0, x], [0.0, 1.0, y], [0.0, 0.0, 1.0]])


def turned(radians: float) -> Floats:
    """A 3 × 3 matrix that turns, clockwise as the page is seen (y down)."""
    cos, sin = np.cos(radians), np.sin(radians)
    return np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])


def stretched(x: float, y: float) -> Floats:
    """A 3 × 3 matrix that scales."""
    return np.diag([x, y, 1.0])


def ellipse(w: float, h: float) -> str:
    """Path data of an ellipse that fills its box."""
    rx, ry = w / 2, h / 2
    return f"M0 {ry:g}A{rx:g} {ry:g} 0 1 1 {w:g} {ry:g}A{rx:g} {ry:g} 0 1 1 0 {ry:g}Z"


def box(w: float, h: float, radius: float = 0.0) -> str:
    """Path data of a box, its corners rounded by ``radius``."""
    r = min(radius, w / 2, h / 2)
    if r <= 0:
        return f"M0 0H{w:g}V{h:g}H0Z"
    a = f"A{r:g} {r:g} 0 0 1"
    return f"M{r:g} 0H{w - r:g}{a} {w:g} {r:g}V{h - r:g}{a} {w - r:g} {h:g}H{r:g}{a} 0 {h - r:g}V{r:g}{a} {r:g} 0Z"


def polygon(w: float, h: float, points: list[tuple[float, float]]) -> str:
    """Path data of corners given as shares of the box."""
    return "M" + "L".join(f"{x * w:g} {y * h:g}" for x, y in points) + "Z"


def named(name: str, w: float, h: float, share: float | None = None) -> str:
    """Path data of a preset shape (ECMA-376 part 1, annex D) that fills its box; empty for one that is not known.

    ``share``: its first adjustment, of the shorter side; the preset's own where ``None``.
    """
    short = min(w, h)
    if name in _BOXES:
        return box(w, h)
    if name in _ROUND_BOXES:
        return box(w, h, (0.16667 if share is None else share) * short)
    if name in _ELLIPSES:
        return ellipse(w, h)
    if name in _FIXED:
        return polygon(w, h, _FIXED[name])
    if name not in _CUT:
        return f"M0 0L{w:g} {h:g}" if name in _LINES else ""
    cut = (_CUT[name] if share is None else share) * short
    return polygon(w, h, _cut(name, cut / max(w, _TINY), cut / max(h, _TINY)))


def _ring(count: int, start: float, inner: float = 0.0) -> list[tuple[float, float]]:
    """Corners of a regular polygon, or of a star, stretched to fill the box."""
    steps = 2 * count if inner else count
    angles = start + 2 * np.pi * np.arange(steps) / steps
    far = np.where(np.arange(steps) % 2 == 1, inner, 1.0) if inner else np.ones(steps)
    at = np.stack([far * np.cos(angles), far * np.sin(angles)], axis=1)
    at = (at - at.min(axis=0)) / np.ptp(at, axis=0)
    return [(float(x), float(y)) for x, y in at]


_FIXED: dict[str, list[tuple[float, float]]] = {
    "triangle": [(0.5, 0), (1, 1), (0, 1)],
    "isosceles-triangle": [(0.5, 0), (1, 1), (0, 1)],
    "rtTriangle": [(0, 0), (1, 1), (0, 1)],
    "right-triangle": [(0, 0), (1, 1), (0, 1)],
    "diamond": [(0.5, 0), (1, 0.5), (0.5, 1), (0, 0.5)],
    "flowChartDecision": [(0.5, 0), (1, 0.5), (0.5, 1), (0, 0.5)],
    "pentagon": _ring(5, -np.pi / 2),
    "star5": _ring(5, -np.pi / 2, 0.38196),
    "star6": _ring(6, -np.pi / 2, 0.57735),
    "star8": _ring(8, -np.pi / 2, 0.75),
}
_CUT = {
    "hexagon": 0.25, "octagon": 0.29289, "parallelogram": 0.25, "trapezoid": 0.25, "plus": 0.25,
    "homePlate": 0.5, "chevron": 0.5, "rightArrow": 0.5, "leftArrow": 0.5,
}  # fmt: skip
"""Presets that one share of the shorter side decides, and what it usually is."""


def _cut(name: str, x: float, y: float) -> list[tuple[float, float]]:
    corners: dict[str, list[tuple[float, float]]] = {
        "hexagon": [(0, 0.5), (x, 0), (1 - x, 0), (1, 0.5), (1 - x, 1), (x, 1)],
        "octagon": [(x, 0), (1 - x, 0), (1, y), (1, 1 - y), (1 - x, 1), (x, 1), (0, 1 - y), (0, y)],
        "parallelogram": [(x, 0), (1, 0), (1 - x, 1), (0, 1)],
        "trapezoid": [(x, 0), (1 - x, 0), (1, 1), (0, 1)],
        "plus": [(x, 0), (1 - x, 0), (1 - x, y), (1, y), (1, 1 - y), (1 - x, 1 - y), (1 - x, 1), (x, 1),
                 (x, 1 - y), (0, 1 - y), (0, y), (x, y)],
        "homePlate": [(0, 0), (1 - x, 0), (1, 0.5), (1 - x, 1), (0, 1)],
        "chevron": [(0, 0), (1 - x, 0), (1, 0.5), (1 - x, 1), (0, 1), (x, 0.5)],
        "rightArrow": [(0, 0.25), (1 - x, 0.25), (1 - x, 0), (1, 0.5), (1 - x, 1), (1 - x, 0.75), (0, 0.75)],
        "leftArrow": [(1, 0.25), (x, 0.25), (x, 0), (0, 0.5), (x, 1), (x, 0.75), (1, 0.75)],
    }  # fmt: skip
    return corners[name]
