"""From approval to the bench: release, recall, production, batches."""

from __future__ import annotations

import base64
import hashlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection

from service.batches.released import made_facts
from service.orders.actors import Actor, Role, Scope
from service.orders.cuts import bases_of, circumstances
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.letters import LetterKind
from service.orders.limits import MOST_ORDERS
from service.orders.order import Carving, Order
from service.orders.proofs import Proof, Shown
from service.orders.record import EntryKind
from service.orders.site import Payment
from service.orders.standing_mark import StandingMark
from service.orders.states import CarvingState, OrderState
from service.orders.suites import SuiteShown
from service.orders.work import Batch, BatchState, JobKind
from service.store import jobs, orders, record
from service.usecases.answers import OrderAggregate, Page
from service.usecases.approving import current
from service.usecases.asking import start_job
from service.usecases.commands import FIRST_PAGE, IdempotencyKey, PageAsk
from service.usecases.context import Context
from service.usecases.freezing import freeze_release, frozen_digest, recall_marks
from service.usecases.guard import need_role, need_scope, reach_of
from service.usecases.idempotency import idempotent
from service.usecases.marked import slat_name
from service.usecases.opened import OpenOrder, open_order, refuse_unless_order
from service.usecases.ordering import checked_reason
from service.usecases.paging import cut_page, moment_cursor, read_moment_cursor
from service.usecases.pricing import need_agreed
from service.usecases.released_drawings import drawings_to_release, named
from service.usecases.suite_decisions import shown_together

SENT_TO_BENCH = frozenset({OrderState.RELEASED, OrderState.IN_PRODUCTION, OrderState.DONE})
_ID_BYTES = 16
_LACKS = {
    CarvingState.NO_ART: "artwork",
    CarvingState.READING: "its artwork to be read",
    CarvingState.REFUSED: "artwork that can be used",
    CarvingState.CHECKING: "its proof, which is being made",
    CarvingState.CHECKED: "its proof to be offered, signed off and found feasible",
    CarvingState.OFFERED: "the client's sign-off and the maker's judgement",
    CarvingState.SIGNED: "the maker's judgement",
    CarvingState.FEASIBLE: "the client's sign-off",
    CarvingState.CHANGE_ASKED: "the change that the client asked for",
    CarvingState.REJECTED: "another proof: this one was rejected",
    CarvingState.STALE: "to be checked again under today's settings",
}


def release(
    ctx: Context,
    actor: Actor,
    order_id: str,
    expected_revision: int,
    shown: tuple[Shown, ...],
    *,
    whole: tuple[SuiteShown, ...] = (),
) -> OrderAggregate:
    """Send a fully approved order to production; ``shown`` and ``whole`` name every carving's proof.

    NotFoundError, NotAllowedError, StaleError, ConflictError "not-approved" (says which carving lacks what),
    "not-current", "not-an-order", "not-paid", "quote-changed", "mark-changed".
    """
    drawings = drawings_to_release(ctx, actor, order_id)
    with open_order(ctx, actor, order_id, "release", expected_revision) as opened:
        opened.allow("release")
        refuse_unless_order(opened.order, "release it")
        _refuse_unpaid(opened)
        _all_approved(opened)
        released_at = need_agreed(opened)
        every, together = shown_together(opened, shown, whole)
        if sorted(each.carving_id for each in every) != sorted(opened.carvings):
            raise ConflictError(
                "not-current", "Look at the proof of every carving of the order, then release it."
            )
        frozen = frozen_digest(opened, drawings.machine)

        def made_of_mark(mark: StandingMark) -> dict[str, Any]:
            drawn = drawings.of(mark.digest, slat_name(mark))
            return made_facts(
                pieces=None, waived=mark.remarks, check=mark.check, drawings=drawn, order=frozen
            )

        for each in every:
            carving, proof = current(opened, each)
            opened.move_carving(carving, "release")
            facts = made_facts(
                pieces=proof.pieces,
                waived=proof.waived,
                check=proof.check,
                drawings=drawings.of(*named(proof)),
                order=frozen,
            )
            opened.enter(EntryKind.RELEASE, proof, facts=facts | together.get(carving.id, {}))
        freeze_release(opened, drawings.machine, made_of_mark)
        opened.move("release", released_at=released_at)
        opened.write(LetterKind.RELEASED)
        return opened.whole()


