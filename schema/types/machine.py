"""The workshop's machine, and what an order takes."""

from __future__ import annotations

from schema.types.made import shows
from service.orders.board_kinds import BoardKind
from service.orders.machine import Machine
from service.rest.responses.machine import MachineBody, WorkPlanBody


@shows(BoardKind)
class Board:
    """One kind of board as the workshop keeps it."""


@shows(Machine)
class MachineFigures:
    """All that a batch's drawings and sheets, and the plan of boards and days, depend on besides the cuts."""


@shows(MachineBody)
class MachineSettings:
    """What drawings, sheets and plans are made for; `revision` is 0 while nothing was set."""


@shows(WorkPlanBody)
class WorkPlan:
    """Boards and days of an order, begun today: estimates, with what they assume."""
