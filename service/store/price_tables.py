"""Price lists and the quotes that clients were shown; neither changes once it is stored."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Integer, Table

from service.store.metadata import DIGEST, ID, JSON_VALUE, Instant, metadata

price_lists = Table(
    "price_lists",
    metadata,
    Column("workshop_id", ID, ForeignKey("workshops.id"), primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("facts", JSON_VALUE, nullable=False),
    Column("made_at", Instant, nullable=False),
)

quotes = Table(
    "quotes",
    metadata,
    Column("order_id", ID, ForeignKey("orders.id"), primary_key=True),
    Column("digest", DIGEST, primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("facts", JSON_VALUE, nullable=False),
    Column("shown_at", Instant, nullable=False),
    Column("signed_at", Instant, nullable=True),  # when it was last signed
)
