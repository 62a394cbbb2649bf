"""Uploads that are not whole yet."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Integer, Table

from service.store.metadata import ID, JSON_VALUE, Instant, metadata

uploads = Table(
    "uploads",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, ForeignKey("workshops.id"), nullable=False),
    Column("order_id", ID, ForeignKey("orders.id"), nullable=False, index=True),
    Column("fields", JSON_VALUE, nullable=False),
    Column("length", Integer, nullable=False),
    Column("taken", Integer, nullable=False),
    Column("parts", JSON_VALUE, nullable=False),
    Column("expires_at", Instant, nullable=False, index=True),
)
