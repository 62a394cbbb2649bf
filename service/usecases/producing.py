"""From approval to the bench: release, recall, production, batches."""

from __future__ import annotations

from service.orders.actors import Actor
from service.orders.proofs import Shown
from service.orders.work import Batch
from service.usecases.answers import Page, WholeOrder
from service.usecases.commands import FIRST_PAGE, Once, PageAsk
from service.usecases.context import Context


def release(
    ctx: Context, actor: Actor, order_id: str, expected_revision: int, shown: tuple[Shown, ...]
) -> WholeOrder:
    """Send a fully approved order to production; ``shown`` names every carving's proof.

    NotFound, NotAllowed, Stale, Conflict "not-approved" (says which carving lacks what), "not-current".
    """
    raise NotImplementedError


def recall(ctx: Context, actor: Actor, order_id: str, expected_revision: int, reason: str) -> WholeOrder:
    """Take a release back, with a reason. NotFound, NotAllowed, Invalid, Stale, Conflict."""
    raise NotImplementedError


def start_production(ctx: Context, actor: Actor, order_id: str, expected_revision: int) -> WholeOrder:
    """The first board is on the machine. NotFound, NotAllowed, Stale, Conflict."""
    raise NotImplementedError


def finish_production(ctx: Context, actor: Actor, order_id: str, expected_revision: int) -> WholeOrder:
    """All pieces are done. NotFound, NotAllowed, Stale, Conflict."""
    raise NotImplementedError


def take_batch(ctx: Context, actor: Actor, order_ids: tuple[str, ...], once: Once | None = None) -> Batch:
    """Ask for the archive of released orders. NotFound, NotAllowed, Invalid, Conflict "not-released"."""
    raise NotImplementedError


def get_batch(ctx: Context, actor: Actor, batch_id: str) -> Batch:
    """One batch. NotFound."""
    raise NotImplementedError


def list_batches(ctx: Context, actor: Actor, page: PageAsk = FIRST_PAGE) -> Page[Batch]:
    """The workshop's batches, newest first. NotAllowed, Invalid."""
    raise NotImplementedError
