"""How items came out."""

from __future__ import annotations

from sqlalchemy import Column, Float, ForeignKey, String, Table, Text

from service.store.metadata import DIGEST, ID, JSON_VALUE, STATE, Instant, metadata

outcomes = Table(
    "outcomes",
    metadata,
    Column("order_id", ID, ForeignKey("orders.id"), primary_key=True),
    Column("key", String(100), primary_key=True),
    Column("workshop_id", ID, nullable=False, index=True),
    Column("digest", DIGEST, nullable=False),
    Column("outcome", STATE, nullable=False),
    Column("x", Float, nullable=True),
    Column("y", Float, nullable=True),
    Column("words", Text, nullable=False),
    Column("minutes", Float, nullable=True),
    Column("predicted", JSON_VALUE, nullable=False),
    Column("at", Instant, nullable=False),
    Column("by", String(120), nullable=False),
)
