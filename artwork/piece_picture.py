"""The whole piece of furniture from the front, with every carved slat in its place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.furniture import ModelLayout, Surround
from artwork.grain import look_of
from artwork.preview import PAPER, Picture, clear_webp, cover_of, lit_wood, png
from artwork.relief import Relief, bare, relief
from artwork.workpiece import Slat

LONGER_SIDE = 1600
"""Of the finished picture, pixels."""
OVERSAMPLED = 2
BORDER_SHARE = 0.04
"""Paper around the piece, as a share of its longer side."""
SURROUND_ROUND_OVER = 9.525
BEHIND_DARKER = 0.72
"""Light that reaches parts behind the slats."""
SHADOW_MM, SHADOW_SOFT_MM, SHADOW_DARKNESS = (3.0, 4.0), 3.0, 0.38
"""A part's shadow on what lies behind it: shift right and down, softness, how dark."""
_BAND = 32
"""Rows that are blended at a time: what is worked on stays in the processor's cache."""


@dataclass(frozen=True)
class _Seen:
    """One part to be painted: its face and where its own origin lies in the piece."""

    slat: Slat
    cut: Cut | None
    x: float
    y: float
    turn_deg: float
    light: float


def piece_png(layout: ModelLayout, cuts: Sequence[Cut], wood: str = "fresh") -> bytes:
    """The piece with the cuts on their slats: same values, same bytes. Arguments as for :func:`piece`."""
    return png(piece(layout, cuts, wood))


def piece_webp(layout: ModelLayout, cuts: Sequence[Cut], wood: str = "fresh") -> bytes:
    """As :func:`piece_png`, about a tenth of its size and clear where there is no wood: for pages."""
    painted = _painted(layout, cuts, wood, exact=False)
    return clear_webp(painted[..., :3] * 255, painted[..., 3])


def piece(layout: ModelLayout, cuts: Sequence[Cut], wood: str) -> Picture:
    """The picture itself on paper, shape (h, w, 3), red green blue.

    Args:
        layout: the furniture model.
        cuts: at most one per slat, matched by the slat's key.
        wood: ``"fresh"`` or ``"weathered"``.
    """
    painted = _painted(layout, cuts, wood, exact=True)
    on_paper = painted[..., :3] + PAPER * (1 - painted[..., 3:])
    picture: Picture = cv2.convertScaleAbs(np.minimum(on_paper, 1), alpha=255)  # type: ignore[assignment]
    return picture


