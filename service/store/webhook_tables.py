"""Events, and where they are sent."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, ForeignKey, Index, Integer, String, Table, Text

from service.store.metadata import ID, JSON_VALUE, STATE, Instant, metadata

events = Table(
    "events",
    metadata,
    Column("workshop_id", ID, ForeignKey("workshops.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(60), nullable=False),
    Column("order_id", ID, nullable=False),
    Column("at", Instant, nullable=False, index=True),
    Column("data", JSON_VALUE, nullable=False),
)
webhooks = Table(
    "webhooks",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, ForeignKey("workshops.id"), nullable=False, index=True),
    Column("url", Text, nullable=False),
    Column("kinds", JSON_VALUE, nullable=False),
    Column("enabled", Boolean, nullable=False),
    Column("because", Text, nullable=False),
    Column("secret", Text, nullable=False),
    Column("earlier_secret", Text, nullable=False),
    Column("earlier_until", Instant, nullable=True),
    Column("seen", Integer, nullable=False),
    Column("created_at", Instant, nullable=False),
)
deliveries = Table(
    "webhook_deliveries",
    metadata,
    Column("id", ID, primary_key=True),
    Column("webhook_id", ID, ForeignKey("webhooks.id", ondelete="CASCADE"), nullable=False),
    Column("event", Integer, nullable=False),
    Column("kind", String(60), nullable=False),
    Column("state", STATE, nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("due_at", Instant, nullable=True, index=True),
    Column("status", Integer, nullable=True),
    Column("trouble", Text, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("delivered_at", Instant, nullable=True),
    Column("body", Text, nullable=False),
    Index("ix_webhook_deliveries_webhook_id_created_at", "webhook_id", "created_at"),
)
