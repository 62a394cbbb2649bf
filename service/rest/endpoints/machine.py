"""The workshop's machine, and what an order takes of boards and days."""

from __future__ import annotations

from service.rest.operation import Operation, tagged
from service.rest.requests.machine import MachineAsk
from service.rest.responses.machine import machine_body, work_plan_body
from service.rest.use import Does, one, revised
from service.usecases import machining, planning

_MACHINE = tagged(
    "Settings",
    Operation(
        "GET /settings/machine",
        "getMachine",
        "Get what drawings, sheets and plans are made for.",
        Does(machining.get_machine, revised(machine_body)),
    ),
    Operation(
        "PUT /settings/machine",
        "saveMachine",
        "Change how drawings lie on the machine, its bed, paper, boards and working hours.",
        Does(machining.save_machine, revised(machine_body)),
        graph="machine",
        ask=MachineAsk,
        more="No proof changes by it, and what was released keeps its own. Revision 0 saves the first.",
    ),
)
_OF_ORDERS = tagged(
    "Orders",
    Operation(
        "GET /orders/{order}/work",
        "planWork",
        "Plan the boards and days that an order takes, begun today.",
        Does(planning.plan_work, one(work_plan_body)),
        problems=("model-retired", "no-board"),
    ),
)
OPERATIONS = (*_MACHINE, *_OF_ORDERS)
