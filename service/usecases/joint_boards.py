"""Several released orders cut from shared boards: one plan, one run of beds, lists and labels for each order."""

from __future__ import annotations

from dataclasses import replace

from artwork.errors import EngineError
from service.batches.board_plan import PlannedBoard
from service.batches.content import OrderContent
from service.batches.drawn import DrawnProof
from service.boards.cut_parts import CutPart
from service.orders.actors import Actor, Role
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.limits import MOST_ORDERS
from service.store import orders, shop
from service.store.tenant_scope import TenantScope
from service.usecases import computing
from service.usecases.batch_sheets import (
    SHEETS_SECONDS,
    held_at_release,
    parts_now,
    refuse_without_boards,
)
from service.usecases.context import Context
from service.usecases.guard import need_role, reach_of
from service.usecases.producing import SENT_TO_BENCH
from service.usecases.remaking import plain_content, zipped

_WAIT = 10.0
_BETWEEN = "/"
"""Between an order's number and a part's key while parts of several orders are planned together."""


def joint_sheets(ctx: Context, actor: Actor, order_ids: tuple[str, ...]) -> bytes:
    """Beds, lists of parts and labels of released orders that share their boards, as a ZIP archive.

    NotFoundError, NotAllowedError, InvalidError, ConflictError "not-released", "no-board", "other-machine" (they were
    released for machines of different settings), DamagedFileError.
    """
    need_role(actor, "see sheets", Role.MAKER, Role.HELPER)
    if not 1 <= len(set(order_ids)) <= MOST_ORDERS or len(set(order_ids)) != len(order_ids):
        raise InvalidError(FieldError("orders", "count", f"Name 1 to {MOST_ORDERS} orders, each once."))
    contents: list[OrderContent] = []
    parts: list[CutPart] = []
    proofs: dict[str, DrawnProof] = {}
    for order_id in order_ids:
        content, own, drawn = _of_order(ctx, actor, order_id)
        contents.append(content)
        parts += [replace(part, key=f"{content.number}{_BETWEEN}{part.key}") for part in own]
        proofs |= drawn
    machine = contents[0].machine
    if any(content.machine != machine for content in contents):
        raise ConflictError(
            "other-machine",
            "These orders were released for machines of different settings. Recall and release them again, or cut "
            "them apart.",
        )
    refuse_without_boards(parts, machine)
    boards, _ = ctx.compute.run(
        computing.plan_boards, tuple(parts), machine, wait=_WAIT, seconds=SHEETS_SECONDS
    )
    shared = [replace(content, boards=_own(boards, content.number)) for content in contents]
    try:
        drawn_sheets = ctx.compute.run(
            computing.draw_joint_sheets, shared, proofs, wait=_WAIT, seconds=SHEETS_SECONDS
        )
    except EngineError as refusal:
        raise ConflictError("no-board", str(refusal)) from refusal
    return zipped(drawn_sheets)


def _of_order(
    ctx: Context, actor: Actor, order_id: str
) -> tuple[OrderContent, tuple[CutPart, ...], dict[str, DrawnProof]]:
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach_of(actor), order_id)
        if order is None:
            raise NotFoundError("order")
        if order.state not in SENT_TO_BENCH or order.released_at is None:
            raise ConflictError("not-released", f"Order {order.number} is {order.state}: release it first.")
        lines = orders.lines_of_orders(connection, TenantScope(order.workshop_id, order.id), [order.id])
        held = held_at_release(ctx, connection, order, shop.read_settings(connection, order.workshop_id))
    parts, proofs = parts_now(ctx, order, lines, held)
    content = plain_content(order, order.released_at, lines, held)
    return content, parts, proofs


def _own(boards: tuple[PlannedBoard, ...], number: int) -> tuple[PlannedBoard, ...]:
    """The boards that parts of one order come out of, with these parts alone, under their own keys."""
    prefix = f"{number}{_BETWEEN}"
    found = []
    for board in boards:
        mine = tuple(
            replace(each, part=replace(each.part, key=each.part.key.removeprefix(prefix)))
            for each in board.parts
            if each.part.key.startswith(prefix)
        )
        if mine:
            found.append(replace(board, parts=mine))
    return tuple(found)
