"""The fits of the test board against certified and published values.

Sources: NIST StRD, linear regression, data set Norris (certified values, as several test suites quote them); the
O-ring data of the shuttle flights before STS 51-L, of which three published versions differ and are never mixed;
``docs/sources.md``.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from artwork.testboard.statistics import chi_square, fit_line, fit_logistic, t_quantile

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
    # damaged, of how many, coefficients, errors, deviance
    "any damage (printed 15.0429, -0.2322)": (
        rings(1, 1), 1, (15.04290, -0.232163), (7.37864, 0.108237), 20.31519,
    ),
    "of 6 rings, 5 at 53 °F (printed 11.6630, -0.2162)": (
        rings(5, 1), 6, (11.66299, -0.216234), (3.29626, 0.0531770), 16.91228,
    ),
    "of 6 rings, 2 at 53 °F (data printed, fit computed)": (
        rings(2, 2), 6, (5.08498, -0.115601), (3.05249, 0.0470239), 18.08633,
    ),
}  # fmt: skip


@pytest.mark.parametrize(
    ("damaged", "of", "coefficients", "errors", "deviance"), VERSIONS.values(), ids=VERSIONS
)
def test_the_logistic_curve_is_that_of_the_ring_data(damaged, of, coefficients, errors, deviance):
    columns = np.column_stack([np.ones(len(HEAT)), np.array(HEAT, float)])
    found = fit_logistic(columns, damaged, np.full(len(HEAT), float(of)))
    assert found.coefficients == pytest.approx(coefficients, rel=5e-6)
    assert found.errors == pytest.approx(errors, rel=5e-6)
    assert found.deviance == pytest.approx(deviance, abs=5e-6)


def test_the_chance_at_freezing_is_the_one_that_is_quoted():
    """p(31 °F): 0.99961 for any damage, 0.99303 a ring; the null deviance of any damage is 28.26715."""
    columns = np.column_stack([np.ones(len(HEAT)), np.array(HEAT, float)])
    single = fit_logistic(columns, rings(1, 1))
    assert single.null_deviance == pytest.approx(28.26715, abs=5e-6)
    each = fit_logistic(columns, rings(5, 1), np.full(len(HEAT), 6.0))
    for found, chance in ((single, 0.99961), (each, 0.99303)):
        eta = found.coefficients @ [1, 31]
        assert 1 / (1 + np.exp(-eta)) == pytest.approx(chance, abs=5e-6)


def test_the_logistic_curve_is_that_of_the_admissions_data():
    """400 rows of UCLA's lessons in statistics (one copy has a row changed); coefficients as printed there."""
    rows = np.loadtxt(Path(__file__).parent / "admissions.csv", delimiter=",", skiprows=1)
    admit, gre, gpa, rank = rows.T
    columns = np.column_stack([np.ones(len(rows)), gre, gpa, *(rank == other for other in (2, 3, 4))])
    found = fit_logistic(columns, admit)
    printed = (-3.989979, 0.002264, 0.804038, -0.675443, -1.340204, -1.551464)
    assert len(rows) == 400 and found.coefficients == pytest.approx(printed, abs=6e-7)


def test_separated_readings_have_no_best_curve():
    columns = np.column_stack([np.ones(6), np.arange(6.0)])
    with pytest.raises(ValueError, match="separated"):
        fit_logistic(columns, np.array([0, 0, 0, 1, 1, 1.0]))


def test_quantiles_are_those_of_the_tables():
    """Student's t, 5 degrees of freedom: 2.571; χ² with one: 3.841 (any statistical table)."""
    assert t_quantile(0.975, 5) == pytest.approx(2.571, abs=5e-4)
    assert chi_square(0.95) == pytest.approx(3.841, abs=5e-4)
