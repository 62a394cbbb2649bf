"""What the wood looks like: year rings cut by the real surface, fibre along the grain, colour by species.

A board is taken as sawn flat out of a trunk whose pith runs a little askew under it. The tone at a point
comes from its distance to the pith, so rings run on truly down the walls of a groove and over a rounded
edge. Which trunk is decided by a seed: the same slat always gets the same wood.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from artwork.picture_frame import Part

if TYPE_CHECKING:
    from artwork.relief import Relief
    from artwork.workpiece import Slat

Tone = NDArray[np.float32]

FIBRE = 0.28
"""Width of a visible fibre, mm."""
FIBRE_RUN = 9.0
"""Length of a visible fibre, mm."""
END_GRAIN_DARKER = 0.34
"""How much of its light wood cut square across the grain swallows."""


@dataclass(frozen=True)
class Look:
    """Colours of one species, red, green, blue from 0 to 1; chosen by eye.

    Attributes:
        early, late: of the pale wood grown in spring and the dark wood grown in summer.
        ring: distance between year rings, mm.
        fibre: how strongly single fibres show.
    """

    early: tuple[float, float, float]
    late: tuple[float, float, float]
    ring: float
    fibre: float


LOOKS = {
    "western-redcedar": Look((0.82, 0.60, 0.42), (0.55, 0.33, 0.21), 3.4, 0.10),
    "redwood": Look((0.74, 0.46, 0.34), (0.47, 0.24, 0.18), 3.0, 0.09),
    "eastern-white-pine": Look((0.91, 0.80, 0.60), (0.76, 0.59, 0.37), 4.2, 0.07),
    "white-oak": Look((0.78, 0.66, 0.48), (0.58, 0.45, 0.30), 2.6, 0.16),
    "sapele": Look((0.60, 0.34, 0.24), (0.42, 0.21, 0.15), 2.2, 0.12),
    "mahogany": Look((0.65, 0.38, 0.26), (0.47, 0.25, 0.17), 2.6, 0.12),
    "sugar-maple": Look((0.90, 0.80, 0.66), (0.78, 0.64, 0.48), 3.0, 0.06),
}
ANY_WOOD = Look((0.80, 0.64, 0.46), (0.58, 0.42, 0.28), 3.2, 0.10)
WEATHERED = ((0.69, 0.68, 0.65), (0.46, 0.45, 0.43))
"""Early and late wood after a year or two outdoors."""


def look_of(species: str, wood: str) -> Look:
    """Colours of a species, ``"fresh"`` from the saw or ``"weathered"`` to silver grey."""
    look = LOOKS.get(species, ANY_WOOD)
    if wood == "fresh":
        return look
    early, late = (
        tuple(0.82 * grey + 0.18 * own for grey, own in zip(greys, owns, strict=True))
        for greys, owns in zip(WEATHERED, (look.early, look.late), strict=True)
    )
    return Look(early, late, look.ring, look.fibre * 1.4)  # type: ignore[arg-type]


def board_of(face: Relief, look: Look, slat: Slat) -> Board:
    """The wood that a slat's face is carved into."""
    return Board.of(face.part, face.px_per_mm, slat.grain_deg, look, slat.key)


