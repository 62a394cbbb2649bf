"""The workshop's machine, and what an order takes."""

from __future__ import annotations

from typing import Any

import strawberry
from strawberry.scalars import JSON

from schema.types.made import shows
from service.rest.responses.machine import MachineBody, WorkPlanBody


@shows(MachineBody)
class MachineSettings:
    """What drawings, sheets and plans are made for; `revision` is 0 while nothing was set."""

    @strawberry.field
    def machine(self: Any) -> JSON:
        """The REST door's `MachineAsk`."""
        return JSON(self.machine.facts)


@shows(WorkPlanBody)
class WorkPlan:
    """Boards and days of an order, begun today: estimates, with what they assume."""
