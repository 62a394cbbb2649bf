"""Webhooks and the stream of events: made, looked at, sent, sent again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from service.orders.actors import Actor, Role, Scope
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.ids import new_id
from service.orders.webhooks import (
    GONE,
    MOST_WEBHOOKS,
    OVERLAP,
    Delivery,
    DeliveryState,
    Event,
    Webhook,
    body_of,
    kinds_of,
    new_secret,
    next_try,
    url_problem,
)
from service.store import webhooks
from service.store.bells import EVENTS, tell
from service.usecases.answers import Page
from service.usecases.commands import FIRST_PAGE, PageAsk
from service.usecases.context import Context
from service.usecases.guard import need_role, reach_of
from service.usecases.paging import check_size, cut_page, moment_cursor, read_moment_cursor

_AT_ONCE = 100
_GONE_WORDS = "The receiver answered 410: it wants nothing more."


def list_events(ctx: Context, actor: Actor, after: int, most: int) -> tuple[Event, ...]:
    """Events of the workshop after a number, in their order. NotAllowedError, InvalidError.

    For the workshop's people, and for tokens that read orders.
    """
    need_role(actor, "follow the workshop's events", Role.MAKER, Role.HELPER, Role.SHOP_SITE)
    reach_of(actor, Scope.ORDERS_READ)
    check_size(PageAsk(most))
    with ctx.store.reading() as connection:
        return tuple(webhooks.events_after(connection, actor.workshop_id, after, most))


def last_event(ctx: Context, actor: Actor) -> int:
    """Number of the workshop's last event. NotAllowedError."""
    need_role(actor, "follow the workshop's events", Role.MAKER, Role.HELPER, Role.SHOP_SITE)
    reach_of(actor, Scope.ORDERS_READ)
    with ctx.store.reading() as connection:
        return webhooks.last_event(connection, actor.workshop_id)


def list_webhooks(ctx: Context, actor: Actor) -> tuple[Webhook, ...]:
    """The workshop's webhooks, oldest first. NotAllowedError."""
    _need_maker(actor)
    with ctx.store.reading() as connection:
        return tuple(webhooks.webhooks_of(connection, actor.workshop_id))


def make_webhook(ctx: Context, actor: Actor, url: str, kinds: tuple[str, ...] = ()) -> Webhook:
    """Have events sent from now on; its secret is shown this once.

    NotAllowedError, InvalidError, ConflictError "too-many-webhooks".
    """
    _need_maker(actor)
    _check_url(ctx, url)
    with ctx.store.writing() as connection:
        if len(webhooks.webhooks_of(connection, actor.workshop_id)) >= MOST_WEBHOOKS:
            raise ConflictError("too-many-webhooks", f"A workshop has at most {MOST_WEBHOOKS} webhooks.")
        made = Webhook(
            id=new_id(),
            workshop_id=actor.workshop_id,
            url=url,
            kinds=kinds_of(kinds),
            enabled=True,
            because="",
            secret=new_secret(),
            earlier_secret="",
            earlier_until=None,
            seen=webhooks.last_event(connection, actor.workshop_id),
            created_at=ctx.clock.now(),
        )
        webhooks.insert_webhook(connection, made)
    return made


def drop_webhook(ctx: Context, actor: Actor, webhook_id: str) -> None:
    """Send nothing more there, and forget what was sent. NotAllowedError, NotFoundError."""
    _need_maker(actor)
    with ctx.store.writing() as connection:
        if webhooks.find_webhook(connection, actor.workshop_id, webhook_id) is None:
            raise NotFoundError("webhook")
        webhooks.delete_webhook(connection, webhook_id)


def rotate_webhook_secret(ctx: Context, actor: Actor, webhook_id: str) -> Webhook:
    """A new secret; the one before signs as well for 24 hours. NotAllowedError, NotFoundError."""
    now = ctx.clock.now()
    new = new_secret()
    return _changed(
        ctx,
        actor,
        webhook_id,
        lambda found: replace(found, secret=new, earlier_secret=found.secret, earlier_until=now + OVERLAP),
    )


def enable_webhook(ctx: Context, actor: Actor, webhook_id: str) -> Webhook:
    """Go on with a webhook that was switched off, with what happens from now on. NotAllowedError, NotFoundError."""
    with ctx.store.reading() as connection:
        last = webhooks.last_event(connection, actor.workshop_id)
    return _changed(
        ctx,
        actor,
        webhook_id,
        lambda found: replace(found, enabled=True, because="", seen=max(found.seen, last)),
    )