def recall(ctx: Context, actor: Actor, order_id: str, expected_revision: int, reason: str) -> OrderAggregate:
    """Take a release back, with a reason. NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError.

    The approvals stay, unless the workshop's settings have changed since.
    """
    reason = checked_reason("reason", reason)
    with open_order(ctx, actor, order_id, "recall", expected_revision) as opened:
        opened.allow("recall")
        for carving in list(opened.carvings.values()):
            opened.move_carving(carving, "recall")
            opened.enter(EntryKind.RECALL, opened.proofs[carving.id], words=reason)
        recall_marks(opened, reason)
        opened.move("recall", released_at=None)
        for carving in list(opened.carvings.values()):
            _outdate_if_changed(opened, carving)
        opened.write(LetterKind.RECALLED, reason=reason)
        return opened.whole()


def start_production(ctx: Context, actor: Actor, order_id: str, expected_revision: int) -> OrderAggregate:
    """The first board is on the machine. NotFoundError, NotAllowedError, StaleError, ConflictError."""
    with open_order(ctx, actor, order_id, "start", expected_revision) as opened:
        opened.move("start")
        opened.enter(EntryKind.PRODUCTION, facts={"step": "started"})
        return opened.whole()


def finish_production(ctx: Context, actor: Actor, order_id: str, expected_revision: int) -> OrderAggregate:
    """All pieces are done. NotFoundError, NotAllowedError, StaleError, ConflictError."""
    with open_order(ctx, actor, order_id, "finish", expected_revision) as opened:
        opened.move("finish")
        opened.enter(EntryKind.PRODUCTION, facts={"step": "finished"})
        return opened.whole()


def take_batch(
    ctx: Context, actor: Actor, order_ids: tuple[str, ...], once: IdempotencyKey | None = None
) -> Batch:
    """Ask for the archive of released orders.

    NotFoundError, NotAllowedError, InvalidError, ConflictError "not-released".

    The same releases are the same batch: asked for again, it is there already.
    """
    need_role(actor, "take a batch", Role.MAKER, Role.HELPER, Role.SHOP_SITE)
    need_scope(actor, Scope.BATCHES_WRITE)
    if not 1 <= len(set(order_ids)) <= MOST_ORDERS or len(set(order_ids)) != len(order_ids):
        raise InvalidError(FieldError("order_ids", "count", f"Name 1 to {MOST_ORDERS} orders, each once."))

    def work(connection: Connection) -> tuple[Batch, str]:
        batch = _batch(ctx, connection, actor, order_ids)
        return batch, batch.id

    def again(connection: Connection, batch_id: str) -> Batch:
        found = jobs.find_batch(connection, actor.workshop_id, batch_id)
        if found is None:
            raise NotFoundError("batch")
        return found

    return idempotent(ctx, actor, once, verb="take_batch", work=work, again=again)


def get_batch(ctx: Context, actor: Actor, batch_id: str) -> Batch:
    """One batch. NotFoundError, NotAllowedError."""
    workshop_id = _batch_reader(actor)
    with ctx.store.reading() as connection:
        batch = jobs.find_batch(connection, workshop_id, batch_id)
    if batch is None:
        raise NotFoundError("batch")
    return batch


def list_batches(ctx: Context, actor: Actor, page: PageAsk = FIRST_PAGE) -> Page[Batch]:
    """The workshop's batches, newest first. NotAllowedError, InvalidError."""
    workshop_id = _batch_reader(actor)
    before = read_moment_cursor(page)
    with ctx.store.reading() as connection:
        found = jobs.newest_batches(connection, workshop_id, before, page.first + 1)
        total = jobs.count_batches(connection, workshop_id) if page.count else None
    return cut_page(found, page, lambda batch: moment_cursor(batch.created_at, batch.id), total)


def releases_of(connection: Connection, workshop_id: str, found: Sequence[Order]) -> dict[str, int]:
    """The number of the record's last RELEASE entry of each of these orders."""
    entries = record.about_orders(connection, workshop_id, [order.id for order in found])
    return {
        entry.order_id: entry.number
        for entry in entries
        if entry.kind is EntryKind.RELEASE and entry.order_id is not None
    }


