"""What a release freezes: everything a batch shows besides the proofs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.orders.machine import Machine
from service.orders.workshop import Settings
from service.store import machines
from service.usecases.opened import OpenOrder


def freeze_release(opened: OpenOrder) -> None:
    """Keep what a batch shows besides the proofs, so that it shows the same whenever it is made."""
    machine, _ = machines.read_machine(opened.connection, opened.order.workshop_id)
    machines.freeze(
        opened.connection,
        opened.reach,
        release_facts(opened.ctx.base_url, opened.order.id, opened.settings, machine),
    )


def release_facts(base_url: str, order_id: str, settings: Settings, machine: Machine) -> Mapping[str, Any]:
    """Where the order is seen, what the workshop and its models are called, and the machine, as JSON values."""
    return {
        "address": f"{base_url}/bench/orders/{order_id}" if base_url else "",
        "workshop": settings.workshop.name,
        "models": {model.layout.key: model.layout.name for model in settings.models},
        "machine": machine.facts,
    }
