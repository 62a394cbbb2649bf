"""Rules of fit: the text lies in its field, and the rule says what it did."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from artwork.cut import Cut
from artwork.errors import EngineError
from artwork.lettering.field import Field, roomiest_field
from artwork.lettering.fitting import FitRule, fit
from artwork.lettering.setting import halves, set_lines
from artwork.lettering.typefaces import typeface
from artwork.placing import safe_area
from artwork.workpiece import Allowances, Bit
from seeds.shop import load

FIELD = Field(10.0, -20.0, 200.0, 70.0)
RULE = FitRule("lato-bold", cap_height=25.0, least_cap_height=12.0)
SLAT = load().model("fernhollow-chair").slat("back-centre")

NAMES = st.text(st.sampled_from("ABIMWaegilmtwyjÄÖéß .-'0123456789"), min_size=1, max_size=30).filter(
    str.strip
)
RULES = st.builds(
    FitRule,
    st.sampled_from(["lato-bold", "source-serif-bold", "barlow-condensed-semibold"]),
    cap_height=st.floats(16, 40),
    least_cap_height=st.floats(4, 16),
    tracking=st.floats(0, 0.2),
    least_tracking=st.floats(-0.05, 0),
    lines=st.sampled_from([1, 2]),
    arc_radius=st.sampled_from([None, None, 200.0, -250.0]),
)
FIELDS = st.builds(Field, st.floats(-50, 50), st.floats(-50, 50), st.floats(60, 300), st.floats(40, 90),
                   st.sampled_from([0.0, 90.0, -33.0]))  # fmt: skip


def placed_region(lettered, field):
    cut = Cut(lettered.outline, SLAT, lettered.placement, Bit("v"), Allowances())
    return cut.placed().region(0.01)


@given(NAMES, RULES, FIELDS)
def test_fitted_text_lies_in_its_field_within_the_rule(text, rule, field):
    try:
        lettered = fit(text, rule, field)
    except EngineError as refused:
        assert refused.code in ("text-too-long", "arc-too-tight")
        return
    assert shapely.covers(field.shape.buffer(0.02), placed_region(lettered, field))
    assert rule.least_cap_height <= lettered.cap_height <= rule.cap_height
    assert rule.least_tracking <= lettered.tracking <= rule.tracking
    assert len(lettered.lines) <= rule.lines
    assert " ".join(lettered.lines).split() == text.split()
    said = {remark.code for remark in lettered.remarks}
    assert ("smaller-letters" in said) == (lettered.cap_height < rule.cap_height)
    assert ("tighter-spacing" in said) == (lettered.tracking < rule.tracking)
    assert ("two-lines" in said) == (len(lettered.lines) == 2)


def test_a_short_name_is_set_as_wanted_with_nothing_to_say():
    lettered = fit("Rosa", RULE, FIELD)
    assert (lettered.cap_height, lettered.tracking, lettered.remarks) == (25.0, 0.0, ())
    assert lettered.placement.scale == pytest.approx(25.0 / typeface("lato-bold").cap_height)


def test_things_give_way_in_order():
    roomy = FitRule("lato-bold", 25.0, 12.0, tracking=0.1, least_tracking=0.0, lines=2)
    spaced = fit("Imke Harro", roomy, FIELD)
    assert [remark.code for remark in spaced.remarks] == ["tighter-spacing"]
    assert 0 < spaced.tracking < 0.1
    broken = fit("Imke Harrowdale", roomy, FIELD)
    assert broken.lines == ("Imke", "Harrowdale") and broken.cap_height == 25.0
    shrunk = fit("Wilhelmina Featherstonehaugh", roomy, FIELD)
    assert [remark.code for remark in shrunk.remarks] == ["tighter-spacing", "two-lines", "smaller-letters"]


def test_the_tightest_spacing_that_is_needed_and_no_tighter():
    rule = FitRule("lato-bold", 25.0, 25.0, tracking=0.2, least_tracking=0.0)
    tight = fit("Imke Harr", rule, FIELD)
    width = set_lines(tight.lines, typeface("lato-bold"), tracking=tight.tracking + 0.01).reach[0]
    assert width * tight.placement.scale > FIELD.width


def test_a_run_keeps_one_baseline_whatever_its_accents_and_tails():
    feet = []
    for name in ("Rosa", "Ägypj", "Jo", "Éva"):
        lettered = fit(name, RULE, FIELD)
        scale = lettered.placement.scale
        low = lettered.outline.bounds[1]
        height = lettered.outline.size[1]
        baseline = lettered.placement.y - height / 2 * scale - low * scale
        feet.append(baseline)
    assert np.ptp(feet) < 1e-9
    assert feet[0] == pytest.approx(FIELD.y - 12.5)


def test_on_an_arc_every_letter_stands_on_the_circle():
    face, radius = typeface("lato-bold"), 9000.0
    flat = set_lines(["HHHHH"], face)
    bent = set_lines(["HHHHH"], face, radius=radius)
    # middles of feet: on the circle about (0, −radius), upright letters as far apart as on the line
    for upright, turned in zip(flat.outline.contours, bent.outline.contours, strict=True):
        left, low, right, _ = upright.bounds
        middle = (left + right) / 2
        angle = middle / radius
        foot = np.array([radius * sin(angle), radius * cos(angle) - radius])
        gaps = np.hypot(*(turned.knots - foot).T)
        assert gaps.min() == pytest.approx(np.hypot(*(upright.knots - (middle, low)).T).min(), abs=1e-6)
        assert upright.area == pytest.approx(turned.area)
    arch, smile = bent.outline.bounds, set_lines(["HHHHH"], face, radius=-radius).outline.bounds
    assert arch[1] < -100 and arch[3] == pytest.approx(face.cap_height, abs=10)  # ends hang down
    assert smile[3] > face.cap_height + 100 and smile[1] == pytest.approx(0, abs=50)  # ends stand up


def test_turned_text_reads_along_its_field():
    up = fit("Imke", RULE, Field(0, 0, 200, 70, 90.0))
    region = placed_region(up, FIELD)
    left, low, right, high = region.bounds
    assert high - low > right - left
    flat = placed_region(fit("Imke", RULE, Field(0, 0, 200, 70, 0.0)), FIELD)
    turned = shapely.affinity.rotate(flat, 90, origin=(0, 0))
    assert turned.symmetric_difference(region).area < 0.01 * flat.area
    assert up.placement.rotation_deg == pytest.approx(90) and cos(radians(90)) < 1e-9


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty-text"),
        (" \n\t ", "empty-text"),
        ("\u200d\u200b", "empty-text"),
        ("one\ntwo", "too-many-lines"),
        ("x" * 500, "text-too-long"),
        ("Rosa 🌿", "missing-glyph"),
        ("🙂", "missing-glyph"),
        ("a\x00b", "missing-glyph"),
    ],
)
def test_what_cannot_be_set_is_refused_with_a_cure(text, code):
    with pytest.raises(EngineError) as refused:
        fit(text, RULE, FIELD)
    assert refused.value.code == code
    assert refused.value.cure


def test_a_text_that_is_too_long_says_how_small_it_would_be():
    with pytest.raises(
        EngineError, match=r"capitals of \d+(\.\d)? mm to fit; this rule allows no less than 12 mm"
    ):
        fit("Wilhelmina Featherstonehaugh", RULE, FIELD)


@pytest.mark.parametrize(
    "figures",
    [
        {"least_cap_height": 30.0},
        {"cap_height": float("nan")},
        {"tracking": 3.0},
        {"least_tracking": 0.1},
        {"lines": 3},
        {"arc_radius": 0.0},
        {"baselines": 0.5},
    ],
)
def test_a_rule_that_makes_no_sense_is_refused(figures):
    with pytest.raises(EngineError, match="no rule of fit"):
        FitRule("lato-bold", **figures)


def test_an_unknown_typeface_is_answered_with_those_there_are():
    with pytest.raises(EngineError, match="lato-bold"):
        fit("Rosa", FitRule("comic"), FIELD)


def test_an_arc_too_tight_is_refused():
    with pytest.raises(EngineError, match="too tight"):
        fit("Imke Harrowdale", FitRule("lato-bold", arc_radius=10.0), FIELD)


def test_halves_are_as_even_as_words_allow():
    assert halves("Imke van den Harrowdale") == ("Imke van den", "Harrowdale")
    assert halves("Rosa") is None


# --- the field -------------------------------------------------------------------------------------


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=8))
def test_the_roomiest_field_is_the_largest_of_all_rectangles(holes):
    area = shapely.box(0, 0, 10, 10).difference(
        shapely.union_all([shapely.box(x + 0.1, y + 0.1, x + 0.9, y + 0.9) for x, y in holes])
    )
    free = {(x, y) for x in range(10) for y in range(10)} - set(holes)
    best = max(
        (c - a) * (d - b)
        for a in range(10) for c in range(a + 1, 11) for b in range(10) for d in range(b + 1, 11)
        if all((x, y) in free for x in range(a, c) for y in range(b, d))
    )  # fmt: skip
    field = roomiest_field(area)
    assert field.width * field.height == best
    assert shapely.covers(area.buffer(1e-9), field.shape)


@pytest.mark.parametrize("turn", [0.0, 90.0, 17.0])
def test_the_field_of_a_real_slat_keeps_every_margin(turn):
    allowances = Allowances()
    area = safe_area(SLAT, allowances)
    field = roomiest_field(area, turn)
    assert shapely.covers(area.buffer(1e-6), field.shape)
    assert min(field.width, field.height) > 40


def test_a_slat_without_room_is_refused():
    with pytest.raises(EngineError, match="no room"):
        roomiest_field(shapely.Polygon())
    with pytest.raises(EngineError, match="no room"):
        roomiest_field(shapely.box(0, 0, 0.4, 300))
