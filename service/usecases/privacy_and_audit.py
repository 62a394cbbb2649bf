"""The record, and what the law asks: export, erasure, retention."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import asdict
from datetime import date, datetime, timedelta
from enum import Enum
from typing import Any

from service.access.sessions import sweep_sessions
from service.batches.checkpoints import SignedCheckpoint, sign_checkpoint
from service.batches.signing import public_key
from service.orders.actors import Actor, Role, Scope, System
from service.orders.chain import fault_by_checkpoint, fault_by_witness, first_fault
from service.orders.errors import ConflictError, NotFoundError
from service.orders.record import Checkpoint, Entry, Fault
from service.orders.site import OrderKind
from service.orders.states import OrderState
from service.store import (
    art,
    jobs,
    mail,
    messages,
    orders,
    outcomes,
    programs,
    record,
    shop,
    uploads,
    versions,
)
from service.store.tenant_scope import TenantScope
from service.usecases.answers import OrderAggregate, Page, Swept
from service.usecases.blob_refs import sweep_unnamed
from service.usecases.checks import CHECK_KEPT
from service.usecases.commands import FIRST_PAGE, PageAsk
from service.usecases.context import Context
from service.usecases.erasing import IN_HAND, erase, let_go
from service.usecases.guard import need_role, need_scope, reach_of
from service.usecases.looking import decisions_by_order_ids
from service.usecases.opened import open_order
from service.usecases.order_aggregate import read_aggregate
from service.usecases.paging import cut_page, number_cursor, read_number_cursor

BLOB_GRACE = timedelta(hours=24)
"""How long a file may lie unnamed: an upload keeps its bytes before their row is written."""
VERSIONS_KEPT = timedelta(days=60)
"""How long versions that were worked out are kept: they can be worked out again."""

TRIED_KEPT = timedelta(days=1)
"""How long the proof of a placement stays that was followed by another before anybody decided on it."""

_NEVER_WENT_ON = (OrderState.DRAFT, OrderState.SUBMITTED, OrderState.CANCELLED)
_MADE_FOR_LONG = (OrderKind.ORDER, OrderKind.TEST)
_CHECKS = (OrderKind.CHECK,)
_SWEPT_AT_ONCE = 200


def list_record(ctx: Context, actor: Actor, page: PageAsk = FIRST_PAGE) -> Page[Entry]:
    """The workshop's record, newest first; makers and helpers. NotAllowedError, InvalidError."""
    need_role(actor, "read the workshop's record", Role.MAKER, Role.HELPER)
    before = read_number_cursor(page)
    with ctx.store.reading() as connection:
        found = record.newest(connection, actor.workshop_id, before, page.first + 1)
        total = record.count(connection, actor.workshop_id) if page.count else None
    return cut_page(found, page, lambda entry: number_cursor(entry.number), total)


