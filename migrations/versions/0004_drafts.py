"""Drafts of slips: their text is locked, and only tray, clerks and times stand in clear."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "drafts",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("draft", sa.Text(), nullable=False),
        sa.Column("tray", sa.Text(), nullable=False),
        sa.Column("staff", sa.Text(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("begun_at", sa.Text(), nullable=False),
        sa.Column("saved_at", sa.Text(), nullable=False),
        sa.Column("saved_by", sa.Text(), nullable=False),
        sa.Column("slip", sa.BigInteger(), nullable=True),
        sa.Column("bytes", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("book", "draft", name="pk_drafts"),
        sa.UniqueConstraint("book", "tray", name="uq_drafts_book_tray"),
    )
