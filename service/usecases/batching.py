"""From released orders to an archive: what goes in, read piece by piece, and what becomes of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from sqlalchemy import Connection

from service import VERSION
from service.batches.approvals import Claim, Decisions
from service.batches.assemble import archive
from service.batches.content import (
    ArtworkContent,
    BatchContent,
    CarvingContent,
    ModelContent,
    OrderContent,
    ShopContent,
)
from service.batches.errors import DamagedFileError, NotApprovedError
from service.batches.record_file import decision
from service.batches.released import made_facts, order_digest
from service.orders.definition import for_bench
from service.orders.errors import ConflictError
from service.orders.order import Line, Order, OrderTerms
from service.orders.record import Entry
from service.orders.states import CarvingState
from service.orders.suites import SuiteKind
from service.orders.work import Batch, BatchState
from service.store import art, jobs, orders, prices, record, shop, suites
from service.store.blobs import BlobMissingError
from service.store.tenant_scope import TenantScope
from service.usecases import marked
from service.usecases.batch_drawings import drawings_of
from service.usecases.batch_sheets import Held, held_at_release, with_sheets
from service.usecases.context import Context
from service.usecases.producing import SENT_TO_BENCH, batch_name, releases_of
from service.usecases.progress import Progress
from service.usecases.sheets import contact_sheet
from service.usecases.suite_decisions import read_whole_suites


def make_batch(ctx: Context, workshop_id: str, batch_id: str, progress: Progress) -> None:
    """Assemble and keep the archive, or say why it cannot be."""
    with ctx.store.reading() as connection:
        batch = jobs.find_batch(connection, workshop_id, batch_id)
        key = Ed25519PrivateKey.from_private_bytes(shop.signing_key(connection, workshop_id))
    if batch is None or batch.state is not BatchState.WAITING:
        return
    try:
        content = _content(ctx, batch, progress)
        digest = ctx.blobs.put(archive(content, key))
        with ctx.store.writing() as connection:
            _releases(connection, batch)  # nothing was taken back while the archive was made
            art.lock_names(connection, to_sweep=False)
            size = ctx.blobs.size(digest)
            if size is None:
                raise BlobMissingError(digest)  # swept meanwhile: the job is tried again
            ready = replace(batch, state=BatchState.READY, archive=digest, size=size)
            jobs.finish_batch(connection, ready, waiting=True)
    except (NotApprovedError, DamagedFileError, ConflictError) as error:
        with ctx.store.writing() as connection:
            failed = replace(batch, state=BatchState.FAILED, message=str(error))
            jobs.finish_batch(connection, failed, waiting=True)


def fail_batch(connection: Connection, workshop_id: str, batch_id: str) -> None:
    """Making it was given up."""
    batch = jobs.find_batch(connection, workshop_id, batch_id)
    if batch is not None and batch.state is BatchState.WAITING:
        message = "Making the archive failed again and again. Ask for it once more, or look at the log."
        jobs.finish_batch(connection, replace(batch, state=BatchState.FAILED, message=message))


def _releases(connection: Connection, batch: Batch) -> tuple[list[Order], dict[str, int]]:
    """The batch's orders by number, and the entries that release them. Conflict when one was recalled."""
    found = orders.orders_by_ids(connection, TenantScope(batch.workshop_id), batch.order_ids)
    releases = releases_of(connection, batch.workshop_id, found)
    still = all(order.state in SENT_TO_BENCH and order.erased_at is None for order in found)
    if not still or batch_name(batch.workshop_id, releases) != batch.id:
        raise ConflictError(
            "not-released", "A release was taken back. Take a new batch of what is released now."
        )
    return sorted(found, key=lambda order: order.number), releases


