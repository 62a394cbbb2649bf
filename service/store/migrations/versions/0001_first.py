"""The first schema: workshops, orders, the record, access, mail."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store.metadata import Instant

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# The record may only grow, and a proof never changes (it may go, when its client is erased).
_FORBIDDEN = (("record", "UPDATE"), ("record", "DELETE"), ("proofs", "UPDATE"))
_WORDS = "what was decided or proved is never changed"

_GUARDS = {
    "sqlite": [
        f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{_WORDS}'); END"
        for table, act in _FORBIDDEN
    ],
    "postgresql": [
        "CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{_WORDS}'; END $$",
        *(
            f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
            for table, act in (*_FORBIDDEN, ("record", "TRUNCATE"), ("proofs", "TRUNCATE"))
        ),
    ],
}


def upgrade() -> None:
    _tables()
    for statement in _GUARDS[op.get_bind().dialect.name]:
        op.execute(statement)


def _tables() -> None:  # noqa: PLR0915 - one table after another
    op.create_table(
        "accounts",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("email", sa.String(length=254), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("role", sa.String(length=10), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=True),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("disabled_at", Instant(), nullable=True),
        sa.CheckConstraint("role IN ('maker', 'helper')", name=op.f("ck_accounts_role")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_accounts")),
        sa.UniqueConstraint("email", name=op.f("uq_accounts_email")),
    )
    op.create_index(op.f("ix_accounts_workshop_id"), "accounts", ["workshop_id"], unique=False)
    op.create_table(
        "attempts",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attempts")),
    )
    op.create_index("ix_attempts_key_at", "attempts", ["key", "at"], unique=False)
    op.create_table(
        "client_links",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("expires_at", Instant(), nullable=False),
        sa.Column("revoked_at", Instant(), nullable=True),
        sa.Column("last_used_at", Instant(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_client_links")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_client_links_token_hash")),
    )
    op.create_index(op.f("ix_client_links_order_id"), "client_links", ["order_id"], unique=False)
    op.create_table(
        "messages",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=200), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=True),
        sa.Column("account_id", sa.String(length=40), nullable=True),
        sa.Column("audience", sa.String(length=10), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("facts", sa.Text(), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("due_at", Instant(), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("sent_at", Instant(), nullable=True),
        sa.Column("trouble", sa.Text(), nullable=False),
        sa.CheckConstraint("audience IN ('client', 'makers', 'account')", name=op.f("ck_messages_audience")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_messages")),
        sa.UniqueConstraint("key", name=op.f("uq_messages_key")),
    )
    op.create_index("ix_messages_due_at", "messages", ["due_at"], unique=False)
    op.create_index(op.f("ix_messages_order_id"), "messages", ["order_id"], unique=False)
    op.create_table(
        "once_answers",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("principal", sa.String(length=64), nullable=False),
        sa.Column("key", sa.String(length=255), nullable=False),
        sa.Column("verb", sa.String(length=40), nullable=False),
        sa.Column("body", sa.String(length=64), nullable=False),
        sa.Column("answer", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.PrimaryKeyConstraint("workshop_id", "principal", "key", name=op.f("pk_once_answers")),
    )
    op.create_index(op.f("ix_once_answers_created_at"), "once_answers", ["created_at"], unique=False)
    op.create_table(
        "record_particulars",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=True),
        sa.Column("salt", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("address", sa.String(length=64), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("workshop_id", "number", name=op.f("pk_record_particulars")),
    )
    op.create_index(op.f("ix_record_particulars_order_id"), "record_particulars", ["order_id"], unique=False)
    op.create_table(
        "workshops",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("allowances", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("usual_bit", sa.String(length=64), nullable=False),
        sa.Column("retention_days", sa.Integer(), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_workshops")),
        sa.UniqueConstraint("key", name=op.f("uq_workshops_key")),
    )
    op.create_table(
        "api_tokens",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("scopes", sa.Text(), nullable=False),
        sa.Column("created_by", sa.String(length=40), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("expires_at", Instant(), nullable=True),
        sa.Column("revoked_at", Instant(), nullable=True),
        sa.Column("last_used_at", Instant(), nullable=True),
        sa.ForeignKeyConstraint(
            ["created_by"], ["accounts.id"], name=op.f("fk_api_tokens_created_by_accounts")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_tokens")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_api_tokens_token_hash")),
    )
    op.create_index(op.f("ix_api_tokens_workshop_id"), "api_tokens", ["workshop_id"], unique=False)
    op.create_table(
        "batches",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("order_ids", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("archive", sa.String(length=64), nullable=True),
        sa.Column("size", sa.Integer(), nullable=True),
        sa.Column("message", sa.Text(), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_batches_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_batches")),
    )
    op.create_index("ix_batches_newest", "batches", ["workshop_id", "created_at", "id"], unique=False)
    op.create_table(
        "counters",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("orders", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_counters_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("workshop_id", name=op.f("pk_counters")),
    )
    op.create_table(
        "orders",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("activity", sa.Integer(), nullable=False),
        sa.Column("contact_name", sa.String(length=120), nullable=False),
        sa.Column("contact_email", sa.String(length=254), nullable=False),
        sa.Column("contact_phone", sa.String(length=40), nullable=False),
        sa.Column("contact_organisation", sa.String(length=120), nullable=False),
        sa.Column("needed_by", sa.Date(), nullable=True),
        sa.Column("due", sa.Date(), nullable=False),
        sa.Column("rights_granted", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("copied_from", sa.String(length=40), nullable=True),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("updated_at", Instant(), nullable=False),
        sa.Column("submitted_at", Instant(), nullable=True),
        sa.Column("released_at", Instant(), nullable=True),
        sa.Column("erased_at", Instant(), nullable=True),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_orders_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_orders")),
        sa.UniqueConstraint("workshop_id", "number", name=op.f("uq_orders_workshop_id_number")),
    )
    op.create_index("ix_orders_due", "orders", ["workshop_id", "due", "number"], unique=False)
    op.create_index("ix_orders_state_due", "orders", ["workshop_id", "state", "due", "number"], unique=False)
    op.create_index("ix_orders_state_number", "orders", ["workshop_id", "state", "number"], unique=False)
    op.create_index("ix_orders_state_updated", "orders", ["state", "updated_at"], unique=False)
    op.create_table(
        "password_links",
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("account_id", sa.String(length=40), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("expires_at", Instant(), nullable=False),
        sa.Column("used_at", Instant(), nullable=True),
        sa.ForeignKeyConstraint(
            ["account_id"],
            ["accounts.id"],
            name=op.f("fk_password_links_account_id_accounts"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_password_links")),
    )
    op.create_index(op.f("ix_password_links_account_id"), "password_links", ["account_id"], unique=False)
    op.create_table(
        "record",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.Column("actor", sa.String(length=80), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=True),
        sa.Column("carving_id", sa.String(length=40), nullable=True),
        sa.Column("proof_id", sa.String(length=40), nullable=True),
        sa.Column("digest", sa.String(length=64), nullable=True),
        sa.Column("picture", sa.String(length=64), nullable=True),
        sa.Column("facts", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("seal", sa.String(length=64), nullable=False),
        sa.Column("previous", sa.String(length=64), nullable=False),
        sa.Column("this", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_record_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("workshop_id", "number", name=op.f("pk_record")),
    )
    op.create_index("ix_record_order", "record", ["order_id", "number"], unique=False)
    op.create_table(
        "record_heads",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("this", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_record_heads_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("workshop_id", name=op.f("pk_record_heads")),
    )
    op.create_table(
        "sessions",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("secret_hash", sa.String(length=64), nullable=False),
        sa.Column("account_id", sa.String(length=40), nullable=True),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("last_seen_at", Instant(), nullable=False),
        sa.Column("expires_at", Instant(), nullable=False),
        sa.Column("revoked_at", Instant(), nullable=True),
        sa.Column("address", sa.String(length=64), nullable=False),
        sa.Column("agent", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(
            ["account_id"], ["accounts.id"], name=op.f("fk_sessions_account_id_accounts"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sessions")),
        sa.UniqueConstraint("secret_hash", name=op.f("uq_sessions_secret_hash")),
    )
    op.create_index(op.f("ix_sessions_account_id"), "sessions", ["account_id"], unique=False)
    op.create_index(op.f("ix_sessions_expires_at"), "sessions", ["expires_at"], unique=False)
    op.create_table(
        "shop_bits",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("bit", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_shop_bits_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("workshop_id", "key", name=op.f("pk_shop_bits")),
    )
    op.create_table(
        "shop_models",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("layout", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("allowances", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_shop_models_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("workshop_id", "key", name=op.f("pk_shop_models")),
    )
    op.create_table(
        "workshop_keys",
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("private_key", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_workshop_keys_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("workshop_id", name=op.f("pk_workshop_keys")),
    )
    op.create_table(
        "artworks",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("content_type", sa.String(length=100), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("uploaded_at", Instant(), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_artworks_order_id_orders")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_artworks")),
    )
    op.create_index(op.f("ix_artworks_order_id"), "artworks", ["order_id"], unique=False)
    op.create_index(op.f("ix_artworks_sha256"), "artworks", ["sha256"], unique=False)
    op.create_table(
        "jobs",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=True),
        sa.Column("subject_id", sa.String(length=40), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("stage", sa.String(length=40), nullable=False),
        sa.Column("fraction", sa.Float(precision=53), nullable=False),
        sa.Column("message", sa.Text(), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("payload", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("updated_at", Instant(), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_jobs_order_id_orders")),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.id"], name=op.f("fk_jobs_workshop_id_workshops")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_jobs")),
    )
    op.create_index("ix_jobs_order", "jobs", ["order_id", "created_at"], unique=False)
    op.create_index("ix_jobs_state", "jobs", ["workshop_id", "state", "created_at"], unique=False)
    op.create_table(
        "lines",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("model_key", sa.String(length=64), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_lines_quantity")),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_lines_order_id_orders")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lines")),
    )
    op.create_index("ix_lines_order", "lines", ["order_id", "position"], unique=False)
    op.create_table(
        "order_words",
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column(
            "word",
            sa.String(length=40).with_variant(sa.String(length=40, collation="C"), "postgresql"),
            nullable=False,
        ),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_order_words_order_id_orders")),
        sa.PrimaryKeyConstraint("order_id", "word", name=op.f("pk_order_words")),
    )
    op.create_index("ix_order_words_word", "order_words", ["workshop_id", "word", "order_id"], unique=False)
    op.create_table(
        "session_links",
        sa.Column("session_id", sa.String(length=40), nullable=False),
        sa.Column("link_id", sa.String(length=40), nullable=False),
        sa.ForeignKeyConstraint(
            ["link_id"],
            ["client_links.id"],
            name=op.f("fk_session_links_link_id_client_links"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["session_id"],
            ["sessions.id"],
            name=op.f("fk_session_links_session_id_sessions"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("session_id", "link_id", name=op.f("pk_session_links")),
    )
    op.create_table(
        "readings",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("artwork_id", sa.String(length=40), nullable=False),
        sa.Column("wishes", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("wishes_digest", sa.String(length=64), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("outline", sa.String(length=64), nullable=True),
        sa.Column("picture", sa.String(length=64), nullable=True),
        sa.Column("kind", sa.String(length=16), nullable=True),
        sa.Column("format", sa.String(length=16), nullable=True),
        sa.Column("report", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("trouble", sa.JSON(none_as_null=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["artwork_id"], ["artworks.id"], name=op.f("fk_readings_artwork_id_artworks")
        ),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_readings_order_id_orders")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_readings")),
        sa.UniqueConstraint("artwork_id", "wishes_digest", name=op.f("uq_readings_artwork_id_wishes_digest")),
    )
    op.create_index(op.f("ix_readings_order_id"), "readings", ["order_id"], unique=False)
    op.create_index(op.f("ix_readings_outline"), "readings", ["outline"], unique=False)
    op.create_index(op.f("ix_readings_picture"), "readings", ["picture"], unique=False)
    op.create_table(
        "carvings",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("line_id", sa.String(length=40), nullable=False),
        sa.Column("slat_key", sa.String(length=64), nullable=False),
        sa.Column("piece", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("artwork_id", sa.String(length=40), nullable=True),
        sa.Column("reading_id", sa.String(length=40), nullable=True),
        sa.Column("outline", sa.String(length=64), nullable=True),
        sa.Column("outline_note", sa.Text(), nullable=False),
        sa.Column("placement", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("bit_key", sa.String(length=64), nullable=True),
        sa.Column("thickness", sa.Float(precision=53), nullable=True),
        sa.Column("allowances", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("proof_id", sa.String(length=40), nullable=True),
        sa.Column("verdict", sa.String(length=24), nullable=True),
        sa.Column("trouble", sa.JSON(none_as_null=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["artwork_id"], ["artworks.id"], name=op.f("fk_carvings_artwork_id_artworks")
        ),
        sa.ForeignKeyConstraint(["line_id"], ["lines.id"], name=op.f("fk_carvings_line_id_lines")),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_carvings_order_id_orders")),
        sa.ForeignKeyConstraint(
            ["reading_id"], ["readings.id"], name=op.f("fk_carvings_reading_id_readings")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_carvings")),
        sa.UniqueConstraint("line_id", "slat_key", "piece", name=op.f("uq_carvings_line_id_slat_key_piece")),
    )
    op.create_index(op.f("ix_carvings_artwork_id"), "carvings", ["artwork_id"], unique=False)
    op.create_index("ix_carvings_order", "carvings", ["order_id", "id"], unique=False)
    op.create_index(op.f("ix_carvings_outline"), "carvings", ["outline"], unique=False)
    op.create_index(op.f("ix_carvings_reading_id"), "carvings", ["reading_id"], unique=False)
    op.create_index("ix_carvings_state", "carvings", ["workshop_id", "state", "order_id"], unique=False)
    op.create_index("ix_carvings_verdict", "carvings", ["workshop_id", "verdict", "order_id"], unique=False)
    op.create_table(
        "proofs",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("workshop_id", sa.String(length=40), nullable=False),
        sa.Column("order_id", sa.String(length=40), nullable=False),
        sa.Column("carving_id", sa.String(length=40), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("basis", sa.String(length=64), nullable=False),
        sa.Column("facts", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("outline", sa.String(length=64), nullable=False),
        sa.Column("picture", sa.String(length=64), nullable=False),
        sa.Column("pieces", sa.Integer(), nullable=False),
        sa.Column("verdict", sa.String(length=24), nullable=False),
        sa.Column("sentence", sa.Text(), nullable=False),
        sa.Column("check", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("remarks", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("made_at", Instant(), nullable=False),
        sa.ForeignKeyConstraint(["carving_id"], ["carvings.id"], name=op.f("fk_proofs_carving_id_carvings")),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name=op.f("fk_proofs_order_id_orders")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_proofs")),
        sa.UniqueConstraint("carving_id", "number", name=op.f("uq_proofs_carving_id_number")),
    )
    op.create_index(op.f("ix_proofs_digest"), "proofs", ["digest"], unique=False)
    op.create_index(op.f("ix_proofs_order_id"), "proofs", ["order_id"], unique=False)
    op.create_index(op.f("ix_proofs_outline"), "proofs", ["outline"], unique=False)
    op.create_index(op.f("ix_proofs_picture"), "proofs", ["picture"], unique=False)
    op.create_table(
        "drawings",
        sa.Column("proof_id", sa.String(length=40), nullable=False),
        sa.Column("form", sa.String(length=4), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["proof_id"], ["proofs.id"], name=op.f("fk_drawings_proof_id_proofs")),
        sa.PrimaryKeyConstraint("proof_id", "form", name=op.f("pk_drawings")),
    )
    op.create_index(op.f("ix_drawings_digest"), "drawings", ["digest"], unique=False)
    op.create_table(
        "standings",
        sa.Column("proof_id", sa.String(length=40), nullable=False),
        sa.Column("waived", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("signed_at", Instant(), nullable=True),
        sa.Column("judged_at", Instant(), nullable=True),
        sa.Column("stale_because", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["proof_id"], ["proofs.id"], name=op.f("fk_standings_proof_id_proofs")),
        sa.PrimaryKeyConstraint("proof_id", name=op.f("pk_standings")),
    )
