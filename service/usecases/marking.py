"""The workshop's own marks: taken from a judged carving, approved once per version, ended."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection

from service.orders import file_remarks
from service.orders.actors import Actor, Role
from service.orders.errors import ConflictError, NotFoundError
from service.orders.ids import new_id
from service.orders.proofs import Proof, Shown
from service.orders.record import EntryKind
from service.orders.standing_mark import (
    StandingMark,
    is_stale,
    next_version,
    refuse_stale,
    refuse_unless_approvable,
)
from service.orders.states import OrderState
from service.orders.workshop import Settings
from service.store import art, marks, orders, record, shop
from service.store.tenant_scope import TenantScope
from service.usecases.answers import BlobFile
from service.usecases.audit import deed_of
from service.usecases.context import Context
from service.usecases.desk import Desk, changing
from service.usecases.freezing import MarkedLine, marks_of_order, marks_of_orders
from service.usecases.guard import need_role
from service.usecases.looking import carvings_by_order_ids, get_order, lines_by_order_ids, orders_by_ids
from service.usecases.shop import get_settings


@dataclass(frozen=True)
class ShownMark:
    """A version of a mark, and whether today's settings would give another cut."""

    mark: StandingMark
    stale: bool


def list_marks(ctx: Context, actor: Actor) -> tuple[ShownMark, ...]:
    """Every version of the workshop's marks, newest first within each slat; makers and helpers. NotAllowedError."""
    need_role(actor, "see the workshop's settings", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        settings = shop.read_settings(connection, actor.workshop_id)
        found = marks.all_marks(connection, actor.workshop_id)
    return tuple(ShownMark(mark, is_stale(mark, settings)) for mark in found)


@dataclass(frozen=True)
class CarriedMark:
    """The mark on all pieces of one line of an order; ``line`` is the line's position."""

    line: int
    pieces: int
    shown: ShownMark


def list_order_marks(ctx: Context, actor: Actor, order_id: str) -> tuple[CarriedMark, ...]:
    """The marks that an order was released with, or would be released with today; makers and helpers.

    NotFoundError, NotAllowedError.
    """
    need_role(actor, "see the workshop's settings", Role.MAKER, Role.HELPER)
    return _carried(marks_of_order(ctx, get_order(ctx, actor, order_id)), get_settings(ctx, actor))


def marks_by_order_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[CarriedMark, ...]]:
    """As :func:`list_order_marks` of each order, all in as many questions as one; empty for one that is not theirs.

    NotAllowedError.
    """
    need_role(actor, "see the workshop's settings", Role.MAKER, Role.HELPER)
    settings, found = get_settings(ctx, actor), orders_by_ids(ctx, actor, ids)
    parts = zip(
        found, lines_by_order_ids(ctx, actor, ids), carvings_by_order_ids(ctx, actor, ids), strict=True
    )
    aggregates = [(order, lines, carvings) for order, lines, carvings in parts if order is not None]
    carried = iter(marks_of_orders(ctx, actor.workshop_id, aggregates))
    return [() if order is None else _carried(next(carried), settings) for order in found]


def _carried(found: Iterable[MarkedLine], settings: Settings) -> tuple[CarriedMark, ...]:
    return tuple(
        CarriedMark(each.line, each.pieces, ShownMark(each.mark, is_stale(each.mark, settings)))
        for each in found
    )


