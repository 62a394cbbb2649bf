"""What was last said of items; one that nobody ticked has no row."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, String, Table, Text

from service.store.metadata import DIGEST, ID, KEY, STATE, Instant, metadata

items = Table(
    "items",
    metadata,
    Column("order_id", ID, ForeignKey("orders.id"), primary_key=True),
    Column("key", String(100), primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("model_key", KEY, nullable=False),
    Column("digest", DIGEST, nullable=False),
    Column("state", STATE, nullable=False),
    Column("reason", STATE, nullable=False),
    Column("words", Text, nullable=False),
    Column("at", Instant, nullable=False),
    Column("by", String(120), nullable=False),
)
