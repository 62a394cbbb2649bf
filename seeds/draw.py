"""Draws the demo artwork into ``seeds/artwork`` (``python -m seeds.draw``); the files are committed.

Everything is composed here from curves of our own. The crest is in mm for a 139.7 mm slat, y up.
"""

from __future__ import annotations

import io
import itertools
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.interpolate import PchipInterpolator
from shapely import LineString, MultiPolygon, Point, Polygon, affinity, unary_union
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour, Floats
from artwork.tracing import TraceSettings, trace
from seeds.draw_mark import own_mark

HERE = Path(__file__).parent / "artwork"
LAND = 3.3
"""Least wood left between two carved regions of the crest, mm."""
LINE = 2.6
"""Least width of the crest's lines, mm."""
THIN, BODY = 5.0, 7.4
"""Widths of the dragonfly's lines, px: 0.9 mm where the wide slat lets it be 118 mm wide."""


def bezier(*points: tuple[float, float], steps: int = 60) -> Floats:
    """Points along a Bézier curve of any degree, shape (steps + 1, 2)."""
    t = np.linspace(0.0, 1.0, steps + 1)[:, None]
    level = [np.broadcast_to(np.array(p, float), (steps + 1, 2)) for p in points]
    while len(level) > 1:
        level = [(1 - t) * a + t * b for a, b in itertools.pairwise(level)]
    return level[0]


def _bowl(x: float, y: float, r: float, first: float, last: float) -> list[tuple[float, float]]:
    turns = np.radians(np.linspace(first, last, 49))
    return list(zip(x + r * np.cos(turns), y + r * np.sin(turns), strict=True))


def _eased(at: Floats, places: list[float], values: list[float]) -> Floats:
    return np.asarray(PchipInterpolator(places, values)(at), np.float64)


def _lengths(line: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])


def _along(line: Floats, lengths: Floats, place: float) -> tuple[Floats, float]:
    """Point and heading at a length along a line; beyond its end, straight on."""
    here, ahead = (
        np.array([np.interp(at, lengths, line[:, k]) for k in (0, 1)]) for at in (place - 0.5, place + 0.5)
    )
    step = ahead - here
    return (here + ahead) / 2, float(np.arctan2(step[1], step[0]))


def swept(spine: Floats, widths: Floats) -> BaseGeometry:
    """The region a round brush of changing width leaves along a spine."""
    discs = [Point(p).buffer(w / 2, quad_segs=24) for p, w in zip(spine, widths, strict=True)]
    return unary_union([unary_union([a, b]).convex_hull for a, b in itertools.pairwise(discs)])


def leaflet(base: Floats, angle: float, length: float, width: float, bend: float = 0.0) -> BaseGeometry:
    """A fern's leaflet: full at a third of its length, rounded at its tip."""
    reach = np.array([np.cos(angle), np.sin(angle)])
    side = np.array([-reach[1], reach[0]])
    middle = base + reach * length * 0.55 + side * bend
    spine = bezier(tuple(base), tuple(middle), tuple(base + reach * length), steps=24)
    t = np.linspace(0.0, 1.0, len(spine))
    shape = _eased(t, [0.0, 0.22, 0.52, 0.78, 1.0], [0.5, 0.72, 1.0, 0.86, 0.52])
    return swept(spine, shape * width)


def fern() -> BaseGeometry:
    """The right-hand frond: out from the foot, up, and rolled inwards at its tip."""
    rise = bezier((5.5, -52), (34, -50), (50, -12), (38, 34), steps=160)
    turns = np.linspace(0.0, 2.1 * np.pi, 160)
    radius = np.linspace(12.5, 4.6, 160)
    ahead = np.arctan2(*(rise[-1] - rise[-2])[::-1])
    inward = np.array([-np.sin(ahead), np.cos(ahead)])
    centre = rise[-1] + inward * radius[0]
    angle = np.arctan2(*(-inward)[::-1]) + turns
    curl = centre + radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    spine = np.vstack([rise, curl[1:]])
    stem = swept(spine, np.linspace(4.4, 2.9, len(spine)))
    along = _lengths(rise)
    leaves = []
    for place in np.arange(15.0, along[-1] - 2, 11.9):
        at, heading = _along(rise, along, place)
        fade = np.interp(place, [15, 32, 58, along[-1]], [0.6, 1.0, 1.0, 0.62])
        leaves.append(leaflet(at, heading - np.radians(56), 21.5 * fade, 5.6, bend=2.4))
        if 34 < place < along[-1] - 12:
            leaves.append(leaflet(at, heading + np.radians(48), 14.5 * fade, 4.8, bend=-1.2))
    return unary_union([stem, *leaves])


