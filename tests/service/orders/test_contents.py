"""What people ask for, and what is wrong with it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box

from artwork.cut import Placement
from artwork.furniture import ModelLayout, PlacedSlat
from artwork.workpiece import Allowances, Bit, Slat
from service.orders.content import LineContent, OrderContent, WorkshopContent
from service.orders.contents import content_problems, sending_problems
from service.orders.cuts import (
    allowance_problems,
    basis_of,
    circumstances,
    placement_problems,
    with_changes,
)
from service.orders.errors import ConflictError
from service.orders.ids import is_id, new_id
from service.orders.order import Carving, Contact, Line, Order
from service.orders.shop_rules import bit_problems, key_problems, model_problems, workshop_problems
from service.orders.states import CarvingState, OrderState
from service.orders.texts import email_problems, text_problems, words_of
from service.orders.workshop import Settings, ShopBit, ShopModel, Workshop

SLAT = Slat("back", "back", box(0, 0, 140, 600), 25.4)
LAYOUT = ModelLayout(
    "bench", "Bench", "",
    (PlacedSlat(SLAT, 0, 0), PlacedSlat(replace(SLAT, key="leg"), 0, 0, carries_art=False)),
)  # fmt: skip
SHOP = Workshop("w", "oxbarrow", "Oxbarrow", 1, Allowances(), "v60", 365)
SETTINGS = Settings(SHOP, (ShopModel(LAYOUT, {"back": {"sanding": 0.5}}, 1),), (ShopBit(Bit("v60"), 1),))
AT = datetime(2026, 5, 4, tzinfo=UTC)
ORDER = Order(
    id="o",
    workshop_id="w",
    number=1,
    state=OrderState.DRAFT,
    revision=1,
    activity=1,
    contact=Contact("Imke", "i@q.example"),
    rights_granted=True,
    created_at=AT,
    updated_at=AT,
)
LINE = Line(id="l", order_id="o", position=1, model_key="bench", quantity=12)
CARVING = Carving("c", "o", "l", "back", None, CarvingState.NO_ART, 1, None, None, None, "", None, None, None)


def fields(problems):
    return sorted(problem.field for problem in problems)


def of(*lines: LineContent, **more) -> OrderContent:
    return OrderContent(lines=lines, **more)


@pytest.mark.parametrize(
    ("content", "field"),
    [
        (of(LineContent("bench", 0, ("back",))), "lines.0.quantity"),
        (of(LineContent("bench", -1, ("back",))), "lines.0.quantity"),
        (of(LineContent("bench", 10_001, ("back",))), "lines.0.quantity"),
        (of(LineContent("sofa", 1, ())), "lines.0.model_key"),
        (of(LineContent("bench", 1, ("leg",))), "lines.0.slats.0"),
        (of(LineContent("bench", 1, ("back", "back"))), "lines.0.slats"),
        (of(LineContent("bench", 1, ("back",), id="nowhere")), "lines.0.id"),
        (of(*[LineContent("bench", 1, ())] * 51), "lines"),
        (of(contact=Contact(email="not an address")), "contact.email"),
        (of(contact=Contact(name="x" * 121)), "contact.name"),
        (of(note="bell\x07"), "note"),
        (of(note="\ud800"), "note"),
        (of(needed_by=date(9999, 1, 1)), "needed_by"),
    ],
)
def test_each_thing_wrong_is_named_with_its_place(content, field):
    assert fields(content_problems(content, SETTINGS, frozenset())) == [field]


def test_a_draft_may_have_gaps_that_sending_does_not_forgive():
    assert list(content_problems(OrderContent(), SETTINGS, frozenset())) == []
    blank = replace(ORDER, contact=Contact(), rights_granted=False, needed_by=date(2026, 5, 3))
    missing = fields(sending_problems(blank, [], AT.date()))
    assert missing == ["contact.email", "contact.name", "lines", "needed_by", "rights_granted"]
    assert list(sending_problems(ORDER, [CARVING], AT.date())) == []


def test_a_retired_model_is_kept_but_not_newly_ordered():
    retired = replace(SETTINGS, models=(replace(SETTINGS.models[0], retired=True),))
    assert fields(content_problems(of(LineContent("bench", 1, ())), retired, frozenset())) == [
        "lines.0.model_key"
    ]
    kept = of(LineContent("bench", 1, (), id="l"))
    assert list(content_problems(kept, retired, frozenset({"l"}))) == []


@pytest.mark.parametrize("email", ["imke@quillfern.example", "a.b+c@x.y.example", ""])
def test_addresses_that_will_do(email):
    assert list(email_problems("email", email)) == []


@pytest.mark.parametrize(
    "email", ["imke", "a@b", "a b@c.example", "a@b.example\nBcc: x", "<a@b.example>", "@.x"]
)
def test_addresses_that_will_not(email):
    assert list(email_problems("email", email))


def test_words_are_found_without_case_and_accents():
    assert words_of("Jardín-Botánico № 7", "IMKE@quillfern.example") == {
        "jardin", "botanico", "no", "7", "imke", "quillfern", "example",
    }  # fmt: skip


@given(st.text())
def test_words_never_hold_what_cannot_be_searched(text):
    for word in words_of(text):
        assert 1 <= len(word) <= 40
        assert word == word.casefold()


@given(st.text(max_size=50))
def test_text_without_problems_can_be_stored(text):
    if not list(text_problems("x", text, 50, lines=True)):
        assert "\x00" not in text
        text.encode()


@given(
    st.dictionaries(
        st.sampled_from([*vars(Allowances()), "nonsense"]),
        st.one_of(st.floats(), st.booleans(), st.integers(-5, 5)),
        max_size=4,
    )
)
def test_allowances_without_problems_make_allowances(changes):
    if not list(allowance_problems("allowances", changes)):
        made = with_changes(Allowances(), changes)
        assert {name: getattr(made, name) for name in changes} == changes


@given(st.floats(), st.floats(), st.floats(), st.floats())
def test_placements_without_problems_are_finite_and_have_a_size(x, y, scale, turn):
    placement = Placement(x, y, scale, turn)
    if not list(placement_problems(placement)):
        assert 0 < scale <= 10_000
        assert abs(x) <= 10_000 >= abs(y)
        assert abs(turn) <= 360


def test_allowances_go_from_the_shop_over_the_slat_to_the_carving():
    assert circumstances(CARVING, LINE, SETTINGS).allowances == replace(Allowances(), sanding=0.5)
    own = replace(CARVING, allowances={"sanding": 0.1, "unevenness": 0.2}, thickness=19.0)
    at = circumstances(own, LINE, SETTINGS)
    assert (at.allowances.sanding, at.allowances.unevenness, at.slat.thickness) == (0.1, 0.2, 19.0)


def test_what_the_workshop_no_longer_has_is_said():
    with pytest.raises(ConflictError, match="slat"):
        circumstances(replace(CARVING, slat_key="gone"), LINE, SETTINGS)
    with pytest.raises(ConflictError, match="bit"):
        circumstances(replace(CARVING, bit_key="gone"), LINE, SETTINGS)


def test_the_basis_changes_with_what_decides_the_cut_and_with_nothing_else():
    at = circumstances(CARVING, LINE, SETTINGS)
    renamed = replace(at, slat=replace(at.slat, name="another name"))
    assert basis_of(renamed) == basis_of(at)
    others = [
        replace(at, slat=replace(at.slat, thickness=19.0)),
        replace(at, slat=replace(at.slat, outline=box(0, 0, 140, 601))),
        replace(at, bit=replace(at.bit, angle_deg=90.0)),
        replace(at, allowances=replace(at.allowances, unevenness=0.5)),
    ]
    assert len({basis_of(at), *map(basis_of, others)}) == 5


@pytest.mark.parametrize(
    ("problems", "field"),
    [
        (key_problems("key", "Ox Barrow"), "key"),
        (key_problems("key", "../../etc"), "key"),
        (bit_problems(Bit("v60", angle_deg=0.0)), "bit.angle_deg"),
        (bit_problems(Bit("v60", diameter=float("nan"))), "bit.diameter"),
        (workshop_problems(WorkshopContent("", Allowances(), "v60"), SETTINGS.bits), "name"),
        (workshop_problems(WorkshopContent("x", Allowances(), "gone"), SETTINGS.bits), "usual_bit"),
        (
            workshop_problems(WorkshopContent("x", Allowances(feed=0.0), "v60"), SETTINGS.bits),
            "allowances.feed",
        ),
        (model_problems(replace(LAYOUT, slats=()), {}), "slats"),
        (model_problems(LAYOUT, {"gone": {}}), "allowances.gone"),
        (model_problems(LAYOUT, {"back": {"sanding": -1.0}}), "allowances.back.sanding"),
    ],
)
def test_settings_that_make_no_sense_are_refused(problems, field):
    assert field in fields(problems)


def test_a_slat_that_crosses_itself_is_refused():
    knot = Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    layout = replace(LAYOUT, slats=(PlacedSlat(replace(SLAT, outline=knot), 0, 0),))
    assert "slats.0.outline" in fields(model_problems(layout, {}))


def test_sound_settings_have_no_problems():
    assert list(model_problems(LAYOUT, {"back": {"sanding": 0.5}})) == []
    assert list(bit_problems(Bit("v60"))) == []
    assert list(workshop_problems(WorkshopContent("Oxbarrow", Allowances(), "v60"), SETTINGS.bits)) == []


def test_ids_are_128_random_bits():
    made = {new_id() for _ in range(1000)}
    assert len(made) == 1000
    assert all(is_id(each) and len(each) == 26 for each in made)
    assert not is_id("A" * 26)
