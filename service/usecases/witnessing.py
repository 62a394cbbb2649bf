"""Checkpoints of the record on their way out of the database: mailed to the makers, unless that is switched off."""

from __future__ import annotations

from service.mail.outbox import put_message
from service.orders.actors import System
from service.store import mail, shop
from service.usecases.context import Context
from service.usecases.privacy_and_audit import take_checkpoint


def mail_checkpoints(ctx: Context) -> int:
    """Write a mail with today's checkpoint of every workshop whose record has grown since the last; how many.

    At most one a day each. The record is proven against its owner's database by what lies elsewhere alone.
    """
    if not ctx.mails_checkpoints:
        return 0
    now, written = ctx.clock.now(), 0
    with ctx.store.reading() as connection:
        workshops = shop.all_workshops(connection)
        known = {each.id: mail.newest_facts(connection, each.id, KIND) for each in workshops}
    for workshop in workshops:
        signed = take_checkpoint(ctx, System(workshop.id))
        checkpoint = signed.checkpoint
        if checkpoint.number <= known[workshop.id].get("number", 0):
            continue
        facts = {
            "number": checkpoint.number,
            "this": checkpoint.this,
            "attached": {f"checkpoint-{workshop.key}-{checkpoint.number}.jsonl": f"{signed.line}\n"},
        }
        with ctx.store.writing() as connection:
            key = f"{KIND}:{workshop.id}:{now.date().isoformat()}"
            put_message(connection, key, now, KIND, facts, workshop_id=workshop.id, audience="makers")
        written += 1
    return written


KIND = "checkpoint"
