"""What client and workshop write to each other."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, String, Table, Text

from service.store.metadata import ID, STATE, Instant, metadata

order_messages = Table(
    "order_messages",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("order_id", ID, ForeignKey("orders.id"), nullable=False),
    Column("side", STATE, nullable=False),
    Column("by", String(200), nullable=False),
    Column("words", Text, nullable=False),
    Column("at", Instant, nullable=False),
    Index("ix_order_messages_order", "order_id", "at"),
)
