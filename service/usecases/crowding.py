"""How many orders strangers may place: whoever fills the workshop's queue, or somebody's mailbox, is slowed."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import Connection

from service.access import throttle
from service.access.accounts import clean_address
from service.orders.actors import Actor, Client, Visitor
from service.usecases.context import Context


def count_order(ctx: Context, connection: Connection, actor: Actor, email: str) -> None:
    """Count an order about to be placed: by network address, and by the mail address its letters go to.

    People of the workshop and sites with a token place as many as they like. TooMany.
    """
    if not ctx.orders_an_hour or not isinstance(actor, Visitor | Client):
        return
    for what, subject in (("order from", actor.address), ("order for", clean_address(email))):
        if subject:
            limit = throttle.Limit(what, ctx.orders_an_hour, timedelta(hours=1))
            throttle.count_or_refuse(connection, limit, subject, ctx.clock.now())
