"""What a release says in the record of its drawings: drawn before the order is opened, so that nobody waits for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlalchemy import Connection

from service.batches.released import digests
from service.orders.actors import Actor
from service.orders.errors import ConflictError
from service.orders.machine import Machine
from service.orders.order import Carving, Line
from service.orders.proofs import Proof
from service.orders.standing_mark import StandingMark
from service.orders.states import CarvingState, permit
from service.store import art, machines, marks, orders
from service.store.tenant_scope import TenantScope
from service.usecases.batch_drawings import drawings_of
from service.usecases.context import Context
from service.usecases.freezing import marked_lines
from service.usecases.guard import reach_of
from service.usecases.marked import slat_name


@dataclass(frozen=True)
class ReleasedDrawings:
    """Drawings of an order about to be released.

    Attributes:
        machine: what they were made for, which is what the release freezes.
        drawn: (digest of the proof, slat name) → file ending → SHA-256 of the drawing.
    """

    machine: Machine
    drawn: Mapping[tuple[str, str], Mapping[str, str]] = field(default_factory=dict)

    def of(self, digest: str, name: str) -> Mapping[str, str]:
        """The drawings of one proof or mark. ConflictError "not-current": it came since they were drawn."""
        found = self.drawn.get((digest, name))
        if found is None:
            raise ConflictError(
                "not-current", "A proof changed at this moment. Look at the order again, then release it."
            )
        return found


def drawings_to_release(ctx: Context, actor: Actor, order_id: str) -> ReleasedDrawings:
    """Draw what a release of the order would let go; nothing where it cannot be released as it is.

    NotAllowedError, DamagedFileError, EngineError.
    """
    with ctx.store.reading() as connection:
        machine, _ = machines.read_machine(connection, actor.workshop_id)
        wanted = _wanted(connection, reach_of(actor), order_id)
    if wanted:  # nothing is drawn for who may not release; of what is not theirs nothing is told
        permit("release", actor.role)
    drawn = drawings_of(ctx, wanted, machine)
    return ReleasedDrawings(
        machine, {proof: digests(made) for proof, made in zip(wanted, drawn, strict=True)}
    )


def _wanted(connection: Connection, reach: TenantScope, order_id: str) -> list[tuple[str, str]]:
    order = orders.find_order(connection, reach, order_id)
    carvings = [] if order is None else orders.carvings_of_orders(connection, reach, [order_id])
    if order is None or not all(carving.state is CarvingState.APPROVED for carving in carvings):
        return []
    proofs = art.current_proofs(connection, reach, [order_id])
    lines = orders.lines_of_orders(connection, reach, [order_id])
    own = _marks(connection, order.workshop_id, lines, carvings)
    return list(dict.fromkeys([*map(named, proofs), *((mark.digest, slat_name(mark)) for mark in own)]))


def named(proof: Proof) -> tuple[str, str]:
    """A proof as its drawings are found."""
    return proof.digest, str(proof.facts["slat"]["name"])


def _marks(
    connection: Connection, workshop_id: str, lines: list[Line], carvings: list[Carving]
) -> list[StandingMark]:
    every = marks.all_marks(connection, workshop_id)
    return [each.mark for each in marked_lines(every, lines, carvings)]