def _content(ctx: Context, batch: Batch, progress: Progress) -> BatchContent:
    reach = TenantScope(batch.workshop_id)
    with ctx.store.reading() as connection:
        found, releases = _releases(connection, batch)
        settings = shop.read_settings(connection, batch.workshop_id)
        lines = orders.lines_of_orders(connection, reach, batch.order_ids)
        every = _with_parts(connection, found)
        entries = record.about_orders(connection, batch.workshop_id, [order.id for order in every])
        numbers_of = {order.id: order.number for order in every}
        held = {order.id: held_at_release(ctx, connection, order, settings) for order in found}
    approvals = {each.mark.id: each.mark.approval for one in held.values() for each in one.marks}
    numbers = [*(entry.number for entry in entries), *approvals.values()]
    first, last = min(numbers), max(releases.values())
    newest = held[max(found, key=lambda order: releases[order.id]).id]
    return BatchContent(
        id=batch.id,
        shop=ShopContent(settings.workshop.key, newest.workshop, f"Slatproof {VERSION}"),
        orders=tuple(_order(ctx, order, lines, held[order.id], numbers_of) for order in found),
        carvings=_carvings(ctx, found, held, progress),
        record=_record(ctx, batch.workshop_id, first, last),
        read=ctx.blobs.get,
        marks=frozenset(approvals),
        parts=frozenset(numbers_of),
    )


def _with_parts(connection: Connection, found: Sequence[Order]) -> list[Order]:
    """The orders, and those that they are part of or that are part of them: their decisions hold together."""
    every = {order.id: order for order in found}
    for order in found:
        whole_id = order.part_of or order.id
        every |= {each.id: each for each in orders.orders_of_whole(connection, order.workshop_id, whole_id)}
    return list(every.values())


def _order(
    ctx: Context, order: Order, lines: Sequence[Line], held: Held, numbers: Mapping[str, int]
) -> OrderContent:
    theirs = [line for line in lines if line.order_id == order.id]
    if order.released_at is None:
        raise ConflictError("not-released", f"Order {order.number} is not released.")
    content = OrderContent(
        id=order.id,
        number=order.number,
        client=order.contact.organisation or order.contact.name,
        address=held.address,
        lines=tuple(
            ModelContent(line.model_key, _model_name(held, line), line.quantity, line.note) for line in theirs
        ),
        terms=for_bench(OrderTerms, order),
        released_at=order.released_at,
        machine=held.machine,
        units=held.units,
        quote=_agreed(ctx, order, order.released_at),
        part_of=None if order.part_of is None else numbers[order.part_of],
    )
    content = with_sheets(ctx, content, order.workshop_id, theirs, held)
    return replace(content, sheets={**content.sheets, **_contact_sheets(ctx, order)})


def _agreed(ctx: Context, order: Order, released_at: datetime) -> Mapping[str, Any] | None:
    """What the client had agreed to pay when it was released; what is part of another order is paid with that."""
    if order.part_of is not None:
        return None
    with ctx.store.reading() as connection:
        signed = prices.signed_quote(connection, TenantScope(order.workshop_id, order.id), until=released_at)
    return None if signed is None else signed.quote.facts


def _contact_sheets(ctx: Context, order: Order) -> dict[str, str]:
    """The signed sheet of every list of texts, name → digest."""
    with ctx.store.reading() as connection:
        found = read_whole_suites(connection, TenantScope(order.workshop_id, order.id), order.id)
    lists = [whole for whole in found if whole.suite.kind is SuiteKind.NAMES]
    return {
        f"contact-sheet-{number}.pdf": ctx.blobs.put(contact_sheet(ctx, whole, order.number))
        for number, whole in enumerate(lists, 1)
    }


