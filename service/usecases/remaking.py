"""The sheets of boards that are made again: drawn when asked for, by the same proofs and the same machine."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from artwork.errors import EngineError
from service.batches.content import ModelContent, OrderContent
from service.batches.sheet_names import PACKING_LIST
from service.boards.cut_parts import CutPart, cut_parts, with_shifts
from service.orders.actors import Actor, Role
from service.orders.definition import for_bench
from service.orders.errors import ConflictError, NotFoundError
from service.orders.items import Item
from service.orders.order import Line, Order, OrderTerms
from service.store import orders, shop
from service.store.tenant_scope import TenantScope
from service.usecases import computing
from service.usecases.batch_sheets import (
    SHEETS_SECONDS,
    Held,
    carved_of,
    cut_lines,
    held_at_release,
    refuse_without_boards,
    shifts_of,
)
from service.usecases.context import Context
from service.usecases.guard import need_role, reach_of
from service.usecases.items import read_items

_WAIT = 10.0
_DATE = (1980, 1, 1, 0, 0, 0)
"""Of every file in the archive: the same boards give the same bytes."""


def remake_sheets(ctx: Context, actor: Actor, order_id: str) -> bytes:
    """Beds, list of parts and labels of an order's boards that are to be made again, as a ZIP archive.

    NotFoundError, NotAllowedError, ConflictError "not-released", "nothing-to-remake", "no-board", DamagedFileError.
    """
    need_role(actor, "see sheets", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach_of(actor), order_id)
        if order is None:
            raise NotFoundError("order")
        again = [item for item in read_items(connection, order) if item.make > 1 and item.at is None]
        lines = orders.lines_of_orders(connection, TenantScope(order.workshop_id, order.id), [order.id])
        settings = shop.read_settings(connection, order.workshop_id)
        held = held_at_release(ctx, connection, order, settings)
    if not again or order.released_at is None:
        raise ConflictError("nothing-to-remake", "No board of this order is to be made again at the moment.")
    carved, proofs = carved_of(ctx, order.id, order.workshop_id, lines, held)
    parts = with_shifts(_parts_of(again, cut_parts(cut_lines(lines, held, carved))), shifts_of(ctx, order))
    content = plain_content(order, order.released_at, lines, held)
    refuse_without_boards(parts, held.machine)
    boards, _ = ctx.compute.run(
        computing.plan_boards, parts, held.machine, wait=_WAIT, seconds=SHEETS_SECONDS
    )
    planned = replace(content, boards=boards)
    try:
        drawn = ctx.compute.run(
            computing.draw_order_sheets, planned, proofs, wait=_WAIT, seconds=SHEETS_SECONDS
        )
    except EngineError as refusal:
        raise ConflictError("no-board", str(refusal)) from refusal
    return zipped({name: data for name, data in drawn.items() if name != PACKING_LIST})


def plain_content(order: Order, released_at: datetime, lines: Sequence[Line], held: Held) -> OrderContent:
    """What sheets of boards need of an order, without boards."""
    return OrderContent(
        id=order.id,
        number=order.number,
        client=order.contact.organisation or order.contact.name,
        address=held.address,
        lines=tuple(ModelContent(line.model_key, line.model_key, line.quantity) for line in lines),
        terms=for_bench(OrderTerms, order),
        released_at=released_at,
        machine=held.machine,
        models={line.model_key: held.layouts[line.model_key] for line in lines},
    )


def _parts_of(items: list[Item], parts: tuple[CutPart, ...]) -> tuple[CutPart, ...]:
    """Each item as the part it is cut as, under its own key."""
    first = {(part.line, part.piece, part.part_key): part for part in parts}
    return tuple(replace(first[item.line, item.piece, item.slat_key], key=item.key) for item in items)


def zipped(files: dict[str, bytes]) -> bytes:
    """The files as a ZIP archive: the same ones give the same bytes."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for name, data in sorted(files.items()):
            archive.writestr(zipfile.ZipInfo(name, _DATE), data, zipfile.ZIP_DEFLATED)
    return held.getvalue()
