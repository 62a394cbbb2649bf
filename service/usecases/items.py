"""Items at the bench: how far every slat of every piece is, ticks, and boards that are made again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from sqlalchemy import Connection

from service.orders.actors import Actor, Helper, Maker, Role
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.items import (
    BreakReason,
    Item,
    ItemState,
    broken,
    carvings_by_place,
    find_items,
    items_of,
    place_of,
    tick_of,
    ticked,
)
from service.orders.order import Order
from service.orders.record import EntryKind
from service.orders.states import OrderState
from service.store import art, machines, orders, shop, suites
from service.store import items as kept
from service.store.tenant_scope import TenantScope
from service.usecases.context import Context
from service.usecases.freezing import frozen_marks
from service.usecases.guard import need_role, reach_of
from service.usecases.opened import OpenOrder, open_order

MOST_AT_ONCE = 500
"""Items in one tick."""
MADE = frozenset({OrderState.RELEASED, OrderState.IN_PRODUCTION, OrderState.DONE})
_LONGEST_WORDS = 500


def list_items(ctx: Context, actor: Actor, order_id: str) -> tuple[Item, ...]:
    """Every item of a released order, line by line, piece by piece. NotFoundError, NotAllowedError.

    ConflictError "not-released": nothing is made yet.
    """
    need_role(actor, "see items", Role.MAKER, Role.HELPER)
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach, order_id)
        if order is None:
            raise NotFoundError("order")
        return read_items(connection, order)


def get_item(ctx: Context, actor: Actor, order_id: str, item: str) -> Item:
    """One item by its key. NotFoundError, NotAllowedError, ConflictError "not-released"."""
    place_of(item)
    (found,) = find_items(list_items(ctx, actor, order_id), [item])
    return found


def tick_items(
    ctx: Context, actor: Actor, order_id: str, items: tuple[str, ...], *, seen: ItemState, to: ItemState
) -> tuple[Item, ...]:
    """Say that items, seen in one state, are in another: all of them or none. Gives them as they are now.

    NotFoundError, NotAllowedError, InvalidError, ConflictError "not-released", "item-moved" (says who ticked it and
    when), "item-broken".

    The first tick of a released order says that its first board is on the machine.
    """
    if not 1 <= len(items) <= MOST_AT_ONCE or len(set(items)) != len(items):
        raise InvalidError(FieldError("items", "count", f"Name 1 to {MOST_AT_ONCE} items, each once."))
    with open_order(ctx, actor, order_id, "tick") as opened:
        _started(opened, "tick")
        found = find_items(read_items(opened.connection, opened.order), items)
        after = tuple(ticked(item, seen, to, opened.now, _name(actor)) for item in found)
        _keep(opened, after)
        facts = {"items": [item.key for item in after], "from": seen.value, "to": to.value}
        opened.enter(EntryKind.TICK, facts=facts)
        return after


def remake_item(
    ctx: Context, actor: Actor, order_id: str, item: str, reason: BreakReason, *, words: str = ""
) -> Item:
    """Say that a board broke, and have it made again by the same approval; gives the new item.

    No signature, no price. NotFoundError, NotAllowedError, InvalidError, ConflictError "not-released",
    "already-remade".
    """
    if len(words) > _LONGEST_WORDS:
        raise InvalidError(FieldError("words", "too-long", f"Use at most {_LONGEST_WORDS} characters."))
    place_of(item)
    with open_order(ctx, actor, order_id, "remake") as opened:
        _started(opened, "remake")
        (board,) = find_items(read_items(opened.connection, opened.order), [item])
        gone, fresh = broken(board, reason, words, opened.now, _name(actor))
        _keep(opened, (gone,))
        proof = next((each for each in opened.proofs.values() if each.digest == board.digest), None)
        facts = {"item": item, "again": fresh.key, "from": board.state.value, "reason": reason.value}
        if proof is None:
            facts["digest"] = board.digest  # of the workshop's own mark, or none
        opened.enter(EntryKind.REMAKE, proof, words=words.strip(), facts=facts)
        return fresh


def read_items(connection: Connection, order: Order) -> tuple[Item, ...]:
    """Every item of an order. ConflictError "not-released"."""
    if order.state not in MADE:
        raise ConflictError(
            "not-released",
            f"Order {order.number} is {order.state}: nothing of it is made, or made again, before it is released.",
        )
    reach, only = TenantScope(order.workshop_id, order.id), [order.id]
    lines = orders.lines_of_orders(connection, reach, only)
    carvings = orders.carvings_of_orders(connection, reach, only)
    digests = {proof.carving_id: proof.digest for proof in art.current_proofs(connection, reach, only)}
    texts = {part.carving_id: part.text for part in suites.parts_of_orders(connection, reach, only)}
    settings = shop.read_settings(connection, order.workshop_id)
    layouts = {model.layout.key: model.layout for model in settings.models}
    marked = frozen_marks(connection, order.workshop_id, machines.frozen(connection, reach) or {})
    carved = carvings_by_place(lines, carvings, digests, texts)
    carved |= {(each.line, each.mark.slat_key, None): (each.mark.digest, "") for each in marked}
    shifts = kept.shifts_of_order(connection, reach)
    found = items_of(lines, layouts, carved, kept.ticks_of_order(connection, reach))
    return tuple(
        replace(each, shift_x=shifts[each.key, each.digest][0], shift_y=shifts[each.key, each.digest][1])
        if (each.key, each.digest) in shifts
        else each
        for each in found
    )


def _started(opened: OpenOrder, event: str) -> None:
    """The step is open; what was only released is in production from now on."""
    if opened.order.state not in MADE:
        read_items(opened.connection, opened.order)  # says what is missing
    opened.allow(event)
    if opened.order.state is OrderState.RELEASED:
        opened.move("start")
        opened.enter(EntryKind.PRODUCTION, facts={"step": "started"})


def _keep(opened: OpenOrder, after: Sequence[Item]) -> None:
    kept.keep_ticks(opened.connection, opened.reach, [tick_of(item) for item in after])
    opened.changed()


def _name(actor: Actor) -> str:
    return actor.name if isinstance(actor, Maker | Helper) else actor.identity
