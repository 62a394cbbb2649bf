"""The relief against closed forms and against distances worked out by GEOS."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from artwork.clearance import SPACING, Edges, Grid
from artwork.relief import relief
from artwork.workpiece import Allowances, Bit, Slat
from tests.artwork.relief.pieces import NOTHING_LOST, SHARP, circle, cut_of, rectangle, ring

STEEP = 1 / np.tan(np.radians(30))
DEPTH_ERROR = (np.sqrt(2) - 0.5) / 12 * STEEP + 1e-3
"""What ``relief`` promises at a corner, as depth; half a sample of 1/12 mm along an edge."""


def depth_at(face, x: float, y: float) -> float:
    column, row = face.pixels(np.array([[x, y]]))[0].astype(int)
    return float(face.height[row, column])


def deepest(face) -> float:
    return float(face.height[face.to_edge > 0].max())


CROSS = ring(
    np.array(
        [
            (1, 1),
            (1, 6),
            (-1, 6),
            (-1, 1),
            (-6, 1),
            (-6, -1),
            (-1, -1),
            (-1, -6),
            (1, -6),
            (1, -1),
            (6, -1),
            (6, 1),
        ]
    )
    * 5
    + [0, 50]
)

# docs/sources.md §5: largest inscribed radius r; 60° depth = 1.7320508 r, all confirmed there a second way.
SHAPES = {
    "bar": ([rectangle(-20, 45, 20, 55)], 5.0),
    "annulus": ([circle(0, 50, 30), circle(0, 50, 20, hole=True)], 5.0),
    "triangle": ([ring([(-5, 40), (5, 40), (0, 40 + 5 * np.sqrt(3))])], 2.886751),
    "L": ([ring([(0, 20), (30, 20), (30, 30), (10, 30), (10, 60), (0, 60)])], 5.857864),
    "cross": ([CROSS], 7.071068),
    "T": ([ring([(-30, 50), (-5, 50), (-5, 20), (5, 20), (5, 50), (30, 50), (30, 60), (-30, 60)])], 6.25),
}


@pytest.mark.parametrize("name", SHAPES)
def test_the_deepest_place_is_the_largest_inscribed_circle(name) -> None:
    contours, radius = SHAPES[name]
    face = relief(cut_of(*contours), 4.0)
    # a pixel's centre may lie half a pixel's diagonal beside the deepest point
    assert deepest(face) == pytest.approx(radius * STEEP, abs=DEPTH_ERROR + 0.177 * STEEP)
    assert deepest(face) <= radius * STEEP + DEPTH_ERROR


@settings(max_examples=25)
@given(seed=st.integers(0, 10**6), corners=st.integers(3, 12))
def test_every_wall_has_the_slope_of_the_bit(seed, corners) -> None:
    rng = np.random.default_rng(seed)
    turns = np.sort(rng.uniform(0, 2 * np.pi, corners))
    points = np.array([0, 50]) + (rng.uniform(8, 30, corners) * np.array([np.cos(turns), np.sin(turns)])).T
    polygon = shapely.Polygon(points)
    if not polygon.is_valid or polygon.area < 20:
        return
    if not polygon.exterior.is_ccw:
        points = points[::-1]
    face = relief(cut_of(ring(points)), 4.0)
    rows, columns = np.mgrid[0 : face.height.shape[0] : 7, 0 : face.height.shape[1] : 7]
    x, y = face.left + (columns + 0.5) / 4, face.top - (rows + 0.5) / 4
    inside = shapely.contains_xy(polygon, x, y)
    # wood that stands thinner than a measuring sample (1/12 mm) between two walls may be missed
    coarse = polygon.buffer(1 / 12).buffer(-1 / 12)
    ours = face.height[::7, ::7]
    for edge, sign in ((polygon, 1), (coarse, -1)):
        reach = shapely.distance(edge.boundary, shapely.points(x, y))
        expected = np.where(inside, np.minimum(reach * STEEP, 40), 0)
        assert (sign * (expected - ours)).max() <= DEPTH_ERROR


@pytest.mark.parametrize(
    ("width", "flat", "depth"),
    # docs/sources.md §3, tip flat: d = (w - T) · 0.8660254
    [(1.0, 0.25, 0.649519), (2.0, 0.25, 1.515544), (0.2, 0.25, 0.0)],
)
def test_the_tips_flat_makes_lines_shallower(width, flat, depth) -> None:
    bar = rectangle(-20, 50.125 - width / 2, 20, 50.125 + width / 2)  # its axis on pixel centres
    face = relief(cut_of(bar, bit=replace(SHARP, tip_flat=flat)), 4.0)
    assert depth_at(face, 0, 50.125) == pytest.approx(depth, abs=DEPTH_ERROR)


def test_a_wide_place_has_a_flat_floor_at_the_depth_limit() -> None:
    shallow = replace(NOTHING_LOST, depth_limit_share=0.1)
    face = relief(cut_of(rectangle(-40, 20, 40, 80), allowances=shallow), 4.0)
    assert deepest(face) == pytest.approx(5.0)
    assert depth_at(face, 0, 50) == depth_at(face, 20, 50) == pytest.approx(5.0)


def test_sanding_takes_its_depth_off_every_groove() -> None:
    # §3.4: d' = d - s; a line of 1 mm is 0.8660254 deep and keeps 0.566025 after 0.3 mm of sanding.
    sanded = replace(NOTHING_LOST, sanding=0.3)
    face = relief(cut_of(rectangle(-20, 49.625, 20, 50.625), allowances=sanded), 4.0)
    assert depth_at(face, 0, 50.125) == pytest.approx(0.566025, abs=DEPTH_ERROR)
    gone = relief(cut_of(rectangle(-20, 50, 20, 50.3), allowances=sanded), 4.0)
    assert deepest(gone) == 0


def test_a_zero_below_the_face_makes_up_for_sanding() -> None:
    made_up = replace(NOTHING_LOST, sanding=0.3, sanding_made_up=True)
    plain = relief(cut_of(rectangle(-20, 45, 20, 55)), 4.0)
    face = relief(cut_of(rectangle(-20, 45, 20, 55), allowances=made_up), 4.0)
    assert np.allclose(face.height, plain.height, atol=1e-5)


@pytest.mark.parametrize("x", [0.5, 1.0, 2.0, 3.0, 5.0, 8.0, 9.0])
def test_the_round_over_is_a_quarter_circle(x) -> None:
    # x² + y² of the arc about its own centre, independent of the drop formula
    slat = Slat("plank", "plank", box(-60, 0, 60, 100), 50.0, round_over=9.525)
    face = relief(cut_of(rectangle(-1, 49, 1, 51), slat=slat), 8.0)
    column, row = face.pixels(np.array([[-60 + x, 30.0]]))[0].astype(int)
    inwards = float(face.to_edge[row, column])
    height = float(face.height[row, column])
    assert inwards == pytest.approx(x, abs=1 / 8)
    assert (9.525 - inwards) ** 2 + (9.525 - height) ** 2 == pytest.approx(9.525**2, rel=1e-4)


def test_the_round_over_eats_a_shallow_groove_at_the_edge_and_leaves_a_deep_one() -> None:
    slat = Slat("plank", "plank", box(-60, 0, 60, 100), 50.0, round_over=9.525)
    face = relief(cut_of(rectangle(-59, 40, -57, 60), rectangle(-50, 40, -40, 60), slat=slat), 4.0)
    untouched = relief(cut_of(rectangle(20, 40, 30, 60), slat=slat), 4.0)
    assert depth_at(face, -58, 50) == depth_at(untouched, -58, 50)
    assert depth_at(face, -45, 50) == pytest.approx(5 * STEEP, abs=0.3)


def test_mirrored_and_turned_art_lies_where_the_placement_says() -> None:
    arrow = ring([(0, 0), (20, 0), (20, 4), (4, 4), (4, 10), (0, 10)])
    face = relief(cut_of(arrow, x=0.0, y=50.0, mirrored=True, rotation_deg=90.0), 4.0)
    # mirrored: the upright stem stands right; turned a quarter: it lies on top, pointing left
    assert depth_at(face, -2, 58) > 1
    assert depth_at(face, -4, 50) == 0


def test_art_beside_the_slat_carves_nothing() -> None:
    face = relief(cut_of(rectangle(500, 500, 510, 510)), 4.0)
    assert deepest(face) == 0


def test_the_same_cut_gives_the_same_heights() -> None:
    cut = cut_of(circle(0, 50, 20), allowances=Allowances(), bit=Bit("v"))
    assert np.array_equal(relief(cut, 4.0).height, relief(cut, 4.0).height)


# docs/sources.md §7: a groove parallel to the edge, centre x0, width w, 60° bit, carved first, then rounded
# over with 3/8 in (computed there, root-found): depth left, and where its two lips are.
ROUNDED = [
    (12, 4, 3.46410, 10.00000, 14.00000),
    (6, 4, 2.78783, 4.74321, 7.92152),
    (4, 4, 1.69797, 3.32467, 5.47929),
    (6, 1.5, 0.62277, 5.71029, 6.45690),
    (5, 1.3, 0.0, 5.0, 5.0),
]


@pytest.mark.parametrize(("x0", "width", "left", "lip", "other_lip"), ROUNDED)
def test_what_the_round_over_leaves_of_a_groove_beside_it(x0, width, left, lip, other_lip) -> None:
    slat = Slat("plank", "plank", box(-60, 0, 60, 100), 50.0, round_over=9.525)
    art = rectangle(-60 + x0 - width / 2, 20, -60 + x0 + width / 2, 80)
    density = 16.0
    carved, plain = (
        relief(cut_of(art, slat=slat), density),
        relief(cut_of(rectangle(40, 40, 45, 45), slat=slat), density),
    )
    row = int(plain.pixels(np.array([[0.0, 50.0]]))[0, 1])
    below = carved.height[row, : int(20 * density)] - plain.height[row, : int(20 * density)]
    x = (np.arange(len(below)) + 0.5) / density
    # the depth left is the groove's below the line between its lips, as a straight edge would show it
    inside = np.flatnonzero(below > 0.02)
    if left == 0:
        assert not len(inside)
        return
    assert x[inside[0]] == pytest.approx(lip, abs=1.5 / density)
    assert x[inside[-1]] == pytest.approx(other_lip, abs=1.5 / density)
    middle = int(x0 * density)
    assert below[middle] == pytest.approx(left, abs=DEPTH_ERROR + 0.5 / density * STEEP)


class TestFloors:
    SHOP = replace(NOTHING_LOST, depth_limit_share=0.1)  # 5 mm deep at most
    BIT = Bit("v", tip_flat=0.2, diameter=50.8, height=40.0)
    ART = rectangle(-15, 20, 15, 80)

    def floor(self, **changes) -> np.ndarray:
        """Heights of the floor's middle, along a line across the grain, at 64 px a millimetre."""
        cut = cut_of(self.ART, bit=self.BIT, allowances=replace(self.SHOP, **changes), slat=SMALL)
        face = relief(cut, 64.0)
        row = int(face.pixels(np.array([[0.0, 50.0]]))[0, 1])
        return face.height[row, (10 * 64) : (20 * 64)]

    @pytest.mark.parametrize("height", [0.1, 0.3])
    def test_ridges_stand_as_high_as_the_shop_allows_and_as_close_as_the_rule_says(self, height):
        """The countersink factors' tip-flat form: p = T + 2·h·tan 30° lines apart, ridges h high."""
        found = self.floor(floor_ridge=height)
        assert found.max() == pytest.approx(5.0, abs=1e-3)
        assert found.min() == pytest.approx(5.0 - height, abs=0.02)
        crests = np.flatnonzero((found[1:-1] < found[:-2]) & (found[1:-1] <= found[2:]))
        step = 0.2 + 2 * height * np.tan(np.radians(30))
        assert np.diff(crests).mean() / 64 == pytest.approx(step, rel=0.02)

    def test_a_flat_bit_leaves_none_where_it_comes(self):
        assert self.floor(floor_ridge=0.3, flat_bit=6.0) == pytest.approx(5.0)

    def test_a_picture_too_coarse_for_them_shows_their_mean(self):
        """(p − T) / 2p of their height: no false pattern."""
        cut = cut_of(self.ART, bit=self.BIT, allowances=replace(self.SHOP, floor_ridge=0.1))
        face = relief(cut, 1.0)
        step = 0.2 + 0.2 * np.tan(np.radians(30))
        mean = 0.1 * (step - 0.2) / (2 * step)
        assert depth_at(face, 0.5, 50.5) == pytest.approx(5 - mean, abs=0.012)


