"""The assembled piece: where each slat sits, and the parts it is cut from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
import shapely
from annotated_types import Ge, Gt, Le
from shapely import Polygon, affinity

from artwork.curves import Floats
from artwork.workpiece import Degrees, Slat

MIRRORED = 0.5
"""Slats whose places mirror each other within this are a pair, mm: finer than anybody assembles."""

Face = Literal["front", "rear"]
Place = Annotated[float, Ge(-10_000), Le(10_000)]
"""Of a slat in its piece, mm."""
Length = Annotated[float, Ge(0), Le(100_000)]
Minutes = Annotated[float, Ge(0), Le(100_000)]
"""Of work on a piece."""


@dataclass(frozen=True)
class PlacedSlat:
    """A slat where it sits in the front view of the assembled piece.

    A point ``(u, v)`` of the slat goes to ``(x, y) + R(turn) · (u, v)``, mm, y upwards.

    Attributes:
        slat: the part, in its own frame.
        x, y: where the slat's own origin lies in the piece.
        turn_deg: degrees counter-clockwise.
        carries_art: whether a client may put art on it.
        art_y: where the middle of the art is laid at first, mm above the slat's own zero; ``None``: as on the slat
            that mirrors it, else where it becomes largest.
        art_high: how high art is laid at most at first, mm; ``None``: as on the slat that mirrors it,
            else as high as fits.
        carries_mark: whether the workshop's own mark may be on it though no client's art is.
        face: which face is carved; a ``"rear"`` one is drawn as seen from behind, and not seen from the front.
    """

    slat: Slat
    x: Place
    y: Place
    turn_deg: Degrees = 0.0
    carries_art: bool = True
    art_y: Place | None = None
    art_high: Annotated[float, Gt(0), Le(100_000)] | None = None
    carries_mark: bool = False
    face: Face = "front"

    @property
    def marked(self) -> bool:
        """Whether anything may be carved on it."""
        return self.carries_art or self.carries_mark

    @property
    def outline(self) -> Polygon:
        """The slat's outline in the piece's frame."""
        return self.into_piece(self.slat.outline)

    def into_piece(self, shape: Polygon) -> Polygon:
        """A shape of the slat's frame in the piece's frame."""
        turned = affinity.rotate(shape, self.turn_deg, origin=(0.0, 0.0))
        return affinity.translate(turned, self.x, self.y)


@dataclass(frozen=True)
class Surround:
    """A part that is seen but never carved: a leg, an arm, the front of the seat.

    Attributes:
        name: what people call it.
        outline: its edge in the front view of the piece, mm.
        grain_deg: degrees counter-clockwise from the piece's x.
        behind: drawn behind the slats rather than in front of them.
    """

    name: str
    outline: Polygon
    grain_deg: Degrees = 0.0
    behind: bool = True


@dataclass(frozen=True)
class DrilledHole:
    """A hole of a part that is drilled anyway, for a screw or a bolt.

    Attributes:
        along, across: its middle from the part's corner, along the grain and across it, mm.
        diameter: of the hole, mm.
    """

    along: Length
    across: Length
    diameter: Annotated[float, Gt(0), Le(100)]


@dataclass(frozen=True)
class Part:
    """One line of a model's part list, as sawn from boards.

    Attributes:
        key: the slat's key where the part is a slat, else a name of its own.
        name: what people call it.
        count: how many of it one piece has.
        length, width, thickness: the rectangle it is cut from, mm; length along the grain.
        wood: key of its wood; empty: that of the slat it is, or of the model's first slat.
        holes: that are drilled anyway, so that its board may be screwed down there; a slat has its own.
    """

    key: str
    name: str
    count: Annotated[int, Ge(1), Le(1000)]
    length: Length
    width: Length
    thickness: Length
    wood: str = ""
    holes: tuple[DrilledHole, ...] = ()


@dataclass(frozen=True)
class ModelLayout:
    """A furniture model: what it looks like from the front and what it is made of.

    Attributes:
        key: stable name (``"longwalk-bench"``).
        name: what people call it.
        words: one sentence about it.
        slats: every slat, the ones lowest in the stack first.
        surrounds: what else is seen.
        parts: the full part list for one piece, the slats among them.
        shop_minutes: the maker's own work on the parts of one piece while the machine runs beside, minutes.
        assembly_minutes: putting one piece together at the customer's place, minutes.
    """

    key: str
    name: str
    words: str
    slats: tuple[PlacedSlat, ...]
    surrounds: tuple[Surround, ...] = ()
    parts: tuple[Part, ...] = ()
    shop_minutes: Minutes = 0.0
    assembly_minutes: Minutes = 0.0

    @property
    def all_parts(self) -> tuple[Part, ...]:
        """The part list with every slat in it; a slat that the list leaves out is as large as its outline."""
        listed = {part.key for part in self.parts}
        lacking = (placed.slat for placed in self.slats if placed.slat.key not in listed)
        return (*map(_part_of, lacking), *self.parts)

    def wood_of(self, part: Part) -> str:
        """Key of the wood a part is of: its own, else its slat's, else that of the model's first slat."""
        slats = {placed.slat.key: placed.slat.species for placed in self.slats}
        return part.wood or slats.get(part.key, next(iter(slats.values()), ""))

    def slat(self, key: str) -> Slat:
        """The slat of that key; ``KeyError`` when the model has none."""
        return self.placed(key).slat

    def art_y(self, key: str) -> float | None:
        """Where art is laid at first on a slat: its own place, else that of the slat that mirrors it.

        ``KeyError`` when the model has no such slat.
        """
        placed = self.placed(key)
        twin = self.mirror_of(key) if placed.art_y is None else None
        return placed.art_y if twin is None else twin.art_y

    def art_high(self, key: str) -> float | None:
        """How high art is laid at most at first on a slat: as it says, else as the slat that mirrors it does.

        ``KeyError`` when the model has no such slat.
        """
        placed = self.placed(key)
        twin = self.mirror_of(key) if placed.art_high is None else None
        return placed.art_high if twin is None else twin.art_high

    def mirror_of(self, key: str) -> PlacedSlat | None:
        """The slat that mirrors another about the upright middle of all slats; ``None`` where there is none."""
        boxes = {each.slat.key: np.array(each.outline.bounds) for each in self.slats}
        across = np.array([[box[0], box[2]] for box in boxes.values()])
        twice_the_middle = across.min() + across.max()
        left, low, right, high = boxes[key]
        mirrored = np.array([twice_the_middle - right, low, twice_the_middle - left, high])
        return next(
            (
                each
                for each in self.slats
                if each.slat.key != key and np.abs(boxes[each.slat.key] - mirrored).max() < MIRRORED
            ),
            None,
        )

    def placed(self, key: str) -> PlacedSlat:
        """The slat of that key where it sits; ``KeyError`` when the model has none."""
        for placed in self.slats:
            if placed.slat.key == key:
                return placed
        raise KeyError(key)


def upright(slat: Slat) -> Floats:
    """The turn that lays a slat's grain along y, shape (2, 2)."""
    angle = np.radians(90.0 - slat.grain_deg)
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]).round(12)


def _part_of(slat: Slat) -> Part:
    width, length = np.ptp(shapely.get_coordinates(slat.outline) @ upright(slat).T, axis=0).round(3)
    return Part(slat.key, slat.name, 1, float(length), float(width), slat.thickness)
