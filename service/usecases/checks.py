"""A logo checked before there is an order, and a check that becomes one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from sqlalchemy import Connection

from service.access import rate_limit
from service.access.networks import network_of
from service.orders.actors import Actor, Client, Role, Scope, ShopSite, Visitor
from service.orders.content import LineContent, OrderContent
from service.orders.contents import content_problems
from service.orders.errors import ConflictError, FieldError, InvalidError
from service.orders.site import OrderKind
from service.orders.workshop import Settings
from service.store import orders
from service.usecases.answers import OrderAggregate, PlacedOrder
from service.usecases.artworks import check_file, take_in
from service.usecases.blob_refs import add_blob_refs
from service.usecases.budgets import count_order, keep_reserve, keep_share
from service.usecases.commands import IdempotencyKey, Upload
from service.usecases.context import Context
from service.usecases.guard import need_role, need_scope
from service.usecases.idempotency import idempotent
from service.usecases.opened import OpenOrder, open_order
from service.usecases.ordering import draft, place, placed_again, settings_of

CHECK_KEPT = timedelta(days=7)
"""How long a check is kept that nobody made an order of."""
_CHECKS = rate_limit.Limit("logo checks", 120, timedelta(hours=1), "logo-checks")
"""Of one token, or of one network without one."""


@dataclass(frozen=True)
class LogoCheck:
    """A logo to be checked.

    Attributes:
        model_key, slat_key: what it would be carved on; the largest slat that carries art where none is named.
    """

    data: bytes
    name: str
    content_type: str
    model_key: str
    slat_key: str = ""


def check_logo(
    ctx: Context, actor: Actor, asked: LogoCheck, once: IdempotencyKey | None = None
) -> PlacedOrder:
    """Keep a file and check it as for an order of one piece, which no maker sees, and which is kept for a week.

    InvalidError, NotAllowedError, TooManyError, ConflictError "key-reused", "no-space" or "share-used".
    """
    need_role(actor, "have a logo checked here", Role.VISITOR, Role.MAKER, Role.SHOP_SITE)
    need_scope(actor, Scope.ORDERS_WRITE)
    upload = Upload(asked.data, asked.name, asked.content_type)
    check_file(upload)
    keep_reserve(ctx, actor, len(asked.data))
    with ctx.store.writing() as connection:
        subject = actor.identity if isinstance(actor, ShopSite) else network_of(actor.address)
        rate_limit.count_or_refuse(connection, _CHECKS, subject, ctx.clock.now())
        keep_share(ctx, connection, actor.workshop_id, len(asked.data))
    digest = ctx.blobs.put(asked.data)

    def work(connection: Connection) -> tuple[PlacedOrder, Any]:
        settings = settings_of(connection, actor.workshop_id)
        content = OrderContent(lines=(LineContent(asked.model_key, 1, slats=_slats(asked, settings)),))
        problems = tuple(content_problems(content, settings, frozenset()))
        if problems:
            raise InvalidError(*problems)
        test = isinstance(actor, ShopSite) and actor.test
        kind = OrderKind.TEST if test else OrderKind.CHECK
        order = draft(connection, actor.workshop_id, content, ctx.clock.now(), kind).order
        add_blob_refs(ctx, connection, (digest, asked.data))
        opened = OpenOrder(ctx, _as_client(actor, order.id), connection, order)
        take_in(opened, Upload(upload.data, upload.name, upload.content_type, tuple(opened.carvings)), digest)
        return place(ctx, connection, opened.whole(), once)

    again: Callable[[Connection, Any], PlacedOrder] = placed_again(ctx, actor, once)
    return idempotent(ctx, actor, once, verb="check_logo", work=work, again=again)


def keep_check(ctx: Context, actor: Actor, order_id: str, expected_revision: int) -> OrderAggregate:
    """Make an order of a check: a draft as any other, with what was checked in it.

    NotFoundError, NotAllowedError, StaleError, TooManyError, ConflictError "wrong-state".
    """
    with open_order(ctx, actor, order_id, "amend", expected_revision) as opened:
        if opened.order.kind is not OrderKind.CHECK:
            raise ConflictError("wrong-state", "This is no check: there is nothing to make an order of.")
        count_order(ctx, opened.connection, actor, opened.order.contact.email)
        opened.move("amend", kind=OrderKind.ORDER)
        opened.close()
        opened.order = orders.give_number(opened.connection, opened.order)
        return opened.whole()


def _as_client(actor: Actor, order_id: str) -> Actor:
    """A visitor acts as the client that they are from now on, by the link in the answer."""
    if not isinstance(actor, Visitor):
        return actor
    return Client(actor.workshop_id, order_id, link_id="", address=actor.address)


def _slats(asked: LogoCheck, settings: Settings) -> tuple[str, ...]:
    model = settings.model(asked.model_key)
    if asked.slat_key or model is None:
        return (asked.slat_key,) if asked.slat_key else ()
    carrying = [placed.slat for placed in model.layout.slats if placed.carries_art]
    if not carrying:
        raise InvalidError(FieldError("model", "no-slat", "No slat of this model carries art."))
    return (max(carrying, key=lambda slat: slat.outline.area).key,)