def list_deliveries(
    ctx: Context,
    actor: Actor,
    webhook_id: str,
    state: DeliveryState | None = None,
    page: PageAsk = FIRST_PAGE,
) -> Page[Delivery]:
    """What was sent to a webhook, newest first. NotAllowedError, NotFoundError, InvalidError."""
    _need_maker(actor)
    before = read_moment_cursor(page)
    with ctx.store.reading() as connection:
        if webhooks.find_webhook(connection, actor.workshop_id, webhook_id) is None:
            raise NotFoundError("webhook")
        found = webhooks.deliveries_of(connection, webhook_id, state, before, page.first + 1)
        total = webhooks.count_deliveries(connection, webhook_id, state) if page.count else None
    return cut_page(found, page, lambda each: moment_cursor(each.created_at, each.id), total)


def send_again(ctx: Context, actor: Actor, delivery_id: str) -> Delivery:
    """Send a message once more, under the same id. NotAllowedError, NotFoundError."""
    _need_maker(actor)
    with ctx.store.writing() as connection:
        found = webhooks.find_delivery(connection, actor.workshop_id, delivery_id)
        if found is None:
            raise NotFoundError("delivery")
        again = replace(found, state=DeliveryState.WAITING, attempts=0, due_at=ctx.clock.now())
        webhooks.update_delivery(
            connection, found.id, state=again.state, attempts=0, due_at=again.due_at, delivered_at=None
        )
        tell(connection, EVENTS)
    return again


def put_out(ctx: Context) -> int:
    """Write the messages for events that were not looked at yet; how many events were."""
    with ctx.store.reading() as connection:
        waiting = webhooks.behind(connection)
    looked = 0
    for workshop_id, webhook_id in waiting:
        with ctx.store.writing() as connection:
            webhook = webhooks.find_webhook(connection, workshop_id, webhook_id, lock=True)
            if webhook is None or not webhook.enabled:
                continue
            found = webhooks.events_after(connection, workshop_id, webhook.seen, _AT_ONCE)
            now = ctx.clock.now()
            for event in found:
                if webhook.wants(event.kind):
                    webhooks.insert_delivery(connection, webhook.id, event, body_of(event), now)
            if found:
                webhooks.update_webhook(connection, replace(webhook, seen=found[-1].number))
                looked += len(found)
    return looked


def seconds_until_due(ctx: Context) -> float | None:
    """Until the next message is to be sent; 0 where one is now, ``None`` where none waits."""
    with ctx.store.reading() as connection:
        due = webhooks.next_due(connection)
    return None if due is None else max(0.0, (due - ctx.clock.now()).total_seconds())


def take_due(ctx: Context) -> tuple[Delivery, Webhook] | None:
    """A message that is due, with its webhook: nobody else sends it meanwhile."""
    with ctx.store.writing() as connection:
        return webhooks.take_due(connection, ctx.clock.now())


def note_try(ctx: Context, delivery: Delivery, webhook: Webhook, status: int | None, trouble: str) -> None:
    """Keep how a try went: only 2xx is success, 410 switches the webhook off, all else is tried again later."""
    now, attempts = ctx.clock.now(), delivery.attempts + 1
    told = {"attempts": attempts, "status": status, "trouble": trouble[:500]}
    with ctx.store.writing() as connection:
        if status is not None and 200 <= status < 300:
            told |= {"trouble": ""}
            webhooks.update_delivery(
                connection, delivery.id, state=DeliveryState.DELIVERED, due_at=None, delivered_at=now, **told
            )
            return
        due = None if status == GONE else next_try(attempts, now)
        state = DeliveryState.DEAD if due is None else DeliveryState.WAITING
        webhooks.update_delivery(connection, delivery.id, state=state, due_at=due, **told)
        if status == GONE:
            current = webhooks.find_webhook(connection, webhook.workshop_id, webhook.id, lock=True)
            if current is not None:
                webhooks.update_webhook(connection, replace(current, enabled=False, because=_GONE_WORDS))


def _need_maker(actor: Actor) -> None:
    need_role(actor, "set up webhooks", Role.MAKER)


def _check_url(ctx: Context, url: str) -> None:
    problem = url_problem(url, anywhere=ctx.webhooks_anywhere)
    if problem:
        raise InvalidError(FieldError("url", "address", problem))


def _changed(ctx: Context, actor: Actor, webhook_id: str, change: Callable[[Webhook], Webhook]) -> Webhook:
    _need_maker(actor)
    with ctx.store.writing() as connection:
        found = webhooks.find_webhook(connection, actor.workshop_id, webhook_id, lock=True)
        if found is None:
            raise NotFoundError("webhook")
        after = change(found)
        webhooks.update_webhook(connection, after)
    return after