SMALL = Slat("plank", "plank", box(-20, 48, 20, 52), 50.0, round_over=0.0)


@pytest.mark.parametrize("name", SHAPES)
def test_what_a_page_shows_is_the_same_but_for_the_tips_flat(name) -> None:
    """The bound is the geometry of the bit: its flat reaches half its width, a wall rises as it slopes."""
    flat = 0.3
    cut = replace(cut_of(*SHAPES[name][0], allowances=NOTHING_LOST), bit=replace(SHARP, tip_flat=flat))
    signed, shown = relief(cut, 4.0), relief(cut, 4.0, exact=False)
    off = np.abs(signed.height - shown.height)
    assert off.max() <= flat / 2 * STEEP + DEPTH_ERROR
    assert np.mean(off) < 0.01


@pytest.mark.parametrize("name", SHAPES)
def test_distances_told_from_the_pixels_beside_are_hardly_off(name) -> None:
    """Against those worked out exactly: never less but for rounding, at most half a pixel more, and that seldom."""
    cut = cut_of(*SHAPES[name][0], allowances=NOTHING_LOST)
    x, y = np.meshgrid(np.arange(400) / 4 - 49.875, 109.875 - np.arange(400) / 4)
    edges = Edges.of(cut, 0.01)
    rows, columns = np.nonzero(edges.inside(np.stack([x, y], axis=-1)))
    places = np.stack([x[rows, columns], y[rows, columns]], axis=1)
    grid = Grid(np.array([-50.0, 110.0]), 0.25, x.shape, rows, columns, places)
    more = edges.quickly(grid) - edges.distance(places)
    assert len(more) > 100
    assert more.min() >= -SPACING / 2
    assert more.max() <= 0.125
    assert np.quantile(more, 0.99) < 0.02
