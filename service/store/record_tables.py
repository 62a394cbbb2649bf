"""The record of decisions, background work, batches, and answers kept for idempotency keys."""

from __future__ import annotations

from sqlalchemy import Column, Float, ForeignKey, Index, Integer, String, Table, Text

from service.store.metadata import DIGEST, ID, JSON_VALUE, STATE, Instant, metadata

# Append-only: triggers on both databases refuse to change or delete a row.
record = Table(
    "record",
    metadata,
    Column("workshop_id", ID, ForeignKey("workshops.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(20), nullable=False),
    Column("at", Instant, nullable=False),
    Column("actor", String(80), nullable=False),
    Column("order_id", ID, nullable=True),
    Column("carving_id", ID, nullable=True),
    Column("proof_id", ID, nullable=True),
    Column("digest", DIGEST, nullable=True),
    Column("picture", DIGEST, nullable=True),
    Column("facts", JSON_VALUE, nullable=False),
    Column("seal", DIGEST, nullable=False),
    Column("previous", DIGEST, nullable=False),
    Column("this", DIGEST, nullable=False),
    Index("ix_record_order", "order_id", "number"),
)

record_heads = Table(
    "record_heads",
    metadata,
    Column("workshop_id", ID, ForeignKey("workshops.id"), primary_key=True),
    Column("number", Integer, nullable=False),
    Column("this", DIGEST, nullable=False),
)

# The personal part of an entry; the only part of the record that can be erased.
record_particulars = Table(
    "record_particulars",
    metadata,
    Column("workshop_id", ID, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("order_id", ID, nullable=True, index=True),
    Column("salt", String(32), nullable=False),
    Column("name", String(120), nullable=False),
    Column("address", String(64), nullable=False),
    Column("words", Text, nullable=False),
)

jobs = Table(
    "jobs",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, ForeignKey("workshops.id"), nullable=False),
    Column("order_id", ID, ForeignKey("orders.id"), nullable=True),
    Column("subject_id", ID, nullable=False),
    Column("kind", STATE, nullable=False),
    Column("state", STATE, nullable=False),
    Column("stage", String(40), nullable=False),
    Column("fraction", Float(53), nullable=False),
    Column("message", Text, nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("payload", JSON_VALUE, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("updated_at", Instant, nullable=False),
    Index("ix_jobs_order", "order_id", "created_at"),
    Index("ix_jobs_state", "workshop_id", "state", "created_at"),
)

batches = Table(
    "batches",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, ForeignKey("workshops.id"), nullable=False),
    Column("state", STATE, nullable=False),
    Column("order_ids", JSON_VALUE, nullable=False),
    Column("archive", DIGEST, nullable=True),
    Column("size", Integer, nullable=True),
    Column("message", Text, nullable=False),
    Column("created_at", Instant, nullable=False),
    Index("ix_batches_newest", "workshop_id", "created_at", "id"),
)

once_answers = Table(
    "once_answers",
    metadata,
    Column("workshop_id", ID, primary_key=True),
    Column("principal", DIGEST, primary_key=True),  # digest: may stand for a visitor's address
    Column("key", String(255), primary_key=True),
    Column("verb", String(40), nullable=False),
    Column("body", DIGEST, nullable=False),
    Column("answer", JSON_VALUE, nullable=False),
    Column("created_at", Instant, nullable=False, index=True),
)
