"""The sheets of a whole order: labels, packing list, parts; they count what was ordered, and say what guards people."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import replace

import pypdfium2
import pytest
from shapely import box

from artwork.workpiece import Allowances, Bit, Slat
from service.batches.bench_words import bit_words, holding_words, safety_words
from service.batches.board_plan import boards_from_json, boards_to_json
from service.batches.cautions import checks
from service.batches.labels import labelled, labels
from service.batches.packing_list import packing_list
from service.batches.parts_list import parts_list
from service.orders.machine import Machine, machine_from
from tests.service.batches.making import Shelf, batch_of, order_of


@pytest.fixture(scope="module")
def order():
    return batch_of(Shelf()).orders[0]


def pages(data: bytes) -> list[str]:
    return [page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(data)]


def test_every_slat_of_every_piece_has_a_label(order):
    told = labelled(order)
    assert len(told) == 12 * 6 == len({part.key for part, _ in told})
    found = pages(labels(order))
    assert len(found) == 3  # 72 labels, 3 × 8 to a sheet
    assert sum(page.count("Order 7") for page in found) == 72
    assert "1-12-1-back-centre" in "".join(found)
    assert labels(order) == labels(order)


def test_label_sheets_are_as_the_shop_has_them(order):
    machine = replace(order.machine, paper="Letter", label_columns=2, label_rows=5, label_margin_x=20.0)
    made = pypdfium2.PdfDocument(labels(replace(order, machine=machine)))
    assert len(made) == 8  # 72 labels, ten to a sheet
    assert made[0].get_width() == pytest.approx(612)  # 8.5 in


def test_a_text_is_on_its_label(order):
    named = tuple(
        replace(
            board,
            parts=tuple(
                replace(each, part=replace(each.part, text="Rosa\nLind")) if each.part.piece == 3 else each
                for each in board.parts
            ),
        )
        for board in order.boards
    )
    assert "Rosa / Lind" in "".join(pages(labels(replace(order, boards=named))))


def test_the_packing_list_names_each_piece_and_what_goes_along(order):
    terms = replace(order.terms, note="By the gate of Lantern Lane 4.")
    text = "\n".join(pages(packing_list(replace(order, terms=terms))))
    assert "Lantern Lane 4" in text
    assert "12 × Fernhollow chair, in 12 bundles." in text
    assert "216 stainless screws for the 18 holes in the slats of each Fernhollow chair" in text
    assert text.count("6 × seat slat") == 12
    assert all(f"Line 1, piece {piece}" in text for piece in range(1, 13))
    assert "does not replace" in text


def test_the_list_of_parts_counts_what_was_ordered(order):
    rows = list(csv.DictReader(io.StringIO(parts_list(order).decode("utf-8-sig"))))
    wanted = Counter({part.name: 12 * part.count for part in order.models["fernhollow-chair"].all_parts})
    assert Counter(row["part"] for row in rows) == wanted


def test_boards_come_back_from_a_listing_as_they_were(order):
    assert boards_from_json(boards_to_json(order.boards)) == order.boards


def test_bits_are_told_with_numbers_speeds_and_feeds():
    machine = Machine(v_tool=7, v_speed=16_000.0, straight_feed=1500.0, straight_pass=5.0)
    told = bit_words(machine, [(Bit("v60"), Allowances(feed=1800.0)), (Bit("v60"), Allowances(feed=1800.0))])
    assert len(told) == 2
    assert told[0].startswith("T7  V-bit v60, 60°, 12.70 mm: 16000 turns/min, feed 1800, plunge 700 mm/min")
    assert "feed 1500" in told[1] and "passes 5.00 mm" in told[1]
    assert len(bit_words(machine, [(Bit("v60"), Allowances(flat_bit=3.0))])) == 3
    two = bit_words(machine, [(Bit("v60"), Allowances()), (Bit("v30", 30.0), Allowances())])
    assert "take turns as T7" in two[-1] and "set the zero anew" in two[-1]


def test_holding_is_told_as_it_is_set():
    assert any("tabs 6 mm wide and 3 mm high" in words for words in holding_words(Machine()))
    bare = holding_words(Machine(tab_width=0.0, zero_per="bed"))
    assert any("No tabs are drawn" in words for words in bare)
    assert any("once for the bed" in words for words in bare)


def test_the_check_before_the_cut_asks_for_zero_where_it_is_set():
    slat, shop = Slat("s", "slat", box(0, 0, 90, 400), 25.4), Allowances(unevenness=0.6, sanding_made_up=True)
    board, bed = (
        "\n".join(checks(slat, Bit("v60"), shop, 8.0, 0.1, zero_per=each)) for each in ("board", "bed")
    )
    assert "Bit zero set on this very board, over the art; then 0.30 mm lower" in board
    assert (
        "Bit zero set for the bed, and this board's face over the art within ± 0.60 mm (0.023 in) of it; then"
        in bed
    )
    assert "this very board" not in bed


def test_every_caution_names_its_source():
    """Sources: docs/sources.md §6."""
    told = safety_words(150.0)
    assert all("(" in words and words.rstrip(".").count(")") for words in told)
    for subject in ("Eyes", "Ears", "Bit change", "air cut", "Screws", "unattended", "Router table", "jig"):
        assert any(subject in words for words in told), subject
    assert any("counter-clockwise: feed against it, right to left" in words for words in told)
    assert any("shortest part here is 150 mm" in words for words in told)
    assert not any("shortest part here" in words for words in safety_words(400.0))


def test_machines_released_before_boards_were_settings_keep_their_digest():
    facts = Machine().facts
    assert "stock" not in facts and "tab_width" not in facts
    assert machine_from(facts) == Machine()
    assert "tab_width" in Machine(tab_width=5.0).facts


def test_an_order_without_a_plan_has_no_sheets_to_speak_of():
    assert order_of(7).boards == ()


def test_labels_and_packing_list_are_in_the_shops_language(order):
    german = replace(order, machine=replace(order.machine, language="de"))
    assert "Auftrag 7" in "".join(pages(labels(german)))
    assert re.search(
        r"Pos. 1, Stück 12 · Brett \d+", "".join(pages(labels(german)))
    )  # it fits the label whole
    text = "\n".join(pages(packing_list(german)))
    assert "12 × Fernhollow chair, in 12 Bündeln." in text
    assert "Position 1, Stück 1" in text
    assert "does not replace" not in text
