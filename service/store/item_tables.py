"""What was last said of items, and how their art is shifted; one that nobody touched has no row."""

from __future__ import annotations

from sqlalchemy import Column, Float, ForeignKey, String, Table, Text

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

item_shifts = Table(
    "item_shifts",
    metadata,
    Column("order_id", ID, ForeignKey("orders.id"), primary_key=True),
    Column("key", String(100), primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("digest", DIGEST, nullable=False),
    Column("x", Float(53), nullable=False),
    Column("y", Float(53), nullable=False),
)
