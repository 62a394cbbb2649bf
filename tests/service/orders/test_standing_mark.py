"""The workshop's mark: approved once per version, by who saw it; the newest approved is carved."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from artwork.jsonable import bit_to_json, slat_to_json
from artwork.workpiece import Allowances
from service.orders.cuts import basis_of, circumstances_of
from service.orders.errors import ConflictError
from service.orders.standing_mark import (
    StandingMark,
    is_stale,
    marks_to_carve,
    next_version,
    refuse_unless_approvable,
)
from service.orders.workshop import Settings, ShopBit, ShopModel, Workshop
from tests.service.usecases.world import BITS, bench

NOW = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)
SHOP = Workshop("w", "oxbarrow", "Oxbarrow Benchworks", 1, Allowances(), BITS[0].key, 365)
SETTINGS = Settings(SHOP, (ShopModel(bench()),), tuple(ShopBit(bit) for bit in BITS))
TODAY = circumstances_of("longwalk-bench", "back-wide", None, SETTINGS)
MARK = StandingMark(
    id="m1",
    workshop_id="w",
    model_key="longwalk-bench",
    slat_key="back-wide",
    version=1,
    digest="d" * 64,
    basis=basis_of(TODAY),
    made_of={"slat": slat_to_json(TODAY.slat), "bit": bit_to_json(TODAY.bit)},
    outline="0" * 64,
    picture="p" * 64,
    verdict="carves",
    sentence="This carves.",
    check={},
    remarks=(),
    proposed_at=NOW,
)


def refused(mark: StandingMark, digest: str = "d" * 64, picture: str = "p" * 64) -> str:
    with pytest.raises(ConflictError) as caught:
        refuse_unless_approvable(mark, digest, picture, SETTINGS)
    return caught.value.code


def test_a_version_is_approved_by_who_saw_it_once_while_it_carves():
    refuse_unless_approvable(MARK, "d" * 64, "p" * 64, SETTINGS)
    assert refused(replace(MARK, approved_at=NOW, approval=4)) == "already-approved"
    assert refused(replace(MARK, ended_at=NOW)) == "ended"
    assert refused(replace(MARK, verdict="will-not-carve")) == "will-not-carve"
    assert refused(MARK, digest="e" * 64) == refused(MARK, picture="e" * 64) == "not-current"
    assert refused(replace(MARK, basis="e" * 64)) == "mark-changed"


def test_other_settings_make_a_mark_stale():
    rougher = replace(SHOP, allowances=replace(SHOP.allowances, sanding=SHOP.allowances.sanding + 0.1))
    for_slat = ShopModel(bench(), {"back-wide": {"sanding": 0.9}})
    for_other = ShopModel(bench(), {"back-left": {"sanding": 0.9}})
    assert not is_stale(MARK, SETTINGS)
    assert not is_stale(MARK, replace(SETTINGS, models=(for_other,)))
    for changed in (
        replace(SETTINGS, workshop=rougher),
        replace(SETTINGS, models=(for_slat,)),
        replace(SETTINGS, models=()),
        replace(SETTINGS, bits=()),
    ):
        assert is_stale(MARK, changed)


@given(
    st.lists(
        st.tuples(st.sampled_from(["rail", "arm"]), st.booleans(), st.booleans()), min_size=1, max_size=8
    )
)
def test_the_newest_approved_version_of_each_slat_is_carved(made):
    """Against a plain walk over each slat's versions, newest first."""
    marks: list[StandingMark] = []
    for slat, approved, ended in made:
        version = next_version(marks, "longwalk-bench", slat)
        assert version == 1 + sum(mark.slat_key == slat for mark in marks)
        marks.append(
            replace(
                MARK,
                slat_key=slat,
                version=version,
                approved_at=NOW if approved else None,
                ended_at=NOW if ended else None,
            )
        )
    expected = []
    for slat in ("arm", "rail"):
        newest = next((m for m in reversed(marks) if m.slat_key == slat and m.approved_at), None)
        if newest is not None and newest.ended_at is None:
            expected.append(newest)
    assert marks_to_carve(marks, "longwalk-bench") == tuple(expected)
    assert marks_to_carve(marks, "fernhollow-chair") == ()
