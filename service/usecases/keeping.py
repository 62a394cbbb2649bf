"""The record, and what the law asks: export, erasure, retention."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.orders.actors import Actor
from service.orders.record import Entry, Fault
from service.usecases.answers import Page, WholeOrder
from service.usecases.commands import FIRST_PAGE, PageAsk
from service.usecases.context import Context


def list_record(ctx: Context, actor: Actor, page: PageAsk = FIRST_PAGE) -> Page[Entry]:
    """The workshop's record, newest first; makers and helpers. NotAllowed, Invalid."""
    raise NotImplementedError


def verify_record(ctx: Context, actor: Actor) -> Fault | None:
    """Re-check the whole chain; the first entry that does not hold, or ``None``. NotAllowed."""
    raise NotImplementedError


def export_order(ctx: Context, actor: Actor, order_id: str) -> Mapping[str, Any]:
    """Everything held about an order as plain JSON values, files by digest. NotFound, NotAllowed."""
    raise NotImplementedError


def erase_client(ctx: Context, actor: Actor, order_id: str, expected_revision: int) -> WholeOrder:
    """Erase the client's particulars, art and pictures; the record stays verifiable.

    NotFound, NotAllowed, Stale, Conflict "in-hand" (released or in production: recall or finish first).
    """
    raise NotImplementedError


def sweep_retention(ctx: Context) -> tuple[str, ...]:
    """Erase the art of orders that never went on, past each workshop's retention; ids of the orders swept."""
    raise NotImplementedError


def wanted_blobs(ctx: Context) -> frozenset[str]:
    """Every digest that a row names: what a sweep of the blob store must leave."""
    raise NotImplementedError
