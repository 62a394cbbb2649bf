"""The workshop's machine as a setting."""

from __future__ import annotations

from dataclasses import dataclass

from service.orders.actors import Actor, Role
from service.orders.errors import InvalidError, StaleError
from service.orders.machine import Machine, machine_problems
from service.store import machines
from service.usecases.context import Context
from service.usecases.desk import changing
from service.usecases.guard import need_role


@dataclass(frozen=True)
class SetMachine:
    """The machine and the revision of its settings."""

    machine: Machine
    revision: int


def get_machine(ctx: Context, actor: Actor) -> SetMachine:
    """The workshop's machine; makers and helpers. NotAllowedError."""
    need_role(actor, "see the workshop's settings", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        return SetMachine(*machines.read_machine(connection, actor.workshop_id))


def save_machine(ctx: Context, actor: Actor, machine: Machine, expected_revision: int) -> SetMachine:
    """Change the machine's settings; released orders keep theirs. NotAllowedError, InvalidError, StaleError."""
    problems = tuple(machine_problems(machine))
    if problems:
        raise InvalidError(*problems)
    with changing(ctx, actor) as desk:
        _, stored = machines.read_machine(desk.connection, actor.workshop_id)
        if stored != expected_revision:
            raise StaleError(stored)
        machines.save_machine(desk.connection, actor.workshop_id, machine, stored + 1)
        desk.changed("its machine", machine=machine.facts, revision=stored + 1)
        return SetMachine(machine, stored + 1)
