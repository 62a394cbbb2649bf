"""The versions of the workshop's own marks."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Integer, String, Table, Text, UniqueConstraint

from service.store.metadata import DIGEST, ID, JSON_VALUE, KEY, Instant, metadata

marks = Table(
    "marks",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, ForeignKey("workshops.id"), nullable=False),
    Column("model_key", KEY, nullable=False),
    Column("slat_key", KEY, nullable=False),
    Column("version", Integer, nullable=False),
    Column("digest", DIGEST, nullable=False),
    Column("basis", DIGEST, nullable=False),
    Column("made_of", JSON_VALUE, nullable=False),
    Column("outline", DIGEST, nullable=False),
    Column("picture", DIGEST, nullable=False),
    Column("verdict", String(24), nullable=False),
    Column("sentence", Text, nullable=False),
    Column("check", JSON_VALUE, nullable=False),
    Column("remarks", JSON_VALUE, nullable=False),
    Column("proposed_at", Instant, nullable=False),
    Column("approved_at", Instant, nullable=True),
    Column("approval", Integer, nullable=False),
    Column("ended_at", Instant, nullable=True),
    UniqueConstraint("workshop_id", "model_key", "slat_key", "version"),
)
