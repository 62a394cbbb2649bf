"""The workshop's machine, and what a release froze of everything a batch shows besides its proofs."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Integer, Table

from service.store.metadata import ID, JSON_VALUE, metadata

machines = Table(
    "machines",
    metadata,
    Column("workshop_id", ID, ForeignKey("workshops.id"), primary_key=True),
    Column("revision", Integer, nullable=False),
    Column("facts", JSON_VALUE, nullable=False),
)

releases = Table(
    "releases",
    metadata,
    Column("order_id", ID, ForeignKey("orders.id"), primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("facts", JSON_VALUE, nullable=False),
)
