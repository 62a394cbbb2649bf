"""Artwork: taken in, read again with other wishes, put on carvings."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection

from artwork.intake.values import MOST_INKS, Wishes
from service.orders.actors import Actor
from service.orders.artworks import Artwork, ReadingState, StoredReading
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.ids import new_id
from service.orders.order import Carving, KeptArt
from service.orders.states import CarvingState, carving_after
from service.orders.texts import number_problems
from service.orders.work import JobKind
from service.store import art, orders
from service.store.tenant_scope import TenantScope
from service.usecases import budgets
from service.usecases.answers import OrderAggregate
from service.usecases.blob_refs import add_blob_refs
from service.usecases.commands import IdempotencyKey, Upload
from service.usecases.context import Context
from service.usecases.guard import reach_of, scope_for
from service.usecases.idempotency import idempotent
from service.usecases.opened import OpenOrder, open_carving, open_within, refuse_part

MOST_FILES = 500
MEBIBYTE = 1024 * 1024
MOST_BYTES = 300 * MEBIBYTE
"""Of the files of one order."""
_LONGEST_NAME = 200
_LONGEST_TYPE = 100
_MOST_UNREAD = 8  # files sent for one slat before the first of them is read; older ones are let go
_AS_IT_COMES = Wishes()
_FRESH = {
    "outline": None,
    "outline_note": "",
    "version": None,
    "proof_id": None,
    "verdict": None,
    "trouble": None,
}


def upload_artwork(
    ctx: Context,
    actor: Actor,
    order_id: str,
    upload: Upload,
    once: IdempotencyKey | None = None,
) -> OrderAggregate:
    """Keep a file and put it on these carvings; reading, placing and proving go on in the background.

    NotFoundError, NotAllowedError, InvalidError, ConflictError, TooManyError.
    """
    check_file(upload)
    check_room(ctx, actor, order_id, upload.carving_ids, len(upload.data))
    budgets.count_upload(ctx, actor, len(upload.data))
    return keep_artwork(ctx, actor, order_id, upload, once)


def keep_artwork(
    ctx: Context, actor: Actor, order_id: str, upload: Upload, once: IdempotencyKey | None = None
) -> OrderAggregate:
    """As :func:`upload_artwork`, for a file that was counted and for which there was room."""
    # The bytes first: a row never names what is not there. What no row names is swept away later.
    digest = ctx.blobs.put(upload.data)

    def work(connection: Connection) -> tuple[OrderAggregate, Any]:
        opened = open_within(ctx, actor, connection, order_id, "give-art")
        add_blob_refs(ctx, connection, (digest, upload.data))
        take_in(opened, upload, digest)
        return opened.whole(), {}

    def again(connection: Connection, _kept: Any) -> OrderAggregate:
        opened = open_within(ctx, actor, connection, order_id, "give-art")
        return opened.whole()

    return idempotent(ctx, actor, once, verb=f"upload {order_id}", work=work, again=again)


def read_again(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, wishes: Wishes
) -> OrderAggregate:
    """Read the carving's file with other wishes.

    NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError.
    """
    problems = tuple(_wishes_problems(wishes))
    if problems:
        raise InvalidError(*problems)
    with open_carving(ctx, actor, carving_id, "give-art", expected_revision) as (opened, carving):
        if carving.artwork_id is None:
            raise ConflictError("no-art", "This slat has no artwork yet. Send a file first.")
        reading = _reading(opened, carving.artwork_id, wishes)
        opened.move_carving(carving, "give-art", reading_id=reading.id, kept=_kept(carving), **_FRESH)
        opened.ask(JobKind.READ_ARTWORK, reading.id)
        return opened.whole()


def use_artwork(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, artwork_id: str
) -> OrderAggregate:
    """Put a file the order already has on a carving. NotFoundError, NotAllowedError, StaleError, ConflictError."""
    with open_carving(ctx, actor, carving_id, "give-art", expected_revision) as (opened, carving):
        if not art.artworks_by_ids(opened.connection, opened.reach, [artwork_id]):
            raise NotFoundError("artwork")
        reading = _reading(opened, artwork_id, _AS_IT_COMES)
        _put_on(opened, carving, reading)
        opened.ask(JobKind.READ_ARTWORK, reading.id)
        return opened.whole()


def check_file(upload: Upload) -> None:
    """Raises InvalidError for a file with nothing in it."""
    if not upload.data:
        raise InvalidError(
            FieldError("file", "empty", "This file is empty. Choose the artwork again and resend it.")
        )


def check_room(ctx: Context, actor: Actor, order_id: str, carving_ids: tuple[str, ...], size: int) -> None:
    """Everything that can be known before the bytes are kept: nobody fills the disk by being refused.

    NotFoundError, NotAllowedError, InvalidError, ConflictError.
    """
    reach = reach_of(actor, scope_for("give-art"))
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach, order_id)
        if order is None:
            raise NotFoundError("order")
        within = TenantScope(order.workshop_id, order.id)
        found = orders.carvings_by_ids(connection, within, carving_ids)
        files = art.artworks_of_orders(connection, within, [order.id])
        budgets.keep_share(ctx, connection, order.workshop_id, size)
    if len(found) != len(carving_ids) or not found:
        raise InvalidError(
            FieldError("carving_ids", "unknown", "Name the slats of this order that carry the art.")
        )
    for carving in found:
        carving_after("give-art", carving.state, actor.role, order.state)
    if len(files) >= MOST_FILES:
        raise ConflictError("too-many-files", f"An order keeps at most {MOST_FILES} files. Use one of them.")
    if sum(file.size for file in files) + size > MOST_BYTES:
        told = f"An order keeps at most {MOST_BYTES // MEBIBYTE} MB of files. Use one of them, or send a smaller one."
        raise ConflictError("too-many-files", told)
    budgets.keep_reserve(ctx, actor, size)


def take_in(opened: OpenOrder, upload: Upload, digest: str) -> None:
    """Store a file whose bytes are kept, put it on its carvings, and ask for it to be read."""
    files = art.artworks_of_orders(opened.connection, opened.reach, [opened.order.id])
    file = next((known for known in files if known.sha256 == digest), None)
    if file is None:
        file = Artwork(
            id=new_id(),
            order_id=opened.order.id,
            sha256=digest,
            name=shown_name(upload.name),
            content_type=_shown_type(upload.content_type),
            size=len(upload.data),
            uploaded_at=opened.now,
        )
        art.insert_artwork(opened.connection, opened.order.workshop_id, file)
        orders.refresh_words(opened.connection, opened.order)
    reading = _reading(opened, file.id, _AS_IT_COMES)
    for carving_id in upload.carving_ids:
        _put_on(opened, opened.carving(carving_id), reading)
    opened.ask(JobKind.READ_ARTWORK, reading.id)


def _put_on(opened: OpenOrder, carving: Carving, reading: StoredReading) -> None:
    refuse_part(opened.connection, carving.id)
    changes = {"artwork_id": reading.artwork_id, "reading_id": reading.id, "placement": None}
    opened.move_carving(carving, "give-art", kept=_kept(carving), **changes, **_FRESH)


def _kept(carving: Carving) -> tuple[KeptArt, ...]:
    """What the carving goes back to should the new art be refused, newest first.

    Art that was read is enough. Art still being read may turn out bad, so what came before it stays too.
    """
    if carving.reading_id is None:
        return ()
    art = KeptArt(
        carving.artwork_id,
        carving.reading_id,
        carving.outline,
        carving.outline_note,
        carving.placement,
        carving.version,
    )
    if carving.outline is not None:
        return (art,)
    if carving.state is not CarvingState.READING:
        return ()  # refused with nothing to go back to
    read = tuple(each for each in carving.kept if each.outline is not None)
    hurried = (each for each in carving.kept if each.outline is None and each.reading_id != art.reading_id)
    return (art, *hurried)[:_MOST_UNREAD] + read


def _reading(opened: OpenOrder, artwork_id: str, wishes: Wishes) -> StoredReading:
    """The reading of a file under these wishes, asked for now or before."""
    known = art.find_reading(opened.connection, opened.reach, artwork_id, wishes)
    if known is not None:
        return known
    reading = StoredReading(new_id(), artwork_id, opened.order.id, wishes, ReadingState.WAITING)
    art.insert_reading(opened.connection, opened.order.workshop_id, reading)
    return reading


def _wishes_problems(wishes: Wishes) -> Iterator[FieldError]:
    yield from number_problems(wishes)
    if any(not 0 <= ink < MOST_INKS for ink in wishes.inks or ()) or len(wishes.inks or ()) > MOST_INKS:
        yield FieldError("inks", "out-of-range", "Choose inks by their place in the list that was read.")
    crop = wishes.crop
    if crop is not None and not (0 <= crop[0] < crop[2] <= 1 and 0 <= crop[1] < crop[3] <= 1):
        yield FieldError(
            "crop", "out-of-range", "Mark a part of the page: left, top, right, bottom, from 0 to 1."
        )


def shown_name(name: str) -> str:
    """The sender's file name without folders and without what cannot be shown; never used as a path."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    clean = "".join(sign for sign in last if unicodedata.category(sign)[0] != "C").strip()
    return clean[-_LONGEST_NAME:] or "artwork"


def _shown_type(content_type: str) -> str:
    plain = content_type.isascii() and content_type.isprintable()
    return content_type[:_LONGEST_TYPE] if plain and content_type else "application/octet-stream"
