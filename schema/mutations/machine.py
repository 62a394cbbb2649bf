"""The workshop's machine."""

from __future__ import annotations

from typing import Annotated

import strawberry
from strawberry.scalars import JSON

from schema.context import Info
from schema.inputs import checked
from schema.mutations.outcome import attempt
from schema.outcomes import Conflict, Invalid, NotAllowed, NotFound, Stale, TooMany
from schema.types.machine import MachineSettings, machine_settings_of
from service.orders.actors import Actor
from service.rest.asks.machine import MachineAsk
from service.rest.bodies.machine import machine_body
from service.usecases import machining
from service.usecases.context import Context


@strawberry.type
class MachineSaved:
    """It was done."""

    machine: MachineSettings


MachineOutcome = Annotated[
    MachineSaved | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("MachineOutcome", description="How saving the machine's settings went."),
]


@strawberry.type
class MachineMutations:
    """Part of the mutations."""

    @strawberry.mutation
    async def save_machine(self, info: Info, machine: JSON, expected_revision: int) -> MachineOutcome:
        """Change the machine's settings (revision 0: the first); `machine` is the REST door's `MachineAsk`."""

        def work(ctx: Context, actor: Actor) -> machining.SetMachine:
            asked = checked(MachineAsk, machine).machine()
            return machining.save_machine(ctx, actor, asked, expected_revision)

        done = await attempt(info.context, work)
        if isinstance(done, machining.SetMachine):
            return MachineSaved(machine=machine_settings_of(machine_body(done)))
        return done
