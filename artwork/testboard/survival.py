"""From what width, or depth, things hold: a logistic threshold with an interval from the profile of its likelihood.

``p = 1 / (1 + exp(−(x − c·θ) / s))`` with covariates ``c``. What is asked for is the ``x`` at which a stated share
holds, ``c·θ + s·ln(share / (1 − share))``. Readings are few and often separated (all narrow ones broke, all wide ones
stand): then no best fit exists, but the likelihood still says which thresholds it does not believe. The interval holds
all whose likelihood lies near enough to the best (Wilks); because only the few readings about the threshold count, by
Student's distribution with :data:`FREEDOM` degrees in place of the normal one (common practice, no source; held
against simulated shops).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from artwork.curves import Floats
from artwork.testboard.statistics import t_quantile

SHARE = 0.95
"""Of the things at a figure's width or depth that hold."""
SOFTEST, SHARPEST = 0.8, 0.03
"""Usual bounds of ``s``, mm: wood is never quite sharp nor quite undecided (common practice, no source)."""
FREEDOM = 10
_LOGIT = float(np.log(SHARE / (1 - SHARE)))
_USUAL = 0.2
_RIDGE = 1e-7
"""Keeps coefficients finite that separated readings would let run away."""
_STEPS, _SMALL, _GAIN = 60, 1e-6, 1e-9
_FARTHEST = 12.0
_STEP = 0.05
_CLOSE = 0.002


@dataclass(frozen=True)
class Threshold:
    """Where ``SHARE`` of the things hold, mm: the likeliest, and the ends of two intervals.

    Attributes:
        value: the likeliest; the middle of the likeliest where several are equally so.
        low, high: of 95 %.
        safe: the upper end of a wider one, whose level the caller chose.
    """

    value: float
    low: float
    high: float
    safe: float


class Outcomes:
    """What held and what did not.

    Args:
        x: shape (n,), width or depth, mm.
        held: shape (n,), 1 or 0.
        covariates: shape (n, k), the first column all ones.
        softest: upper bound of ``s``, mm.
    """

    def __init__(self, x: Floats, held: Floats, covariates: Floats, softest: float = SOFTEST) -> None:
        self.x, self.held, self.covariates = x, np.asarray(held, np.float64), covariates
        self.softest = softest

    def threshold(self, at: Floats, sure: float, error: float = 0.0) -> Threshold:
        """Where most hold for the covariates ``at``.

        Args:
            at: shape (k,).
            sure: level of the wider interval, 0 to 1.
            error: standard error that all ``x`` share, mm.
        """
        profile = _Profile(self, at)
        best = profile.best()
        top, place = best.value, best.place
        usual, wide = t_quantile(0.975, FREEDOM), t_quantile((1 + sure) / 2, FREEDOM)
        low = profile.end(place, -1, top - usual**2 / 2)
        high = profile.end(place, 1, top - usual**2 / 2)
        safe = profile.end(high, 1, top - wide**2 / 2)
        flat = top - 0.01  # where readings are separated, places that differ by less are the likeliest alike
        value = (profile.end(place, -1, flat) + profile.end(place, 1, flat)) / 2
        # The error that all readings share is independent of their scatter, so the two add up in squares.
        more, most = usual * error, wide * error
        return Threshold(
            value,
            value - float(np.hypot(value - low, more)),
            value + float(np.hypot(high - value, more)),
            value + float(np.hypot(safe - value, most)),
        )

    def chance(self, x: float, at: Floats, left_out: int, sharpest: float) -> float:
        """How likely a thing holds, from all outcomes but one, with ``s`` taken for no less than ``sharpest``."""
        # Judged by the others alone: an outcome that stands out would pull the curve to itself and look usual.
        keep = np.arange(len(self.x)) != left_out
        others = Outcomes(self.x[keep], self.held[keep], self.covariates[keep], self.softest)
        best = _Profile(others, at).best()
        half = best.place - best.scale * _LOGIT
        return float(1 / (1 + np.exp(-np.clip((x - half) / max(best.scale, sharpest), -500, 500))))


@dataclass(frozen=True)
class _Best:
    place: float
    value: float
    scale: float


