"""Versions that were worked out: one row per question, and the files that it names."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, ForeignKeyConstraint, Index, Table

from service.store.metadata import DIGEST, ID, JSON_VALUE, Instant, metadata

version_sets = Table(
    "version_sets",
    metadata,
    Column("workshop_id", ID, ForeignKey("workshops.id"), primary_key=True),
    Column("key", DIGEST, primary_key=True),
    Column("outline", DIGEST, nullable=False, index=True),
    Column("found", JSON_VALUE, nullable=False),
    Column("made_at", Instant, nullable=False, index=True),
)

version_files = Table(
    "version_files",
    metadata,
    Column("workshop_id", ID, primary_key=True),
    Column("key", DIGEST, primary_key=True),
    Column("digest", DIGEST, primary_key=True),
    ForeignKeyConstraint(
        ["workshop_id", "key"], ["version_sets.workshop_id", "version_sets.key"], ondelete="CASCADE"
    ),
    Index("ix_version_files_digest", "digest"),
)
