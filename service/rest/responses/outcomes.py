"""How items came out, as JSON."""

from __future__ import annotations

from dataclasses import dataclass

from service.orders.outcomes import ItemOutcome
from service.rest.responses.base import shown, shows


@shows(ItemOutcome)
class OutcomeBody:
    """How one item came out, beside what was predicted of it."""


@dataclass(frozen=True)
class OutcomesBody:
    """How an order's items came out."""

    items: tuple[OutcomeBody, ...]


def outcome_body(outcome: ItemOutcome) -> OutcomeBody:
    """As it is given."""
    return shown(OutcomeBody, outcome)