def _carvings(
    ctx: Context,
    found: Sequence[Order],
    held: Mapping[str, Held],
    progress: Progress,
) -> Iterator[CarvingContent]:
    """Order by order, so that never more than one order's carvings lie in memory."""
    for done, order in enumerate(found):
        progress.say(f"order {order.number}", 0.1 + 0.8 * done / len(found))
        reach, only = TenantScope(order.workshop_id, order.id), [order.id]
        with ctx.store.reading() as connection:
            carvings = orders.carvings_of_orders(connection, reach, only)
            lines = {line.id: line for line in orders.lines_of_orders(connection, reach, only)}
            proofs = {proof.carving_id: proof for proof in art.current_proofs(connection, reach, only)}
            files = {file.id: file for file in art.artworks_of_orders(connection, reach, only)}
            texts = {part.carving_id: part.text for part in suites.parts_of_orders(connection, reach, only)}
        named = [
            (proof.digest, proof.facts["slat"]["name"])
            for proof in (proofs.get(each.id) for each in carvings)
            if proof is not None
        ]
        drawings = drawings_of(ctx, named, held[order.id].machine)
        for carving in carvings:
            proof = proofs.get(carving.id)
            text = texts.get(carving.id, "")
            drawn = carving.artwork_id is not None or bool(text)
            if carving.state is not CarvingState.RELEASED or proof is None or not drawn:
                raise ConflictError(
                    "not-released", f"{carving.slat_key} of order {order.number} is not released."
                )
            file = None if carving.artwork_id is None else files[carving.artwork_id]
            line = lines[carving.line_id]
            yield CarvingContent(
                id=carving.id,
                order_id=carving.order_id,
                line=line.position,
                model_key=line.model_key,
                model_name=_model_name(held[order.id], line),
                slat_key=carving.slat_key,
                slat_name=proof.facts["slat"]["name"],
                piece=carving.piece,
                pieces=proof.pieces,
                proof_number=proof.number,
                digest=proof.digest,
                picture=proof.picture,
                check=dict(proof.check),
                waived=proof.waived,
                artwork=None if file is None else ArtworkContent(file.name, file.sha256),
                drawings=next(drawings),
                text=text,
            )
        for each in held[order.id].marks:
            (line,) = (one for one in lines.values() if one.position == each.line)
            yield marked.content(
                ctx, order.id, each, _model_name(held[order.id], line), held[order.id].machine
            )


def _record(ctx: Context, workshop_id: str, first: int, last: int) -> Iterator[Entry]:
    with ctx.store.reading() as connection:
        yield from record.walk(connection, workshop_id, first, last)


def altered_releases(ctx: Context) -> Iterator[str]:
    """What rows say of orders at the bench otherwise than the record of decisions, in words."""
    with ctx.store.reading() as connection:
        workshops = shop.all_workshops(connection)
        sent = [(each, orders.ids_in_states(connection, each.id, SENT_TO_BENCH)) for each in workshops]
    for workshop, ids in sent:
        for order_id in ids:
            with ctx.store.reading() as connection:
                yield from _altered(ctx, connection, workshop.id, order_id)


def _altered(ctx: Context, connection: Connection, workshop_id: str, order_id: str) -> Iterator[str]:
    reach, only = TenantScope(workshop_id, order_id), [order_id]
    found = orders.orders_by_ids(connection, reach, only)
    if not found or found[0].erased_at is not None:
        return
    order, settings = found[0], shop.read_settings(connection, workshop_id)
    held, lines = (
        held_at_release(ctx, connection, order, settings),
        orders.lines_of_orders(connection, reach, only),
    )
    counted = [(line.model_key, _model_name(held, line), line.quantity) for line in lines]
    frozen = order_digest(order.number, counted, held.machine, held.address)
    every = [each.id for each in _with_parts(connection, found)]
    known = Decisions(map(decision, record.about_orders(connection, workshop_id, every)))
    proofs = {proof.carving_id: proof for proof in art.current_proofs(connection, reach, only)}
    for carving in orders.carvings_of_orders(connection, reach, only):
        where, proof = f"order {order.number}, {carving.slat_key}", proofs.get(carving.id)
        if proof is None:
            yield f"{where}: its proof is gone"
            continue
        made = made_facts(
            pieces=proof.pieces, waived=proof.waived, check=proof.check, drawings={}, order=frozen
        )
        del made["drawings"]  # drawn anew where they are wanted
        claim = Claim(order.id, carving.id, proof.digest, proof.picture, made=made)
        yield from (f"{where}: {reason}" for reason in known.missing(claim))


def _model_name(held: Held, line: Line) -> str:
    return held.models.get(line.model_key, line.model_key)
