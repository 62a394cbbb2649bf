"""Entries of the record as whoever acts makes them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from service.orders.actors import Actor, Helper, Maker
from service.orders.chain import Deed
from service.orders.record import EntryKind

_LONGEST_ADDRESS = 64


def deed_of(actor: Actor, kind: EntryKind, at: datetime, **more: Any) -> Deed:
    """What the actor does, with who they are and where from; ``more``: other fields of :class:`Deed`."""
    name = actor.name if isinstance(actor, Maker | Helper) else ""
    return Deed(kind, at, actor.identity, name=name, address=actor.address[:_LONGEST_ADDRESS], **more)
