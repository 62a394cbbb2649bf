"""Orders and what belongs to them. Every row names its workshop, so that every query can be walled off."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Float,
    ForeignKey,
    Index,
    Integer,
    String,
    Table,
    Text,
    UniqueConstraint,
    false,
    text,
)

from service.orders.order import Line, Order
from service.store.mapping import columns_of
from service.store.metadata import DIGEST, ID, JSON_VALUE, KEY, STATE, Instant, metadata

# Compared byte by byte on both databases, so that a range of prefixes means the same on both.
_ONLY_ONE = text("site_unique AND site_order_number <> ''")
_WORD = String(40).with_variant(String(40, collation="C"), "postgresql")

workshops = Table(
    "workshops",
    metadata,
    Column("id", ID, primary_key=True),
    Column("key", KEY, nullable=False, unique=True),
    Column("name", String(120), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("allowances", JSON_VALUE, nullable=False),
    Column("usual_bit", KEY, nullable=False),
    Column("retention_days", Integer, nullable=False),
    Column("place", String(200), nullable=False, server_default=""),
    Column("phone", String(40), nullable=False, server_default=""),
    Column("email", String(254), nullable=False, server_default=""),
    Column("payment_required", Boolean, nullable=False, server_default=false()),
    Column("finishes", JSON_VALUE, nullable=False, server_default="[]"),
    Column("units", String(8), nullable=False, server_default="mm"),
    Column("created_at", Instant, nullable=False),
    # Of everybody who signs in; asked for with every request, by the access room alone.
    Column("second_step_required", Boolean, nullable=False, server_default=false()),
)

# The Ed25519 key that signs a workshop's batches; apart, so that no ordinary query reads it.
workshop_keys = Table(
    "workshop_keys",
    metadata,
    Column("workshop_id", ID, ForeignKey("workshops.id"), primary_key=True),
    Column("private_key", String(64), nullable=False),  # 32 bytes, hex
)

counters = Table(
    "counters",
    metadata,
    Column("workshop_id", ID, ForeignKey("workshops.id"), primary_key=True),
    Column("orders", Integer, nullable=False),  # the last order number given out
    # The last entry of the record that is about no order: a second witness to it.
    Column("recorded", Integer, nullable=False, server_default="0"),
    Column("events", Integer, nullable=False, server_default="0"),  # the last event's number
)

shop_models = Table(
    "shop_models",
    metadata,
    Column("workshop_id", ID, ForeignKey("workshops.id"), primary_key=True),
    Column("key", KEY, primary_key=True),
    Column("layout", JSON_VALUE, nullable=False),
    Column("allowances", JSON_VALUE, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("retired", Boolean, nullable=False),
    Index("ix_shop_models_revision", "workshop_id", "revision"),  # a stamp reads no layout
)

shop_bits = Table(
    "shop_bits",
    metadata,
    Column("workshop_id", ID, ForeignKey("workshops.id"), primary_key=True),
    Column("key", KEY, primary_key=True),
    Column("bit", JSON_VALUE, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("retired", Boolean, nullable=False),
)

orders = Table(
    "orders",
    metadata,
    *columns_of(Order, {"workshop_id": "workshops.id"}),
    # needed_by, or the last day there is: orders without a date come last
    Column("due", Date, nullable=False),
    # The last entry of the record about this order: a second witness to it.
    Column("recorded", Integer, nullable=False, server_default="0"),
    UniqueConstraint("workshop_id", "number"),
    Index("ix_orders_state_number", "workshop_id", "state", "number"),
    Index("ix_orders_state_due", "workshop_id", "state", "due", "number"),
    Index("ix_orders_due", "workshop_id", "due", "number"),
    Index("ix_orders_part_of", "part_of"),
    Index("ix_orders_state_updated", "state", "updated_at"),  # for the retention sweep
    Index("ix_orders_updated", "workshop_id", "updated_at"),
    Index("ix_orders_site_number", "workshop_id", "site_order_number"),
    Index(
        "ix_orders_site_unique",
        *("workshop_id", "site_order_number"),
        unique=True,
        sqlite_where=_ONLY_ONE,
        postgresql_where=_ONLY_ONE,
    ),
)

# Kept by triggers, in the transaction that changes an order.
order_counts = Table(
    "order_counts",
    metadata,
    Column("workshop_id", ID, primary_key=True),
    Column("state", STATE, primary_key=True),
    Column("number", Integer, nullable=False),
)

order_words = Table(
    "order_words",
    metadata,
    Column("order_id", ID, ForeignKey("orders.id"), primary_key=True),
    Column("word", _WORD, primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Index("ix_order_words_word", "workshop_id", "word", "order_id"),
)

lines = Table(
    "lines",
    metadata,
    *columns_of(Line, {"order_id": "orders.id"}),
    Column("workshop_id", ID, nullable=False),
    Index("ix_lines_order", "order_id", "position"),
    CheckConstraint("quantity > 0", name="quantity"),
)

artworks = Table(
    "artworks",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("order_id", ID, ForeignKey("orders.id"), nullable=False, index=True),
    Column("sha256", DIGEST, nullable=False, index=True),
    Column("name", String(200), nullable=False),
    Column("content_type", String(100), nullable=False),
    Column("size", Integer, nullable=False),
    Column("uploaded_at", Instant, nullable=False),
    Index("ix_artworks_workshop", "workshop_id", "size"),  # what of its share a workshop uses
)

readings = Table(
    "readings",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("order_id", ID, ForeignKey("orders.id"), nullable=False, index=True),
    Column("artwork_id", ID, ForeignKey("artworks.id"), nullable=False),
    Column("wishes", JSON_VALUE, nullable=False),
    Column("wishes_digest", DIGEST, nullable=False),
    Column("state", STATE, nullable=False),
    Column("outline", DIGEST, nullable=True, index=True),
    Column("picture", DIGEST, nullable=True, index=True),
    Column("kind", STATE, nullable=True),
    Column("format", STATE, nullable=True),
    Column("report", JSON_VALUE, nullable=True),
    Column("trouble", JSON_VALUE, nullable=True),
    UniqueConstraint("artwork_id", "wishes_digest"),
)

carvings = Table(
    "carvings",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("order_id", ID, ForeignKey("orders.id"), nullable=False),
    Column("line_id", ID, ForeignKey("lines.id"), nullable=False),
    Column("slat_key", KEY, nullable=False),
    Column("piece", Integer, nullable=False),  # 0: all pieces of the line
    Column("state", STATE, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("artwork_id", ID, ForeignKey("artworks.id"), nullable=True, index=True),
    Column("reading_id", ID, ForeignKey("readings.id"), nullable=True, index=True),
    Column("outline", DIGEST, nullable=True, index=True),
    Column("outline_note", Text, nullable=False),
    Column("placement", JSON_VALUE, nullable=True),
    Column("bit_key", KEY, nullable=True),
    Column("thickness", Float(53), nullable=True),
    Column("allowances", JSON_VALUE, nullable=False),
    Column("proof_id", ID, nullable=True),
    Column("verdict", String(24), nullable=True),  # the current proof's, here to be filtered by
    Column("trouble", JSON_VALUE, nullable=True),
    Column("kept", JSON_VALUE, nullable=True),  # what it falls back to should new art be refused
    Column("kept_outline", DIGEST, nullable=True, index=True),
    Column("version", JSON_VALUE, nullable=True),  # what was chosen in place of what was sent
    UniqueConstraint("line_id", "slat_key", "piece"),
    Index("ix_carvings_order", "order_id", "id"),
    Index("ix_carvings_state", "workshop_id", "state", "order_id"),
    Index("ix_carvings_verdict", "workshop_id", "verdict", "order_id"),
)

# What was judged never changes (a trigger refuses it); what people decided about it stands beside.
proofs = Table(
    "proofs",
    metadata,
    Column("id", ID, primary_key=True),
    Column("workshop_id", ID, nullable=False),
    Column("order_id", ID, ForeignKey("orders.id"), nullable=False, index=True),
    Column("carving_id", ID, ForeignKey("carvings.id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("digest", DIGEST, nullable=False, index=True),
    Column(
        "basis", DIGEST, nullable=False
    ),  # of slat, bit and allowances alone: tells when settings have changed
    Column("outline", DIGEST, nullable=False, index=True),
    Column("picture", DIGEST, nullable=False, index=True),
    Column("pieces", Integer, nullable=False),
    Column("verdict", String(24), nullable=False),
    Column("sentence", Text, nullable=False),
    Column("remarks", JSON_VALUE, nullable=False),
    Column("made_at", Instant, nullable=False),
    # The large values last: SQLite reads through a row up to the value it wants.
    Column("facts", JSON_VALUE, nullable=False),
    Column("check", JSON_VALUE, nullable=False),
    UniqueConstraint("carving_id", "number"),
)

standings = Table(
    "standings",
    metadata,
    Column("proof_id", ID, ForeignKey("proofs.id"), primary_key=True),
    Column("waived", JSON_VALUE, nullable=False),
    Column("signed_at", Instant, nullable=True),
    Column("judged_at", Instant, nullable=True),
    Column("stale_because", Text, nullable=False),
)

# Drawings are made when first asked for; a proof's drawing is always the same bytes.
drawings = Table(
    "drawings",
    metadata,
    Column("proof_id", ID, ForeignKey("proofs.id"), primary_key=True),
    Column("form", String(16), primary_key=True),
    Column("digest", DIGEST, nullable=False, index=True),
)
