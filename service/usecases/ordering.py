"""An order as a whole: placed, amended, sent off, cancelled, ordered again."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection
from sqlalchemy.exc import IntegrityError

from service.access.links import is_link_good, make_link
from service.access.secrets import LINK, derived_secret
from service.orders.actors import Actor, Role, Scope, ShopSite
from service.orders.content import LineContent, OrderContent, amended, content_of
from service.orders.contents import content_problems, not_offered, offered_finishes, sending_problems
from service.orders.definition import shared
from service.orders.errors import ConflictError, FieldError, InvalidError, NotAllowedError, NotFoundError
from service.orders.ids import new_id
from service.orders.letters import LetterKind
from service.orders.limits import FARTHEST, LONGEST_NOTE
from service.orders.order import Carving, Line, LineTerms, Order, OrderTerms
from service.orders.record import EntryKind
from service.orders.site import NO_SITE, OrderKind, SiteTerms
from service.orders.states import OrderState
from service.orders.texts import text_problems
from service.orders.workshop import Settings
from service.store import orders, shop, suites
from service.store.tenant_scope import TenantScope
from service.usecases.answers import OrderAggregate, PlacedOrder
from service.usecases.budgets import count_order
from service.usecases.commands import IdempotencyKey
from service.usecases.context import Context
from service.usecases.copying import copy_order
from service.usecases.guard import need_role, need_scope, reach_of
from service.usecases.idempotency import idempotent
from service.usecases.lines import blank_carving, drop_carvings, fit_slats, prove_anew, refuse_other_count
from service.usecases.opened import OpenOrder, open_order, refuse_unless_order
from service.usecases.order_aggregate import read_aggregate
from service.usecases.suite_decisions import find_whole_suite
from service.usecases.suites import make_anew
from service.usecases.telling import write_event, write_letter

_SALT_BYTES = 32


def place_order(
    ctx: Context, actor: Actor, content: OrderContent, once: IdempotencyKey | None = None
) -> PlacedOrder:
    """A new draft, and its client's link.

    InvalidError, NotAllowedError, TooManyError, ConflictError "key-reused", "no-space" or "site-number-taken".
    """
    need_role(actor, "place an order here", Role.VISITOR, Role.MAKER, Role.SHOP_SITE)
    need_scope(actor, Scope.ORDERS_WRITE)
    kind = OrderKind.TEST if isinstance(actor, ShopSite) and actor.test else OrderKind.ORDER

    def work(connection: Connection) -> tuple[PlacedOrder, Any]:
        now = ctx.clock.now()
        settings = settings_of(connection, actor.workshop_id)
        by_maker = actor.role is Role.MAKER
        problems = tuple(content_problems(content, settings, frozenset(), by_maker=by_maker))
        if problems:
            raise InvalidError(*problems)
        _refuse_site(actor, NO_SITE, content.site)
        count_order(ctx, connection, actor, content.contact.email)
        whole = draft(connection, actor.workshop_id, content, now, kind)
        return place(ctx, connection, whole, once)

    return idempotent(ctx, actor, once, verb="place_order", work=work, again=placed_again(ctx, actor, once))


def amend_order(
    ctx: Context, actor: Actor, order_id: str, expected_revision: int, changes: Mapping[str, Any]
) -> OrderAggregate:
    """Change what the order says by a merge patch of :class:`OrderContent`; what is left out stays.

    A line whose quantity or model changes loses its approvals.

    NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError "wrong-state".
    """
    with open_order(ctx, actor, order_id, "amend", expected_revision) as opened:
        before = content_of(opened.order, opened.lines.values(), opened.carvings.values())
        content = amended(before, changes)
        known, by_maker = frozenset(opened.lines), actor.role is Role.MAKER
        problems = tuple(content_problems(content, opened.settings, known, by_maker=by_maker))
        if problems:
            raise InvalidError(*problems)
        _refuse_site(actor, before.site, content.site)
        opened.move("amend", **shared(OrderTerms, content), site=content.site)
        with _site_number_free():
            opened.close()
        _amend_lines(opened, content.lines)
        return opened.whole()


def set_travel(
    ctx: Context, actor: Actor, order_id: str, expected_revision: int, km: float
) -> OrderAggregate:
    """Say how far it is to the site and back; the price counts it where the order is delivered.

    NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError "wrong-state".
    """
    need_role(actor, "say how far a site is", Role.MAKER)
    if not 0 <= km <= FARTHEST:
        raise InvalidError(FieldError("km", "out-of-range", f"Give 0 to {FARTHEST:,.0f} km."))
    with open_order(ctx, actor, order_id, "amend", expected_revision) as opened:
        opened.move("amend", travel_km=km)
        return opened.whole()


def submit_order(ctx: Context, actor: Actor, order_id: str, expected_revision: int) -> OrderAggregate:
    """Send a complete draft to the maker. NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError."""
    with open_order(ctx, actor, order_id, "submit", expected_revision) as opened:
        submit(opened)
        return opened.whole()


def submit(opened: OpenOrder) -> None:
    """Send the draft in hand to the maker. NotAllowedError, InvalidError, ConflictError."""
    if opened.order.kind is OrderKind.CHECK:
        refuse_unless_order(opened.order, "send it off")
    opened.move("submit", submitted_at=opened.now)
    order, carvings = opened.order, list(opened.carvings.values())
    problems = tuple(sending_problems(order, carvings, opened.now.date()))
    if problems:
        raise InvalidError(*problems)
    lines = [
        {
            "model": line.model_key,
            "quantity": line.quantity,
            "slats": sorted(carving.slat_key for carving in carvings if carving.line_id == line.id),
        }
        for line in opened.lines.values()
    ]
    opened.enter(EntryKind.SUBMISSION, facts={"rights_granted": True, "lines": lines})
    needed_by = "" if order.needed_by is None else order.needed_by.isoformat()
    opened.write(LetterKind.SUBMITTED, needed_by=needed_by)
    opened.write(LetterKind.LINK, about="first")


def cancel_order(
    ctx: Context, actor: Actor, order_id: str, expected_revision: int, reason: str
) -> OrderAggregate:
    """Cancel, with a reason. NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError."""
    reason = checked_reason("reason", reason)
    with open_order(ctx, actor, order_id, "cancel", expected_revision) as opened:
        opened.move("cancel", reason=reason)
        opened.enter(EntryKind.CANCELLATION, words=reason)
        opened.write(LetterKind.CANCELLED, reason=reason)
        return opened.whole()


def reorder(ctx: Context, actor: Actor, order_id: str, once: IdempotencyKey | None = None) -> PlacedOrder:
    """A new draft with the same lines, art and placements, checked again under today's settings.

    NotFoundError, NotAllowedError, TooManyError, ConflictError "erased", "model-retired" or "no-space".
    """
    need_role(actor, "order again", Role.CLIENT, Role.MAKER, Role.SHOP_SITE)
    reach = reach_of(actor, Scope.ORDERS_WRITE)

    def work(connection: Connection) -> tuple[PlacedOrder, Any]:
        settings = settings_of(connection, actor.workshop_id)
        old = orders.find_order(connection, reach, order_id)
        if old is None:
            raise NotFoundError("order")
        if old.erased_at is not None:
            raise ConflictError(
                "erased", "This order's art was erased. Place a new order and send the file again."
            )
        count_order(ctx, connection, actor, old.contact.email)
        if old.kind is not OrderKind.ORDER:
            raise ConflictError("not-an-order", f"Order an order again: this is a {old.kind}.")
        order = copy_order(ctx, connection, old, settings)
        whole = read_aggregate(connection, TenantScope(order.workshop_id, order.id), order)
        return place(ctx, connection, whole, once)

    return idempotent(
        ctx, actor, once, verb=f"reorder {order_id}", work=work, again=placed_again(ctx, actor, once)
    )


def checked_reason(field: str, reason: str) -> str:
    """A reason given by a person, cleaned of space around it. InvalidError."""
    cleaned = reason.strip()
    problems = list(text_problems(field, cleaned, LONGEST_NOTE, lines=True))
    if not cleaned:
        problems.append(FieldError(field, "missing", "Say why, so that the other side knows what to do."))
    if problems:
        raise InvalidError(*problems)
    return cleaned


def settings_of(connection: Connection, workshop_id: str) -> Settings:
    """What the workshop sets, which stays so until the transaction ends; for a new draft. NotFoundError."""
    try:
        return shop.hold_settings(connection, workshop_id)
    except LookupError:
        raise NotFoundError("workshop") from None


@contextmanager
def _site_number_free() -> Iterator[None]:
    """What stores a site's number; the database says whether it is the only one. ConflictError "site-number-taken"."""
    try:
        yield
    except IntegrityError as error:
        if "site_order_number" not in str(error.orig) and "ix_orders_site_unique" not in str(error.orig):
            raise
        raise ConflictError(
            "site-number-taken", "Another order has this number, and both ask to be the only one with it."
        ) from None


