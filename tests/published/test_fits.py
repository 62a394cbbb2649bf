"""The fits of the test board against certified and published values.

Sources: NIST StRD, linear regression, data set Norris (certified values, as several test suites quote them); the
O-ring data of the shuttle flights before STS 51-L, of which three published versions differ and are never mixed;
``docs/sources.md``.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from artwork.testboard import survival
from artwork.testboard.statistics import fit_line, t_quantile
from artwork.testboard.survival import likeliest

NORRIS_X = """0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0
228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5"""
NORRIS_Y = """0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7
228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2"""
NINE_DIGITS = 5e-10


def test_the_line_has_the_certified_values_of_norris():
    """To nine digits, as the certified values are 'lower level of difficulty'."""
    x, y = (np.array([float(word) for word in text.split()]) for text in (NORRIS_X, NORRIS_Y))
    found = fit_line(x, y)
    assert found.count == 36
    for value, certified in (
        (found.intercept, -0.262323073774029),
        (found.sd_intercept, 0.232818234301152),
        (found.slope, 1.00211681802045),
        (found.sd_slope, 0.429796848199937e-03),
        (found.residual_sd, 0.884796396144373),
        (found.r_squared, 0.999993745883712),
        (found.residual_squares, 26.6173985294224),
        (found.f, 5436385.54079785),
    ):
        assert value == pytest.approx(certified, rel=NINE_DIGITS)


# °F of the 23 flights
HEAT = [53, 57, 58, 63, 66, 67, 67, 67, 68, 69, 70, 70, 70, 70, 72, 73, 75, 75, 76, 76, 78, 79, 81]


def rings(at_53: int, at_75: int) -> np.ndarray:
    """Damaged rings: those of the coldest flight and of the hot one differ between versions."""
    damaged = np.zeros(len(HEAT))
    damaged[:4] = [at_53, 1, 1, 1]
    damaged[[10, 11]] = 1
    damaged[16] = at_75
    return damaged


VERSIONS = {
    # damaged, of how many, coefficients, deviance, deviance of no slope at all where it is quoted, chance at 31 °F
    "any damage (printed 15.0429, -0.2322)": (
        rings(1, 1), 1, (15.04290, -0.232163), 20.31519, 28.26715, 0.99961,
    ),
    "of 6 rings, 5 at 53 °F (printed 11.6630, -0.2162)": (
        rings(5, 1), 6, (11.66299, -0.216234), None, None, 0.99303,
    ),
    "of 6 rings, 2 at 53 °F (data printed, fit computed)": (
        rings(2, 2), 6, (5.08498, -0.115601), None, None, None,
    ),
}  # fmt: skip


def logistic(columns: np.ndarray, happened: np.ndarray) -> tuple[np.ndarray, float]:
    """Coefficients and deviance by the fit that finds the test board's thresholds."""
    start = np.zeros(columns.shape[1])
    sign = np.where(happened, 1.0, -1.0)
    found, _ = likeliest(columns, np.zeros(len(columns)), sign, start, np.inf)
    return found, float(2 * np.log1p(np.exp(-sign * (columns @ found))).sum())


@pytest.mark.parametrize(
    ("damaged", "of", "coefficients", "deviance", "flat", "at_freezing"), VERSIONS.values(), ids=VERSIONS
)
def test_the_logistic_curve_is_that_of_the_ring_data(
    damaged, of, coefficients, deviance, flat, at_freezing, monkeypatch
):
    """Ring by ring; the deviances and the chances that damage is done at 31 °F are those that are quoted."""
    monkeypatch.setattr(
        survival, "_RIDGE", 0.0
    )  # it keeps a board's fit finite, and would take 8e-5 of 15.04
    heat = np.repeat(np.array(HEAT, float), of)
    happened = np.concatenate([np.arange(of) < count for count in damaged])
    columns = np.column_stack([np.ones(len(heat)), heat])
    found, deviance_found = logistic(columns, happened)
    assert found == pytest.approx(coefficients, rel=5e-6)
    if deviance is not None:
        assert deviance_found == pytest.approx(deviance, abs=5e-6)
        assert logistic(columns[:, :1], happened)[1] == pytest.approx(flat, abs=5e-6)
    if at_freezing is not None:
        assert 1 / (1 + np.exp(-(found @ [1, 31]))) == pytest.approx(at_freezing, abs=5e-6)


def test_the_logistic_curve_is_that_of_the_admissions_data():
    """400 rows of UCLA's lessons in statistics (one copy has a row changed); coefficients as printed there."""
    rows = np.loadtxt(Path(__file__).parent / "admissions.csv", delimiter=",", skiprows=1)
    admit, gre, gpa, rank = rows.T
    columns = np.column_stack([np.ones(len(rows)), gre, gpa, *(rank == other for other in (2, 3, 4))])
    found, _ = logistic(columns, admit)
    printed = (-3.989979, 0.002264, 0.804038, -0.675443, -1.340204, -1.551464)
    assert len(rows) == 400 and found == pytest.approx(printed, abs=6e-7)


def test_quantiles_are_those_of_the_tables():
    """Student's t, 5 degrees of freedom: 2.571 (any statistical table)."""
    assert t_quantile(0.975, 5) == pytest.approx(2.571, abs=5e-4)
