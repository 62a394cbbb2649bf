"""A picture as it was decoded, and its ink as it was found."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import cv2
import numpy as np

from artwork.errors import EngineError
from artwork.intake.looks import Judged
from artwork.intake.values import Crop, Way

Bytes = cv2.typing.MatLike
"""An array of pixels, uint8 throughout."""

_LEAST_CROP = 8
Note = tuple[str, str, Literal["warns", "tells"]]


@dataclass(frozen=True, eq=False)
class Picture:
    """A decoded picture.

    Attributes:
        levels: (h, w) grey or (h, w, 3) sRGB, uint8.
        alpha: (h, w) uint8, or ``None`` where nothing is clear.
        lens: whether it came in a format that cameras and scanners write.
        inside: (h, w) uint8, 1 where art may be, or ``None`` for everywhere.
    """

    levels: Bytes
    alpha: Bytes | None = None
    lens: bool = False
    inside: Bytes | None = None

    def cropped(self, crop: Crop | None) -> Picture:
        """The part of the picture that was asked for."""
        if crop is None:
            return self
        height, width = self.levels.shape[:2]
        left, right = (round(share * width) for share in (crop[0], crop[2]))
        top, bottom = (round(share * height) for share in (crop[1], crop[3]))
        if right - left < _LEAST_CROP or bottom - top < _LEAST_CROP:
            raise EngineError(
                "crop-too-small",
                "The marked part of the page has next to no pixels.",
                "Mark a larger part, or send a larger picture.",
            )
        part = (slice(top, bottom), slice(left, right))
        levels = np.ascontiguousarray(np.asarray(self.levels)[part])
        alpha = None if self.alpha is None else np.ascontiguousarray(np.asarray(self.alpha)[part])
        return replace(self, levels=levels, alpha=alpha)

    @property
    def on_white(self) -> Bytes:
        """The picture on white paper, without its alpha."""
        if self.alpha is None:
            return self.levels
        weight = self.alpha if self.levels.ndim == 2 else cv2.merge([self.alpha] * 3)
        return cv2.add(cv2.multiply(self.levels, weight, scale=1 / 255), cv2.bitwise_not(weight))


@dataclass(frozen=True, eq=False)
class Inked:
    """The ink of a picture.

    Attributes:
        mask: (h, w) uint8, 1 where it is carved.
        colours: ``("#rrggbb", share of the picture, carved)`` of each ink, the ground first.
        notes: remarks as (code, message, severity).
        counts: what was found.
        grain: noise of the picture, grey levels.
        way: how its carved inks are kept apart, where that was chosen.
        looks: the ways it may look to choose from, the best first; none where there is no doubt.
    """

    mask: Bytes
    colours: tuple[tuple[str, float, bool], ...]
    notes: tuple[Note, ...] = ()
    counts: dict[str, int] = field(default_factory=dict)
    grain: float = 0.0
    way: Way | None = None
    looks: tuple[Judged, ...] = ()


def light_on_dark() -> Note:
    """The art is lighter than what it lies on."""
    return ("light-on-dark", "The art is light on a dark ground; the light part was taken.", "tells")


def blank_picture() -> EngineError:
    """Nothing is drawn on the page."""
    return EngineError(
        "blank-picture",
        "The picture is blank: nothing on it stands out from the ground.",
        "Check that the file shows your logo, and send a darker or sharper one.",
    )


def solid_picture() -> EngineError:
    """The page is one dark colour."""
    return EngineError(
        "solid-picture",
        "The whole picture is one dark colour, so there is no shape to carve.",
        "Send the logo dark on a light or transparent ground.",
    )
