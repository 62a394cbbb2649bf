"""Loads the made-up workshop into a running store; loading it again changes nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from service.orders.actors import Role, System
from service.orders.errors import NotFoundError
from service.orders.price_list import PriceEntry, PriceKind, Rounding
from service.store.sharing import Shared
from service.usecases import people, pricing, shop
from service.usecases.context import Context

if TYPE_CHECKING:
    from seeds.shop import Shop


def seed_shop(ctx: Context) -> str:
    """Found the workshop with its models, bits and people, unless it is there; a line for people to read.

    It is one act: a process that is killed meanwhile leaves the whole shop or nothing of it.
    """
    import seeds.shop

    facts = seeds.shop.load()
    try:
        found = shop.find_workshop(ctx, facts.key)
    except NotFoundError:
        pass
    else:
        return f"{found.name} is there already."
    store = Shared(ctx.store)
    with store.acting():
        return _founded(replace(ctx, store=store), facts)


def _founded(ctx: Context, facts: Shop) -> str:
    founded = shop.open_workshop(
        ctx, facts.key, facts.name, facts.bits[0], facts.allowances, reached=facts.reached
    )
    system = System(founded.id, "seed")
    for bit in facts.bits[1:]:
        shop.save_bit(ctx, system, bit, 0)
    for model in facts.models:
        shop.save_model(ctx, system, model, {}, 0)
    pricing.save_prices(ctx, system, _prices(facts.currency, facts.prices), 0)
    makers = [person for person in facts.people if person.role == Role.MAKER]
    for maker in makers:
        people.open_account(
            ctx, founded.id, maker.email, name=maker.name, role=Role.MAKER, password=facts.password
        )
    return f"{founded.name} is ready; sign in as {makers[0].email} with the password '{facts.password}'."


def opens_with_seeded_password(ctx: Context) -> bool:
    """Whether anybody of the made-up workshop still signs in with the password that everybody knows."""
    import seeds.shop

    facts = seeds.shop.load()
    try:
        shop.find_workshop(ctx, facts.key)
    except NotFoundError:
        return False
    return any(people.has_password(ctx, person.email, facts.password) for person in facts.people)


def _prices(currency: str, facts: Mapping[str, Any]) -> pricing.PricesContent:
    entries = (PriceEntry(**{**entry, "kind": PriceKind(entry["kind"])}) for entry in facts["entries"])
    return pricing.PricesContent(currency, 2, Rounding(facts["rounding"]), tuple(entries))