@dataclass(frozen=True, eq=False)
class Board:
    """The wood of a board before anything is taken off it: what many carvings of one board share.

    Attributes:
        px_per_mm, grain_deg: of the picture, and of the wood counter-clockwise from the picture's x.
        part: which pixels of the whole board's picture it is asked about.
        upright: the wood with its grain running up and down; of slanting grain on a square that holds the picture.
    """

    px_per_mm: float
    grain_deg: float
    part: Part
    upright: _Upright

    @classmethod
    def of(cls, part: Part, px_per_mm: float, grain_deg: float, look: Look, seed: str) -> Board:
        """The board that ``seed`` names, of a species that looks so; other arguments are its attributes."""
        turned = grain_deg % 180
        if turned == 90:
            lying = part
        elif turned == 0:
            lying = Part(part.whole[::-1], part.where[::-1])
        else:
            lying = Part.all_of((int(np.ceil(np.hypot(*part.whole))),) * 2)
        return cls(px_per_mm, turned, part, _Upright.of(lying, px_per_mm, look, seed))

    def tone(self, below: Tone) -> Tone:
        """How dark the wood is, 0 early to 1 late wood, at each pixel of a surface ``below`` mm under the face.

        Args:
            below: shape of the part, mm, row 0 at the top. In any part the wood is as it is in the whole, but for
                rounding.
        """
        if self.grain_deg == 90:
            return self.upright.tone(below)
        if self.grain_deg == 0:
            return np.ascontiguousarray(self.upright.tone(np.ascontiguousarray(below.T)).T)
        whole = np.zeros(self.part.whole, np.float32)
        whole[self.part.where] = below
        return self._slanting(whole)[self.part.where]

    def _slanting(self, below: Tone) -> Tone:
        """Grain at any angle: laid out upright on the square, then turned."""
        height, width = below.shape
        side = self.upright.part.whole[0]
        turn = cv2.getRotationMatrix2D((side / 2, side / 2), self.grain_deg - 90, 1.0)
        turn[:, 2] += [(width - side) / 2, (height - side) / 2]
        level = cv2.warpAffine(below, turn, (side, side), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
        upright = self.upright.tone(np.asarray(level, np.float32))
        return np.asarray(cv2.warpAffine(upright, turn, (width, height), flags=cv2.INTER_LINEAR), np.float32)


@dataclass(frozen=True, eq=False)
class _Upright:
    """Wood whose grain runs up and down.

    Attributes:
        part: which pixels of the whole.
        across: shape (columns,), squared way from the pith, mm².
        depth: shape (rows, 1), of the pith under the face, mm. cloud: shape of the part, how far years wander, mm.
        levels: of a year's tone in a mm. rings: tone over the years, level after level. fibres: shape of the part.
    """

    part: Part
    across: Tone
    depth: Tone
    cloud: Tone
    levels: np.float32
    rings: Tone
    fibres: Tone

    @classmethod
    def of(cls, part: Part, px_per_mm: float, look: Look, seed: str) -> _Upright:
        rng = np.random.default_rng(zlib.crc32(seed.encode()))
        height, width = part.whole
        rows, columns = part.where
        pith = rng.uniform(-0.2, 0.2) * width / px_per_mm
        depth, askew = rng.uniform(22, 34), rng.uniform(0.02, 0.035) * rng.choice([-1, 1])
        across = (np.arange(width, dtype=np.float32) + 0.5 - width / 2) / px_per_mm - np.float32(pith)
        along = (np.arange(height, dtype=np.float32) + 0.5 - height / 2) / px_per_mm
        return cls(
            part,
            np.square(across[columns]),
            np.float32(depth) + np.float32(askew) * along[rows, None],
            _cloud(rng, part, (px_per_mm * 110, px_per_mm * 26), 2.6),
            np.float32(_LEVELS / look.ring),
            _rings(rng),
            _fibres(rng, part, px_per_mm, look.fibre),
        )

    def tone(self, below: Tone) -> Tone:
        radius = self.depth - below
        radius += self.cloud
        np.square(radius, out=radius)
        radius += self.across[None, :]
        np.sqrt(radius, out=radius)
        radius *= self.levels
        year = radius.astype(np.int32)
        year &= _LEVELS * _YEARS - 1  # a power of two: what is beyond the last year begins anew
        rings = self.rings.take(year, mode="clip")
        rings += self.fibres
        return np.asarray(rings, np.float32)


_LEVELS = 256
_YEARS = 64


def _rings(rng: np.random.Generator) -> Tone:
    """Tone over 64 years, 256 levels each: pale for most of a year, darkening, then pale again at once."""
    part = (np.arange(_LEVELS) + 0.5) / _LEVELS
    year = np.where(part < 0.90, 0.12 + 0.88 * (part / 0.90) ** 3.2, (1 - part) / 0.10)
    strength = rng.uniform(0.45, 1.0, _YEARS)
    base = rng.uniform(-0.04, 0.06, _YEARS)
    return (strength[:, None] * year[None, :] + base[:, None]).astype(np.float32).ravel()


def _cloud(rng: np.random.Generator, part: Part, cell: tuple[float, float], size: float) -> Tone:
    """Smooth noise of standard deviation about ``size``; ``cell`` is its grain in pixels, down and across."""
    rows, columns = (max(int(np.ceil(n / c)) + 3, 4) for n, c in zip(part.whole, cell, strict=True))
    return _grown(rng.normal(0, size, (rows, columns)).astype(np.float32), part, cv2.INTER_CUBIC)


def _fibres(rng: np.random.Generator, part: Part, px_per_mm: float, size: float) -> Tone:
    """Fine streaks along the grain."""
    height, width = part.whole
    rows = max(int(height / (FIBRE_RUN * px_per_mm)) + 2, 4)
    columns = max(min(int(width / (FIBRE * px_per_mm)), width), 4)
    return _grown(rng.normal(0, size, (rows, columns)).astype(np.float32), part, cv2.INTER_LINEAR)


def _grown(coarse: Tone, part: Part, how: int) -> Tone:
    """A coarse picture enlarged to the whole's size, and the part of it that is wanted."""
    height, width = part.whole
    if part.is_all:
        return np.asarray(cv2.resize(coarse, (width, height), interpolation=how), np.float32)
    across = cv2.resize(coarse, (width, len(coarse)), interpolation=how)[:, part.where[1]]
    each = np.eye(len(coarse), dtype=np.float32)  # enlarged, it holds what each coarse row gives to each row
    down = cv2.resize(each, (len(coarse), height), interpolation=how)[part.where[0]]
    return np.asarray(down @ across, np.float32)
