"""The seed shop: its values hold together and its pieces can be built from its own figures."""

import io

import numpy as np
import pytest
from PIL import Image
from shapely import box

from artwork.axis import study
from artwork.cut import Cut
from artwork.findings import check
from artwork.intake import read_artwork
from artwork.placing import largest_fit
from seeds.shop import load

SHOP = load()
SLATS = [(model.key, placed) for model in SHOP.models for placed in model.slats]


def test_it_has_a_bench_and_a_deep_seated_chair() -> None:
    assert {model.key for model in SHOP.models} >= {"longwalk-bench", "fernhollow-chair"}


@pytest.mark.parametrize(("model", "placed"), SLATS, ids=lambda v: v if isinstance(v, str) else v.slat.key)
def test_every_slat_is_one_valid_piece_of_wood_with_its_keep_outs_inside(model, placed) -> None:
    slat = placed.slat
    assert slat.outline.is_valid
    assert slat.outline.exterior.is_ccw
    for keep_out in slat.keep_outs:
        inside = slat.outline.buffer(-5) if keep_out.reason == "screw hole" else slat.outline.envelope
        assert inside.covers(keep_out.shape)


def test_the_wide_centre_slat_is_a_five_quarter_by_six_board() -> None:
    # PS 20, table 3 (boards): 5/4x6 dressed dry is 1 x 5-1/2 in; as read second-hand, see check values.
    slat = SHOP.model("fernhollow-chair").slat("back-centre")
    x0, y0, x1, y1 = slat.outline.bounds
    assert (x1 - x0, slat.thickness) == pytest.approx((5.5 * 25.4, 25.4))
    assert (y0, y1) == pytest.approx((0, 860))
    assert slat.round_over == pytest.approx(3 / 8 * 25.4)


def test_back_slats_do_not_overlap() -> None:
    for model in SHOP.models:
        shapes = [placed.outline for placed in model.slats if placed.slat.key.startswith("back")]
        for i, one in enumerate(shapes):
            for other in shapes[i + 1 :]:
                assert one.intersection(other).area == pytest.approx(0, abs=1e-6)


def test_each_part_fits_a_board_and_slats_are_among_the_parts() -> None:
    for model in SHOP.models:
        keys = {part.key for part in model.parts}
        assert {placed.slat.key for placed in model.slats} <= keys
        for part in model.parts:
            assert 0 < part.width <= 139.7
            assert 0 < part.length <= 2438.4


def test_one_chair_takes_the_wood_of_about_four_boards() -> None:
    # Common practice, no source: about four and a half 8-ft boards, waste included.
    chair = SHOP.model("fernhollow-chair")
    boards = sum(part.count * part.length * part.width for part in chair.parts) / (139.7 * 2438.4)
    assert 3.5 < boards < 4.5


def test_artwork_is_what_it_says() -> None:
    scan = Image.open(io.BytesIO(SHOP.artwork("scan.jpg").data))
    assert (scan.format, scan.size) == ("JPEG", (3000, 3000))
    thin = Image.open(io.BytesIO(SHOP.artwork("thin.png").data))
    assert (thin.format, thin.size) == ("PNG", (640, 240))
    assert SHOP.artwork("crest.svg").data.startswith(b"<svg")


def test_people_are_made_up() -> None:
    assert all(person.email.endswith(".example") for person in SHOP.people)
    assert {person.role for person in SHOP.people} == {"maker", "client"}


def test_a_placed_slat_lands_where_the_layout_says() -> None:
    placed = next(p for p in SHOP.model("fernhollow-chair").slats if p.turn_deg)
    corner = np.array([[np.cos(np.radians(placed.turn_deg)), np.sin(np.radians(placed.turn_deg))]])
    moved = placed.into_piece(box(0, 0, 1, 1e-9))
    assert (
        np.abs(np.asarray(moved.exterior.coords) - corner - np.array([placed.x, placed.y])).sum(1).min()
        < 1e-6
    )


@pytest.mark.parametrize(
    ("art", "model", "slat", "carves"),
    [
        ("crest.svg", "fernhollow-chair", "back-centre", True),
        ("crest.svg", "longwalk-bench", "back-centre", True),
        ("scan.jpg", "fernhollow-chair", "back-centre", True),
        ("thin.png", "fernhollow-chair", "back-centre", False),
        ("thin.png", "longwalk-bench", "back-rail", True),
        ("mark.svg", "longwalk-bench", "back-rail", True),
    ],
)
def test_the_artwork_does_what_the_demo_tells(art, model, slat, carves) -> None:
    outline = read_artwork(SHOP.artwork(art).data, art).outline
    wood = SHOP.model(model).slat(slat)
    cut = Cut(outline, wood, largest_fit(outline, wood, SHOP.allowances), SHOP.bits[0], SHOP.allowances)
    assert (check(cut, study(outline)).verdict != "will-not-carve") == carves
