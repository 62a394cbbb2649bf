"""Reading: one order, lists, loaders by ids, files. Nothing here changes anything that people see."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from operator import attrgetter
from typing import Protocol, TypeVar, get_args

from sqlalchemy import Connection

from artwork.findings.values import Verdict
from service.orders.actors import Actor, Role
from service.orders.artworks import Artwork, StoredReading
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.order import Carving, Line, Order
from service.orders.proofs import Proof
from service.orders.record import Entry
from service.orders.site import OrderKind
from service.orders.states import CarvingState, OrderState, states_with
from service.orders.texts import words_of
from service.orders.work import Job
from service.store import art, jobs, listing, orders, record
from service.store.listing import Wanted
from service.store.tenant_scope import TenantScope
from service.usecases.answers import BlobFile, OrderAggregate, Page
from service.usecases.commands import EVERY_ORDER, FIRST_PAGE, OrderFilter, PageAsk
from service.usecases.context import Context
from service.usecases.drawing import FORMS, drawing_of
from service.usecases.guard import STAFF, need_role, reach_of
from service.usecases.order_aggregate import read_aggregate
from service.usecases.paging import cut_page, order_cursor, read_order_cursor
from service.usecases.producing import get_batch

T = TypeVar("T")
_MOST_WORDS = 8


def get_order(ctx: Context, actor: Actor, order_id: str) -> OrderAggregate:
    """One order with everything in it. NotFoundError."""
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach, order_id)
        if order is None:
            raise NotFoundError("order")
        return read_aggregate(connection, reach, order)


def find_order(ctx: Context, actor: Actor, order_id: str) -> Order:
    """One order without what is in it. NotFoundError."""
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach, order_id)
    if order is None:
        raise NotFoundError("order")
    return order


def get_activity(ctx: Context, actor: Actor, order_id: str) -> int:
    """The order's activity number alone: cheap to ask again and again. NotFoundError."""
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        activity = orders.find_activity(connection, reach, order_id)
    if activity is None:
        raise NotFoundError("order")
    return activity


def list_orders(
    ctx: Context,
    actor: Actor,
    wanted: OrderFilter = EVERY_ORDER,
    page: PageAsk = FIRST_PAGE,
    *,
    only: frozenset[str] | None = None,
) -> Page[Order]:
    """The orders this person may see, by keyset. InvalidError (bad cursor, order or page size).

    ``only`` these fields of them, where they can be read alone.
    """
    reach = reach_of(actor)
    problems = tuple(_filter_problems(wanted))
    if problems:
        raise InvalidError(*problems)
    by_due = wanted.order_by == "needed-by"
    after = read_order_cursor(page, by_due=by_due)
    words = tuple(sorted(words_of(wanted.words, wanted.email)))[:_MOST_WORDS]
    if wanted.words.strip() and not words_of(wanted.words):
        return Page((), (), more=False)  # nothing an order could be found by
    asked = Wanted(
        states=_possible_states(wanted),
        carving_states=wanted.carving_states,
        verdicts=wanted.verdicts,
        needed_from=wanted.needed_from,
        needed_until=wanted.needed_until,
        words=words,
        by_due=by_due,
        number=wanted.number,
        site_order_number=wanted.site_order_number,
        email=wanted.email,
        updated_since=wanted.updated_since,
        kinds=_kinds(reach, wanted),
    )
    if wanted.carving_states and not asked.states:
        return Page((), (), more=False)
    with ctx.store.reading() as connection:
        found = listing.page_of_orders(connection, reach, asked, after, page.first + 1, only)
        total = listing.count_orders(connection, reach, asked) if page.count else None
    return cut_page(found, page, lambda order: order_cursor(listing.key_of(order), by_due=by_due), total)


def _kinds(reach: TenantScope, wanted: OrderFilter) -> tuple[str, ...]:
    """A client sees the one order, whatever it is; tests are seen by their own tokens; else orders are meant."""
    if reach.tests:
        return (OrderKind.TEST.value,)
    if reach.order_id is not None:
        return wanted.kinds
    return wanted.kinds or (OrderKind.ORDER.value,)


