"""Suites and their parts. A part goes with its carving, a suite with its line."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Integer, Table, Text

from service.store.metadata import ID, JSON_VALUE, STATE, Instant, metadata

suites = Table(
    "suites",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("order_id", ID, ForeignKey("orders.id"), nullable=False, index=True),
    Column("line_id", ID, ForeignKey("lines.id", ondelete="CASCADE"), nullable=False, index=True),
    Column("kind", STATE, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("wanted", JSON_VALUE, nullable=False),
    Column("made", JSON_VALUE, nullable=False),
    Column("problems", JSON_VALUE, nullable=False),
    Column("created_at", Instant, nullable=False),
)

suite_parts = Table(
    "suite_parts",
    metadata,
    Column("carving_id", ID, ForeignKey("carvings.id", ondelete="CASCADE"), primary_key=True),
    Column("suite_id", ID, ForeignKey("suites.id", ondelete="CASCADE"), nullable=False, index=True),
    Column("workshop_id", ID, nullable=False),
    Column("order_id", ID, nullable=False, index=True),
    Column("place", Integer, nullable=False),
    Column("row", Integer, nullable=False),
    Column("text", Text, nullable=False),
    Column("notes", JSON_VALUE, nullable=False),
)
