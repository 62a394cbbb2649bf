"""The workshop's machine, and what an order takes, as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from service.orders.machine import Machine
from service.usecases.machining import SetMachine
from service.usecases.planning import WorkPlan


@dataclass(frozen=True)
class MachineBody:
    """What drawings, sheets and plans are made for; `revision` is 0 while nothing was set."""

    revision: int
    machine: Machine
    words: str


@dataclass(frozen=True)
class WorkPlanBody:
    """Boards and days of an order, begun today; every figure of it an estimate whose assumptions are named."""

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
    assumptions: tuple[str, ...]


def machine_body(found: SetMachine) -> MachineBody:
    """From the settings."""
    return MachineBody(found.revision, found.machine, found.machine.frame.words)


def work_plan_body(plan: WorkPlan) -> WorkPlanBody:
    """From a plan."""
    boards, days = plan.boards, plan.days
    return WorkPlanBody(
        boards=boards.whole,
        boards_at_least=boards.bound,
        boards_to_buy=boards.to_buy,
        board=", ".join(dict.fromkeys(plan.stock.name for plan in boards.plans)),
        boards_words=boards.sentence,
        machine_minutes=days.machine_minutes,
        bench_minutes=days.bench_minutes,
        assembly_minutes=days.assembly_minutes,
        starts_on=days.starts_on,
        ready_on=days.ready_on,
        work_days=days.work_days,
        needed_by=days.needed_by,
        holds=days.holds,
        spare_days=days.spare_days,
        days_words=days.sentence,
        assumptions=days.assumptions,
    )
