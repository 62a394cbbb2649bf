"""Artwork that is sent in parts: where the line breaks, its sender goes on from what is here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from service.orders.actors import Actor
from service.orders.errors import ConflictError, NotFoundError, StaleError
from service.orders.ids import new_id
from service.orders.uploads import LIFE, MOST_OPEN, MOST_PARTS, OpenUpload
from service.store import uploads
from service.usecases import budgets
from service.usecases.answers import OrderAggregate
from service.usecases.artworks import check_file, check_room, keep_artwork
from service.usecases.commands import Upload
from service.usecases.context import Context
from service.usecases.guard import reach_of, scope_for


def begin_upload(
    ctx: Context, actor: Actor, order_id: str, length: int, fields: Mapping[str, str]
) -> OpenUpload:
    """Say what is coming: all that an upload may be refused for is known by then, and it is counted as a whole.

    Args:
        order_id: which order it is for.
        length: of the file, bytes.
        fields: ``filename``, ``filetype``, and ``carvings`` by their ids, separated by commas.

    NotFoundError, NotAllowedError, InvalidError, ConflictError, TooManyError.
    """
    now = ctx.clock.now()
    if length == 0:
        check_file(Upload(b"", ""))
    check_room(ctx, actor, order_id, _carvings(fields), length)
    budgets.count_upload(ctx, actor, length)
    made = OpenUpload(new_id(), actor.workshop_id, order_id, dict(fields), length, 0, (), now + LIFE)
    with ctx.store.writing() as connection:
        uploads.delete_expired(connection, now)
        if uploads.count_open(connection, order_id, now) >= MOST_OPEN:
            raise ConflictError(
                "too-many-files",
                f"At most {MOST_OPEN} uploads of an order are open at once. End one of them.",
            )
        uploads.insert_upload(connection, made)
    return made


def get_upload(ctx: Context, actor: Actor, upload_id: str) -> OpenUpload:
    """How far an upload is. NotFoundError, NotAllowedError."""
    reach = reach_of(actor, scope_for("give-art"))
    with ctx.store.reading() as connection:
        found = uploads.find_upload(connection, reach, upload_id, ctx.clock.now())
    if found is None:
        raise NotFoundError("upload")
    return found


def go_on(
    ctx: Context, actor: Actor, upload_id: str, offset: int, part: bytes
) -> tuple[OpenUpload, OrderAggregate | None]:
    """Take what follows; the order as it is then, where the file is whole with it.

    NotFoundError, NotAllowedError, StaleError (another offset), InvalidError, ConflictError.
    """
    upload = get_upload(ctx, actor, upload_id)
    if offset != upload.taken:
        raise StaleError(upload.taken)
    if part:
        if len(upload.parts) >= MOST_PARTS:
            raise ConflictError("too-many-files", f"A file is taken in at most {MOST_PARTS} parts.")
        digest = ctx.blobs.put(part)
        with ctx.store.writing() as connection:
            if not uploads.add_part(connection, upload, digest, len(part)):
                raise StaleError(upload.taken)
        upload = replace(upload, taken=upload.taken + len(part), parts=(*upload.parts, digest))
    if upload.taken < upload.length:
        return upload, None
    return upload, _whole(ctx, actor, upload)


def drop_upload(ctx: Context, actor: Actor, upload_id: str) -> None:
    """Let go of an upload. NotFoundError, NotAllowedError."""
    upload = get_upload(ctx, actor, upload_id)
    with ctx.store.writing() as connection:
        uploads.delete_upload(connection, upload.id)


def _whole(ctx: Context, actor: Actor, upload: OpenUpload) -> OrderAggregate:
    data = b"".join(ctx.blobs.get(digest) for digest in upload.parts)
    fields = upload.fields
    kind = fields.get("filetype") or "application/octet-stream"
    sent = Upload(data, fields.get("filename", ""), kind, _carvings(fields))
    order = keep_artwork(ctx, actor, upload.order_id, sent)
    with ctx.store.writing() as connection:
        uploads.delete_upload(connection, upload.id)
    return order


def _carvings(fields: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(part for part in fields.get("carvings", "").split(",") if part)
