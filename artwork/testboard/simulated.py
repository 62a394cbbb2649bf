"""Simulated shops: true figures drawn at random, a board cut with them and measured with a calliper's noise.

What the fit is held against: its intervals must hold the truth, its proposals must be safe. Ranges are wide and
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import log, radians, tan

import numpy as np

from artwork.testboard.features import BoardPlan, Feature
from artwork.testboard.fitting import LENGTHS_TOLD, MIDDLE_LENGTH
from artwork.testboard.survival import SHARE
from artwork.tooling import reach_of, slope

GONE = 0.05
"""A groove left shallower than this is not there to be measured, mm."""
_LOGIT = log(SHARE / (1 - SHARE))


@dataclass(frozen=True)
class Shop:
    """The truth about a shop, mm unless said.

    Attributes:
        tip_flat, angle_deg: of the bit.
        sanding: taken off. zero_error: how much too high the zero stood.
        uneven: standard deviation of the board's face about the zero.
        calliper: standard deviation of one reading.
        reads_at, reads_over: depth at which half of the grooves read, and how gradually.
        stands_at, across, by_length, stands_over: width at which half of the lands of 16 mm along the grain stand; by
            how much more across it and for a length 2.7 times as long; how gradually.
        round_over: radius.
    """

    tip_flat: float
    angle_deg: float
    sanding: float
    zero_error: float
    uneven: float
    calliper: float
    reads_at: float
    reads_over: float
    stands_at: float
    across: float
    by_length: float
    stands_over: float
    round_over: float

    @property
    def slope(self) -> float:
        """tan φ of the bit as it is."""
        return tan(radians(self.angle_deg) / 2)

    def truth(self) -> dict[str, float]:
        """Every figure that a fit may tell, by its key."""
        lands = {
            f"land-{angle:g}-{length:g}": self.least_land(angle, length)
            for angle in (0.0, 45.0, 90.0)
            for length in LENGTHS_TOLD
        }
        return {
            "tip_flat": self.tip_flat,
            "angle_deg": self.angle_deg,
            "depth_lost": self.sanding + self.zero_error,
            "sanding": self.sanding,
            "zero_error": self.zero_error,
            "least_depth": self.reads_at + self.reads_over * _LOGIT,
            "round_over": self.round_over,
            **lands,
        }

    def least_land(self, across_deg: float, length: float) -> float:
        """Width at which the stated share of lands stands."""
        return self.half_stand(across_deg, length) + self.stands_over * _LOGIT

    def half_stand(self, across_deg: float, length: float) -> float:
        """Width at which half of the lands stand."""
        sin = float(np.sin(radians(across_deg)))
        return self.stands_at + self.across * sin * sin + self.by_length * log(length / MIDDLE_LENGTH)


def any_shop(rng: np.random.Generator, nominal_deg: float = 60.0) -> Shop:
    """A shop at random."""
    return Shop(
        tip_flat=rng.uniform(0.05, 0.4),
        angle_deg=nominal_deg + float(np.clip(rng.normal(0, 0.8), -2.5, 2.5)),
        sanding=rng.uniform(0.1, 0.6),
        zero_error=rng.uniform(-0.3, 0.3),
        uneven=rng.uniform(0.02, 0.12),
        calliper=rng.uniform(0.03, 0.1),
        reads_at=rng.uniform(0.3, 0.9),
        reads_over=rng.uniform(0.03, 0.15),
        stands_at=rng.uniform(0.7, 1.6),
        across=rng.uniform(0.2, 1.2),
        by_length=rng.uniform(0.0, 0.25),
        stands_over=rng.uniform(0.04, 0.25),
        round_over=rng.uniform(6.0, 12.7),
    )


def measured(plan: BoardPlan, shop: Shop, rng: np.random.Generator) -> dict[str, float]:
    """The readings that this shop would take of the board, to 0.05 mm as a calliper shows them."""
    return dict(_readings(plan, shop, rng))


def _readings(plan: BoardPlan, shop: Shop, rng: np.random.Generator) -> Iterator[tuple[str, float]]:
    def calliper(value: float) -> float:
        return max(round((value + rng.normal(0, shop.calliper)) / 0.05) * 0.05, 0.0)

    thickness = plan.slat.thickness + rng.normal(0, 0.2)
    for feature in plan.features:
        off = rng.normal(0, shop.uneven)
        left = feature.depth - shop.sanding - shop.zero_error - off
        if feature.kind in ("line", "step"):
            yield f"{feature.key}.reads", float(_chance(rng, left, shop.reads_at, shop.reads_over))
            if left > GONE:
                yield f"{feature.key}.depth", calliper(left)
                if feature.kind == "line":
                    yield f"{feature.key}.width", calliper(shop.tip_flat + 2 * shop.slope * left)
        elif feature.kind in ("land", "island"):
            width = feature.width - _extra(plan, shop, feature, off)
            half = shop.half_stand(feature.across_deg, feature.length)
            yield f"{feature.key}.stands", float(_chance(rng, width, half, shop.stands_over))
        elif feature.kind == "place":
            at = thickness + rng.normal(0, 0.1)
            yield f"{feature.key}.before", calliper(at)
            yield f"{feature.key}.after", calliper(at - shop.sanding)
        elif feature.kind == "edge" and 0 < left < shop.round_over:
            yield f"{feature.key}.reach", calliper(reach_of(left, shop.round_over))
        elif feature.kind == "taper":
            yield f"{feature.key}.lost", calliper(_lost(plan, feature, feature.depth - left))


def _chance(rng: np.random.Generator, x: float, half: float, over: float) -> bool:
    return bool(rng.uniform() < 1 / (1 + np.exp(-np.clip((x - half) / over, -500, 500))))


def _extra(plan: BoardPlan, shop: Shop, feature: Feature, off: float) -> float:
    """How much wider than drawn the grooves beside a land are at the uncut face."""
    drawn = plan.bit.tip_flat + 2 * slope(plan.bit) * feature.depth
    return shop.tip_flat + 2 * shop.slope * (feature.depth - shop.zero_error - off) - drawn


def _lost(plan: BoardPlan, taper: Feature, lost: float) -> float:
    """Where a taper's programme depth is all lost, mm from its point."""
    width = plan.bit.tip_flat + 2 * slope(plan.bit) * max(lost, 0.0)
    return taper.length * min(width / taper.width, 1.0)
