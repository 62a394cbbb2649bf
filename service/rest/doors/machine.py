"""The workshop's machine, and what an order takes of boards and days."""

from __future__ import annotations

from service.rest.asks.machine import MachineAsk
from service.rest.bodies.machine import MachineBody, WorkPlanBody, machine_body, work_plan_body
from service.rest.operation import Answer, Call, Operation
from service.rest.use import Does
from service.usecases import machining, planning


def _get(call: Call) -> Answer:
    found = machining.get_machine(call.ctx, call.actor)
    return Answer(machine_body(found), found.revision)


def _saved(saved: machining.SetMachine) -> Answer:
    return Answer(machine_body(saved), saved.revision)


def _plan(call: Call) -> Answer:
    return Answer(work_plan_body(planning.plan_work(call.ctx, call.actor, call.path["order"])))


OPERATIONS = (
    Operation(
        "GET",
        "/settings/machine",
        "getMachine",
        "Get what drawings, sheets and plans are made for.",
        "Settings",
        _get,
        gives=MachineBody,
    ),
    Operation(
        "PUT",
        "/settings/machine",
        "saveMachine",
        "Change how drawings lie on the machine, its bed, paper, boards and working hours.",
        "Settings",
        Does(machining.save_machine, _saved),
        graph="machine",
        ask=MachineAsk,
        gives=MachineBody,
        conditional=True,
        problems=("stale",),
        more="No proof changes by it, and what was released keeps its own. Revision 0 saves the first.",
    ),
    Operation(
        "GET",
        "/orders/{order}/work",
        "planWork",
        "Plan the boards and days that an order takes, begun today.",
        "Orders",
        _plan,
        gives=WorkPlanBody,
        problems=("model-retired", "no-board"),
    ),
)
