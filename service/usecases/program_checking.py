"""Machine programs held against what was signed, and the checks that were made. Nothing here makes a program."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from artwork.errors import EngineError
from service.orders.actors import Actor, Helper, Maker, Role
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.ids import new_id
from service.orders.machine import Machine
from service.orders.order import Order
from service.orders.program_checks import MOST_BYTES, ProgramCheck
from service.orders.proofs import Proof
from service.orders.record import EntryKind
from service.orders.workshop import Settings
from service.store import art, jobs, machines, orders, programs, shop
from service.store.tenant_scope import TenantScope
from service.usecases import computing_programs
from service.usecases.answers import BlobFile
from service.usecases.artworks import shown_name
from service.usecases.batch_drawings import drawn_proof
from service.usecases.batch_sheets import held_at_release, planned_order
from service.usecases.blob_refs import add_blob_refs
from service.usecases.commands import Upload
from service.usecases.computing_programs import CheckedCarving, CheckedProgram, ProgramReading
from service.usecases.context import Context
from service.usecases.freezing import frozen_marks
from service.usecases.guard import need_role, reach_of
from service.usecases.opened import OpenOrder, open_order

T = TypeVar("T")

MOST_CANDIDATES = 60
"""Different carvings that one program is held against to find which it is."""
_SECONDS = 240.0
_WAIT = 10.0


@dataclass(frozen=True)
class AskedReading:
    """How a program is to be read, where that is not plain: see :class:`ProgramReading`; ``bit``: key of a bit."""

    bit: str = ""
    flat_tool: int | None = None
    offsets: tuple[str, ...] = ()


def check_program(
    ctx: Context, actor: Actor, order_id: str, upload: Upload, asked: AskedReading = AskedReading()
) -> ProgramCheck:
    """Hold a program against a signed carving of an order; against all of them where none is named.

    Of several the one that it comes nearest to is taken. It is entered into the record.
    NotFoundError, NotAllowedError, InvalidError (the line and word that cannot be checked), ConflictError "not-signed",
    "not-current", "too-many-carvings", TooManyError.
    """
    need_role(actor, "check programs", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach_of(actor), order_id)
        if order is None:
            raise NotFoundError("order")
    return _checked(ctx, actor, (order,), upload, asked)


def check_batch_program(
    ctx: Context, actor: Actor, batch_id: str, upload: Upload, asked: AskedReading = AskedReading()
) -> ProgramCheck:
    """As :func:`check_program`, against every carving of a batch: it is found which one it is."""
    need_role(actor, "check programs", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        batch = jobs.find_batch(connection, actor.workshop_id, batch_id)
        if batch is None:
            raise NotFoundError("batch")
        found = orders.orders_by_ids(connection, reach_of(actor), batch.order_ids)
    return _checked(ctx, actor, found, upload, asked)


def check_bed_program(
    ctx: Context,
    actor: Actor,
    order_id: str,
    bed: int,
    upload: Upload,
    *,
    asked: AskedReading = AskedReading(),
) -> tuple[ProgramCheck, ...]:
    """Hold a program against everything that is carved on one bed of a released order, as its bed drawing lays it.

    Each carving on it is checked and entered by itself; the workshop's own marks are compared and not entered.
    NotFoundError, NotAllowedError, InvalidError, ConflictError "not-released", "no-board", "not-current",
    TooManyError.
    """
    need_role(actor, "check programs", Role.MAKER, Role.HELPER)
    _refuse_size(upload)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach_of(actor), order_id)
        if order is None:
            raise NotFoundError("order")
        lines = orders.lines_of_orders(connection, TenantScope(order.workshop_id, order.id), [order.id])
        settings = shop.read_settings(connection, order.workshop_id)
        held = held_at_release(ctx, connection, order, settings)
    if order.released_at is None:
        raise ConflictError("not-released", "Beds are laid out of what is released.")
    content, proofs = planned_order(ctx, order, lines, held)
    reading = _reading(settings, asked)
    told = _run(ctx, computing_programs.check_bed_program, upload.data, content, proofs, bed, reading)
    return _enter(ctx, actor, order.id, upload, {each.digest: each for each in told})


def list_program_checks(ctx: Context, actor: Actor, order_id: str) -> tuple[ProgramCheck, ...]:
    """Every check of an order's programs, newest first. NotFoundError, NotAllowedError."""
    need_role(actor, "see checks of programs", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        if orders.find_order(connection, reach_of(actor), order_id) is None:
            raise NotFoundError("order")
        return tuple(programs.checks_of_order(connection, TenantScope(actor.workshop_id, order_id)))


def get_program_check(ctx: Context, actor: Actor, check_id: str) -> ProgramCheck:
    """One check. NotFoundError, NotAllowedError."""
    need_role(actor, "see checks of programs", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        found = programs.find_check(connection, actor.workshop_id, check_id)
    if found is None:
        raise NotFoundError("check")
    return found


def program_picture(ctx: Context, actor: Actor, check_id: str) -> BlobFile:
    """The picture of the differences. NotFoundError, NotAllowedError."""
    check = get_program_check(ctx, actor, check_id)
    return BlobFile(check.picture, "image/png", f"program-{check.program[:12]}.png", original=False)


def _checked(
    ctx: Context, actor: Actor, found: Sequence[Order], upload: Upload, asked: AskedReading
) -> ProgramCheck:
    _refuse_size(upload)
    candidates, machine, reading = _candidates(ctx, actor, found, upload.carving_ids, asked)
    drawn = [drawn_proof(ctx, proof.digest, str(proof.facts["slat"]["name"])) for proof in candidates]
    told = _run(ctx, computing_programs.check_program, upload.data, drawn, machine, reading)
    proof = candidates[told.which]
    (check,) = _enter(ctx, actor, proof.order_id, upload, {proof.digest: told}, carving_id=proof.carving_id)
    return check


def _run(ctx: Context, check: Callable[..., T], *given: object) -> T:
    """The comparison, in the cage. InvalidError with what cannot be checked."""
    try:
        return ctx.compute.run(
            check, *given, seconds=_SECONDS, cpu_seconds=_SECONDS, wait=_WAIT, stranger=True
        )
    except EngineError as refusal:
        raise InvalidError(FieldError("file", refusal.code, f"{refusal.message} {refusal.cure}")) from None


def _refuse_size(upload: Upload) -> None:
    if not upload.data:
        raise InvalidError(FieldError("file", "empty", "This file is empty. Choose the program again."))
    if len(upload.data) > MOST_BYTES:
        told = f"A program has at most {MOST_BYTES // 1_000_000} MB here. Write it in parts."
        raise InvalidError(FieldError("file", "too-large", told))


def _candidates(
    ctx: Context, actor: Actor, found: Sequence[Order], carving_ids: Sequence[str], asked: AskedReading
) -> tuple[list[Proof], Machine, ProgramReading]:
    """The signed proofs it may be, each digest once, how they lie on the machine, and how the program is read."""
    with ctx.store.reading() as connection:
        ids = [order.id for order in found]
        proofs = art.current_proofs(connection, reach_of(actor), ids)
        machine = machines.machine_of_release(connection, TenantScope(actor.workshop_id, ids[0]))
        settings = shop.read_settings(connection, actor.workshop_id)
    if carving_ids:
        proofs = [proof for proof in proofs if proof.carving_id in set(carving_ids)]
        if len({proof.carving_id for proof in proofs}) != len(set(carving_ids)):
            raise InvalidError(FieldError("carvings", "unknown", "Name carvings of this order."))
    signed = {proof.digest: proof for proof in reversed(proofs) if proof.signed_at is not None}
    if not signed:
        raise ConflictError("not-signed", "Nothing was signed that a program could be held against.")
    if len(signed) > MOST_CANDIDATES:
        told = f"These are {len(signed)} different carvings. Name at most {MOST_CANDIDATES} that it may be."
        raise ConflictError("too-many-carvings", told)
    return list(signed.values()), machine, _reading(settings, asked)


def _reading(settings: Settings, asked: AskedReading) -> ProgramReading:
    """How the program is read. InvalidError for a bit that there is not."""
    bit = settings.bit(asked.bit) if asked.bit else None
    if asked.bit and bit is None:
        raise InvalidError(FieldError("bit", "unknown", "Choose one of the workshop's bits."))
    return ProgramReading(bit, asked.flat_tool, 0.0, asked.offsets)


def _enter(
    ctx: Context,
    actor: Actor,
    order_id: str,
    upload: Upload,
    told: Mapping[str, CheckedProgram | CheckedCarving],
    *,
    carving_id: str | None = None,
) -> tuple[ProgramCheck, ...]:
    """Keep what was found of each proof, by its digest, and enter it; ConflictError "not-current" where one of them
    is no longer the one that was signed. ``carving_id``: of several carvings that share a proof.
    """
    program = hashlib.sha256(upload.data).hexdigest()
    pictures = {digest: ctx.blobs.put(each.picture) for digest, each in told.items()}
    with open_order(ctx, actor, order_id, "check-program") as opened:
        opened.allow("check-program")
        signed = {
            proof.digest: proof
            for proof in opened.proofs.values()
            if proof.signed_at is not None and carving_id in {None, proof.carving_id}
        }
        own = set(told) - set(signed) - _marks_of(opened)
        if own or (carving_id is not None and not signed):
            raise ConflictError(
                "not-current", "Another proof was made meanwhile. Look at the order, then check again."
            )
        made = []
        for digest, found in told.items():
            if digest not in signed:
                continue
            add_blob_refs(ctx, opened.connection, (pictures[digest], found.picture))
            check = ProgramCheck(
                id=new_id(),
                workshop_id=actor.workshop_id,
                order_id=order_id,
                carving_id=signed[digest].carving_id,
                digest=digest,
                program=program,
                name=shown_name(upload.name),
                size=len(upload.data),
                outcome=found.outcome,
                sentence=found.sentence,
                report=found.report,
                picture=pictures[digest],
                entry=0,
                at=opened.now,
                by=actor.name if isinstance(actor, Maker | Helper) else "",
            )
            facts = {"program": program, "outcome": found.outcome, "check": check.id}
            kept = replace(check, entry=_entered(opened, signed[digest], facts))
            programs.insert_check(opened.connection, kept)
            made.append(kept)
        opened.changed()
        return tuple(made)


def _marks_of(opened: OpenOrder) -> set[str]:
    """Digests of the workshop's own marks on the order, as it was released."""
    facts = machines.frozen(opened.connection, TenantScope(opened.order.workshop_id, opened.order.id))
    if facts is None:
        return set()
    return {each.mark.digest for each in frozen_marks(opened.connection, opened.order.workshop_id, facts)}


def _entered(opened: OpenOrder, proof: Proof, facts: dict[str, str]) -> int:
    return opened.enter(EntryKind.PROGRAM_CHECK, proof, facts=facts)
