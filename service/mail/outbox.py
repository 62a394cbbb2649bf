"""Messages to be sent: put out with the event, taken and handed over in one transaction, marked when gone."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Protocol

from sqlalchemy import Connection, select, update
from sqlalchemy.dialects import postgresql, sqlite

from service.mail.writing import KINDS
from service.orders.ids import new_id
from service.orders.letters import TO_MAKERS, Letter
from service.store.bells import MAIL, tell
from service.store.mail_tables import messages

# Waits between tries; about three days in all, then a person has to look (common practice, no source).
WAITS = tuple(timedelta(seconds=s) for s in (5, 30, 120, 600, 3600, *[6 * 3600] * 11))
NOBODY_KNOWS = "the service ended while this was being sent: it may have gone or not"


@dataclass(frozen=True)
class Message:
    """One message in hand.

    Attributes:
        audience: ``client``, ``makers`` or ``account``.
        attempts: tries so far, this one included.
    """

    id: str
    workshop_id: str
    order_id: str | None
    account_id: str | None
    audience: str
    kind: str
    facts: Mapping[str, Any]
    created_at: datetime
    attempts: int


class Clock(Protocol):
    """The time."""

    def now(self) -> datetime:
        """Now, in UTC, with its time zone."""


def mail_file(letter: str) -> str:
    """Name of the file that a letter is written to, by its id."""
    return re.sub(r"[^a-z0-9-]", "", letter.lower()) + ".eml"


class StoredOutbox:
    """The ``Outbox`` that use cases are given."""

    def __init__(self, clock: Clock, folder: Path | None = None) -> None:
        """With the folder that mail goes to where there is no server for it, if there is one."""
        self._clock = clock
        self._folder = folder

    def forget(self, letter: str) -> None:
        """Remove what was written of a letter into the folder, if anything was."""
        if self._folder is not None:
            (self._folder / mail_file(letter)).unlink(missing_ok=True)

    def put(self, connection: Connection, letter: Letter) -> None:
        """Put one letter about an order out within the caller's transaction."""
        put_message(
            connection,
            letter.key,
            self._clock.now(),
            letter.kind.value,
            letter.facts,
            workshop_id=letter.workshop_id,
            order_id=letter.order_id,
            audience="makers" if letter.kind in TO_MAKERS else "client",
        )


def put_message(
    connection: Connection,
    key: str,
    now: datetime,
    kind: str,
    facts: Mapping[str, Any],
    *,
    workshop_id: str,
    audience: str,
    order_id: str | None = None,
    account_id: str | None = None,
) -> None:
    """Write the message's row unless one of that key is there already.

    Raises:
        ValueError: there are no words for that kind.
    """
    if kind not in KINDS:
        raise ValueError(f"no words for a mail of kind {kind!r}; there are {sorted(KINDS)}")
    tell(connection, MAIL)
    insert = postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert
    connection.execute(
        insert(messages)
        .values(
            id=new_id(),
            key=key,
            workshop_id=workshop_id,
            order_id=order_id,
            account_id=account_id,
            audience=audience,
            kind=kind,
            facts=json.dumps(facts, ensure_ascii=False),
            created_at=now,
            due_at=now,
            attempts=0,
        )
        .on_conflict_do_nothing(index_elements=["key"])
    )


def take_due(connection: Connection, now: datetime) -> Message | None:
    """The message that has waited longest; nobody else gets it before this transaction ends.

    Between processes on PostgreSQL a row that another one has taken is passed over. The same transaction says what
    became of it: :func:`mark_handed_over` or :func:`mark_not_sent`.
    """
    row = connection.execute(
        select(messages)
        .where(messages.c.due_at <= now)
        .order_by(messages.c.due_at, messages.c.id)
        .limit(1)
        .with_for_update(skip_locked=True)
    ).one_or_none()
    if row is None:
        return None
    return Message(
        row.id, row.workshop_id, row.order_id, row.account_id, row.audience, row.kind,
        json.loads(row.facts), row.created_at, row.attempts + 1,
    )  # fmt: skip


def mark_handed_over(connection: Connection, message: Message) -> None:
    """It is about to go, and will not be taken in hand again by itself whatever happens now.

    Whoever ends between this and its word on how it went leaves a message of which nobody knows whether it
    went. It counts as lost, for a person to look at: people are told once, not twice.
    """
    handed = update(messages).where(messages.c.id == message.id)
    connection.execute(handed.values(due_at=None, trouble=NOBODY_KNOWS, attempts=message.attempts))


def mark_sent(connection: Connection, message_id: str, now: datetime) -> None:
    """The message is gone."""
    connection.execute(
        update(messages).where(messages.c.id == message_id).values(sent_at=now, due_at=None, trouble="")
    )


def mark_not_sent(
    connection: Connection, message: Message, trouble: str, now: datetime, *, for_good: bool = False
) -> None:
    """It did not go: try again later, or give up and keep the reason."""
    again = None
    if not for_good and message.attempts <= len(WAITS):
        again = now + WAITS[message.attempts - 1]
    connection.execute(
        update(messages)
        .where(messages.c.id == message.id)
        .values(due_at=again, trouble=trouble[:1000], attempts=message.attempts)
    )