class _Profile:
    """Likelihood over the place asked for, everything else at its best.

    With ``b = 1 / s`` and ``g = b·θ`` of the further covariates, taken relative to ``at``, the log odds are
    ``b·(x − place) − c·g + ln(share / (1 − share))``: linear in what is sought, so there is one best and Newton's
    method finds it. ``b`` is held within its bounds.
    """

    def __init__(self, outcomes: Outcomes, at: Floats) -> None:
        self._least = 1 / outcomes.softest
        self._x, self._sign = outcomes.x, np.where(outcomes.held > 0, 1.0, -1.0)
        self._others = -(outcomes.covariates[:, 1:] - at[1:])
        self._known: dict[float, float] = {}
        self._near = np.zeros(1 + self._others.shape[1])
        self._near[0] = 1 / _USUAL

    def best(self) -> _Best:
        columns = np.column_stack([self._x, -np.ones(len(self._x)), self._others])
        start = np.array([1 / _USUAL, float(np.median(self._x)) / _USUAL, *np.zeros(self._others.shape[1])])
        found, value = _most(columns, self._sign, start, self._least)
        self._near = np.delete(found, 1)
        place = float(found[1] / found[0])
        self._known[place] = value
        return _Best(place, value, float(1 / found[0]))

    def at(self, place: float) -> float:
        """Log likelihood with the place given."""
        if place not in self._known:
            columns = np.column_stack([self._x - place, self._others])
            self._near, self._known[place] = _most(columns, self._sign, self._near, self._least)
        return self._known[place]

    def end(self, start: float, way: int, level: float) -> float:
        """How far that way the likelihood stays above a level."""
        inside, step = start, _STEP
        outside = start + way * step
        while self.at(outside) > level:
            inside, step = outside, step * 1.6
            outside += way * step
            if abs(outside - start) > _FARTHEST:
                return outside
        while abs(outside - inside) > _CLOSE:
            middle = (inside + outside) / 2
            if self.at(middle) > level:
                inside = middle
            else:
                outside = middle
        return outside


def _most(columns: Floats, sign: Floats, start: Floats, least: float) -> tuple[Floats, float]:
    """The likeliest coefficients, the first of them 1 / s within its bounds, and their log likelihood."""
    most = 1 / SHARPEST
    found, value = likeliest(columns, np.full(len(sign), _LOGIT), sign, start, most)
    if least <= found[0] <= most:
        return found, value
    bound = least if found[0] < least else most
    rest, value = likeliest(
        columns[:, 1:], _LOGIT + bound * columns[:, 0], sign, start[1:] * (bound / start[0]), np.inf
    )
    return np.array([bound, *rest]), value


def likeliest(
    columns: Floats, offset: Floats, sign: Floats, start: Floats, most: float
) -> tuple[Floats, float]:
    """The likeliest coefficients of a logistic curve, and their log likelihood.

    Damped steps to the least of a convex loss; they end where the first coefficient runs far beyond ``most``.

    Args:
        columns: shape (n, k).
        offset: shape (n,), log odds to begin with.
        sign: shape (n,), 1 where it held, −1 where it did not.
        start: shape (k,).
        most: of the first coefficient.
    """

    def loss(beta: Floats) -> float:
        return float(np.logaddexp(0.0, -sign * (columns @ beta + offset)).sum() + _RIDGE / 2 * (beta @ beta))

    beta, now = start.copy(), loss(start)
    for _ in range(_STEPS):
        p = 1 / (1 + np.exp(np.clip(sign * (columns @ beta + offset), -500, 500)))
        slope = -columns.T @ (sign * p) + _RIDGE * beta
        bend = columns.T @ (columns * (p * (1 - p))[:, None]) + _RIDGE * np.eye(len(beta))
        step = np.linalg.solve(bend, slope) if len(beta) else slope
        share, gain = 1.0, float(slope @ step)
        while share > _SMALL and (then := loss(beta - share * step)) > now - 0.25 * share * gain:
            share /= 2
        beta, now = beta - share * step, min(then, now) if len(beta) else now
        if gain < _GAIN or abs(beta[0]) > 5 * most:
            break
    return beta, -now