def _painted(layout: ModelLayout, cuts: Sequence[Cut], wood: str, *, exact: bool) -> NDArray[np.float32]:
    """Shape (h, w, 4): red, green, blue times how opaque it is, and that, each 0 to 1."""
    parts = list(_parts(layout, {cut.slat.key: cut for cut in cuts}))
    x0, y0, x1, y1 = _bounds(parts)
    border = BORDER_SHARE * max(x1 - x0, y1 - y0)
    px_per_mm = LONGER_SIDE * OVERSAMPLED / (max(x1 - x0, y1 - y0) + 2 * border)
    width, height = (
        OVERSAMPLED * round((length + 2 * border) * px_per_mm / OVERSAMPLED) for length in (x1 - x0, y1 - y0)
    )
    canvas = np.zeros((height, width, 4), np.float32)
    for part in parts:
        _paint(canvas, part, np.array([x0 - border, y1 + border]), px_per_mm, wood, exact=exact)
    size = (width // OVERSAMPLED, height // OVERSAMPLED)
    return np.asarray(cv2.resize(canvas, size, interpolation=cv2.INTER_AREA), np.float32)


def _parts(layout: ModelLayout, cuts: dict[str, Cut]) -> Iterator[_Seen]:
    """Everything that is seen, the farthest first."""
    yield from (_surround(each) for each in layout.surrounds if each.behind)
    for placed in (each for each in layout.slats if each.face == "front"):
        cut = cuts.get(placed.slat.key)
        slat = placed.slat if cut is None else cut.slat
        yield _Seen(slat, cut, placed.x, placed.y, placed.turn_deg, 1.0)
    yield from (_surround(each) for each in layout.surrounds if not each.behind)


def _surround(part: Surround) -> _Seen:
    slat = Slat(part.name, part.name, part.outline, 25.4, part.grain_deg, SURROUND_ROUND_OVER)
    low = min(
        slat.outline.bounds[2] - slat.outline.bounds[0], slat.outline.bounds[3] - slat.outline.bounds[1]
    )
    slat = replace(slat, round_over=min(SURROUND_ROUND_OVER, low / 2.5))
    return _Seen(slat, None, 0.0, 0.0, 0.0, BEHIND_DARKER if part.behind else 1.0)


def _bounds(parts: Sequence[_Seen]) -> tuple[float, float, float, float]:
    corners = np.concatenate([_turned(np.asarray(p.slat.outline.exterior.coords), p) for p in parts])
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def _turned(points: Floats, part: _Seen) -> Floats:
    turn = np.radians(part.turn_deg)
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    moved: Floats = points @ rotation.T + [part.x, part.y]
    return moved


def _paint(
    canvas: NDArray[np.float32], part: _Seen, corner: Floats, px_per_mm: float, wood: str, *, exact: bool
) -> None:
    """Lay one lit part on the canvas, with the shadow it casts on what is already there."""
    border = 2.0
    face = (
        bare(part.slat, px_per_mm, border)
        if part.cut is None
        else relief(part.cut, px_per_mm, border, exact=exact)
    )
    look = look_of(part.slat.species, wood)
    lit = np.stack([*lit_wood(face, look, part.slat)], axis=-1)
    rows, columns = _region(part, corner, px_per_mm, canvas.shape)
    patch = canvas[rows, columns]
    into = _placing(face, part, corner, px_per_mm) - [[0, 0, columns.start], [0, 0, rows.start]]
    size = patch.shape[1::-1]
    wood_there = cv2.warpAffine(lit, into, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    cover = cv2.warpAffine(cover_of(face), into, size, flags=cv2.INTER_LINEAR)
    shift = np.array([[1, 0, SHADOW_MM[0] * px_per_mm], [0, 1, SHADOW_MM[1] * px_per_mm]], np.float32)
    shade = cv2.GaussianBlur(cv2.warpAffine(cover, shift, size), (0, 0), SHADOW_SOFT_MM * px_per_mm)
    layers = [np.asarray(each, np.float32) for each in (wood_there, cover, shade)]
    for top in range(0, len(patch), _BAND):
        band = slice(top, top + _BAND)
        face_there, cover_there, shade_there = (each[band] for each in layers)
        _blend(patch[band], face_there, np.float32(part.light), cover_there, shade_there)


def _blend(
    on: NDArray[np.float32],
    wood: NDArray[np.float32],
    light: np.float32,
    cover: NDArray[np.float32],
    shade: NDArray[np.float32],
) -> None:
    """Darken what is there by the shadow, then lay the wood over it where the part covers it."""
    dark = np.float32(SHADOW_DARKNESS) * shade
    left = 1 - dark
    for channel in range(3):  # one at a time: numpy is slow along an axis of three
        shaded = on[..., channel] * left
        on[..., channel] = shaded + (wood[..., channel] * light - shaded) * cover
    shaded = on[..., 3] + (1 - on[..., 3]) * dark
    on[..., 3] = shaded + (1 - shaded) * cover


def _region(part: _Seen, corner: Floats, px_per_mm: float, shape: tuple[int, ...]) -> tuple[slice, slice]:
    """Rows and columns of the canvas that the part or its shadow can reach."""
    points = (_turned(np.asarray(part.slat.outline.exterior.coords), part) - corner) * [px_per_mm, -px_per_mm]
    spread = (max(SHADOW_MM) + 3 * SHADOW_SOFT_MM) * px_per_mm
    low = np.maximum(np.floor(points.min(axis=0) - spread), 0).astype(int)
    high = np.minimum(np.ceil(points.max(axis=0) + spread), [shape[1], shape[0]]).astype(int)
    return slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0]))


def _placing(face: Relief, part: _Seen, corner: Floats, px_per_mm: float) -> Floats:
    """Pixels of the part's own picture → pixels of the canvas, shape (2, 3)."""
    corners = np.array([[0.0, 0.0], [100.0, 0.0], [0.0, 100.0]])
    own = face.pixels(corners) - 0.5
    there = (_turned(corners, part) - corner) * [px_per_mm, -px_per_mm] - 0.5
    return np.asarray(cv2.getAffineTransform(own.astype(np.float32), there.astype(np.float32)), np.float64)
