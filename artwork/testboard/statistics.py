"""Straight lines and logistic curves through readings, with their errors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from artwork.curves import Floats

_STEPS = 60
"""Most steps of the logistic fit; Newton's method needs fewer than ten where there is a fit at all."""
_SMALL = 1e-12
_FAR = 30.0
"""A linear predictor beyond this says that the curve has become a step: the readings are separated."""


@dataclass(frozen=True)
class LineFit:
    """``y = intercept + slope·x`` by least squares; ``sd_…``: standard errors; ``residual_sd``: of one reading."""

    intercept: float
    slope: float
    sd_intercept: float
    sd_slope: float
    residual_sd: float
    r_squared: float
    residual_squares: float
    f: float
    count: int


def fit_line(x: Floats, y: Floats) -> LineFit:
    """Fit a line; ValueError for fewer than three readings or where all ``x`` are the same.

    Measured from the means, so that no digits are lost to a large intercept.
    """
    x, y = np.asarray(x, np.float64), np.asarray(y, np.float64)
    count = len(x)
    if count < 3 or np.ptp(x) == 0:
        raise ValueError("a line needs three readings at two places")
    mean_x, mean_y = x.mean(), y.mean()
    dx, dy = x - mean_x, y - mean_y
    square = float(dx @ dx)
    slope = float(dx @ dy) / square
    intercept = float(mean_y - slope * mean_x)
    left = dy - slope * dx
    residual = float(left @ left)
    total = float(dy @ dy)
    variance = residual / (count - 2)
    return LineFit(
        intercept,
        slope,
        float(np.sqrt(variance * (1 / count + mean_x**2 / square))),
        float(np.sqrt(variance / square)),
        float(np.sqrt(variance)),
        1 - residual / total if total else 1.0,
        residual,
        (total - residual) / variance if variance else float("inf"),
        count,
    )


@dataclass(frozen=True, eq=False)
class LogisticFit:
    """Log odds as a sum over columns: ``coefficients`` and their standard ``errors``, in the order of the columns."""

    coefficients: Floats
    errors: Floats
    deviance: float
    null_deviance: float


def fit_logistic(columns: Floats, successes: Floats, trials: Floats | None = None) -> LogisticFit:
    """Fit by maximum likelihood (Newton's method).

    Args:
        columns: shape (n, k), the first all ones.
        successes: shape (n,), of ``trials``.
        trials: shape (n,), one each where not given.

    Raises:
        ValueError: the readings are separated: a value of the columns tells all outcomes, and no fit is the best.
    """
    n = np.ones(len(successes)) if trials is None else np.asarray(trials, np.float64)
    y = np.asarray(successes, np.float64)
    beta = np.zeros(columns.shape[1])
    for _ in range(_STEPS):
        eta = columns @ beta
        if np.abs(eta).max() > _FAR:
            break
        p = 1 / (1 + np.exp(-eta))
        information = columns.T @ (columns * (n * p * (1 - p))[:, None])
        step = np.linalg.solve(information, columns.T @ (y - n * p))
        beta = beta + step
        if np.abs(step).max() <= _SMALL * (1 + np.abs(beta).max()):
            errors = np.sqrt(np.diag(np.linalg.inv(information)))
            return LogisticFit(beta, errors, _deviance(y, n, p), _deviance(y, n, y.sum() / n.sum()))
    raise ValueError("the readings are separated")


def _deviance(y: Floats, n: Floats, p: Floats | float) -> float:
    with np.errstate(divide="ignore", invalid="ignore"):
        hit = np.where(y > 0, y * np.log(y / (n * p)), 0.0)
        miss = np.where(n > y, (n - y) * np.log((n - y) / (n - n * p)), 0.0)
    return float(2 * (hit + miss).sum())


def t_quantile(share: float, freedom: float) -> float:
    """Of Student's distribution."""
    return float(stats.t.ppf(share, freedom))


def chi_square(share: float) -> float:
    """Of the distribution with one degree of freedom: how far twice a log likelihood may fall."""
    return float(stats.chi2.ppf(share, 1))
