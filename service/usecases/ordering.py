"""An order as a whole: placed, amended, sent off, cancelled, ordered again."""

from __future__ import annotations

from service.orders.actors import Actor
from service.usecases.answers import PlacedOrder, WholeOrder
from service.usecases.commands import Once, OrderContent
from service.usecases.context import Context


def place_order(ctx: Context, actor: Actor, content: OrderContent, once: Once | None = None) -> PlacedOrder:
    """A new draft, and its client's link. Invalid, NotAllowed, Conflict "key-reused"."""
    raise NotImplementedError


def amend_order(
    ctx: Context, actor: Actor, order_id: str, expected_revision: int, content: OrderContent
) -> WholeOrder:
    """Replace what the order says; a line whose quantity or model changes loses its approvals.

    NotFound, NotAllowed, Invalid, Stale, Conflict "wrong-state".
    """
    raise NotImplementedError


def submit_order(ctx: Context, actor: Actor, order_id: str, expected_revision: int) -> WholeOrder:
    """Send a complete draft to the maker. NotFound, NotAllowed, Invalid, Stale, Conflict."""
    raise NotImplementedError


def cancel_order(
    ctx: Context, actor: Actor, order_id: str, expected_revision: int, reason: str
) -> WholeOrder:
    """Cancel, with a reason. NotFound, NotAllowed, Invalid, Stale, Conflict."""
    raise NotImplementedError


def reorder(ctx: Context, actor: Actor, order_id: str, once: Once | None = None) -> PlacedOrder:
    """A new draft with the same lines, art and placements, checked again under today's settings.

    NotFound, NotAllowed, Conflict "erased" or "model-retired".
    """
    raise NotImplementedError
