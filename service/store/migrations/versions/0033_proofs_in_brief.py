"""A proof's large values stand last: SQLite reads through all that comes before a value in its row."""

from __future__ import annotations

from alembic import op

revision = "0033"
down_revision = "0032"
branch_labels = None
depends_on = None

_LARGE_LAST = ("pieces", "verdict", "sentence", "remarks", "made_at", "facts", "check")
_WORDS = "what was decided or proved is never changed"


def upgrade() -> None:
    if op.get_bind().dialect.name != "sqlite":
        return  # PostgreSQL keeps large values beside the rows
    with op.batch_alter_table("proofs", recreate="always", partial_reordering=[_LARGE_LAST]):
        pass
    op.execute(
        f"CREATE TRIGGER proofs_no_update BEFORE UPDATE ON proofs BEGIN SELECT RAISE(ABORT, '{_WORDS}'); END"
    )
