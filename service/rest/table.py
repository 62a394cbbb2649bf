"""The whole table of operations."""

from __future__ import annotations

from service.rest.endpoints import (
    approving,
    boards,
    carvings,
    figuring,
    files,
    items,
    machine,
    marks,
    ordering,
    outcomes,
    own_account,
    people,
    prices,
    programs,
    second_step,
    shop,
    showing,
    signing_in,
    suites,
    upkeep,
    webhooks,
    work,
)
from service.rest.operation import Operation

OPERATIONS: tuple[Operation, ...] = (
    *shop.OPERATIONS,
    *figuring.OPERATIONS,
    *prices.OPERATIONS,
    *machine.OPERATIONS,
    *boards.OPERATIONS,
    *marks.OPERATIONS,
    *ordering.OPERATIONS,
    *carvings.OPERATIONS,
    *suites.OPERATIONS,
    *approving.OPERATIONS,
    *files.OPERATIONS,
    *showing.OPERATIONS,
    *items.OPERATIONS,
    *outcomes.OPERATIONS,
    *programs.OPERATIONS,
    *work.OPERATIONS,
    *upkeep.OPERATIONS,
    *webhooks.OPERATIONS,
    *signing_in.OPERATIONS,
    *second_step.OPERATIONS,
    *own_account.OPERATIONS,
    *people.OPERATIONS,
)
