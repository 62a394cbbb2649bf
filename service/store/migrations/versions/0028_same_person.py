"""One address may have an account in each of several workshops."""

from __future__ import annotations

from alembic import op

revision = "0028"
down_revision = "0027"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("accounts") as table:
        table.drop_constraint("uq_accounts_email", type_="unique")
        table.create_unique_constraint("uq_accounts_email_workshop_id", ["email", "workshop_id"])