def mark_picture(ctx: Context, actor: Actor, mark_id: str) -> BlobFile:
    """The picture of a mark that the maker approves. NotFoundError, NotAllowedError."""
    need_role(actor, "see the workshop's settings", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        mark = _mark(connection, actor, mark_id)
    return BlobFile(mark.picture, "image/png", f"mark-{mark.digest[:12]}.png", original=False)


def propose_mark(ctx: Context, actor: Actor, shown: Shown) -> ShownMark:
    """Take the current proof of a carving as the next version of the mark on its slat.

    The carving is of a draft: a mark outlives its order, so no client's order gives one.
    NotFoundError, NotAllowedError, ConflictError "not-a-draft", "not-current", "proof-stale", "will-not-
    carve", "mark-changed".
    """
    with changing(ctx, actor) as desk:
        model_key, slat_key, proof = _shown_proof(desk, shown)
        before = marks.all_marks(desk.connection, actor.workshop_id)
        mark = StandingMark(
            id=new_id(),
            workshop_id=actor.workshop_id,
            model_key=model_key,
            slat_key=slat_key,
            version=next_version(before, model_key, slat_key),
            digest=proof.digest,
            basis=proof.basis,
            made_of=proof.facts,
            outline=proof.outline,
            picture=proof.picture,
            verdict=proof.verdict,
            sentence=proof.sentence,
            check=proof.check,
            remarks=proof.remarks,
            proposed_at=ctx.clock.now(),
        )
        refuse_stale(mark, desk.settings)
        art.lock_names(desk.connection, to_sweep=False)
        marks.insert_mark(desk.connection, mark)
        return ShownMark(mark, stale=False)


def approve_mark(ctx: Context, actor: Actor, mark_id: str, digest: str, picture: str) -> ShownMark:
    """Approve a version, with its remarks, by what was shown of it; it takes the place of the one before.

    NotFoundError, NotAllowedError, ConflictError.
    """
    with changing(ctx, actor) as desk:
        mark = _mark(desk.connection, actor, mark_id)
        refuse_unless_approvable(mark, digest, picture, desk.settings)
        number = _enter(desk, EntryKind.MARK_APPROVAL, mark)
        approved = replace(mark, approved_at=ctx.clock.now(), approval=number)
        marks.update_mark(desk.connection, approved)
        return ShownMark(approved, stale=False)


def end_mark(ctx: Context, actor: Actor, mark_id: str) -> ShownMark:
    """No longer carve a version, in what is released from now on; ended already is no error.

    NotFoundError, NotAllowedError.
    """
    with changing(ctx, actor) as desk:
        mark = _mark(desk.connection, actor, mark_id)
        if mark.ended_at is None:
            mark = replace(mark, ended_at=ctx.clock.now())
            _enter(desk, EntryKind.MARK_END, mark)
            marks.update_mark(desk.connection, mark)
        return ShownMark(mark, is_stale(mark, desk.settings))


def _mark(connection: Connection, actor: Actor, mark_id: str) -> StandingMark:
    mark = marks.marks_by_ids(connection, actor.workshop_id, [mark_id]).get(mark_id)
    if mark is None:
        raise NotFoundError("mark")
    return mark


def _shown_proof(desk: Desk, shown: Shown) -> tuple[str, str, Proof]:
    """Model, slat and proof of the carving shown, if it can become a mark."""
    reach = TenantScope(desk.actor.workshop_id)
    found = orders.carvings_by_ids(desk.connection, reach, [shown.carving_id])
    if not found:
        raise NotFoundError("carving")
    (carving,) = found
    (order,) = orders.orders_by_ids(desk.connection, reach, [carving.order_id])
    if order.state is not OrderState.DRAFT:
        raise ConflictError(
            "not-a-draft",
            "The mark stays when its order goes, so it is not taken from a client's order. "
            "Draw it in a draft of the workshop's own, and leave that a draft.",
        )
    current = {each.carving_id: each for each in art.current_proofs(desk.connection, reach, [order.id])}
    proof = current.get(carving.id)
    if proof is None or (proof.digest, proof.picture) != (shown.digest, shown.picture):
        raise ConflictError(
            "not-current", "This proof is no longer the current one. Look at the new one first."
        )
    if proof.stale_because:
        raise ConflictError("proof-stale", f"{proof.stale_because} Have the carving checked again.")
    if proof.verdict == "will-not-carve":
        raise ConflictError("will-not-carve", f"{proof.sentence} Nobody can approve what will not carve.")
    lines = orders.lines_of_orders(desk.connection, reach, [order.id])
    (model_key,) = (line.model_key for line in lines if line.id == carving.line_id)
    return model_key, carving.slat_key, proof


def _enter(desk: Desk, kind: EntryKind, mark: StandingMark) -> int:
    """Into the record, about no order; the entry's number."""
    deed = deed_of(
        desk.actor,
        kind,
        desk.ctx.clock.now(),
        carving_id=mark.id,
        digest=mark.digest,
        picture=mark.picture,
        facts={
            **mark.facts,
            "accepted": list(mark.remarks),
            **file_remarks.among(mark.made_of, mark.remarks),
        },
    )
    return record.append(desk.connection, mark.workshop_id, deed).number
