"""Straight lines through readings, with their errors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import special

from artwork.curves import Floats


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


def t_quantile(share: float, freedom: float) -> float:
    """Of Student's distribution."""
    return float(special.stdtrit(freedom, share))
