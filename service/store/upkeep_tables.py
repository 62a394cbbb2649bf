"""Who works here at the moment, and when the upkeep was last done."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Integer, String, Table, Text

from service.store.metadata import Instant, metadata

# One row per process that takes up background work. Whether it lives is told by ``beats`` going up, never by
# comparing clocks: they jump. ``seen_at`` is for people.
workers = Table(
    "workers",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("begun_at", Instant, nullable=False),
    Column("seen_at", Instant, nullable=False),
    Column("beats", Integer, nullable=False),
)

# The last time of everything that is to be done now and then.
upkeep = Table(
    "upkeep",
    metadata,
    Column("what", String(24), primary_key=True),
    Column("at", Instant, nullable=False),
    Column("well", Boolean, nullable=False),
    Column("words", Text, nullable=False),
)
