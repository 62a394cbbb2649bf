"""What really happened, on both databases: said at the bench, kept through erasure, accepted as a factor of times."""

from __future__ import annotations

import pytest

from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError
from service.orders.outcomes import Outcome
from service.usecases import outcomes as happened
from service.usecases import privacy_and_audit, producing
from service.usecases import shop as workshop

from .world import World


def key(piece: int) -> str:
    return f"1-{piece}-1-back-wide"


def test_an_outcome_is_kept_beside_what_was_predicted(either_world: World):
    world, whole = either_world, either_world.released()
    said = happened.record_outcome(
        world.ctx,
        world.helper,
        whole.order.id,
        key(1),
        Outcome.BROKE,
        x=3.0,
        y=210.0,
        words="by a knot",
        minutes=8.5,
    )
    assert said.predicted.minutes and said.predicted.least_line and said.digest
    assert happened.list_outcomes(world.ctx, world.maker, whole.order.id) == (said,)
    anew = happened.record_outcome(world.ctx, world.maker, whole.order.id, key(1), Outcome.FINE)
    assert happened.list_outcomes(world.ctx, world.maker, whole.order.id) == (anew,)
    with pytest.raises(NotFoundError):
        happened.record_outcome(world.ctx, world.helper, whole.order.id, "1-99-1-back-wide", Outcome.FINE)
    with pytest.raises(InvalidError):
        happened.record_outcome(world.ctx, world.helper, whole.order.id, key(2), Outcome.FINE, x=1.0)
    with pytest.raises(NotAllowedError):
        happened.record_outcome(world.ctx, world.client(whole.order.id), whole.order.id, key(2), Outcome.FINE)


def test_measured_times_give_a_factor_that_is_taken_over_only_when_asked(either_world: World):
    world, whole = either_world, either_world.released()
    for piece, more in enumerate((1.2, 1.3, 1.25, 1.22), 1):
        told = happened.record_outcome(
            world.ctx, world.helper, whole.order.id, key(piece), Outcome.FINE
        ).predicted
        happened.record_outcome(
            world.ctx, world.helper, whole.order.id, key(piece), Outcome.FINE, minutes=told.minutes * more
        )
    found = happened.get_experience(world.ctx, world.maker)
    assert found.time.factor == pytest.approx(1.242, abs=0.01) and found.proposals
    before = workshop.get_settings(world.ctx, world.maker).workshop
    assert before.allowances.time_scale == 1.0
    with pytest.raises(ConflictError):
        happened.accept_time_factor(world.ctx, world.maker, 1.0)
    happened.accept_time_factor(world.ctx, world.maker, found.time.time_scale)
    after = workshop.get_settings(world.ctx, world.maker).workshop
    assert (after.allowances.time_scale, after.revision) == (found.time.time_scale, before.revision + 1)
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_an_export_holds_outcomes_and_an_erasure_takes_their_words(world: World):
    whole = world.released()
    happened.record_outcome(
        world.ctx, world.helper, whole.order.id, key(1), Outcome.BROKE, words="zq by a knot"
    )
    assert "zq by a knot" in str(
        privacy_and_audit.export_order(world.ctx, world.maker, whole.order.id)["outcomes"]
    )
    started = world.look(whole).order
    done = producing.start_production(world.ctx, world.maker, started.id, started.revision).order
    done = producing.finish_production(world.ctx, world.maker, done.id, done.revision).order
    privacy_and_audit.erase_client(world.ctx, world.maker, done.id, done.revision)
    (kept,) = happened.list_outcomes(world.ctx, world.maker, whole.order.id)
    assert (kept.outcome, kept.words, kept.by) == (Outcome.BROKE, "", "")