def quill() -> BaseGeometry:
    """A feather cut to a pen, upright: two vanes, cut into barbs, on a shaft left standing."""
    shaft = bezier((0, -64), (0, -30), (-3.5, 14), (2.5, 66), steps=200)
    along = _lengths(shaft)
    feather = shaft[along > 47]
    t = np.linspace(0.0, 1.0, len(feather))
    full = _eased(t, [0, 0.05, 0.2, 0.45, 0.72, 0.9, 1.0], [6, 13, 21, 24, 21, 13, 4.5])
    rib = LineString(shaft[(along > 42) & (along < along[-1] - 11)]).buffer(LAND / 2 + 0.1)
    vane = swept(feather, full).difference(rib)
    for place, side in ((58, 1), (64, -1), (76, 1), (83, -1), (94, 1), (101, -1)):
        at, heading = _along(shaft, along, place)
        way = heading + side * np.radians(40)
        notch = LineString([at, at + 30 * np.array([np.cos(way), np.sin(way)])])
        vane = vane.difference(notch.buffer(LAND / 2 + 0.1))
    bare = shaft[along <= 38.5]
    reach = np.linspace(0.0, 1.0, len(bare))
    pen = swept(bare, _eased(reach, [0, 0.22, 0.36, 1], [LINE, 6.0, 4.4, 4.4]))
    return unary_union([vane, pen])


LETTERS: dict[str, tuple[float, list[list[tuple[float, float]]]]] = {
    "Q": (12.4, [[*_bowl(6.2, 6.2, 6.2, 0, 360)], [(9.2, 3.2), (12.6, -0.6)]]),
    "U": (9.6, [[(0, 12.4), (0, 4.8), *_bowl(4.8, 4.8, 4.8, 180, 360), (9.6, 12.4)]]),
    "I": (0.0, [[(0, 0), (0, 12.4)]]),
    "L": (6.2, [[(0, 12.4), (0, 0), (6.2, 0)]]),
    "F": (6.8, [[(0, 0), (0, 12.4), (6.8, 12.4)], [(0, 6.0), (5.4, 6.0)]]),
    "E": (6.8, [[(6.8, 0), (0, 0), (0, 12.4), (6.8, 12.4)], [(0, 6.2), (5.4, 6.2)]]),
    "R": (
        8.4,
        [[(0, 0), (0, 12.4), (4.6, 12.4), *_bowl(4.6, 8.9, 3.5, 90, -90), (0, 5.4)], [(4.2, 5.4), (8.4, 0)]],
    ),
    "N": (10.4, [[(0, 0), (0, 12.4), (10.4, 0), (10.4, 12.4)]]),
}
"""Capitals of one even line, drawn for the crest: advance and strokes, mm, 12.4 high between centre lines."""


def lettering(text: str, gap: float = 6.2) -> BaseGeometry:
    """Words in ``LETTERS``, centred on x = 0, standing on y = 0."""
    strokes, x = [], 0.0
    for sign in text:
        wide, lines = LETTERS[sign]
        strokes += [
            LineString([(px + x, py) for px, py in line]).buffer(1.35, quad_segs=24) for line in lines
        ]
        x += wide + gap
    return affinity.translate(unary_union(strokes), -(x - gap) / 2)


def crest() -> BaseGeometry:
    """The garden's crest: a quill between two fronds, over its name."""
    front = quill()
    frond = fern()
    sides = unary_union([frond, affinity.scale(frond, -1, 1, origin=(0, 0))])
    above = unary_union([front, sides.difference(front.buffer(LAND + 0.1))])
    return settled(unary_union([above, affinity.translate(lettering("QUILLFERN"), 0, -90)]))


