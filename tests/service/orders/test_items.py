"""The life of an item: what follows from an order, what is ticked, and boards that are made again."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from service.orders.errors import ConflictError, InvalidError, NotFoundError
from service.orders.items import BreakReason, ItemState, broken, counts, items_of, place_of, tick_of, ticked
from service.orders.order import Line
from tests.service.usecases.world import bench

AT = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
LINES = [
    Line("bench", 3, id="l2", order_id="o", position=2),
    Line("bench", 2, id="l1", order_id="o", position=1),
]
SLATS = [placed.slat.key for placed in bench().slats]
LAYOUTS = {"bench": bench()}
CARVED = {(1, SLATS[0], None): ("a" * 64, ""), (2, SLATS[0], 1): ("b" * 64, "Harrow")}
S = ItemState


def items(*ticks):
    return items_of(LINES, LAYOUTS, CARVED, ticks)


def of(key, *ticks):
    (found,) = [item for item in items(*ticks) if item.key == key]
    return found


def test_there_is_one_item_for_every_slat_of_every_piece():
    found = items()
    assert len(found) == 5 * len(SLATS) == len({item.key for item in found})
    assert [item.state for item in found].count(S.TO_CARVE) == 2 + 1
    assert counts(found) == {"to-carve": 3, "to-cut": len(found) - 3}
    assert of(f"2-1-1-{SLATS[0]}").text == "Harrow"
    assert (found[0].line, found[-1].line) == (1, 2)


def test_a_tick_goes_on_and_back_and_over_steps_but_only_from_what_was_seen():
    item = of(f"1-1-1-{SLATS[0]}")
    done = ticked(item, S.TO_CARVE, S.FINISHED, AT, "Ada")
    assert (done.state, done.by, done.follows) == (S.FINISHED, "Ada", S.PACKED)
    assert ticked(done, S.FINISHED, S.CARVED, AT, "Bo").state is S.CARVED
    with pytest.raises(ConflictError, match=r"finished already: ticked by Ada on 04 May 2026, 09:30") as told:
        ticked(done, S.TO_CARVE, S.CARVED, AT, "Bo")
    assert told.value.code == "item-moved"
    with pytest.raises(InvalidError, match="to-carve, carved, cut-out"):
        ticked(item, S.TO_CARVE, S.BROKEN, AT, "Bo")


def test_a_slat_without_art_is_never_carved():
    item = of(f"1-1-1-{SLATS[1]}")
    assert (item.state, item.follows) == (S.TO_CUT, S.CUT_OUT)
    with pytest.raises(InvalidError):
        ticked(item, S.TO_CUT, S.CARVED, AT, "Ada")


def test_a_broken_board_is_made_again_by_the_same_digest_any_number_of_times():
    first = of(f"1-2-1-{SLATS[0]}")
    gone, second = broken(first, BreakReason.KNOT, "under the stem", AT, "Ada")
    assert (gone.state, gone.reason, gone.words) == (S.BROKEN, "knot", "under the stem")
    assert (second.key, second.state, second.digest) == (f"1-2-2-{SLATS[0]}", S.TO_CARVE, first.digest)
    assert of(second.key, tick_of(gone)) == second
    later, third = broken(second, BreakReason.DROPPED, "", AT, "Bo")
    found = [item for item in items(tick_of(gone), tick_of(later)) if item.slat_key == SLATS[0]]
    assert [item.key for item in found if item.piece == 2 and item.line == 1] == [
        first.key,
        second.key,
        third.key,
    ]


def test_a_board_is_made_again_once():
    gone, _ = broken(of(f"1-1-1-{SLATS[0]}"), BreakReason.KNOT, "", AT, "Ada")
    with pytest.raises(ConflictError, match=f"1-1-2-{SLATS[0]}") as told:
        broken(gone, BreakReason.KNOT, "", AT, "Bo")
    assert told.value.code == "already-remade"
    with pytest.raises(ConflictError, match="made again as board 2") as told:
        ticked(gone, S.TO_CARVE, S.CARVED, AT, "Bo")
    assert told.value.code == "item-broken"


def test_another_reason_needs_words():
    item = of(f"1-1-1-{SLATS[0]}")
    with pytest.raises(InvalidError):
        broken(item, BreakReason.OTHER, "  ", AT, "Ada")
    assert broken(item, BreakReason.OTHER, "a dog", AT, "Ada")[0].words == "a dog"


def test_what_was_said_of_another_cut_or_model_does_not_hold():
    done = tick_of(ticked(of(f"1-1-1-{SLATS[0]}"), S.TO_CARVE, S.CARVED, AT, "Ada"))
    assert of(done.key, done).state is S.CARVED
    assert of(done.key, replace(done, digest="c" * 64)).state is S.TO_CARVE
    assert of(done.key, replace(done, model_key="other")).state is S.TO_CARVE


@pytest.mark.parametrize(
    "key", ["", "1-1-1", "1-1-a", "01-1-1-back", "1-1-1-", "-1-1-1-back", "1-1-999999-back", "١-1-1-back"]
)
def test_what_is_no_key_names_nothing(key):
    with pytest.raises(NotFoundError):
        place_of(key)


def test_a_key_names_its_place():
    assert place_of("1-12-2-back-left-3").key == "1-12-2-back-left-3"
    assert place_of("1-12-2-back-left-3").slat_key == "back-left-3"
