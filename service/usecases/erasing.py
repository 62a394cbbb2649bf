"""Forgetting a client: particulars, art and pictures go; what was decided stays on record, by digest."""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.access.links import revoke_links
from service.orders.definition import blanks
from service.orders.order import Order
from service.orders.record import EntryKind
from service.orders.states import CarvingState, OrderState
from service.orders.work import BatchState
from service.store import (
    art,
    jobs,
    mail,
    messages,
    orders,
    outcomes,
    programs,
    record,
    suites,
    uploads,
    versions,
)
from service.usecases.blob_refs import sweep_unnamed
from service.usecases.context import Context
from service.usecases.opened import OpenOrder

IN_HAND = frozenset({OrderState.RELEASED, OrderState.IN_PRODUCTION})


@dataclass(frozen=True)
class Doomed:
    """What may go once an erasure is committed.

    Attributes:
        blobs: digests of files that nothing may name any more.
        letters: ids of mail that was written about the order.
    """

    blobs: frozenset[str]
    letters: tuple[str, ...]


def let_go(ctx: Context, doomed: Doomed) -> None:
    """Remove what an erasure has left: files, mail in the outbox folder, and what a database keeps of old rows."""
    sweep_unnamed(ctx, sorted(doomed.blobs))
    for letter in doomed.letters:
        ctx.outbox.forget(letter)
    ctx.store.forget_old_rows()


def erase(opened: OpenOrder, why: str) -> Doomed:
    """Erase within the open order. NotAllowedError, ConflictError."""
    connection, order = opened.connection, opened.order
    done = order.state is OrderState.DONE
    reason = "" if done else f"Erased: {why}."
    opened.move("erase", **blanks(Order), reason=reason, erased_at=opened.now)
    doomed = art.blobs_of_order(connection, order.id)
    carving_ids = list(opened.carvings)
    orders.blank_carvings(connection, order.id, None if done else CarvingState.NO_ART)
    art.delete_proofs_of_carvings(connection, carving_ids)
    art.delete_art_of_order(connection, order.id)
    doomed |= versions.delete_of_outlines(connection, order.workshop_id, doomed)
    doomed |= uploads.delete_of_order(connection, order.id)
    orders.refresh_words(connection, opened.order)
    orders.blank_lines(connection, order.id)
    suites.delete_of_order(connection, order.id)
    outcomes.forget_words(connection, order.id)
    messages.delete_messages_of_order(connection, order.id)
    programs.delete_checks_of_order(connection, order.id)
    jobs.delete_jobs_of_order(connection, order.id)
    letters = mail.delete_letters_of_order(connection, order.id)
    revoke_links(connection, order.id, opened.now)
    archives = _withdraw_batches(opened)
    record.erase_particulars(connection, order.workshop_id, order.id)
    opened.enter(EntryKind.ERASURE, facts={"why": why})
    opened.forget_read()
    return Doomed(doomed | archives, letters)


def _withdraw_batches(opened: OpenOrder) -> frozenset[str]:
    """Archives that hold the order's art go too."""
    archives = set()
    for batch in jobs.batches_with_order(opened.connection, opened.order.workshop_id, opened.order.id):
        if batch.archive is not None:
            archives.add(batch.archive)
        message = "The art of one of its orders has been erased. Take a new batch without that order."
        withdrawn = replace(batch, state=BatchState.FAILED, archive=None, size=None, message=message)
        jobs.finish_batch(opened.connection, withdrawn)
    return frozenset(archives)
