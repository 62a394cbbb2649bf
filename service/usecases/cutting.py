"""Where and how it is cut: trials, placements, the maker's changes."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from artwork.cut import Placement
from artwork.errors import EngineError
from service.orders.actors import Actor, Role
from service.orders.cuts import (
    allowance_problems,
    circumstances,
    placement_problems,
    thickness_problems,
)
from service.orders.errors import ConflictError, FieldError, InvalidError
from service.orders.order import Carving
from service.usecases import computing
from service.usecases.answers import Judged, OrderAggregate
from service.usecases.commands import CutChange, Trial
from service.usecases.context import Context
from service.usecases.guard import need_role
from service.usecases.in_hand import InHand, look_at, renew
from service.usecases.opened import open_carving

log = logging.getLogger("slatproof.cutting")

TRIAL_WAIT = 10.0
"""Seconds that somebody waits for a free process before being told to come back."""


def try_cut(ctx: Context, actor: Actor, carving_id: str, trial: Trial, picture: bool = False) -> Judged:
    """Judge a cut at once, keeping nothing.

    NotFoundError, NotAllowedError, InvalidError, ConflictError "no-outline", TooManyError.
    """
    hand = look_at(ctx, actor, carving_id)
    carving = _changed(hand, trial.change, actor)
    at = circumstances(carving, hand.line, hand.settings)
    placement = trial.placement or carving.placement
    outline, whose = ctx.blobs.get(hand.outline), carving.order_id
    with answering():
        if trial.largest:
            placement = ctx.compute.run(
                computing.lay_largest,
                outline,
                at,
                placement,
                about=hand.outline,
                wait=TRIAL_WAIT,
                whose=whose,
            )
        elif placement is None:
            placement = ctx.compute.run(
                computing.lay, outline, at, about=hand.outline, wait=TRIAL_WAIT, whose=whose
            )
        _check_placement(placement)
        judged = ctx.compute.run(
            computing.judge, outline, at, placement, picture, about=hand.outline, wait=TRIAL_WAIT, whose=whose
        )
    return Judged(
        judged.digest, placement, judged.verdict, judged.sentence, judged.check, judged.picture or None
    )


def place(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, placement: Placement
) -> OrderAggregate:
    """Lay the art; a new proof follows in the background.

    NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError.
    """
    _check_placement(placement)
    with open_carving(ctx, actor, carving_id, "change", expected_revision) as (opened, carving):
        renew(opened, carving, replace(carving, placement=placement))
        return opened.whole()


def change_cut(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, change: CutChange
) -> OrderAggregate:
    """Change slat, bit, board or allowances.

    NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError.
    """
    with open_carving(ctx, actor, carving_id, "change", expected_revision) as (opened, carving):
        hand = InHand(
            carving, opened.lines[carving.line_id], opened.settings, tuple(opened.carvings.values())
        )
        renew(opened, carving, _changed(hand, change, actor))
        return opened.whole()


def check_again(ctx: Context, actor: Actor, carving_id: str, expected_revision: int) -> OrderAggregate:
    """A new proof of the same cut under today's settings. NotFoundError, NotAllowedError, StaleError, ConflictError."""
    with open_carving(ctx, actor, carving_id, "change", expected_revision) as (opened, carving):
        renew(opened, carving, carving)
        return opened.whole()


def _changed(hand: InHand, change: CutChange, actor: Actor) -> Carving:
    """The carving as ``change`` would have it; it is not moved. NotAllowedError, InvalidError, ConflictError."""
    if (change.bit_key, change.thickness, change.allowances) != (None, None, None):
        need_role(actor, "change bit, board or allowances", Role.MAKER, Role.HELPER)
    problems = tuple(_change_problems(hand, change))
    if problems:
        raise InvalidError(*problems)
    carving = hand.carving
    if change.slat_key is not None and change.slat_key != carving.slat_key:
        if change.slat_key in hand.taken_slats():
            raise ConflictError("slat-taken", "That slat carries other art already. Choose another.")
        carving = replace(carving, slat_key=change.slat_key, placement=None)
    if change.bit_key is not None:
        carving = replace(carving, bit_key=change.bit_key or None)
    if change.thickness is not None:
        carving = replace(carving, thickness=change.thickness or None)
    if change.allowances is not None:
        carving = replace(carving, allowances=dict(change.allowances))
    return carving


def _change_problems(hand: InHand, change: CutChange) -> Iterator[FieldError]:
    if change.slat_key is not None and change.slat_key not in {slat.key for slat in hand.art_slats()}:
        yield FieldError("slat_key", "unknown", "This model has no such slat that carries art.")
    if change.bit_key and hand.settings.bit(change.bit_key) is None:
        yield FieldError("bit_key", "unknown", "The workshop has no such bit.")
    if change.thickness:
        yield from thickness_problems(change.thickness)
    if change.allowances is not None:
        yield from allowance_problems("allowances", change.allowances)


def _check_placement(placement: Placement) -> None:
    problems = tuple(placement_problems(placement))
    if problems:
        raise InvalidError(*problems)


@contextmanager
def answering() -> Iterator[None]:
    """What the engine refuses is an answer to whoever asked."""
    try:
        yield
    except EngineError as refusal:
        raise ConflictError(refusal.code, str(refusal)) from refusal
