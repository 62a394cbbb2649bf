"""Artwork: taken in, read again with other wishes, put on carvings."""

from __future__ import annotations

from artwork.intake.values import Wishes
from service.orders.actors import Actor
from service.usecases.answers import WholeOrder
from service.usecases.commands import Once, Upload
from service.usecases.context import Context


def upload_artwork(
    ctx: Context,
    actor: Actor,
    order_id: str,
    upload: Upload,
    once: Once | None = None,
) -> WholeOrder:
    """Keep a file and put it on these carvings; reading, placing and proving go on in the background.

    NotFound, NotAllowed, Invalid, Conflict, TooMany.
    """
    raise NotImplementedError


def read_again(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, wishes: Wishes
) -> WholeOrder:
    """Read the carving's file with other wishes. NotFound, NotAllowed, Invalid, Stale, Conflict."""
    raise NotImplementedError


def use_artwork(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, artwork_id: str
) -> WholeOrder:
    """Put a file the order already has on a carving. NotFound, NotAllowed, Stale, Conflict."""
    raise NotImplementedError
