"""Schema changes, in order; the same ones for SQLite and PostgreSQL."""
