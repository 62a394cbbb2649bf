"""Today: released work by bit and board on one sheet, what is taken out, what is late, what is ordered again."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from service.pages.today import Cut, by_bit, cuts_of
from tests.pages.browsing import PHONE
from tests.pages.steps import keep
from tests.pages.test_accessible import faults
from tests.pages.test_bench import bench, maker_state  # noqa: F401 - fixtures
from tests.pages.test_items import released
from tests.running import revision

pytestmark = pytest.mark.browser


def test_released_work_is_taken_out_carved_and_ordered_again(bench, running):  # noqa: F811
    order = released(running)
    page, number = bench, str(order["number"])
    page.goto(f"{page.base}/bench")
    page.get_by_role("link", name="Today").click()
    row = page.locator("tbody tr", has=page.get_by_role("link", name=number, exact=True)).first
    expect(row).to_contain_text("wide centre back slat")
    expect(row).to_contain_text("not taken out")
    assert faults(page) == []
    keep(page, "today")
    page.set_viewport_size(PHONE["viewport"])
    assert faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    keep(page, "today-phone")
    page.get_by_role("button", name="Take out").click()
    page.goto(f"{page.base}/bench/today")
    expect(row).not_to_contain_text("not taken out")
    maker = running.maker()
    for step in ("production", "completion"):
        order = maker.do("POST", f"/orders/{order['id']}/{step}", headers=revision(order))
    page.reload()
    page.get_by_role("button", name=re.compile(f"Order it again.*order {number}$")).click()
    expect(page.locator("h1")).to_contain_text("draft")


def cut(bit: str, board: str, minutes: float) -> Cut:
    return Cut({}, "slat", 1, bit, board, 3.0, minutes)


def test_a_bit_is_put_in_once_and_boards_alike_lie_together():
    """What takes longest with one bit comes first; boards of one kind are not mixed with others."""
    found = by_bit([cut("a", "thin", 1), cut("b", "thick", 5), cut("a", "thick", 1), cut("b", "thick", 1)])
    assert [(bit.words, [(b.words, len(b.cuts)) for b in bit.boards]) for bit in found] == [
        ("b", [("thick", 2)]),
        ("a", [("thick", 1), ("thin", 1)]),
    ]


def test_the_workshops_own_mark_is_work_too():
    """A list's texts on one slat are one row; the mark on the same slat's model is another."""
    facts = {
        "bit": {"angleDeg": 60.0, "tipFlat": 0.15},
        "slat": {"name": "rail", "thickness": 25.4, "species": "western-redcedar"},
    }
    proof = {"facts": facts, "check": {"figures": {"depth": 4.0, "minutes": 2.0}}}
    order = {
        "carvings": [{"proof": {**proof, "pieces": 1}}, {"proof": {**proof, "pieces": 2}}, {"proof": None}],
        "marks": [{"pieces": 13, "mark": proof}],
    }
    assert [(cut.slat, cut.pieces, cut.minutes) for cut in cuts_of(order)] == [
        ("rail", 3, 6.0),
        ("rail: own mark", 13, 26.0),
    ]
    assert {cut.board for cut in cuts_of(order)} == {"25.4 mm thick, western red cedar"}
