"""The workshop's settings in hand for a change, which is recorded and outdates the proofs it concerns."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from sqlalchemy import Connection

from service.orders.actors import Actor, Helper, Maker, Role
from service.orders.chain import AuditEvent
from service.orders.errors import NotFoundError
from service.orders.record import EntryKind
from service.orders.workshop import Settings
from service.store import orders, record, shop
from service.usecases.context import Context
from service.usecases.guard import need_role
from service.usecases.invalidation import outdate_open_proofs


@dataclass(frozen=True)
class Desk:
    """The settings in hand: nobody else changes them, and nobody makes a proof from them, meanwhile."""

    ctx: Context
    actor: Actor
    connection: Connection
    settings: Settings

    def changed(self, what: str, **facts: object) -> None:
        """Enter the change into the record; the open proofs it concerns become stale."""
        stale = outdate_open_proofs(self.ctx, self.actor, self.connection, f"The workshop changed {what}.")
        deed = AuditEvent(
            kind=EntryKind.SETTING,
            at=self.ctx.clock.now(),
            actor=self.actor.identity,
            facts={"what": what, "stale": stale, **facts},
            name=self.actor.name if isinstance(self.actor, Maker | Helper) else "",
            address=self.actor.address[:64],
        )
        record.append(self.connection, self.actor.workshop_id, deed)


@contextmanager
def changing(ctx: Context, actor: Actor) -> Iterator[Desk]:
    """The settings, for a change by the maker, in one transaction. NotAllowedError, NotFoundError."""
    need_role(actor, "change the workshop's settings", Role.MAKER)
    with ctx.store.writing() as connection:
        orders.lock_workshop_settings(connection, actor.workshop_id, to_change=True)
        try:
            settings = shop.read_settings(connection, actor.workshop_id)
        except LookupError:
            raise NotFoundError("workshop") from None
        yield Desk(ctx, actor, connection, settings)
