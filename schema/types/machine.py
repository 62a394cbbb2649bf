"""The workshop's machine, and what an order takes."""

from __future__ import annotations

from datetime import date

import strawberry
from strawberry.scalars import JSON

from service.rest.bodies.machine import MachineBody, WorkPlanBody


@strawberry.type
class MachineSettings:
    """What drawings, sheets and plans are made for; `revision` is 0 while nothing was set."""

    revision: int
    machine: JSON = strawberry.field(description="The REST door's `MachineAsk`.")
    words: str


@strawberry.type
class WorkPlan:
    """Boards and days of an order, begun today: estimates, with what they assume."""

    boards: int
    boards_at_least: int
    boards_to_buy: int
    board: str
    boards_words: str
    machine_minutes: float
    bench_minutes: float
    assembly_minutes: float
    starts_on: date
    ready_on: date
    work_days: int
    needed_by: date | None
    holds: bool | None
    spare_days: int | None
    days_words: str
    assumptions: list[str]


def machine_settings_of(body: MachineBody) -> MachineSettings:
    """From the settings."""
    return MachineSettings(revision=body.revision, machine=JSON(body.machine.facts), words=body.words)


def work_plan_of(body: WorkPlanBody) -> WorkPlan:
    """From a plan."""
    return WorkPlan(**{**vars(body), "assumptions": list(body.assumptions)})
