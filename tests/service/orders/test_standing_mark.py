"""The workshop's mark: approved once per version, carved only as approved, never into a client's art."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from artwork.digest import digest
from service.orders.errors import Conflict, Invalid
from service.orders.standing_mark import (
    StandingMark,
    approve,
    end,
    marks_to_carve,
    next_version,
    refuse_clash,
    refuse_unless_current,
)
from tests.artwork.drawn import board, cut, rectangle, straight

NOW = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)
MARK = StandingMark("m1", "w", "longwalk-bench", "back-rail", 1, "d" * 64, "o" * 64, "p" * 64, "carves")


def approved(mark: StandingMark) -> StandingMark:
    return approve(mark, mark.digest, mark.picture, "maker:1", NOW)


def test_a_version_is_approved_once_by_who_saw_it():
    held = approved(MARK)
    assert held.approved_at == NOW and held.approved_by == "maker:1"
    with pytest.raises(Conflict) as refused:
        approved(held)
    assert refused.value.code == "already-approved"


@pytest.mark.parametrize(("digest_shown", "picture"), [("e" * 64, "p" * 64), ("d" * 64, "q" * 64)])
def test_another_digest_or_picture_approves_nothing(digest_shown, picture):
    with pytest.raises(Conflict, match="changed since it was shown"):
        approve(MARK, digest_shown, picture, "maker:1", NOW)


def test_what_will_not_carve_is_never_approved():
    with pytest.raises(Conflict, match="will not carve"):
        approved(replace(MARK, verdict="will-not-carve"))
    with pytest.raises(Conflict, match="not carved any more"):
        approved(end(MARK, NOW))


def test_a_new_version_has_no_approval_and_waits_beside_the_old_one():
    old = approved(MARK)
    new = next_version([old], replace(old, id="m2", digest="e" * 64))
    assert (new.version, new.approved_at) == (2, None)
    assert marks_to_carve([old, new], "w", "longwalk-bench") == (old,)
    held = approved(new)
    assert marks_to_carve([old, held], "w", "longwalk-bench") == (held,)
    # taking the new one away does not bring the old one back
    assert marks_to_carve([old, end(held, NOW)], "w", "longwalk-bench") == ()


@given(
    st.lists(
        st.tuples(st.sampled_from("ab"), st.sampled_from("xy"), st.booleans(), st.booleans()), max_size=8
    )
)
def test_only_approved_newest_unended_versions_of_the_model_are_carved(steps):
    marks: list[StandingMark] = []
    for workshop, slat, is_approved, is_ended in steps:
        mark = next_version(marks, replace(MARK, id=str(len(marks)), workshop_id=workshop, slat_key=slat))
        mark = approved(mark) if is_approved else mark
        marks.append(end(mark, NOW) if is_ended else mark)
    for workshop in "ab":
        found = marks_to_carve(marks, workshop, "longwalk-bench")
        assert len({mark.slat_key for mark in found}) == len(found)
        for mark in found:
            assert mark.workshop_id == workshop and mark.approved_at and mark.ended_at is None
            assert all(
                other.version <= mark.version
                for other in marks
                if (other.workshop_id, other.slat_key) == (workshop, mark.slat_key) and other.approved_at
            )
    versions = [(mark.workshop_id, mark.slat_key, mark.version) for mark in marks]
    assert len(set(versions)) == len(versions)


def test_an_approval_holds_until_anything_that_decides_the_cut_changes():
    art = cut(straight(rectangle(0, 0, 40, 10)), board(1500, 140, grain_deg=0), x=600, y=70)
    held = approved(replace(MARK, digest=digest(art)))
    refuse_unless_current(held, digest(art))
    for changed in (
        replace(art, allowances=replace(art.allowances, sanding=0.5)),
        replace(art, bit=replace(art.bit, tip_flat=0.2)),
        replace(art, slat=replace(art.slat, thickness=22.0)),
        replace(art, placement=replace(art.placement, x=600.1)),
    ):
        with pytest.raises(Conflict, match="have changed"):
            refuse_unless_current(held, digest(changed))
    with pytest.raises(Conflict, match="not approved"):
        refuse_unless_current(replace(held, approved_at=None), digest(art))
    with pytest.raises(Conflict, match="not approved"):
        refuse_unless_current(end(held, NOW), digest(art))


def test_mark_and_art_keep_wood_between_them():
    slat = board(400, 200)
    mark = cut(straight(rectangle(0, 0, 20, 20)), slat, x=0, y=100)
    # least land across the grain 2.5, and 2 × 0.4 × tan 30° for the uneven board: 2.962
    refuse_clash(mark, cut(straight(rectangle(0, 0, 20, 20)), slat, x=23.0, y=100))
    with pytest.raises(Invalid, match="Move the art away") as refused:
        refuse_clash(mark, cut(straight(rectangle(0, 0, 20, 20)), slat, x=22.9, y=100))
    assert refused.value.problems[0].code == "mark-too-close"
    with pytest.raises(Invalid, match=r"stand 0(\.0+)? mm"):
        refuse_clash(mark, mark)


def test_the_record_holds_what_was_approved():
    assert MARK.facts == {
        "mark": "m1", "model": "longwalk-bench", "slat": "back-rail", "version": 1, "digest": "d" * 64,
    }  # fmt: skip
