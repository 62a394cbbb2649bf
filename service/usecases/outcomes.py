"""How items came out: said at the bench, counted, and the factor of times that is accepted from it."""

from __future__ import annotations

from dataclasses import replace

from service.orders.actors import Actor, Helper, Maker, Role
from service.orders.errors import ConflictError, InvalidError, NotFoundError
from service.orders.items import find_items, place_of
from service.orders.outcomes import (
    Experience,
    ItemOutcome,
    Outcome,
    Predicted,
    experience,
    outcome_problems,
    predicted_of,
)
from service.store import orders, outcomes, shop
from service.store.tenant_scope import TenantScope
from service.usecases.context import Context
from service.usecases.desk import changing
from service.usecases.guard import need_role, reach_of
from service.usecases.items import read_items
from service.usecases.opened import open_order

_NOTHING = Predicted(None, None, False, (), None)


def record_outcome(
    ctx: Context,
    actor: Actor,
    order_id: str,
    item: str,
    outcome: Outcome,
    *,
    x: float | None = None,
    y: float | None = None,
    words: str = "",
    minutes: float | None = None,
) -> ItemOutcome:
    """Say how an item came out, in place of what was said before; and where it went wrong, and how long it took.

    NotFoundError, NotAllowedError, InvalidError, ConflictError "not-released".
    """
    place_of(item)
    with open_order(ctx, actor, order_id, "tick") as opened:
        problems = tuple(outcome_problems(x, y, words, minutes))
        if problems:
            raise InvalidError(*problems)
        (board,) = find_items(read_items(opened.connection, opened.order), [item])
        opened.allow("tick")
        proof = next((each for each in opened.proofs.values() if each.digest == board.digest), None)
        said = ItemOutcome(
            order_id=order_id,
            key=item,
            digest=board.digest,
            outcome=outcome,
            x=x,
            y=y,
            words=words.strip(),
            minutes=minutes,
            predicted=_NOTHING if proof is None else predicted_of(proof.check),
            at=opened.now,
            by=actor.name if isinstance(actor, Maker | Helper) else "",
        )
        outcomes.keep_outcome(opened.connection, opened.order.workshop_id, said)
        opened.changed()
        return said


def list_outcomes(ctx: Context, actor: Actor, order_id: str) -> tuple[ItemOutcome, ...]:
    """How an order's items came out, beside what was predicted. NotFoundError, NotAllowedError."""
    need_role(actor, "see outcomes", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        if orders.find_order(connection, reach_of(actor), order_id) is None:
            raise NotFoundError("order")
        return tuple(outcomes.outcomes_of_order(connection, TenantScope(actor.workshop_id, order_id)))


def get_experience(ctx: Context, actor: Actor) -> Experience:
    """What all outcomes of the workshop say. NotAllowedError."""
    need_role(actor, "see outcomes", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        settings = shop.read_settings(connection, actor.workshop_id)
        found = outcomes.all_outcomes(connection, actor.workshop_id)
    return experience(found, settings.workshop.allowances.time_scale)


def accept_time_factor(ctx: Context, actor: Actor, time_scale: float) -> Experience:
    """Take the factor of times that was shown into the settings. NotAllowedError, ConflictError "nothing-to-accept".

    Outcomes that came before keep the minutes that were told then.
    """
    with changing(ctx, actor) as desk:
        workshop = desk.settings.workshop
        found = outcomes.all_outcomes(desk.connection, workshop.id)
        time = experience(found, workshop.allowances.time_scale).time
        if time is None or time.time_scale != time_scale or time_scale == workshop.allowances.time_scale:
            raise ConflictError(
                "nothing-to-accept", "The measured times say otherwise now. Look at them again first."
            )
        allowances = replace(workshop.allowances, time_scale=time_scale)
        revision = workshop.revision + 1
        shop.update_workshop(desk.connection, replace(workshop, allowances=allowances, revision=revision))
        differing = {"time_scale": [workshop.allowances.time_scale, time_scale]}
        desk.changed(
            "its factor of times, by measured times",
            allowances=differing,
            items=time.items,
            revision=revision,
        )
    return get_experience(ctx, actor)
