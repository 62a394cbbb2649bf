"""A merge patch (RFC 7396) over an order: what is left out stays, null takes the usual value."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from service.orders.content import LineContent, OrderContent, amended
from service.orders.errors import InvalidError
from service.orders.order import Contact

LINE = LineContent("longwalk-bench", 12, ("back-wide",), note="by the pond", id="a" * 26)
BEFORE = OrderContent(
    Contact("Imke Harrowdale", "imke@quillfern.example", "", "Quillfern"),
    (LINE,),
    needed_by=date(2026, 9, 1),
    rights_granted=True,
    note="two visits",
)


def test_nothing_said_changes_nothing():
    assert amended(BEFORE, {}) == BEFORE


@pytest.mark.parametrize(
    ("changes", "after"),
    [
        ({"note": "one visit"}, replace(BEFORE, note="one visit")),
        ({"note": None}, replace(BEFORE, note="")),
        ({"needed_by": None}, replace(BEFORE, needed_by=None)),
        ({"contact": {"phone": "7"}}, replace(BEFORE, contact=replace(BEFORE.contact, phone="7"))),
        ({"contact": {"name": None}}, replace(BEFORE, contact=replace(BEFORE.contact, name=""))),
        ({"contact": None}, replace(BEFORE, contact=Contact())),
        ({"lines": []}, replace(BEFORE, lines=())),
        ({"lines": None}, replace(BEFORE, lines=())),
    ],
)
def test_a_patch_changes_what_it_names(changes, after):
    assert amended(BEFORE, changes) == after


def test_a_line_that_is_named_keeps_what_is_left_out_of_it():
    assert amended(BEFORE, {"lines": [{"id": LINE.id, "quantity": 3}]}).lines == (replace(LINE, quantity=3),)


def test_a_new_line_says_what_it_is():
    with pytest.raises(InvalidError) as refused:
        amended(BEFORE, {"lines": [{"id": LINE.id}, {"slats": ("back-wide",)}]})
    assert {problem.field for problem in refused.value.problems} == {"lines.1.model_key", "lines.1.quantity"}
    more = amended(BEFORE, {"lines": [{"id": LINE.id}, {"model_key": "tern-stool", "quantity": 1}]})
    assert more.lines == (LINE, LineContent("tern-stool", 1))
