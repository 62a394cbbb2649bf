"""Checks of machine programs."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, String, Table, Text

from service.store.metadata import DIGEST, ID, JSON_VALUE, Instant, metadata

program_checks = Table(
    "program_checks",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("order_id", ID, ForeignKey("orders.id"), nullable=False),
    Column("carving_id", ID, nullable=False),
    Column("digest", DIGEST, nullable=False),
    Column("program", DIGEST, nullable=False),
    Column("name", String(200), nullable=False),
    Column("size", Integer, nullable=False),
    Column("outcome", String(24), nullable=False),
    Column("sentence", Text, nullable=False),
    Column("report", JSON_VALUE, nullable=False),
    Column("picture", DIGEST, nullable=False),
    Column("entry", Integer, nullable=False),
    Column("at", Instant, nullable=False),
    Column("by", String(120), nullable=False),
    Index("ix_program_checks_order_id_at", "order_id", "at"),
)
