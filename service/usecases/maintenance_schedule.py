"""Upkeep that nobody has to think of: asked for by whichever worker notices first, done once."""

from __future__ import annotations

from datetime import datetime, timedelta

from service.orders.upkeep import Chore, Done
from service.store import mail, upkeep, webhooks
from service.usecases.context import Context
from service.usecases.privacy_and_audit import sweep
from service.usecases.rejudging import judge_drafts_again
from service.usecases.witnessing import mail_checkpoints

HOUSEKEEPING_EVERY = timedelta(hours=1)
LETTERS_KEPT = timedelta(days=90)
"""How long mail that is about no order (password links) stays in the outbox once it has gone."""

HOUSEKEEPING = "housekeeping"
"""The kind of this work in the queue; it has no job's row, for nobody waits for it."""


def ask_for_housekeeping(ctx: Context) -> bool:
    """Ask for housekeeping where it is due; whether it was asked for. Called often, by every worker."""
    now = ctx.clock.now()
    with ctx.store.reading() as connection:
        if not _due(upkeep.last_done(connection).get(Chore.ASKED), now):
            return False
    with ctx.store.writing() as connection:
        if not upkeep.claim_chore(connection, Chore.ASKED, now, now - HOUSEKEEPING_EVERY):
            return False  # another worker was faster
        ctx.queue.enqueue(connection, HOUSEKEEPING, f"{HOUSEKEEPING}:{now.isoformat()}", {})
    return True


def do_housekeeping(ctx: Context) -> None:
    """Do what is due, and note it."""
    swept = sweep(ctx)
    again = judge_drafts_again(ctx)
    mail_checkpoints(ctx)
    now = ctx.clock.now()
    with ctx.store.writing() as connection:
        mail.delete_old_letters(connection, now - LETTERS_KEPT)
        webhooks.forget_events(connection, now - webhooks.KEPT)
        words = f"{len(swept.orders)} unused orders, {len(swept.blobs)} files removed, {again} drafts judged again"
        upkeep.note_done(connection, Done(Chore.HOUSEKEEPING, now, well=True, words=words))


def note_upkeep(ctx: Context, what: Chore, *, well: bool, words: str) -> None:
    """Keep when a chore was last done and how it went: for backups, scrubs, and housekeeping that failed."""
    with ctx.store.writing() as connection:
        upkeep.note_done(connection, Done(what, ctx.clock.now(), well, words))


def _due(last: Done | None, now: datetime) -> bool:
    # A clock that was set back must not put it off for years.
    return last is None or not last.at <= now < last.at + HOUSEKEEPING_EVERY