def count_states(ctx: Context, actor: Actor) -> dict[str, int]:
    """How many orders are in each state. NotAllowedError."""
    need_role(actor, "count the workshop's orders", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        return listing.counts_by_state(connection, actor.workshop_id)


def get_job(ctx: Context, actor: Actor, job_id: str) -> Job:
    """One piece of background work. NotFoundError."""
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        job = jobs.find_job(connection, reach, job_id)
    if job is None:
        raise NotFoundError("job")
    return job


def artwork_file(ctx: Context, actor: Actor, artwork_id: str) -> BlobFile:
    """The original file. NotFoundError."""
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        found = art.artworks_by_ids(connection, reach, [artwork_id])
    if not found:
        raise NotFoundError("artwork")
    return BlobFile(found[0].sha256, found[0].content_type, found[0].name, original=True)


def reading_picture(ctx: Context, actor: Actor, reading_id: str) -> BlobFile:
    """What was read from it. NotFoundError."""
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        found = art.readings_by_ids(connection, reach, [reading_id])
    if not found or found[0].picture is None:
        raise NotFoundError("reading")
    return BlobFile(found[0].picture, "image/png", "what-was-read.png", original=False)


def proof_picture(ctx: Context, actor: Actor, proof_id: str) -> BlobFile:
    """The preview people sign. NotFoundError."""
    proof = _proof(ctx, actor, proof_id)
    return BlobFile(proof.picture, "image/png", f"proof-{proof.digest[:12]}.png", original=False)


def proof_drawing(ctx: Context, actor: Actor, proof_id: str, form: str) -> tuple[bytes, str]:
    """The art at true size as ``"svg"``, ``"dxf"`` or ``"pdf"``, and its content type.

    NotFoundError, InvalidError, TooManyError.
    """
    if form not in FORMS:
        raise InvalidError(FieldError("form", "unknown", f"Ask for one of {', '.join(FORMS)}."))
    return drawing_of(ctx, _proof(ctx, actor, proof_id), form), FORMS[form]


def batch_file(ctx: Context, actor: Actor, batch_id: str) -> BlobFile:
    """The archive. NotFoundError, NotAllowedError, ConflictError "not-ready"."""
    batch = get_batch(ctx, actor, batch_id)
    if batch.archive is None:
        raise ConflictError("not-ready", batch.message or "The archive is being made. Ask again in a moment.")
    return BlobFile(batch.archive, "application/zip", f"batch-{batch.id}.zip", original=False)


def _possible_states(wanted: OrderFilter) -> tuple[str, ...]:
    """The states asked for, less those no order with such carvings can be in: shorter runs of the index."""
    asked = tuple(dict.fromkeys(wanted.states))
    if not wanted.carving_states:
        return asked
    possible = states_with(frozenset(map(CarvingState, wanted.carving_states)))
    return tuple(state for state in asked or sorted(possible) if state in possible)


_CHOICES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("states", tuple(state.value for state in OrderState)),
    ("carving_states", tuple(state.value for state in CarvingState)),
    ("verdicts", get_args(Verdict)),
    ("order_by", ("newest", "needed-by")),
    ("kinds", tuple(kind.value for kind in OrderKind)),
)


def _filter_problems(wanted: OrderFilter) -> Iterator[FieldError]:
    for field, allowed in _CHOICES:
        given = getattr(wanted, field)
        values = (given,) if isinstance(given, str) else given
        if values and not set(values) <= set(allowed):
            yield FieldError(field, "unknown", f"Choose among {', '.join(allowed)}.")


def orders_by_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[Order | None]:
    """One per id, in the ids' order, ``None`` for what is not yours; one statement. So all below."""
    with _asked(ctx, actor) as (connection, reach):
        return _in_order(ids, orders.orders_by_ids(connection, reach, ids))


def lines_by_order_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Line, ...]]:
    """The lines of each order."""
    with _asked(ctx, actor) as (connection, reach):
        return _grouped(ids, orders.lines_of_orders(connection, reach, ids), attrgetter("order_id"))


