"""Test boards."""

from __future__ import annotations

from sqlalchemy import Column, Float, ForeignKey, Integer, Table, Text, UniqueConstraint

from service.store.metadata import DIGEST, ID, JSON_VALUE, Instant, metadata

test_boards = Table(
    "test_boards",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, ForeignKey("workshops.id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("content", JSON_VALUE, nullable=False),
    Column("bit", JSON_VALUE, nullable=False),
    Column("allowances", JSON_VALUE, nullable=False),
    Column("minutes", Float, nullable=False),
    Column("readings", JSON_VALUE, nullable=False),
    Column("confirmed", JSON_VALUE, nullable=False),
    Column("photograph", DIGEST, nullable=True),
    Column("note", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("made_at", Instant, nullable=False),
    Column("accepted_at", Instant, nullable=True),
    Column("accepted_as", Integer, nullable=False),
    Column("accepted", JSON_VALUE, nullable=True),
    UniqueConstraint("workshop_id", "number"),
)
