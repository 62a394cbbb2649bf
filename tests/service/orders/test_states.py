"""The table of states: what it allows, and what may never be possible in it."""

from __future__ import annotations

import pytest

from service.orders.actors import Role
from service.orders.errors import ConflictError, NotAllowedError
from service.orders.states import (
    CARVING_STEPS,
    ORDER_STEPS,
    CarvingState,
    OrderState,
    carving_after,
    order_after,
)

SYSTEM, MAKER, HELPER, CLIENT = Role.SYSTEM, Role.MAKER, Role.HELPER, Role.CLIENT
DECISIONS = {"sign-off", "waive", "ask-change", "find-feasible", "reject", "release", "recall"}


def reachable(without: set[str]) -> set[CarvingState]:
    """Carving states that can be reached from ``no-art`` when some steps are never taken."""
    found = {CarvingState.NO_ART}
    while True:
        more = {s.to for s in CARVING_STEPS if s.event not in without and s.sources & found} - found
        if not more:
            return found
        found |= more


def test_every_state_can_be_reached():
    assert reachable(set()) == set(CarvingState)
    targets = {step.to for step in ORDER_STEPS} - {None}
    assert targets | {OrderState.DRAFT} == set(OrderState)


@pytest.mark.parametrize(
    "missing",
    # a refused carving goes on once it has an outline, which the use case asks for
    [{"sign-off"}, {"find-feasible"}, {"offer"}, {"prove"}, {"give-art"}, {"read", "refuse", "fall-back"}],
    ids=lambda events: "-or-".join(sorted(events)),
)
def test_nothing_is_released_when_one_step_is_never_taken(missing):
    assert not reachable(missing) & {CarvingState.APPROVED, CarvingState.RELEASED}


@pytest.mark.parametrize("event", ["give-art", "change", "ask-change", "reject", "outdate"])
def test_what_changes_or_doubts_a_cut_takes_its_approvals(event):
    for step in CARVING_STEPS:
        if step.event == event:
            assert step.to not in {
                CarvingState.SIGNED, CarvingState.FEASIBLE, CarvingState.APPROVED, CarvingState.RELEASED,
            }  # fmt: skip


def test_a_change_starts_from_the_check_again():
    assert {step.to for step in CARVING_STEPS if step.event == "change"} == {CarvingState.CHECKING}
    assert {step.to for step in CARVING_STEPS if step.event == "prove"} == {CarvingState.CHECKED}


def test_released_carvings_can_only_be_recalled():
    assert {s.event for s in CARVING_STEPS if CarvingState.RELEASED in s.sources} == {"recall"}


def test_helpers_visitors_and_the_service_decide_nothing():
    for step in CARVING_STEPS:
        if step.event in DECISIONS:
            assert not step.by & {Role.HELPER, Role.VISITOR, Role.SYSTEM}, step
    for step in ORDER_STEPS:
        assert Role.VISITOR not in step.by
        if step.event == "recall":
            assert step.by == {Role.MAKER}
        if step.event == "release":  # a site only with the scope for it, and only what both have approved
            assert step.by == {Role.MAKER, Role.SHOP_SITE}


def test_only_the_client_side_signs_and_only_the_maker_judges():
    sides = {"sign-off": {CLIENT, Role.SHOP_SITE}, "find-feasible": {MAKER}, "reject": {MAKER}}
    for event, side in sides.items():
        for step in CARVING_STEPS:
            if step.event == event:
                assert step.by == side


def test_either_side_may_approve_first():
    after = carving_after("sign-off", CarvingState.OFFERED, CLIENT, OrderState.SUBMITTED)
    assert carving_after("find-feasible", after, MAKER, OrderState.SUBMITTED) is CarvingState.APPROVED
    after = carving_after("find-feasible", CarvingState.OFFERED, MAKER, OrderState.SUBMITTED)
    assert carving_after("sign-off", after, CLIENT, OrderState.SUBMITTED) is CarvingState.APPROVED


def test_a_step_out_of_turn_says_why():
    with pytest.raises(ConflictError, match="cannot sign the proof off while this carving is checked"):
        carving_after("sign-off", CarvingState.CHECKED, CLIENT, OrderState.SUBMITTED)
    with pytest.raises(ConflictError, match="while the order is draft"):
        carving_after("sign-off", CarvingState.OFFERED, CLIENT, OrderState.DRAFT)
    with pytest.raises(ConflictError, match="while the order is done"):
        order_after("cancel", OrderState.DONE, MAKER)


def test_the_wrong_person_is_told_who_may():
    with pytest.raises(NotAllowedError, match="Only maker or shop-site may release"):
        order_after("release", OrderState.SUBMITTED, HELPER)
    with pytest.raises(NotAllowedError, match="Only client or shop-site may sign"):
        carving_after("sign-off", CarvingState.OFFERED, MAKER, OrderState.SUBMITTED)


def test_a_finished_or_cancelled_order_stays_so():
    steps = {state: [step for step in ORDER_STEPS if state in step.sources] for state in OrderState}
    # what was paid may be paid back
    assert {step.event for step in steps[OrderState.CANCELLED]} == {"erase", "pay", "write"}
    # what is delivered may still break
    assert {(step.event, step.to) for step in steps[OrderState.DONE]} == {
        ("erase", None),
        ("pay", None),
        ("tick", None),
        ("remake", None),
        ("shift", None),
        ("check-program", None),
        ("write", None),
    }