def carvings_by_order_ids(
    ctx: Context, actor: Actor, ids: Sequence[str], only: frozenset[str] | None = None
) -> list[tuple[Carving, ...]]:
    """The carvings of each order; ``only`` these fields of them and ``order_id``, where they can be read alone."""
    named = None if only is None else only | {"order_id"}
    with _asked(ctx, actor) as (connection, reach):
        found = orders.carvings_of_orders(connection, reach, ids, named)
        return _grouped(ids, found, attrgetter("order_id"))


def carvings_by_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[Carving | None]:
    """Carvings by id."""
    with _asked(ctx, actor) as (connection, reach):
        return _in_order(ids, orders.carvings_by_ids(connection, reach, ids))


def artworks_by_order_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Artwork, ...]]:
    """The files of each order."""
    with _asked(ctx, actor) as (connection, reach):
        return _grouped(ids, art.artworks_of_orders(connection, reach, ids), attrgetter("order_id"))


def artworks_by_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[Artwork | None]:
    """Files by id."""
    with _asked(ctx, actor) as (connection, reach):
        return _in_order(ids, art.artworks_by_ids(connection, reach, ids))


def readings_by_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[StoredReading | None]:
    """Readings by id."""
    with _asked(ctx, actor) as (connection, reach):
        return _in_order(ids, art.readings_by_ids(connection, reach, ids))


def proofs_by_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[Proof | None]:
    """Proofs by id."""
    with _asked(ctx, actor) as (connection, reach):
        return _in_order(ids, art.proofs_by_ids(connection, reach, ids))


def brief_proofs_by_ids(
    ctx: Context, actor: Actor, ids: Sequence[str], only: frozenset[str] | None = None
) -> list[Proof | None]:
    """As :func:`proofs_by_ids`, without their checks and facts; ``only`` these fields of them and ``id``."""
    named = None if only is None else only | {"id"}
    with _asked(ctx, actor) as (connection, reach):
        return _in_order(ids, art.brief_proofs_by_ids(connection, reach, ids, named))


def proofs_by_carving_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Proof, ...]]:
    """Every proof each carving ever had, newest first."""
    with _asked(ctx, actor) as (connection, reach):
        return _grouped(ids, art.proofs_of_carvings(connection, reach, ids), attrgetter("carving_id"))


def jobs_by_order_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Job, ...]]:
    """The background work of each order, newest first: stage, fraction, message."""
    with _asked(ctx, actor) as (connection, reach):
        return _grouped(ids, jobs.jobs_of_orders(connection, reach, ids), lambda job: job.order_id or "")


def decisions_by_order_ids(ctx: Context, actor: Actor, ids: Sequence[str]) -> list[tuple[Entry, ...]]:
    """The record entries about each order, oldest first; names and addresses only for the workshop."""
    with _asked(ctx, actor) as (connection, reach):
        seen = ids if reach.order_id is None else [each for each in ids if each == reach.order_id]
        found = record.about_orders(connection, reach.workshop_id, seen)
    shown = found if actor.role in STAFF else [_without_people(entry) for entry in found]
    return _grouped(ids, shown, lambda entry: entry.order_id or "")


@contextmanager
def _asked(ctx: Context, actor: Actor) -> Iterator[tuple[Connection, TenantScope]]:
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        yield connection, reach


class _Named(Protocol):
    @property
    def id(self) -> str: ...


N = TypeVar("N", bound=_Named)


def _in_order(ids: Sequence[str], found: Sequence[N]) -> list[N | None]:
    by_id = {each.id: each for each in found}
    return [by_id.get(each) for each in ids]


def _grouped(ids: Sequence[str], found: Sequence[T], owner: Callable[[T], str]) -> list[tuple[T, ...]]:
    groups: dict[str, list[T]] = {each: [] for each in ids}
    for each, whose in zip(found, map(owner, found), strict=True):
        groups[whose].append(each)
    return [tuple(groups[each]) for each in ids]


def _without_people(entry: Entry) -> Entry:
    """What was said and done, without who said it from where."""
    known = entry.particulars
    if known is None:
        return entry
    return replace(entry, particulars=replace(known, salt="", name="", address=""))


def _proof(ctx: Context, actor: Actor, proof_id: str) -> Proof:
    found = proofs_by_ids(ctx, actor, [proof_id])[0]
    if found is None:
        raise NotFoundError("proof")
    return found
