"""Attempts to sign in that failed: they are counted in the database, so that a restart forgives nobody."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "attempts",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("failures", sa.BigInteger(), nullable=False),
        sa.Column("last_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("book", "who", name="pk_attempts"),
    )
