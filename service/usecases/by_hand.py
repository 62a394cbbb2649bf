"""The maker's own changes of a drawing, one place after the other; each makes a new proof."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from service.orders.actors import Actor, Role
from service.orders.by_hand import ByHand, DrawingChanges
from service.orders.cuts import circumstances
from service.orders.errors import ConflictError
from service.orders.order import Carving
from service.orders.record import EntryKind
from service.orders.states import permit
from service.orders.versions import ChosenVersion, VersionKind
from service.store import art
from service.usecases import computing_by_hand
from service.usecases.answers import OrderAggregate
from service.usecases.blob_refs import add_blob_refs, put_all
from service.usecases.computing_by_hand import ChangedByHand, Drawn
from service.usecases.context import Context
from service.usecases.cutting import TRIAL_WAIT, answering
from service.usecases.guard import need_role, need_scope, reach_of, scope_for
from service.usecases.in_hand import InHand, look_at, renew
from service.usecases.opened import open_carving

MOST_TOLD = 40
"""So many of the last changes by hand are told with a carving; the record has them all."""
_DOING = "change a drawing by hand"
_SENTENCE = "Changed by hand at the bench."

Point = tuple[float, float] | None
T = TypeVar("T")


def look_at_changes(
    ctx: Context, actor: Actor, carving_id: str, x: float | None = None, y: float | None = None
) -> DrawingChanges:
    """What is different from what was sent, place by place; with ``x`` and ``y`` (slat mm) what is there as well.

    NotFoundError, NotAllowedError, ConflictError "no-outline", TooManyError.
    """
    hand, drawn = _drawn(ctx, actor, carving_id)
    return _run(ctx, hand, computing_by_hand.look, carving_id, drawn, _point(x, y))


def changes_picture(
    ctx: Context, actor: Actor, carving_id: str, x: float | None = None, y: float | None = None
) -> bytes:
    """The same as a picture (WebP): carved anew, no more, the places numbered.

    NotFoundError, NotAllowedError, ConflictError "no-outline", TooManyError.
    """
    hand, drawn = _drawn(ctx, actor, carving_id)
    return _run(ctx, hand, computing_by_hand.picture, drawn, _point(x, y))


def change_by_hand(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, change: ByHand
) -> OrderAggregate:
    """One place changed; a new proof follows, which says what stops there.

    NotFoundError, NotAllowedError, StaleError, TooManyError; ConflictError "no-outline", or as the engine refuses it.
    """
    hand, drawn = _drawn(ctx, actor, carving_id)
    permit("change", actor.role)
    need_scope(actor, scope_for("change"))
    made = _run(ctx, hand, computing_by_hand.change, drawn, change)
    of = put_all(ctx, [made.outline])
    with open_carving(ctx, actor, carving_id, "change", expected_revision) as (opened, carving):
        if carving != hand.carving:
            raise ConflictError("wrong-state", "Something has changed meanwhile. Look at it as it is now.")
        outline = of[made.outline]
        add_blob_refs(ctx, opened.connection, (outline, made.outline))
        facts = {
            "kind": VersionKind.BY_HAND.value,
            "sentence": made.sentence,
            "likeness": made.likeness,
            **made.facts,
            "outline": outline,
            "instead_of": carving.outline,
        }
        opened.enter(EntryKind.VERSION, opened.proofs.get(carving.id), facts=facts)
        after = replace(
            carving,
            outline=outline,
            outline_note=_SENTENCE if not carving.version else carving.outline_note,
            placement=made.placement,
            version=_told(carving, made, actor),
        )
        renew(opened, carving, after)
        return opened.whole()


def _told(carving: Carving, made: ChangedByHand, actor: Actor) -> ChosenVersion:
    before = carving.version
    if before is None:
        assert carving.placement is not None  # noqa: S101 - it was laid, or there were no cut to change
        return ChosenVersion(
            kind=VersionKind.BY_HAND,
            sentence=_SENTENCE,
            likeness=made.likeness,
            chosen_by=actor.role,
            sent_placement=carving.placement,
            sent_slat_key=carving.slat_key,
            sent_bit_key=carving.bit_key,
            by_hand=(made.sentence,),
        )
    told = (*before.by_hand, made.sentence)[-MOST_TOLD:]
    return replace(before, likeness=made.likeness, by_hand=told)


def _drawn(ctx: Context, actor: Actor, carving_id: str) -> tuple[InHand, Drawn]:
    """The carving with the outline that is carved and the one that was sent."""
    hand = look_at(ctx, actor, carving_id)
    need_role(actor, _DOING, Role.MAKER, Role.HELPER)
    carving = hand.carving
    outline = ctx.blobs.get(hand.outline)
    with ctx.store.reading() as connection:
        readings = art.readings_by_ids(connection, reach_of(actor), [carving.reading_id or ""])
    sent = readings[0].outline if readings else None
    if carving.placement is None:
        raise ConflictError("no-outline", "The art has not been laid on the slat yet. Wait for it.")
    at = circumstances(carving, hand.line, hand.settings)
    return hand, Drawn(outline, ctx.blobs.get(sent) if sent else outline, at, carving.placement)


def _point(x: float | None, y: float | None) -> Point:
    return None if x is None or y is None else (x, y)


def _run(ctx: Context, hand: InHand, work: Callable[..., T], *given: object) -> T:
    with answering():
        return ctx.compute.run(work, *given, about=hand.outline, wait=TRIAL_WAIT, whose=hand.carving.order_id)