def batch_name(workshop_id: str, releases: dict[str, int]) -> str:
    """Named by what is in it: the releases, each by its entry in the record."""
    text = workshop_id + "".join(f" {order_id}:{number}" for order_id, number in sorted(releases.items()))
    return base64.b32encode(hashlib.sha256(text.encode()).digest()[:_ID_BYTES]).decode().rstrip("=").lower()


def _all_approved(opened: OpenOrder) -> None:
    """Every carving carries both approvals of its current proof, or it is said what lacks. ConflictError."""
    lacking = Counter(
        f"{opened.slat_name(carving)}: lacks {reason}"
        for carving in opened.carvings.values()
        if (reason := _lack(opened, carving, opened.proofs.get(carving.id)))
    )
    if lacking:
        told = (words if count == 1 else f"{words} ({count} pieces)" for words, count in lacking.items())
        raise ConflictError(
            "not-approved", "Not everything is approved. " + " ".join(f"{each}." for each in told)
        )
    if not opened.carvings:
        raise ConflictError(
            "not-approved", "Nothing in this order is carved, so there is nothing to release."
        )


def _refuse_unpaid(opened: OpenOrder) -> None:
    if opened.settings.workshop.payment_required and opened.order.payment is not Payment.PAID:
        raise ConflictError("not-paid", "This workshop releases only what is paid, and this order is not.")


def _lack(opened: OpenOrder, carving: Carving, proof: Proof | None) -> str | None:
    if carving.state is not CarvingState.APPROVED:
        return _LACKS[carving.state]
    if proof is None or proof.signed_at is None or proof.judged_at is None:
        return "an approval of its current proof"
    if proof.stale_because or proof.verdict == "will-not-carve" or not _as_judged(opened, carving, proof):
        return _LACKS[CarvingState.STALE]
    return None


def _outdate_if_changed(opened: OpenOrder, carving: Carving) -> None:
    proof = opened.proofs[carving.id]
    if not _as_judged(opened, carving, proof):
        opened.move_carving(carving, "outdate")
        because = "The workshop's settings changed while this was released."
        opened.stand(proof, stale_because=because, signed_at=None, judged_at=None)


def _as_judged(opened: OpenOrder, carving: Carving, proof: Proof) -> bool:
    """Whether the carving would be made today as it was judged."""
    try:
        today = circumstances(carving, opened.lines[carving.line_id], opened.settings)
    except ConflictError:  # the slat or the bit is gone
        return False
    return proof.basis in bases_of(today)


def _batch_reader(actor: Actor) -> str:
    need_role(actor, "see batches", Role.MAKER, Role.HELPER, Role.SHOP_SITE)
    need_scope(actor, Scope.BATCHES_READ)
    return actor.workshop_id


def _batch(ctx: Context, connection: Connection, actor: Actor, order_ids: tuple[str, ...]) -> Batch:
    found = orders.orders_by_ids(connection, reach_of(actor, Scope.BATCHES_WRITE), order_ids)
    if len(found) != len(order_ids):
        raise NotFoundError("order")
    for order in found:
        if order.state not in SENT_TO_BENCH or order.erased_at is not None:
            raise ConflictError("not-released", f"Order {order.number} is {order.state}: release it first.")
    releases = releases_of(connection, actor.workshop_id, found)
    batch_id = batch_name(actor.workshop_id, releases)
    now = ctx.clock.now()
    ids = tuple(order.id for order in sorted(found, key=lambda order: order.number))
    fresh = Batch(batch_id, actor.workshop_id, ids, BatchState.WAITING, None, None, "", now)
    known = jobs.find_batch(connection, actor.workshop_id, batch_id)
    if known is None:
        jobs.insert_batch(connection, fresh)
    elif known.state is not BatchState.FAILED:
        return known
    else:
        fresh = replace(known, state=BatchState.WAITING, message="")
        jobs.finish_batch(connection, fresh)
    start_job(ctx, connection, actor.workshop_id, None, kind=JobKind.BATCH, subject_id=batch_id)
    return fresh