def _refuse_site(actor: Actor, before: SiteTerms, after: SiteTerms) -> None:
    """What a site keeps with an order is set by it and by the maker. NotAllowedError."""
    if after != before and actor.role not in {Role.SHOP_SITE, Role.MAKER, Role.SYSTEM}:
        raise NotAllowedError(
            "Only the workshop's site and its maker may set what the site keeps with an order."
        )


def draft(
    connection: Connection, workshop_id: str, content: OrderContent, now: datetime, kind: OrderKind
) -> OrderAggregate:
    """Store a new draft with its lines. ConflictError "site-number-taken"."""
    order = _draft(workshop_id, content, now, kind)
    with _site_number_free():
        orders.insert_order(connection, order)
    write_event(connection, order, "order.place", now)
    lines, carvings = _add_lines(connection, order, content.lines)
    return OrderAggregate(order, lines, carvings, artworks=(), readings=(), proofs=())


def _draft(workshop_id: str, content: OrderContent, now: datetime, kind: OrderKind) -> Order:
    return Order(
        kind=kind,
        site=content.site,
        id=new_id(),
        workshop_id=workshop_id,
        number=orders.provisional_number(),
        state=OrderState.DRAFT,
        revision=1,
        activity=1,
        **shared(OrderTerms, content),
        created_at=now,
        updated_at=now,
    )


