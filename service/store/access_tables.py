"""Who may come in: accounts, sessions, client links, API tokens, and the attempts that are counted.

Every secret is kept as its SHA-256 only. The secrets carry 256 random bits, so a plain digest is as good as
a slow one and a read copy of the database opens nothing; passwords are the exception and go through argon2.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Date,
    ForeignKey,
    Index,
    Integer,
    String,
    Table,
    Text,
    UniqueConstraint,
    false,
)

from service.store.metadata import Instant, metadata

_ID = String(40)
_DIGEST = String(64)

accounts = Table(
    "accounts",
    metadata,
    Column("id", _ID, primary_key=True),
    Column("workshop_id", _ID, nullable=False, index=True),
    Column(
        "email", String(254), nullable=False
    ),  # lower case: one person, one way in, to each of their workshops
    Column("name", String(120), nullable=False),
    Column("role", String(10), nullable=False),
    Column("password_hash", Text, nullable=True),  # none until the person has set one
    Column("created_at", Instant, nullable=False),
    Column("disabled_at", Instant, nullable=True),
    CheckConstraint("role IN ('maker', 'helper')", name="role"),
    UniqueConstraint("email", "workshop_id", name="uq_accounts_email_workshop_id"),
)

password_links = Table(
    "password_links",
    metadata,
    Column("token_hash", _DIGEST, primary_key=True),
    Column("account_id", _ID, ForeignKey("accounts.id", ondelete="CASCADE"), nullable=False, index=True),
    Column("created_at", Instant, nullable=False),
    Column("expires_at", Instant, nullable=False),
    Column("used_at", Instant, nullable=True),
)

sessions = Table(
    "sessions",
    metadata,
    Column("id", _ID, primary_key=True),  # public name of the row: shown in 'where you are signed in'
    Column("secret_hash", _DIGEST, nullable=False, unique=True),
    # An account's session, or (none) a client's browser holding the links below.
    Column("account_id", _ID, ForeignKey("accounts.id", ondelete="CASCADE"), nullable=True, index=True),
    Column("created_at", Instant, nullable=False),
    Column("last_seen_at", Instant, nullable=False),
    Column("expires_at", Instant, nullable=False, index=True),
    Column("revoked_at", Instant, nullable=True),
    Column("address", String(64), nullable=False),
    Column("agent", String(200), nullable=False),
)

client_links = Table(
    "client_links",
    metadata,
    Column("id", _ID, primary_key=True),
    Column("token_hash", _DIGEST, nullable=False, unique=True),
    Column("order_id", _ID, nullable=False, index=True),
    Column("workshop_id", _ID, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("expires_at", Instant, nullable=False),
    Column("revoked_at", Instant, nullable=True),
    Column("last_used_at", Instant, nullable=True),
)

session_links = Table(
    "session_links",
    metadata,
    Column("session_id", _ID, ForeignKey("sessions.id", ondelete="CASCADE"), primary_key=True),
    Column("link_id", _ID, ForeignKey("client_links.id", ondelete="CASCADE"), primary_key=True),
)

api_tokens = Table(
    "api_tokens",
    metadata,
    Column("id", _ID, primary_key=True),
    Column("token_hash", _DIGEST, nullable=False, unique=True),
    Column("workshop_id", _ID, nullable=False, index=True),
    Column("name", String(120), nullable=False),
    Column("scopes", Text, nullable=False),  # sorted, separated by spaces, as in RFC 6749 §3.3
    Column("origins", Text, nullable=False, server_default=""),  # of RFC 6454, separated by spaces
    Column("created_by", _ID, ForeignKey("accounts.id"), nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("expires_at", Instant, nullable=True),
    Column("revoked_at", Instant, nullable=True),
    Column("last_used_at", Instant, nullable=True),
    Column("test", Boolean, nullable=False, server_default=false()),
    # Of the secret before, which is good until then.
    Column("previous_hash", _DIGEST, nullable=True, index=True),
    Column("previous_until", Instant, nullable=True),
)

# On which days a token was used, and by which of its secrets.
token_uses = Table(
    "token_uses",
    metadata,
    Column("token_id", _ID, ForeignKey("api_tokens.id", ondelete="CASCADE"), primary_key=True),
    Column("day", Date, primary_key=True),
    Column("by_previous", Boolean, primary_key=True),
    Column("spans", Integer, nullable=False),
    Column("last_at", Instant, nullable=False),
)

# The key of an account's second step: it makes codes, so it is kept as it is, and apart.
second_factors = Table(
    "second_factors",
    metadata,
    Column("account_id", _ID, ForeignKey("accounts.id", ondelete="CASCADE"), primary_key=True),
    Column("secret", String(64), nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("confirmed_at", Instant, nullable=True),  # none: nothing is asked for yet
    Column("last_step", Integer, nullable=False),  # of the last code taken: each is good once
)

recovery_codes = Table(
    "recovery_codes",
    metadata,
    Column("code_hash", _DIGEST, primary_key=True),
    Column("account_id", _ID, ForeignKey("accounts.id", ondelete="CASCADE"), nullable=False, index=True),
    Column("used_at", Instant, nullable=True),
)

attempts = Table(
    "attempts",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=True),
    Column("key", _DIGEST, nullable=False),  # digest of what is counted: no list of visitors is kept
    Column("at", Instant, nullable=False),
    Index("ix_attempts_key_at", "key", "at"),
)
