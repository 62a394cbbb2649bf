"""How much strangers may ask for: whoever fills the queue, somebody's mailbox or the disk is slowed or refused."""

from __future__ import annotations

import shutil
from datetime import timedelta

from sqlalchemy import Connection

from service.access import rate_limit
from service.access.accounts import clean_address
from service.access.networks import network_of
from service.orders.actors import Actor, Client, ShopSite, Visitor
from service.orders.errors import ConflictError
from service.store import art
from service.usecases.context import Context

RESERVE = 512 * 1024 * 1024
RESERVE_SHARE = 0.1
"""Of the disk's room, kept for the workshop: bytes, and no larger part of a small disk."""
_MEGABYTE = 1_000_000


def keep_reserve(ctx: Context, actor: Actor, size: int) -> None:
    """Strangers do not fill the disk: the workshop must be able to read and decide. ConflictError "no-space"."""
    if ctx.folder is None or not isinstance(actor, Visitor | Client | ShopSite):
        return
    disk = shutil.disk_usage(ctx.folder)
    if disk.free - size < min(RESERVE, RESERVE_SHARE * disk.total):
        raise ConflictError(
            "no-space", "The workshop has no room for more right now. Please tell them, or try again later."
        )


def keep_share(ctx: Context, connection: Connection, workshop_id: str, size: int) -> None:
    """A workshop keeps no more than its host gives it. ConflictError "share-used"."""
    shares = ctx.shares
    if not (shares.files or shares.size):
        return
    files, bytes_kept = art.kept_by_workshop(connection, workshop_id)
    if (shares.files and files >= shares.files) or (shares.size and bytes_kept + size > shares.size):
        raise ConflictError(
            "share-used",
            "The workshop keeps as many files as its host gives it room for. Please tell them; nothing was lost.",
        )


def count_upload(ctx: Context, actor: Actor, size: int) -> None:
    """Count the bytes of a file about to be kept, by network; those that come by a token, by token. TooManyError."""
    if isinstance(actor, ShopSite):
        limit, subject = rate_limit.UPLOADED_BY_TOKEN, actor.token_id
    elif isinstance(actor, Visitor | Client):
        limit, subject = rate_limit.UPLOADED, network_of(actor.address)
    else:
        return
    if subject:
        with ctx.store.writing() as connection:
            weight = 1 + size // _MEGABYTE
            rate_limit.count_or_refuse(connection, limit, subject, ctx.clock.now(), weight)


def count_order(ctx: Context, connection: Connection, actor: Actor, email: str) -> None:
    """Count an order about to be placed: by network, and by the mail address its letters go to.

    People of the workshop and sites with a token place as many as they like. TooManyError, ConflictError "no-space".
    """
    keep_reserve(ctx, actor, 0)
    if not ctx.orders_an_hour or not isinstance(actor, Visitor | Client):
        return
    whose = (("order from", network_of(actor.address), "orders"), ("order for", clean_address(email), ""))
    for what, subject, shown in whose:
        if subject:
            limit = rate_limit.Limit(what, ctx.orders_an_hour, timedelta(hours=1), shown)
            rate_limit.count_or_refuse(connection, limit, subject, ctx.clock.now())
