"""Queries about how items came out."""

from __future__ import annotations

from sqlalchemy import Connection, delete, insert, select, update

from service.orders.outcomes import ItemOutcome
from service.store.outcome_tables import outcomes
from service.store.rows import OUTCOMES
from service.store.tenant_scope import TenantScope


def keep_outcome(connection: Connection, workshop_id: str, outcome: ItemOutcome) -> None:
    """Store how an item came out, in place of what was said before."""
    this = (outcomes.c.order_id == outcome.order_id) & (outcomes.c.key == outcome.key)
    connection.execute(delete(outcomes).where(this))
    connection.execute(insert(outcomes).values(OUTCOMES.row(outcome, workshop_id=workshop_id)))


def outcomes_of_order(connection: Connection, reach: TenantScope) -> list[ItemOutcome]:
    """Of an order's items; ``reach`` names the order."""
    query = select(outcomes).where(*reach.within(outcomes)).order_by(outcomes.c.key)
    return OUTCOMES.values(connection.execute(query))


def all_outcomes(connection: Connection, workshop_id: str) -> list[ItemOutcome]:
    """Of all the workshop's items, oldest first."""
    query = select(outcomes).where(outcomes.c.workshop_id == workshop_id)
    return OUTCOMES.values(connection.execute(query.order_by(outcomes.c.at, outcomes.c.key)))


def forget_words(connection: Connection, order_id: str) -> None:
    """What people wrote about an order's items goes; how they came out stays."""
    connection.execute(update(outcomes).where(outcomes.c.order_id == order_id).values(words="", by=""))
