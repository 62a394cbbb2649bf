"""Paths of drawings: moves, lines, cubics and closings, before they become regions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pathops
from numpy.typing import NDArray

from artwork.curves import Contour, Floats, bounds_of
from artwork.errors import EngineError

MOVE, LINE, CUBIC, CLOSE = 0, 1, 2, 3
POINTS_OF = np.array([1, 1, 3, 0])
"""How many points each verb takes."""
_FARTHEST = 1e9
ARC_STEP = math.pi / 4
"""Arcs become cubics of at most 45°, which leave a circle by at most 4.3e-6 of its radius."""

Matrix = tuple[float, float, float, float, float, float]
"""(a, b, c, d, e, f): x′ = a·x + c·y + e, y′ = b·x + d·y + f, as SVG and PDF write it."""

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Path:
    """Verbs, shape (k,), and the points they take, shape (m, 2)."""

    verbs: NDArray[np.uint8]
    points: Floats

    def moved(self, matrix: Matrix) -> Path:
        """The path under an affine map."""
        a, b, c, d, e, f = matrix
        with np.errstate(over="ignore", invalid="ignore"):
            points = self.points @ np.array([[a, b], [c, d]]) + (e, f)
        return Path(self.verbs, usable(points))

    @property
    def empty(self) -> bool:
        """Whether nothing but moves is in it."""
        return not self.verbs.any()  # a move is 0

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of all points, control points with them."""
        xs, ys = self.points.T.tolist()  # most paths are short: numpy's own least and greatest take longer
        return min(xs), min(ys), max(xs), max(ys)

    @cached_property
    def curve_box(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of the curves themselves, without their control points.

        A path of moves alone has the box of its points.
        """
        contours = self.contours()
        return bounds_of(contours) if contours else self.box

    def contours(self) -> list[Contour]:
        """Every subpath with at least one segment, closed by a straight line where it is open."""
        return contours_of((self,))[0]

    def to_skia(self, scale: float = 1.0, shift: tuple[float, float] = (0.0, 0.0)) -> pathops.Path:
        """As a skia path, every point taken to (point + shift)·scale."""
        skia = pathops.Path()
        points = iter(((self.points + shift) * scale).tolist())
        actions = {MOVE: skia.moveTo, LINE: skia.lineTo}
        for verb in self.verbs.tolist():
            if verb == CUBIC:
                skia.cubicTo(*next(points), *next(points), *next(points))
            elif verb == CLOSE:
                skia.close()
            else:
                actions[verb](*next(points))
        return skia


def contours_of(paths: Sequence[Path]) -> list[list[Contour]]:
    """:meth:`Path.contours` of each path, all worked out together."""
    if not paths:
        return []
    verbs = np.concatenate([path.verbs for path in paths])
    owner = np.repeat(np.arange(len(paths)), [len(path.verbs) for path in paths])[verbs != CLOSE]
    verbs = verbs[verbs != CLOSE]
    points = np.concatenate([path.points for path in paths])
    last = np.cumsum(POINTS_OF[verbs]) - 1  # the point that each move or segment ends on
    starts = np.flatnonzero(verbs == MOVE)
    knots = points[last]
    following = np.arange(1, len(verbs) + 1)
    stops = np.append(starts[1:], len(verbs))[: len(starts)]
    following[stops - 1] = starts  # the closing segment is straight
    controls = np.full((len(verbs), 2, 2), np.nan)
    bent = np.flatnonzero(verbs == CUBIC)
    controls[bent - 1, 0] = points[last[bent] - 2]
    controls[bent - 1, 1] = points[last[bent] - 1]
    kept = np.any(knots != knots[following], axis=1) | ~np.isnan(controls[:, 0, 0])
    before = np.concatenate([[0], np.cumsum(kept)])
    begins, ends = before[starts].tolist(), before[stops].tolist()
    knots, controls = knots[kept], controls[kept]
    found: list[list[Contour]] = [[] for _ in paths]
    for path, begin, end in zip(owner[starts].tolist(), begins, ends, strict=True):
        if end > begin:
            found[path].append(Contour(knots[begin:end], controls[begin:end]))
    return found


def from_skia(skia: pathops.Path, scale: float = 1.0, shift: tuple[float, float] = (0.0, 0.0)) -> Path:
    """The inverse of :meth:`Path.to_skia`; quadratics become cubics exactly. The path must hold no conics."""
    builder = Builder()
    for verb, points in skia:
        if verb == pathops.PathVerb.MOVE:
            builder.move(*points[0])
        elif verb == pathops.PathVerb.LINE:
            builder.line(*points[0])
        elif verb == pathops.PathVerb.QUAD:
            builder.quadratic(*points[0], *points[1])
        elif verb == pathops.PathVerb.CUBIC:
            builder.cubic(*points[0], *points[1], *points[2])
        else:
            builder.close()
    path = builder.path()
    return Path(path.verbs, path.points / scale - shift)


class Builder:
    """Collects a path."""

    def __init__(self) -> None:
        self.verbs: list[int] = []
        self.points: list[float] = []
        self.x = self.y = 0.0
        self._start = (0.0, 0.0)
        self._open = False

    def path(self) -> Path:
        """What was collected."""
        points = np.array(self.points, np.float64).reshape(-1, 2)
        return Path(np.array(self.verbs, np.uint8), usable(points))

    def move(self, x: float, y: float) -> None:
        """Starts a subpath."""
        self.verbs.append(MOVE)
        self.points += (x, y)
        self._start = (x, y)
        self._open = True
        self.x, self.y = x, y

    def line(self, x: float, y: float) -> None:
        """A straight segment."""
        self._resume()
        self.verbs.append(LINE)
        self.points += (x, y)
        self.x, self.y = x, y

    def cubic(  # noqa: PLR0917 - coordinates, in the order every drawing format has them
        self, x1: float, y1: float, x2: float, y2: float, x: float, y: float
    ) -> None:
        """A cubic segment."""
        self._resume()
        self.verbs.append(CUBIC)
        self.points += (x1, y1, x2, y2, x, y)
        self.x, self.y = x, y

    def quadratic(self, x1: float, y1: float, x: float, y: float) -> None:
        """A quadratic segment, kept exactly as a cubic."""
        x0, y0 = self.x, self.y
        self.cubic(
            x0 + 2 / 3 * (x1 - x0), y0 + 2 / 3 * (y1 - y0), x + 2 / 3 * (x1 - x), y + 2 / 3 * (y1 - y), x, y
        )

    def close(self) -> None:
        """Back to the subpath's start."""
        if self._open:
            self.verbs.append(CLOSE)
            self._open = False
        self.x, self.y = self._start

    def arc(  # noqa: PLR0917 - the arguments of SVG's command, in its order
        self, rx: float, ry: float, turn: float, large: bool, sweep: bool, x: float, y: float
    ) -> None:
        """An elliptical arc by its end points (SVG 1.1, appendix F.6); ``turn`` in degrees."""
        x0, y0 = self.x, self.y
        rx, ry = abs(rx), abs(ry)
        usable(np.array([x0, y0, x, y, rx, ry, turn]))
        if (x0, y0) == (x, y):
            return
        if rx == 0 or ry == 0:
            self.line(x, y)
            return
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        # F.6.5: into the ellipse's own frame, as a unit circle
        u = (cos * (x0 - x) + sin * (y0 - y)) / (2 * rx)
        v = (-sin * (x0 - x) + cos * (y0 - y)) / (2 * ry)
        half = math.hypot(u, v)
        if half > 1:  # F.6.6: radii too small are scaled up
            rx, ry, u, v, half = rx * half, ry * half, u / half, v / half, 1.0
        height = math.sqrt(max(0.0, 1 / half**2 - 1)) * (-1 if large == sweep else 1)
        cu, cv = height * v, -height * u
        start = math.atan2(v - cv, u - cu)
        sweep_by = math.atan2(-v - cv, -u - cu) - start
        if sweep and sweep_by < 0:
            sweep_by += 2 * math.pi
        elif not sweep and sweep_by > 0:
            sweep_by -= 2 * math.pi
        centre = (
            cos * rx * cu - sin * ry * cv + (x0 + x) / 2,
            sin * rx * cu + cos * ry * cv + (y0 + y) / 2,
        )
        self.turned_arc(centre, (rx * cos, rx * sin), (-ry * sin, ry * cos), start, sweep_by)
        self.points[-2:] = (x, y)
        self.x, self.y = x, y

    def turned_arc(
        self,
        centre: tuple[float, float],
        major: tuple[float, float],
        minor: tuple[float, float],
        start: float,
        sweep: float,
    ) -> None:
        """An arc of centre + major·cos t + minor·sin t from t = start on, ``sweep`` radians; from where the
        path stands, which must be the arc's start.
        """
        steps = max(1, math.ceil(abs(sweep) / (ARC_STEP + 1e-9)))
        step = sweep / steps
        k = 4 / 3 * math.tan(step / 4)
        (cx, cy), (ax, ay), (bx, by) = centre, major, minor
        cos, sin = math.cos(start), math.sin(start)
        for i in range(1, steps + 1):
            cos1, sin1 = math.cos(start + i * step), math.sin(start + i * step)
            p, q = cos - k * sin, sin + k * cos
            r, s = cos1 + k * sin1, sin1 - k * cos1
            self.cubic(
                cx + ax * p + bx * q,
                cy + ay * p + by * q,
                cx + ax * r + bx * s,
                cy + ay * r + by * s,
                cx + ax * cos1 + bx * sin1,
                cy + ay * cos1 + by * sin1,
            )
            cos, sin = cos1, sin1

    def ellipse(self, cx: float, cy: float, rx: float, ry: float) -> None:
        """A whole ellipse."""
        self.move(cx + rx, cy)
        self.turned_arc((cx, cy), (rx, 0.0), (0.0, ry), 0.0, 2 * math.pi)
        self.points[-2:] = (cx + rx, cy)
        self.close()

    def rectangle(  # noqa: PLR0917 - as SVG's element has them
        self, x: float, y: float, w: float, h: float, rx: float = 0.0, ry: float = 0.0
    ) -> None:
        """A rectangle, its corners rounded by rx, ry."""
        if rx <= 0 or ry <= 0:
            self.move(x, y)
            self.line(x + w, y)
            self.line(x + w, y + h)
            self.line(x, y + h)
            self.close()
            return
        rx, ry = min(rx, w / 2), min(ry, h / 2)
        self.move(x + rx, y)
        self.line(x + w - rx, y)
        self.arc(rx, ry, 0, False, True, x + w, y + ry)
        self.line(x + w, y + h - ry)
        self.arc(rx, ry, 0, False, True, x + w - rx, y + h)
        self.line(x + rx, y + h)
        self.arc(rx, ry, 0, False, True, x, y + h - ry)
        self.line(x, y + ry)
        self.arc(rx, ry, 0, False, True, x + rx, y)
        self.close()

    def _resume(self) -> None:
        """After a closing, the next segment starts a subpath where the last one started."""
        if not self._open:
            self.move(self.x, self.y)


def usable(coordinates: Floats) -> Floats:
    """The coordinates. EngineError where some are not numbers, or too far off to tell shapes apart there."""
    if not (np.abs(coordinates) < _FARTHEST).all():  # NaN compares as false
        raise EngineError(
            "coordinate-out-of-range",
            "The drawing holds a coordinate that is not a usable number.",
            "Check the drawing for stray objects far away, and export it again.",
        )
    return coordinates


def matmul(first: Matrix, second: Matrix) -> Matrix:
    """The map that does ``second``, then ``first``."""
    a, b, c, d, e, f = first
    g, h, i, j, k, m = second
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def determinant(matrix: Matrix) -> float:
    """Signed area factor of the map."""
    return matrix[0] * matrix[3] - matrix[1] * matrix[2]


def of_contours(contours: Iterable[Contour]) -> Path:
    """Closed curves as one path."""
    builder = Builder()
    for contour in contours:
        knots, controls = contour.knots.tolist(), contour.controls.tolist()
        builder.move(*knots[0])
        for end, (first, second) in zip([*knots[1:], knots[0]], controls, strict=True):
            if math.isnan(first[0]):
                builder.line(*end)
            else:
                builder.cubic(*first, *second, *end)
        builder.close()
    return builder.path()


def joined(paths: list[Path]) -> Path:
    """All paths as one."""
    if len(paths) == 1:
        return paths[0]
    return Path(np.concatenate([p.verbs for p in paths]), np.concatenate([p.points for p in paths]))