def settled(shape: BaseGeometry) -> BaseGeometry:
    """No line thinner than ``LINE``, no land narrower than ``LAND``, no crumbs."""
    opened = shape.buffer(-LINE / 2, quad_segs=32).buffer(LINE / 2, quad_segs=32)
    closed = opened.buffer(LAND / 2, quad_segs=32).buffer(-LAND / 2, quad_segs=32)
    opened = closed.buffer(-LINE / 2, quad_segs=32).buffer(LINE / 2, quad_segs=32)
    kept = [part for part in _polygons(opened) if part.area > 12]
    return unary_union(kept)


WINGS = (
    # a wing's outline as a closed chain of two cubics, px right of and below the middle of the back
    ((24, 90), (80, 30), (285, 14), (300, 58), (310, 92), (120, 112), (24, 106)),
    ((24, 118), (90, 116), (262, 128), (268, 164), (270, 196), (100, 186), (24, 134)),
)
VEINS = (((92, 86), (170, 62), (250, 64)), ((92, 142), (150, 152), (224, 160)))


def dragonfly() -> list[tuple[Floats, float]]:
    """A dragonfly with its wings spread, as strokes in px, y down: (points, width)."""
    strokes: list[tuple[Floats, float]] = []
    for side in (-1, 1):
        for wing in WINGS:
            at = [(x * side, y) for x, y in wing]
            edge = np.vstack([bezier(*at[:4]), bezier(*at[3:])])
            strokes.append((np.vstack([edge, edge[:1]]), THIN))
        strokes += [(bezier(*((x * side, y) for x, y in vein)), THIN) for vein in VEINS]
        strokes.append((bezier((9 * side, 41), (14 * side, 27), (32 * side, 20)), THIN))
    body = [(y, y + 6) for y in range(119, 206, 19)]
    strokes += [(np.array([[0, top], [0, low]], float), BODY) for top, low in body]
    return [*strokes, (_ring(13, 66), THIN), (np.array([[0, 96], [0, 101]], float), 2 * BODY)]


def _ring(radius: float, y: float) -> Floats:
    turns = np.linspace(0, 2 * np.pi, 60)
    return np.column_stack([radius * np.cos(turns), y + radius * np.sin(turns)])


def inked(shape: BaseGeometry, px_per_mm: float, size: tuple[int, int], over: int = 2) -> NDArray[np.uint8]:
    """A shape in the middle of a picture, 255 where inked, anti-aliased by ``over`` samples each way."""
    mask = np.zeros((size[1] * over, size[0] * over), np.uint8)
    x0, y0, x1, y1 = shape.bounds
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    for part in _polygons(shape):
        rings = [part.exterior, *part.interiors]
        scale, shift = np.array([px_per_mm, -px_per_mm]) * over, np.array(size) * over / 2
        pixels = [((np.asarray(r.coords) - middle) * scale + shift).round().astype(np.int32) for r in rings]
        cv2.fillPoly(mask, pixels, 255)
    return np.asarray(cv2.resize(mask, size, interpolation=cv2.INTER_AREA))