def verify_record(ctx: Context, actor: Actor) -> Fault | None:
    """Re-check the whole chain; the first entry that does not hold, or ``None``. NotAllowedError."""
    need_role(actor, "check the workshop's record", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        head = record.head(connection, actor.workshop_id)
        erased = record.erased_orders(connection, actor.workshop_id)
        lasts: dict[str | None, int] = {}
        entries = _noting_lasts(record.walk(connection, actor.workshop_id), lasts)
        fault = first_fault(entries, head, erased)
        return fault or fault_by_witness(lasts, *record.witnesses(connection, actor.workshop_id))


def take_checkpoint(ctx: Context, actor: Actor) -> SignedCheckpoint:
    """How far the record goes now, signed with the workshop's key, to be kept elsewhere. NotAllowedError."""
    need_role(actor, "take a checkpoint of the record", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        number, this = record.head(connection, actor.workshop_id)
        key = shop.signing_key(connection, actor.workshop_id)
        workshop = shop.find_workshop(connection, actor.workshop_id)
    if workshop is None:
        raise NotFoundError("workshop")
    return sign_checkpoint(Checkpoint(workshop.key, number, this), key)


def public_keys(ctx: Context) -> frozenset[bytes]:
    """The public keys, 32 bytes each, that the batches of the workshops here are signed with."""
    with ctx.store.reading() as connection:
        private = [shop.signing_key(connection, each.id) for each in shop.all_workshops(connection)]
    return frozenset(public_key(key) for key in private)


def compare_checkpoint(ctx: Context, actor: Actor, checkpoint: Checkpoint) -> Fault | None:
    """Whether the record still says what it said at a checkpoint kept elsewhere. NotAllowedError."""
    need_role(actor, "check the workshop's record", Role.MAKER, Role.HELPER)
    number = checkpoint.number
    if number == 0:
        return None
    with ctx.store.reading() as connection:
        found = next(record.walk(connection, actor.workshop_id, number, number), None)
    return fault_by_checkpoint(found, checkpoint)


def _noting_lasts(entries: Iterable[Entry], lasts: dict[str | None, int]) -> Iterator[Entry]:
    for entry in entries:
        lasts[entry.order_id] = entry.number
        yield entry


def export_order(ctx: Context, actor: Actor, order_id: str) -> Mapping[str, Any]:
    """Everything held about an order as plain JSON values, files by digest. NotFoundError, NotAllowedError."""
    need_role(actor, "export an order's data", Role.MAKER, Role.CLIENT, Role.SHOP_SITE)
    reach = reach_of(actor)
    need_scope(actor, Scope.ORDERS_EXPORT)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach, order_id)
        if order is None:
            raise NotFoundError("order")
        whole = asdict(read_aggregate(connection, reach, order))
        whole["proofs"] = [
            asdict(each) | {"facts": dict(each.facts), "check": dict(each.check)}
            for each in art.proofs_of_orders(connection, reach, [order_id])
        ]
        whole["work"] = [asdict(each) for each in jobs.jobs_of_orders(connection, reach, [order_id])]
        only = TenantScope(order.workshop_id, order.id)
        whole["program_checks"] = [asdict(each) for each in programs.checks_of_order(connection, only)]
        whole["outcomes"] = [asdict(each) for each in outcomes.outcomes_of_order(connection, only)]
        whole["messages"] = [asdict(each) for each in messages.messages_of_order(connection, only)]
        whole["letters"] = mail.letters_of_order(connection, order_id)
    whole["decisions"] = [asdict(each) for each in decisions_by_order_ids(ctx, actor, [order_id])[0]]
    plain: dict[str, Any] = _plain(whole)
    return plain


def erase_client(ctx: Context, actor: Actor, order_id: str, expected_revision: int) -> OrderAggregate:
    """Erase the client's particulars, art and pictures; the record stays verifiable.

    NotFoundError, NotAllowedError, StaleError, ConflictError "in-hand" (released or in production: recall or
    finish first).
    """
    with open_order(ctx, actor, order_id, "erase", expected_revision) as opened:
        if opened.order.state in IN_HAND:
            raise ConflictError("in-hand", "This order is at the bench. Finish it or recall it, then erase.")
        doomed = erase(opened, "at the client's request")
        whole = opened.whole()
    let_go(ctx, doomed)
    return whole


def sweep_retention(ctx: Context) -> tuple[str, ...]:
    """Erase the art of orders that never went on, past each workshop's retention; ids of the orders swept."""
    swept: list[str] = []
    with ctx.store.reading() as connection:
        workshops = shop.all_workshops(connection)
    for workshop in workshops:
        actor = System(workshop.id, "retention")
        for kinds, kept in ((_MADE_FOR_LONG, timedelta(days=workshop.retention_days)), (_CHECKS, CHECK_KEPT)):
            before = ctx.clock.now() - kept
            with ctx.store.reading() as connection:
                idle = orders.idle_orders(
                    connection, workshop.id, _NEVER_WENT_ON, before, limit=_SWEPT_AT_ONCE, kinds=kinds
                )
            swept.extend(order_id for order_id in idle if _sweep(ctx, actor, order_id, before, kinds))
    return tuple(swept)


def sweep_tried(ctx: Context) -> int:
    """Forget proofs of placements that were only tried, a day later; how many. Their pictures go with the files.

    Nobody decided on them: each was followed by another proof of the same carving, and the record names none.
    """
    swept, before = 0, ctx.clock.now() - TRIED_KEPT
    while True:
        with ctx.store.writing() as connection:
            found = art.tried_proofs(connection, before, _SWEPT_AT_ONCE)
            art.delete_proofs(connection, found)
        swept += len(found)
        if len(found) < _SWEPT_AT_ONCE:
            return swept


def sweep(ctx: Context) -> Swept:
    """What is due now and then (hourly is often enough): retention, files nobody names, ended sessions."""
    now = ctx.clock.now()
    orders_swept = sweep_retention(ctx)
    sweep_tried(ctx)
    old = (entry.digest for entry in ctx.blobs.entries() if now - entry.kept_at > BLOB_GRACE)
    blobs_swept = sweep_unnamed(ctx, old)
    ctx.blobs.clear_incoming(BLOB_GRACE, now)
    ctx.store.forget_old_rows()
    with ctx.store.writing() as connection:
        sweep_sessions(connection, now)
        uploads.delete_expired(connection, now)
        versions.delete_older(connection, now - VERSIONS_KEPT)
    return Swept(orders_swept, blobs_swept)


def wanted_blobs(ctx: Context) -> frozenset[str]:
    """Every digest that a row names: what a sweep of the blob store must leave."""
    with ctx.store.reading() as connection:
        return frozenset(art.named_blobs(connection))


def _sweep(
    ctx: Context, actor: System, order_id: str, before: datetime, kinds: Collection[OrderKind]
) -> bool:
    with open_order(ctx, actor, order_id, "erase") as opened:
        order = opened.order
        if order.kind not in kinds:
            return False  # a check that has become an order
        if order.updated_at >= before or order.state not in _NEVER_WENT_ON or order.erased_at is not None:
            return False  # somebody took it up again
        doomed = erase(opened, "kept no longer than the workshop keeps unused art")
    let_go(ctx, doomed)
    return True


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key): _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple | frozenset):
        return [_plain(each) for each in value]
    if isinstance(value, date | datetime):
        return value.isoformat()
    return value.value if isinstance(value, Enum) else value
