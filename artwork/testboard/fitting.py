"""A shop's figures from the readings of its test board, each with its interval.

With the tip's flat ``t``, ``m`` = tan φ and the depth lost ``a`` (sanding and zero error together), a groove of
programme depth ``d`` is left ``d − a`` deep and ``t + 2·m·(d − a)`` wide. So widths over programme depths lie on a
line of slope ``2·m``; the depths give ``a``; both give ``t``. Thickness before and after gives the sanding alone, and
what remains of ``a`` is the zero's error. Intervals of these come from leaving out one groove after another (the
jackknife of Efron and Stein, 1981), because width and depth of one groove share its place on an uneven board.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import atan, degrees, sqrt

import numpy as np

from artwork.curves import Floats
from artwork.errors import EngineError
from artwork.testboard import suspects
from artwork.testboard.features import BoardPlan, Feature
from artwork.testboard.readings import Readings, refuse_bad
from artwork.testboard.statistics import fit_line, t_quantile
from artwork.testboard.survival import Outcomes, Threshold
from artwork.testboard.suspects import Suspect
from artwork.tooling import slope

SURE = 0.995
"""Level of the interval whose safe end is proposed; its upper end is too low once in 400 times."""
LEAST_WIDTHS, LEAST_SPREAD = 5, 1.5
"""Readings of widths that an angle needs, and over how many mm of programme depth they must lie."""
LEAST_DEPTHS = 4
LEAST_PLACES = 3
LEAST_TAPS = 8
LEAST_LANDS = 20
WOOD_SHARP, EYES_SHARP = 0.2, 0.1
"""How gradually lands stand and grooves read at least, mm, when a tap is called odd (common practice, no source)."""
EYES_SOFT = 0.2
"""How gradually grooves read at most, mm: eyes are surer than wood (common practice, no source)."""
MIDDLE_LENGTH = 16.0
"""Of a land, mm: lengths count as the logarithm of their ratio to it."""
LENGTHS_TOLD = (8.0, 16.0, 32.0)
"""Of lands, mm, for which the least width is told."""


@dataclass(frozen=True)
class Figure:
    """One of the shop's figures.

    Attributes:
        key: ``tip_flat``, ``angle_deg``, ``depth_lost``, ``sanding``, ``zero_error``, ``least_depth``,
            ``round_over``, ``island``, ``land-0-8`` (angle to the grain in degrees, length in mm) and so on.
        value, low, high: the likeliest, and the ends of its 95 % interval; mm, the angle in degrees.
        safe: the upper end of a wider interval (:data:`SURE`), which a proposal uses.
        readings: how many stand behind it.
    """

    key: str
    value: float
    low: float
    high: float
    safe: float
    readings: int


@dataclass(frozen=True)
class Missing:
    """A figure that the readings do not give: why, and the keys of those that would help most."""

    key: str
    words: str
    helpful: tuple[str, ...]


@dataclass(frozen=True)
class Fit:
    """All that the readings say. Measured ``suspects`` were left out of it; odd taps are told, and counted."""

    figures: tuple[Figure, ...]
    missing: tuple[Missing, ...]
    suspects: tuple[Suspect, ...]

    def figure(self, key: str) -> Figure | None:
        """The one of that key."""
        return next((each for each in self.figures if each.key == key), None)


def fit(plan: BoardPlan, readings: Readings, confirmed: Iterable[str] = ()) -> Fit:
    """The shop's figures.

    Args:
        plan: of the board that was measured.
        readings: what was read; what was skipped is not in it.
        confirmed: keys of readings that were measured again and are right, however odd they look.

    Raises:
        EngineError: ``too-few-readings`` where they give no figure at all; ``no-such-reading``,
            ``reading-out-of-range``.
    """
    refuse_bad(plan, readings)
    odd = suspects.mistyped(plan, readings, frozenset(confirmed))
    left = {each.key for each in odd}
    taken = {key: value for key, value in readings.items() if key not in left}
    work = _Work(plan, taken)
    odd += tuple(work.odd_taps(frozenset(confirmed)))
    if not work.figures:
        helpful = [key for each in work.missing for key in each.helpful][:6]
        raise EngineError(
            "too-few-readings",
            f"{len(readings)} readings are too few to say anything about the shop. "
            + (work.missing[0].words if work.missing else ""),
            f"These would help most: {', '.join(helpful)}.",
        )
    return Fit(tuple(work.figures), tuple(work.missing), odd)


class _Work:
    def __init__(self, plan: BoardPlan, readings: Readings) -> None:
        self.plan, self.readings = plan, readings
        self.figures: list[Figure] = []
        self.missing: list[Missing] = []
        self.tip, self.slope, self.lost = plan.bit.tip_flat, slope(plan.bit), 0.0
        self.zero = 0.0
        self._bit()
        self._losses()
        self._reading_depth()
        self._lands()
        self._islands()
        self._round_over()

    # what was read, by kind

    def _read(self, what: str, features: Sequence[Feature]) -> tuple[list[Feature], Floats]:
        found = [each for each in features if f"{each.key}.{what}" in self.readings]
        return found, np.array([self.readings[f"{each.key}.{what}"] for each in found])

    def _unread(self, what: str, features: Sequence[Feature], count: int) -> tuple[str, ...]:
        keys = [f"{each.key}.{what}" for each in features]
        return tuple(key for key in keys if key not in self.readings)[:count]

    # widths and depths

    def _bit(self) -> None:
        """Angle and tip from the widths, and the depth lost from the depths."""
        lines, widths = self._read("width", self.plan.of("line"))
        depth_at, depths = self._read("depth", self.plan.of("line", "step"))
        programmed = np.array([each.depth for each in lines])
        if len(depths) >= LEAST_DEPTHS:
            apart = np.array([each.depth for each in depth_at]) - depths
            self.lost = float(apart.mean())
            self._figure("depth_lost", self.lost, _spread(apart) / sqrt(len(apart)), len(apart))
        else:
            words = f"The depth lost needs the depths of at least {LEAST_DEPTHS} grooves."
            wide = sorted(self.plan.of("step"), key=lambda each: -each.depth)
            self.missing.append(Missing("depth_lost", words, self._unread("depth", wide, 4)))
        if len(widths) < LEAST_WIDTHS or np.ptp(programmed) < LEAST_SPREAD:
            words = (
                f"The bit's angle needs the widths of at least {LEAST_WIDTHS} lines, narrow and wide, "
                f"{LEAST_SPREAD:g} mm of depth apart."
            )
            ends = sorted(self.plan.of("line"), key=lambda each: -abs(each.width - 2.0))
            self.missing.append(Missing("angle_deg", words, self._unread("width", ends, 4)))
            return
        keys = sorted({each.key for each in (*lines, *depth_at)})
        estimate = self._estimator(lines, widths, depth_at, depths)
        whole = estimate(frozenset())
        parts = np.array([estimate(frozenset((key,))) for key in keys])
        errors = np.sqrt((len(keys) - 1) / len(keys) * ((parts - parts.mean(axis=0)) ** 2).sum(axis=0))
        self.slope = whole[0] / 2
        freedom = len(lines) - 2
        self._figure("angle_deg", whole[0], float(errors[0]), len(lines), freedom=freedom, shown=_angle)
        if len(depths) >= LEAST_DEPTHS:
            self.tip = whole[1]
            self._figure("tip_flat", whole[1], float(errors[1]), len(keys), freedom=freedom)

    def _estimator(
        self, lines: Sequence[Feature], widths: Floats, depth_at: Sequence[Feature], depths: Floats
    ) -> Callable[[frozenset[str]], tuple[float, float]]:
        """Slope of width over depth, and the tip's flat, from all grooves but those named."""

        def estimate(without: frozenset[str]) -> tuple[float, float]:
            keep = np.array([each.key not in without for each in lines])
            fitted = fit_line(np.array([each.depth for each in lines])[keep], widths[keep])
            lost = [
                each.depth - depth
                for each, depth in zip(depth_at, depths, strict=True)
                if each.key not in without
            ]
            return fitted.slope, fitted.intercept + fitted.slope * (float(np.mean(lost)) if lost else 0.0)

        return estimate

    def _losses(self) -> None:
        """Sanding from the thickness; the zero's error is what else was lost of the depth."""
        places = [
            each
            for each in self.plan.of("place")
            if f"{each.key}.before" in self.readings and f"{each.key}.after" in self.readings
        ]
        lost = self.figure("depth_lost")
        if len(places) < LEAST_PLACES:
            words = f"Sanding needs the thickness before and after at {LEAST_PLACES} places."
            if lost is not None:
                words += f" Sanding and zero error together are {lost.value:.2f} mm."
            helpful = self._unread("before", self.plan.of("place"), 3) + self._unread(
                "after", self.plan.of("place"), 3
            )
            self.missing.append(Missing("sanding", words, helpful))
            self.zero = 0.0
            return
        sanded = np.array(
            [self.readings[f"{each.key}.before"] - self.readings[f"{each.key}.after"] for each in places]
        )
        error = _spread(sanded) / sqrt(len(sanded))
        self._figure("sanding", float(sanded.mean()), error, len(sanded))
        if lost is not None:
            self.zero = lost.value - float(sanded.mean())
            both = sqrt(error**2 + self._error(lost) ** 2)
            freedom = min(len(sanded), lost.readings) - 1
            self._figure("zero_error", self.zero, both, len(sanded) + lost.readings, freedom=freedom)

    def _error(self, figure: Figure) -> float:
        return (figure.high - figure.low) / 2 / t_quantile(0.975, figure.readings - 1)

    # taps

    def _reading_depth(self) -> None:
        grooves, reads = self._read("reads", self.plan.of("line", "step"))
        if len(reads) < LEAST_TAPS or reads.min() == reads.max():
            words = (
                f"The depth that still reads needs at least {LEAST_TAPS} grooves looked at, "
                "some that read and some that faded."
            )
            shallow = sorted(self.plan.of("line", "step"), key=lambda each: abs(each.depth - self.lost - 0.8))
            self.missing.append(Missing("least_depth", words, self._unread("reads", shallow, 6)))
            return
        found = self.read_outcomes(grooves, reads).threshold(np.ones(1), SURE)
        self._threshold("least_depth", found, len(reads))

    def read_outcomes(self, grooves: Sequence[Feature], reads: Floats) -> Outcomes:
        """Over the depth left."""
        left = np.array([self._left(each) for each in grooves])
        return Outcomes(left, reads, np.ones((len(reads), 1)), EYES_SOFT)

    def _left(self, groove: Feature) -> float:
        """Depth left of a groove: measured where it was, else worked out; halfway between where both are known."""
        worked_out = groove.depth - self.lost
        measured = self.readings.get(f"{groove.key}.depth")
        return worked_out if measured is None else (worked_out + measured) / 2

    def _lands(self) -> None:
        lands, stands = self._read("stands", self.plan.of("land"))
        if len(stands) < LEAST_LANDS or stands.max() == 0:
            words = f"The least lands need at least {LEAST_LANDS} lands looked at, some of which stand."
            middle = sorted(self.plan.of("land"), key=lambda each: abs(each.width - 1.6))
            self.missing.append(Missing("land", words, self._unread("stands", middle, 9)))
            return
        outcomes = self.land_outcomes(lands, stands)
        seen = {each.across_deg for each in lands}
        for across in (0.0, 45.0, 90.0):
            near = sum(each.across_deg == across for each in lands)
            if across not in seen:
                words = f"No land at {across:g}° to the grain was looked at."
                there = [each for each in self.plan.of("land") if each.across_deg == across]
                self.missing.append(Missing(f"land-{across:g}", words, self._unread("stands", there[::3], 6)))
                continue
            for length in LENGTHS_TOLD:
                found = outcomes.threshold(_covariates(across, length), SURE, self._extra_error)
                self._threshold(f"land-{across:g}-{length:g}", found, near)

    def land_outcomes(self, lands: Sequence[Feature], stands: Floats) -> Outcomes:
        """Over the width that was really left when they were carved."""
        width = np.array([each.width for each in lands]) - self.groove_extra
        return Outcomes(
            width, stands, np.array([_covariates(each.across_deg, each.length) for each in lands])
        )

    @property
    def groove_extra(self) -> float:
        """How much wider than drawn the grooves beside the lands are at the uncut face, mm."""
        beside = self.plan.of("land")[0]
        drawn = self.plan.bit.tip_flat + 2 * slope(self.plan.bit) * beside.depth
        return self.tip + 2 * self.slope * (beside.depth - self.zero) - drawn

    @property
    def _extra_error(self) -> float:
        """Standard error of :attr:`groove_extra`: the zero's, for the bit's hardly counts."""
        zero = self.figure("zero_error")
        return 0.0 if zero is None else 2 * self.slope * self._error(zero)

    def _islands(self) -> None:
        islands, stands = self._read("stands", self.plan.of("island"))
        if len(stands) >= 4 and stands.min() < stands.max():
            width = np.array([each.width for each in islands]) - self.groove_extra
            found = Outcomes(width, stands, np.ones((len(stands), 1))).threshold(np.ones(1), SURE)
            self._threshold("island", found, len(stands))

    def _round_over(self) -> None:
        """Each groove that runs off the edge ends where the round-over has lowered the face to its bottom."""
        edges, reach = self._read("reach", self.plan.of("edge"))
        radii = np.array([_radius(x, each.depth - self.lost) for each, x in zip(edges, reach, strict=True)])
        if len(radii) >= 3:
            error = _spread(radii) / sqrt(len(radii))
            self._figure("round_over", float(radii.mean()), error, len(radii))

    def odd_taps(self, confirmed: frozenset[str]) -> Iterable[Suspect]:
        """A tap that the others make hardly believable: told, but left in, for wood has such places."""
        lands, stands = self._read("stands", self.plan.of("land"))
        if len(stands) >= LEAST_LANDS and stands.max() > stands.min():
            outcomes = self.land_outcomes(lands, stands)
            names = [f"{each.key}.stands" for each in lands]
            yield from suspects.odd_taps(outcomes, names, ("stands", "broke"), confirmed, WOOD_SHARP)
        grooves, reads = self._read("reads", self.plan.of("line", "step"))
        if len(reads) >= LEAST_TAPS and reads.max() > reads.min():
            names = [f"{each.key}.reads" for each in grooves]
            read = self.read_outcomes(grooves, reads)
            yield from suspects.odd_taps(read, names, ("reads", "faded"), confirmed, EYES_SHARP)

    # figures

    def figure(self, key: str) -> Figure | None:
        return next((each for each in self.figures if each.key == key), None)

    def _figure(
        self,
        key: str,
        value: float,
        error: float,
        readings: int,
        *,
        freedom: int | None = None,
        shown: Callable[[float], float] = float,
    ) -> None:
        degrees_ = readings - 1 if freedom is None else freedom
        reach = error * t_quantile(0.975, degrees_)
        safe = error * t_quantile((1 + SURE) / 2, degrees_)
        self.figures.append(
            Figure(
                key, shown(value), shown(value - reach), shown(value + reach), shown(value + safe), readings
            )
        )

    def _threshold(self, key: str, found: Threshold, readings: int) -> None:
        self.figures.append(
            Figure(key, max(found.value, 0.0), max(found.low, 0.0), found.high, found.safe, readings)
        )


def _covariates(across_deg: float, length: float) -> Floats:
    """Ones, sin² of the angle to the grain, logarithm of the length: what a land's strength goes by."""
    sin = float(np.sin(np.radians(across_deg)))
    return np.array([1.0, sin * sin, np.log(length / MIDDLE_LENGTH)])


def _spread(values: Floats) -> float:
    return float(values.std(ddof=1))


def _angle(doubled_slope: float) -> float:
    """Included angle, degrees, for width gained a mm of depth."""
    return 2 * degrees(atan(doubled_slope / 2))


def _radius(reach: float, depth: float) -> float:
    """Of the round-over that has lowered the face by ``depth`` at ``reach`` mm from the edge.

    The inverse of :func:`artwork.tooling.drop` in the radius:
    ``(R − h)² = R² − (R − x)²`` with h the depth: ``R = x + h + √(2·x·h)``.
    """
    depth = max(depth, 0.0)
    return reach + depth + sqrt(2 * max(reach, 0.0) * depth)
