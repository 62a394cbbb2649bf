"""A knot under a letter: the art of one board shifted, within what the client allowed when signing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot, isfinite

from sqlalchemy import Connection

from artwork.cut import Placement
from service.batches.drawn import DrawnProof
from service.orders.actors import Actor, Role
from service.orders.cuts import Circumstances
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.items import Item, ItemState, find_items, place_of, standing
from service.orders.order import Order
from service.orders.proofs import Proof
from service.orders.record import Entry, EntryKind
from service.store import art, machines, orders, record
from service.store import items as kept
from service.store.tenant_scope import TenantScope
from service.usecases import computing
from service.usecases.approving import kind_of
from service.usecases.context import Context
from service.usecases.drawing import FORMS, cut_of
from service.usecases.guard import need_role, reach_of
from service.usecases.items import read_items
from service.usecases.opened import open_order

_WAIT = 10.0
_EXACT = 1e-9


@dataclass(frozen=True)
class ItemDrawing:
    """One board's drawing at true size, as it lies on the machine."""

    data: bytes
    content_type: str


def shift_item(ctx: Context, actor: Actor, order_id: str, item: str, *, x: float, y: float) -> Item:
    """Carve one board with its art shifted by so many mm from where it was signed; 0 and 0 take that back.

    The shifted cut is judged like any other: it must carve, with no remarks but such as the client accepted.
    NotFoundError, NotAllowedError, InvalidError (farther than the client allowed, or nothing to shift), ConflictError
    "not-released", "item-moved" (it is carved already), "will-not-carve", "remarks-open", TooManyError.
    """
    place_of(item)
    need_role(actor, "shift art", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        order, board, proof = _board(connection, actor, order_id, item)
        entries = record.about_orders(connection, order.workshop_id, [order.id])
    allowed = min(signed_shift(entries, proof.digest), order.may_shift)
    if not (isfinite(x) and isfinite(y)) or hypot(x, y) > allowed + _EXACT:
        raise InvalidError(
            FieldError("x", "too-far", f"The client allowed a shift of {allowed:g} mm at most.")
        )
    if (x, y) != (0.0, 0.0):
        _refuse_unlike(ctx, proof, (x, y))
    with open_order(ctx, actor, order_id, "shift") as opened:
        opened.allow("shift")
        (now,) = find_items(read_items(opened.connection, opened.order), [item])
        if (now.state, now.digest) != (ItemState.TO_CARVE, board.digest):
            raise ConflictError("item-moved", f"{standing(now)} Its art cannot be shifted any more.")
        kept.keep_shift(opened.connection, opened.reach, item, board.digest, (x, y))
        facts = {"item": item, "by": [x, y], "allowed": allowed}
        opened.enter(EntryKind.SHIFT, opened.proofs.get(proof.carving_id), facts=facts)
        opened.changed()
        return replace(now, shift_x=x, shift_y=y)


def item_drawing(ctx: Context, actor: Actor, order_id: str, item: str, form: str) -> ItemDrawing:
    """One board's drawing, its shift in it. NotFoundError, NotAllowedError, ConflictError "not-released"."""
    place_of(item)
    need_role(actor, "see drawings of boards", Role.MAKER, Role.HELPER)
    if form not in FORMS:
        raise NotFoundError("drawing")
    with ctx.store.reading() as connection:
        order, board, proof = _board(connection, actor, order_id, item)
        machine = machines.machine_of_release(connection, TenantScope(order.workshop_id, order.id))
    facts = _judged(ctx, proof, (board.shift_x, board.shift_y)).facts
    drawn = DrawnProof(facts, board.slat_name)
    return ItemDrawing(ctx.compute.run(computing.draw_one, drawn, machine, form, wait=_WAIT), FORMS[form])


def _board(connection: Connection, actor: Actor, order_id: str, key: str) -> tuple[Order, Item, Proof]:
    """An item with art, and the proof it is carved by."""
    order = orders.find_order(connection, reach_of(actor), order_id)
    if order is None:
        raise NotFoundError("order")
    (board,) = find_items(read_items(connection, order), [key])
    reach = TenantScope(order.workshop_id, order.id)
    found = art.current_proofs(connection, reach, [order.id])
    proof = next((each for each in found if each.digest == board.digest), None)
    if proof is None:
        raise InvalidError(FieldError("item", "no-art", "No client's art is carved on this board."))
    return order, board, proof


def signed_shift(entries: Sequence[Entry], digest: str) -> float:
    """How far the client allowed the art of a proof to be shifted when signing it last, mm.

    Args:
        entries: of its order, oldest first.
        digest: of the proof.
    """
    signed = [
        float(entry.facts.get("may_shift", 0.0))
        for entry in entries
        if entry.kind in {EntryKind.SIGN_OFF, EntryKind.SPLIT} and entry.digest == digest
    ]
    return signed[-1] if signed else 0.0


def _shifted(proof: Proof, by: tuple[float, float]) -> tuple[Circumstances, Placement]:
    at, placement = cut_of(proof)
    return at, placement.shifted(*by)


def _judged(ctx: Context, proof: Proof, by: tuple[float, float]) -> computing.JudgedCut:
    outline = ctx.blobs.get(proof.outline)
    at, placement = _shifted(proof, by)
    return ctx.compute.run(computing.judge, outline, at, placement, False, about=proof.outline, wait=_WAIT)


def _refuse_unlike(ctx: Context, proof: Proof, by: tuple[float, float]) -> None:
    """What was signed carves there too, with no remarks of other kinds."""
    judged = _judged(ctx, proof, by)
    if judged.verdict == "will-not-carve":
        raise ConflictError("will-not-carve", f"Shifted so, it will not carve. {judged.sentence}")
    new = {kind_of(name) for name in judged.remarks} - {kind_of(name) for name in proof.waived}
    if new:
        raise ConflictError(
            "remarks-open",
            f"Shifted so, there is something that the client did not accept: {', '.join(sorted(new))}.",
        )
