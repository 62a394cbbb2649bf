"""A new order from an old one: same lines, art and placements, to be checked again under today's settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy import Connection

from service.orders.artworks import Artwork, ReadingState, StoredReading
from service.orders.definition import fresh, shared
from service.orders.errors import ConflictError
from service.orders.ids import new_id
from service.orders.order import Carving, Line, Order, OrderTerms
from service.orders.states import CarvingState, OrderState
from service.orders.suites import Part, Suite
from service.orders.work import JobKind
from service.orders.workshop import Settings
from service.store import art, orders
from service.store import suites as store
from service.store.tenant_scope import TenantScope
from service.usecases.asking import ask_for_work
from service.usecases.context import Context
from service.usecases.telling import write_event


def copy_order(ctx: Context, connection: Connection, old: Order, settings: Settings) -> Order:
    """Store the copy and ask for its proofs. ConflictError "model-retired"."""
    now = ctx.clock.now()
    reach = TenantScope(old.workshop_id, old.id)
    old_lines = orders.lines_of_orders(connection, reach, [old.id])
    old_carvings = orders.carvings_of_orders(connection, reach, [old.id])
    _still_offered(old_lines, old_carvings, settings)
    order = _copied_order(old, now)
    orders.insert_order(connection, order)
    write_event(connection, order, "order.place", now)
    lines = {line.id: replace(line, id=new_id(), order_id=order.id, of_line=None) for line in old_lines}
    orders.insert_lines(connection, old.workshop_id, list(lines.values()))
    files, readings = copy_art(connection, old, order, now)
    new = [_copied_carving(carving, order, lines, files, readings) for carving in old_carvings]
    suites = _copied_suites(connection, old, order, lines, readings)
    ids = {before.id: after.id for before, after in zip(old_carvings, new, strict=True)}
    parts = _copied_parts(connection, old, suites, ids)
    new = [_waiting(carving) if carving.id in parts else carving for carving in new]
    orders.insert_carvings(connection, old.workshop_id, new)
    for suite in suites.values():
        mine = [part for part in parts.values() if part.suite_id == suite.id]
        store.insert_suite(connection, suite, mine)
        ask_for_work(ctx, connection, order, JobKind.SUITE, suite.id, revision=suite.revision)
    for carving in new:
        if carving.state is CarvingState.CHECKING and carving.id not in parts:
            ask_for_work(ctx, connection, order, JobKind.PROVE, carving.id, revision=carving.revision)
    unread = {c.reading_id for c in new if c.state is CarvingState.READING and c.reading_id}
    for reading_id in sorted(unread):
        ask_for_work(ctx, connection, order, JobKind.READ_ARTWORK, reading_id)
    return order


def _copied_suites(
    connection: Connection,
    old: Order,
    order: Order,
    lines: Mapping[str, Line],
    readings: Mapping[str, StoredReading],
) -> dict[str, Suite]:
    """The old order's lists and large pictures for the new one, by the old ids; made anew there."""
    found = store.suites_of_orders(connection, TenantScope(old.workshop_id, old.id), [old.id])
    copied = {}
    for suite in found:
        wanted = dict(suite.wanted)
        if "reading" in wanted:
            wanted["reading"] = readings[wanted["reading"]].id
        copied[suite.id] = replace(
            suite,
            id=new_id(),
            order_id=order.id,
            line_id=lines[suite.line_id].id,
            revision=1,
            wanted=wanted,
            made={},
            created_at=order.created_at,
        )
    return copied


def _copied_parts(
    connection: Connection, old: Order, suites: Mapping[str, Suite], ids: Mapping[str, str]
) -> dict[str, Part]:
    """The parts of those suites by the ids of the new carvings."""
    found = store.parts_of_orders(connection, TenantScope(old.workshop_id, old.id), [old.id])
    copied = (
        replace(part, carving_id=ids[part.carving_id], suite_id=suites[part.suite_id].id, notes=())
        for part in found
    )
    return {part.carving_id: part for part in copied}


def _waiting(carving: Carving) -> Carving:
    """A part that waits until its suite is made."""
    state = CarvingState.READING if carving.outline is None else CarvingState.CHECKING
    return replace(carving, state=state, trouble=None)


def _still_offered(lines: Sequence[Line], carvings: Sequence[Carving], settings: Settings) -> None:
    for line in lines:
        model = settings.model(line.model_key)
        if model is None or model.retired:
            raise ConflictError(
                "model-retired", "The workshop no longer makes this model. Place a new order."
            )
        has = {placed.slat.key for placed in model.layout.slats if placed.marked}
        wanted = {carving.slat_key for carving in carvings if carving.line_id == line.id}
        if not wanted <= has:
            raise ConflictError("model-retired", "The model has other slats now. Place a new order.")


def _copied_order(old: Order, now: datetime) -> Order:
    return Order(
        id=new_id(),
        workshop_id=old.workshop_id,
        number=orders.provisional_number(),
        state=OrderState.DRAFT,
        revision=1,
        activity=1,
        **shared(OrderTerms, old) | fresh(OrderTerms),
        created_at=now,
        updated_at=now,
        copied_from=old.id,
    )


def copy_art(
    connection: Connection, old: Order, order: Order, now: datetime
) -> tuple[dict[str, Artwork], dict[str, StoredReading]]:
    """Rows of the old order's files and readings for the new order, by the old ids; the bytes are shared."""
    reach, only = TenantScope(old.workshop_id, old.id), [old.id]
    files = {
        file.id: replace(file, id=new_id(), order_id=order.id, uploaded_at=now)
        for file in art.artworks_of_orders(connection, reach, only)
    }
    for file in files.values():
        art.insert_artwork(connection, order.workshop_id, file)
    readings = {
        reading.id: replace(reading, id=new_id(), order_id=order.id, artwork_id=files[reading.artwork_id].id)
        for reading in art.readings_of_orders(connection, reach, only)
    }
    for reading in readings.values():
        art.insert_reading(connection, order.workshop_id, reading)
        if reading.state is not ReadingState.WAITING:
            art.finish_reading(connection, reading)
    return files, readings


def _copied_carving(
    old: Carving,
    order: Order,
    lines: Mapping[str, Line],
    files: Mapping[str, Artwork],
    readings: Mapping[str, StoredReading],
) -> Carving:
    state, trouble = CarvingState.NO_ART, None
    if old.outline is not None and old.placement is not None:
        state = CarvingState.CHECKING
    elif old.state is CarvingState.REFUSED:
        state, trouble = CarvingState.REFUSED, old.trouble
    elif old.reading_id is not None:
        state = CarvingState.READING
    return replace(
        old,
        id=new_id(),
        order_id=order.id,
        line_id=lines[old.line_id].id,
        state=state,
        revision=1,
        artwork_id=None if old.artwork_id is None else files[old.artwork_id].id,
        reading_id=None if old.reading_id is None else readings[old.reading_id].id,
        proof_id=None,
        verdict=None,
        trouble=trouble,
        kept=(),
    )