def place(
    ctx: Context, connection: Connection, whole: OrderAggregate, once: IdempotencyKey | None
) -> tuple[PlacedOrder, Any]:
    """The answer about an order just stored, and what to keep so that it can be given again.

    The link's secret is kept nowhere. Where the call has a key, it is made of that and of random bits that are
    kept, so that whoever repeats the call gets the same link, and whoever reads what is kept gets none.
    """
    order, salt = whole.order, secrets.token_hex(_SALT_BYTES)
    secret = None if once is None else derived_secret(LINK, once.key, salt)
    link = make_link(connection, order.id, order.workshop_id, ctx.clock.now(), secret)
    if order.contact.email:
        write_letter(ctx, connection, order, LetterKind.LINK, about="first")
    numbered = orders.give_number(connection, order, bare=not whole.artworks)
    placed = PlacedOrder(replace(whole, order=numbered), link.token)
    return placed, {"order": order.id, "link": link.id, "salt": salt}


def placed_again(
    ctx: Context, actor: Actor, once: IdempotencyKey | None
) -> Callable[[Connection, Any], PlacedOrder]:
    """The answer to a repeated call: the same link, unless it was revoked or has expired meanwhile."""

    def again(connection: Connection, kept: Any) -> PlacedOrder:
        reach = TenantScope(actor.workshop_id, kept["order"])
        order = orders.find_order(connection, reach, kept["order"])
        if order is None or once is None:
            raise NotFoundError("order")
        secret = derived_secret(LINK, once.key, kept.get("salt", ""))
        good = is_link_good(connection, kept["link"], secret, ctx.clock.now())
        return PlacedOrder(read_aggregate(connection, reach, order), secret if good else "")

    return again


def _add_lines(
    connection: Connection, order: Order, contents: Sequence[LineContent]
) -> tuple[tuple[Line, ...], tuple[Carving, ...]]:
    new = [
        Line(id=new_id(), order_id=order.id, position=position, **shared(LineTerms, content))
        for position, content in enumerate(contents, start=1)
    ]
    orders.insert_lines(connection, order.workshop_id, new)
    blank = [
        blank_carving(line, key)
        for line, content in zip(new, contents, strict=True)
        for key in sorted(content.slats)
    ]
    orders.insert_carvings(connection, order.workshop_id, blank)
    return tuple(new), tuple(blank)


def _amend_lines(opened: OpenOrder, contents: Sequence[LineContent]) -> None:
    kept = {content.id for content in contents if content.id is not None}
    gone = [line_id for line_id in opened.lines if line_id not in kept]
    drop_carvings(opened, [c for c in opened.carvings.values() if c.line_id in gone])
    orders.delete_lines(opened.connection, gone)
    for position, content in enumerate(contents, start=1):
        if content.id is None:
            terms = shared(LineTerms, content)
            line = Line(id=new_id(), order_id=opened.order.id, position=position, **terms)
            orders.insert_lines(opened.connection, opened.order.workshop_id, [line])
            fit_slats(opened, line, content.slats)
        else:
            _amend_line(opened, opened.lines[content.id], position, content)
    suites.delete_empty(opened.connection, opened.order.id)


def _finish_anew(opened: OpenOrder, carvings: Sequence[Carving]) -> None:
    """Another finish is another cut: each carving is judged anew, a list or a large picture as a whole."""
    parts = suites.parts_of_orders(opened.connection, opened.reach, [opened.order.id])
    suite_of = {part.carving_id: part.suite_id for part in parts}
    theirs = {suite_of[each.id] for each in carvings if each.id in suite_of}
    for suite_id in sorted(theirs):
        make_anew(opened, find_whole_suite(opened.connection, opened.reach, suite_id))
    prove_anew(opened, [each for each in carvings if each.id not in suite_of])


def _amend_line(opened: OpenOrder, line: Line, position: int, content: LineContent) -> None:
    after = replace(line, position=position, **shared(LineTerms, content))
    orders.update_line(opened.connection, after)
    theirs = [carving for carving in opened.carvings.values() if carving.line_id == line.id]
    if after.finish is not line.finish and after.finish not in offered_finishes(opened.settings):
        raise InvalidError(not_offered(f"lines.{position - 1}.finish", opened.settings))
    if after.model_key != line.model_key:
        drop_carvings(opened, theirs)
    elif after.finish is not line.finish:
        if after.quantity != line.quantity:
            refuse_other_count(opened, line, after.quantity, content.slats)
        _finish_anew(opened, [carving for carving in theirs if carving.slat_key in content.slats])
    elif after.quantity != line.quantity:
        refuse_other_count(opened, line, after.quantity, content.slats)
        prove_anew(opened, [carving for carving in theirs if carving.slat_key in content.slats])
    fit_slats(opened, after, content.slats)