def write_scan(shape: BaseGeometry) -> bytes:
    """The crest printed, a little worn, laid askew on a flatbed and saved as a JPEG of 3000 x 3000 px."""
    rng = np.random.default_rng(20260611)
    size = 3000
    ink = inked(affinity.rotate(shape, 0.9), 16.2, (size, size)).astype(np.float32) / 255
    coarse = cv2.GaussianBlur(rng.normal(0, 1, (size // 4, size // 4)).astype(np.float32), (0, 0), 2.2)
    worn = cv2.resize(coarse, (size, size), interpolation=cv2.INTER_CUBIC)
    ragged = ink + 0.06 * worn * (ink > 0.02) * (ink < 0.98)
    ink = np.asarray(cv2.GaussianBlur(ragged, (0, 0), 1.6), np.float32)
    y, x = np.mgrid[0:size, 0:size].astype(np.float32) / size
    light = 0.93 - 0.20 * x * y - 0.10 * (x - 0.3) ** 2 - 0.05 * y
    fibres = cv2.resize(
        cv2.GaussianBlur(rng.normal(0, 1, (size // 6, size // 6)).astype(np.float32), (0, 0), 1.0),
        (size, size),
    )
    paper = light * (1 + 0.03 * fibres)
    shade = np.asarray(paper * (1 - ink) + ink * (0.17 + 0.05 * x + 0.05 * worn), np.float64)
    dust = np.ones_like(shade)
    for px, py, r in zip(
        rng.uniform(0, size, 40), rng.uniform(0, size, 40), rng.uniform(1, 4, 40), strict=True
    ):
        cv2.circle(dust, (int(px), int(py)), int(r), float(rng.uniform(0.62, 0.78)), -1, cv2.LINE_AA)
    shade = np.minimum(shade, dust)
    shade = shade + rng.normal(0, 0.022, shade.shape)
    colour = np.clip(shade[..., None] * np.array([1.0, 0.985, 0.94], np.float32), 0, 1)
    out = io.BytesIO()
    Image.fromarray((colour * 255).astype(np.uint8)).save(out, "JPEG", quality=46, dpi=(300, 300))
    return out.getvalue()


def write_thin() -> bytes:
    """The dragonfly, 640 px wide with thin lines."""
    strokes = [LineString(points).buffer(width / 2, quad_segs=24) for points, width in dragonfly()]
    drawing = affinity.scale(unary_union(strokes), 1, -1, origin=(0, 0))
    ink = inked(drawing, 1.0, (640, 240), over=8).astype(np.float32)
    picture = Image.fromarray((255 - ink * (235 / 255)).astype(np.uint8))
    out = io.BytesIO()
    picture.save(out, "PNG", optimize=True)
    return out.getvalue()


def write_svg(shape: BaseGeometry, title: str) -> bytes:
    """A drawing as an SVG of curves, in millimetres: its fine mask, traced."""
    px_per_mm, border = 20.0, 4
    x0, y0, x1, y1 = shape.bounds
    wide, high = (int(np.ceil((hi - lo) * px_per_mm)) + 2 * border for lo, hi in ((x0, x1), (y0, y1)))
    mask = inked(shape, px_per_mm, (wide, high)) > 127
    curves = trace(mask, TraceSettings(speck=20, corner=1.0, tolerance=1.2))
    body = "\n".join(
        _path(curve.moved(np.diag([1, -1]) / px_per_mm, np.array([0, high / px_per_mm]))) for curve in curves
    )
    size = f"{wide / px_per_mm:g}", f"{high / px_per_mm:g}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{size[0]}mm" height="{size[1]}mm" '
        f'viewBox="0 0 {size[0]} {size[1]}">\n'
        f"<title>{title}</title>\n"
        f'<path fill="#1d3b2f" fill-rule="evenodd" d="{body}"/>\n</svg>\n'
    ).encode()


def _path(curve: Contour) -> str:
    """One closed curve as SVG path data, 0.001 mm."""
    words = ["M" + _pair(curve.knots[0])]
    for end, (first, second), straight in zip(
        np.roll(curve.knots, -1, axis=0), curve.controls, curve.straight, strict=True
    ):
        words.append("L" + _pair(end) if straight else "C" + " ".join(map(_pair, (first, second, end))))
    return "".join(words) + "Z"


def _pair(point: Floats) -> str:
    return f"{point[0]:.3f},{point[1]:.3f}"


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    if isinstance(shape, Polygon):
        return [shape]
    if isinstance(shape, MultiPolygon):
        return list(shape.geoms)
    return []


def main() -> None:
    """Write the four files."""
    HERE.mkdir(exist_ok=True)
    shape = crest()
    title = "Quillfern Botanical Garden: a quill between two fern fronds"
    (HERE / "crest.svg").write_bytes(write_svg(shape, title))
    (HERE / "scan.jpg").write_bytes(write_scan(shape))
    (HERE / "thin.png").write_bytes(write_thin())
    (HERE / "mark.svg").write_bytes(write_svg(own_mark(), "Oxbarrow Benchworks: horns over a barrow"))


if __name__ == "__main__":
    main()
