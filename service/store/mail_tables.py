"""Mail that is to be sent: one row per message, written in the transaction of what it tells about."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, Index, Integer, String, Table, Text

from service.store.metadata import Instant, metadata

messages = Table(
    "messages",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("key", String(200), nullable=False, unique=True),  # the event's name: told once
    Column("workshop_id", String(40), nullable=False),
    Column("order_id", String(40), nullable=True, index=True),
    Column("account_id", String(40), nullable=True),
    Column("audience", String(10), nullable=False),
    Column("kind", String(20), nullable=False),
    Column("facts", Text, nullable=False),  # JSON; holds no secret: links are made when the mail is
    Column("created_at", Instant, nullable=False),
    Column("due_at", Instant, nullable=True),  # none once sent or given up
    Column("attempts", Integer, nullable=False, default=0),
    Column("sent_at", Instant, nullable=True),
    Column("trouble", Text, nullable=False, default=""),
    CheckConstraint("audience IN ('client', 'makers', 'account')", name="audience"),
    Index("ix_messages_due_at", "due_at"),
)
