"""What is on a test board: one carved thing each, with what is known of it before it is cut."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from artwork.workpiece import Bit, Slat

Kind = Literal["line", "step", "taper", "edge", "land", "island", "place"]


@dataclass(frozen=True)
class Feature:
    """One thing to be looked at or measured.

    Attributes:
        key: as it is carved beside it, or counted from what is (``"L3"``; ``"B2-4"``: the fourth land of comb B2).
        kind: ``line``: a groove of a drawn width; ``step``: one of a programmed depth; ``taper``: one that ends in a
            point; ``edge``: one that runs off the edge that is rounded over; ``land``: wood between two grooves;
            ``island``: a round one; ``place``: where the board's thickness is measured.
        width: drawn, mm: of the groove (a taper's at its wide end), of the land; 0 for a place.
        depth: programme depth of the groove, or of those beside the land, mm.
        across_deg: angle of a land's length to the grain, 0 to 90.
        length: mm.
        box: where it lies: least x, least y, greatest x, greatest y, mm from the board's lower left corner.
    """

    key: str
    kind: Kind
    width: float
    depth: float
    across_deg: float
    length: float
    box: tuple[float, float, float, float]

    @property
    def group(self) -> str:
        """The comb of a land; for all others their kind."""
        return self.key.partition("-")[0] if self.kind == "land" else self.kind


@dataclass(frozen=True)
class Blank:
    """The offcut that it is made of; its length runs with the grain.

    Attributes:
        length, width, thickness: mm.
        species: key of the wood.
    """

    length: float = 320.0
    width: float = 139.7
    thickness: float = 25.4
    species: str = "western-redcedar"


@dataclass(frozen=True, eq=False)
class BoardPlan:
    """What the features were laid out for, and where they lie.

    Attributes:
        slat: the offcut, lower left corner at (0, 0), the grain along x.
        bit: as the shop's software knows it.
        features: in the order in which they are read.
    """

    slat: Slat
    bit: Bit
    features: tuple[Feature, ...]

    def of(self, *kinds: Kind) -> tuple[Feature, ...]:
        """The features of those kinds."""
        return tuple(each for each in self.features if each.kind in kinds)

    def feature(self, key: str) -> Feature | None:
        """The one of that key."""
        return next((each for each in self.features if each.key == key), None)
