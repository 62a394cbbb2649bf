"""The cone arithmetic against printed tables (docs/sources.md §3 and §7)."""

from __future__ import annotations

import numpy as np
import pytest

from artwork import tooling
from artwork.workpiece import Allowances, Bit


def sharp(angle: float) -> Bit:
    return Bit("test", angle_deg=angle, tip_flat=0.0, diameter=1000.0, height=1000.0)


# Countersink factors, depth = diameter × factor: engineersedge.com, countersink_spot_drill_depth_15617.
COUNTERSINK = [
    (60, 0.866), (82, 0.5752), (90, 0.5000), (100, 0.4195), (118, 0.3004), (120, 0.2887), (135, 0.2071),
    (142, 0.1722),
]  # fmt: skip


@pytest.mark.parametrize(("angle", "factor"), COUNTERSINK)
def test_depth_per_width_is_the_printed_countersink_factor(angle, factor):
    assert tooling.groove_depth(1.0, sharp(angle)) == pytest.approx(factor, abs=0.00006)


# The same page's tip-flat form: Z − a = (D − T)/2 · cot(α/2).
@pytest.mark.parametrize("angle", [angle for angle, _ in COUNTERSINK])
def test_a_tip_flat_enters_as_on_the_countersink_page(angle):
    bit = Bit("test", angle_deg=angle, tip_flat=0.25)
    assert tooling.groove_depth(2.0, bit) == pytest.approx((2.0 - 0.25) / 2 / np.tan(np.radians(angle / 2)))


# Centre drills ISO 866 type A / DIN 333-A, cone length (d2 − d1)/2 · cot 30°: the table is from memory; all
# ten rows agree with the formula, so they are a second row of figures rather than an independent source.
CENTRE_DRILLS = [
    (1, 2.12, 0.97), (1.6, 3.35, 1.52), (2, 4.25, 1.95), (2.5, 5.3, 2.42), (3.15, 6.7, 3.07), (4, 8.5, 3.90),
    (5, 10.6, 4.85), (6.3, 13.2, 5.98), (8, 17, 7.79), (10, 21.2, 9.70),
]  # fmt: skip


@pytest.mark.parametrize(("pilot", "mouth", "length"), CENTRE_DRILLS)
def test_a_60_degree_cone_has_the_length_of_centre_drills(pilot, mouth, length):
    bit = Bit("centre", angle_deg=60.0, tip_flat=pilot)
    assert tooling.groove_depth(mouth, bit) == pytest.approx(length, abs=0.0051)


# Widths per unit depth and full depths, computed in docs/sources.md §3.
@pytest.mark.parametrize(("angle", "width"), [(30, 0.535898), (45, 0.828427), (60, 1.154701), (90, 2.0)])
def test_width_per_unit_of_depth(angle, width):
    assert tooling.groove_width(1.0, sharp(angle)) == pytest.approx(width, abs=5e-7)


@pytest.mark.parametrize(
    ("diameter", "depth"), [(6.35, 5.4993), (12.7, 10.9985), (19.05, 16.4978), (25.4, 21.9970)]
)
def test_full_depth_of_a_60_degree_bit(diameter, depth):
    assert tooling.groove_depth(diameter, sharp(60)) == pytest.approx(depth, abs=5e-5)


# Depth by width, sharp tip, computed in docs/sources.md §7.
DEPTHS = [
    (0.5, 0.433013, 0.25), (1, 0.866025, 0.5), (1.5, 1.299038, 0.75), (2, 1.732051, 1), (3, 2.598076, 1.5),
    (4, 3.464102, 2), (5, 4.330127, 2.5), (6, 5.196152, 3), (8, 6.928203, 4), (10, 8.660254, 5),
    (12, 10.392305, 6), (12.7, 10.998523, 6.35), (15, 12.990381, 7.5), (20, 17.320508, 10),
    (25, 21.650635, 12.5),
]  # fmt: skip


@pytest.mark.parametrize(("width", "at60", "at90"), DEPTHS)
def test_depth_by_width(width, at60, at90):
    assert tooling.groove_depth(width, sharp(60)) == pytest.approx(at60, abs=5e-7)
    assert tooling.groove_depth(width, sharp(90)) == pytest.approx(at90, abs=5e-7)


def test_arrays_and_numbers_give_the_same_depths():
    widths = np.array([row[0] for row in DEPTHS])
    found = tooling.groove_depth(widths, sharp(60))
    assert found.tolist() == [tooling.groove_depth(width, sharp(60)) for width in widths.tolist()]


# Survival identities at 60°, exact (docs/sources.md §3).
class TestSurvival:
    @pytest.mark.parametrize(("width", "left"), [(1.0, 0.65359), (0.5, 0.15359)])
    def test_sanding_narrows_a_line(self, width, left):
        depth = tooling.groove_depth(width, sharp(60)) - 0.3
        assert tooling.groove_width(depth, sharp(60)) == pytest.approx(left, abs=5e-6)

    @pytest.mark.parametrize(("width", "left"), [(1.0, 0.42265), (0.5, -0.077)])
    def test_a_low_board_narrows_a_line_or_takes_it(self, width, left):
        depth = tooling.groove_depth(width, sharp(60)) - 0.5
        assert tooling.groove_width(depth, sharp(60)) == pytest.approx(left, abs=5e-4)
        allowances = Allowances(sanding=0.0, unevenness=0.5)
        worst = tooling.worst_depth(width, 99.0, sharp(60), allowances, 0.0)
        assert worst == pytest.approx(max(left, 0.0) * 0.8660254, abs=5e-6)

    def test_the_smallest_line_left(self):
        allowances = Allowances(sanding=0.3, unevenness=0.5, least_depth=0.0)
        assert tooling.least_line(sharp(60), allowances, 0.0) == pytest.approx(0.92376, abs=5e-6)

    def test_a_high_board_narrows_a_land(self):
        allowances = Allowances(unevenness=0.5)
        assert 1.0 - tooling.land_loss(sharp(60), allowances) == pytest.approx(0.42265, abs=5e-6)

    @pytest.mark.parametrize(("width", "depth"), [(1.0, 0.649519), (2.0, 1.515544), (0.25, 0.0), (0.2, 0.0)])
    def test_a_tip_flat_takes_depth_and_the_thinnest_lines(self, width, depth):
        assert tooling.groove_depth(width, Bit("flat", tip_flat=0.25)) == pytest.approx(depth, abs=5e-7)

    def test_boards_are_pierced_where_the_table_says(self):
        assert tooling.groove_width(25.4, sharp(60)) == pytest.approx(29.329, abs=5e-4)
        assert tooling.groove_width(19.05, sharp(60)) == pytest.approx(21.997, abs=5e-4)
        assert 25.4 - tooling.groove_depth(25.0, sharp(60)) == pytest.approx(3.7494, abs=5e-5)


# Sanding, wide-belt, largest removal by grit, inches: woodworkingnetwork.com, "Does your sanding make
# sense?", 7 Aug 2014; the widths it costs a 60° line are computed in docs/sources.md §8.
@pytest.mark.parametrize(
    ("inches", "width"),
    [
        (0.035, 1.027),
        (0.024, 0.704),
        (0.017, 0.499),
        (0.010, 0.293),
        (0.006, 0.176),
        (0.004, 0.117),
        (0.002, 0.059),
    ],
)
def test_what_each_grit_costs_in_line_width(inches, width):
    loss = Allowances(sanding=inches * tooling.MM_PER_INCH, unevenness=0.0, least_depth=0.0)
    assert tooling.least_line(sharp(60), loss, 0.0) == pytest.approx(width, abs=0.0006)
