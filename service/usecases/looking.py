"""Reading: one order, lists, loaders by ids, files. Nothing here changes anything."""

from __future__ import annotations

from collections.abc import Sequence

from service.orders.actors import Actor
from service.orders.artworks import Artwork, StoredReading
from service.orders.order import Carving, Line, Order
from service.orders.proofs import Proof
from service.orders.record import Entry
from service.orders.work import Job
from service.usecases.answers import BlobFile, Page, WholeOrder
from service.usecases.commands import EVERY_ORDER, FIRST_PAGE, OrderFilter, PageAsk
from service.usecases.context import Context


def get_order(ctx: Context, actor: Actor, order_id: str) -> WholeOrder:
    """One order with everything in it. NotFound."""
    raise NotImplementedError


def get_activity(ctx: Context, actor: Actor, order_id: str) -> int:
    """The order's activity number alone: cheap to ask again and again. NotFound."""
    raise NotImplementedError


def list_orders(
    ctx: Context, actor: Actor, wanted: OrderFilter = EVERY_ORDER, page: PageAsk = FIRST_PAGE
) -> Page[Order]:
    """The orders this person may see, by keyset. Invalid (bad cursor or page size)."""
    raise NotImplementedError


def count_states(ctx: Context, actor: Actor) -> dict[str, int]:
    """How many orders are in each state. NotAllowed."""
    raise NotImplementedError


def orders_by_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[Order | None]:
    """One per id, in the ids' order, ``None`` for what is not yours; one statement. So all below."""
    raise NotImplementedError


def lines_by_order_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Line, ...]]:
    """The lines of each order."""
    raise NotImplementedError


def carvings_by_order_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Carving, ...]]:
    """The carvings of each order."""
    raise NotImplementedError


def carvings_by_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[Carving | None]:
    """Carvings by id."""
    raise NotImplementedError


def artworks_by_order_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Artwork, ...]]:
    """The files of each order."""
    raise NotImplementedError


def artworks_by_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[Artwork | None]:
    """Files by id."""
    raise NotImplementedError


def readings_by_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[StoredReading | None]:
    """Readings by id."""
    raise NotImplementedError


def proofs_by_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[Proof | None]:
    """Proofs by id."""
    raise NotImplementedError


def proofs_by_carving_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Proof, ...]]:
    """Every proof each carving ever had, newest first."""
    raise NotImplementedError


def jobs_by_order_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Job, ...]]:
    """The background work of each order, newest first: stage, fraction, message."""
    raise NotImplementedError


def get_job(ctx: Context, actor: Actor, job_id: str) -> Job:
    """One piece of background work. NotFound."""
    raise NotImplementedError


def decisions_by_order_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Entry, ...]]:
    """The record entries about each order, oldest first; addresses only for makers."""
    raise NotImplementedError


def artwork_file(ctx: Context, actor: Actor, artwork_id: str) -> BlobFile:
    """The original file. NotFound."""
    raise NotImplementedError


def reading_picture(ctx: Context, actor: Actor, reading_id: str) -> BlobFile:
    """What was read from it. NotFound."""
    raise NotImplementedError


def proof_picture(ctx: Context, actor: Actor, proof_id: str) -> BlobFile:
    """The preview people sign. NotFound."""
    raise NotImplementedError


def proof_drawing(ctx: Context, actor: Actor, proof_id: str, form: str) -> tuple[bytes, str]:
    """The art at true size as ``"svg"``, ``"dxf"`` or ``"pdf"``, and its content type. NotFound, Invalid."""
    raise NotImplementedError


def batch_file(ctx: Context, actor: Actor, batch_id: str) -> BlobFile:
    """The archive. NotFound, Conflict "not-ready"."""
    raise NotImplementedError
