"""The first layout: what a book keeps, what is derived, and the triggers that keep it append-only.

Never rebuild a kept table here (no batch mode on entries, nodes, seals, rule_files, locked_rows): a rebuilt table
silently loses its append-only triggers.
"""

import sqlalchemy as sa
from alembic import op

from ledger.book import triggers, words_index

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "adoptions",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("jurisdiction", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("compared_on", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("book", "seq", name="pk_adoptions"),
    )
    op.create_table(
        "corrections",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("slip", sa.BigInteger(), nullable=False),
        sa.Column("line", sa.BigInteger(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("corrects", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("book", "seq", name="pk_corrections"),
    )
    op.create_table(
        "data_keys",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("class", sa.Text(), nullable=False),
        sa.Column("epoch", sa.Text(), nullable=False),
        sa.Column("wrapped", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("book", "subject", "class", name="pk_data_keys"),
    )
    op.create_table(
        "days",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("day", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("book", "day", name="pk_days"),
    )
    op.create_table(
        "entries",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("bytes", sa.LargeBinary(), nullable=False),
        sa.Column("leaf", sa.LargeBinary(), nullable=False),
        sa.Column("prev", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("book", "seq", name="pk_entries"),
        sa.UniqueConstraint("book", "prev", name="uq_entries_book_prev"),
    )
    op.create_table(
        "happenings",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("about", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("book", "seq", "about", name="pk_happenings"),
    )
    op.create_table(
        "holds",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("slip", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("line", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("jurisdiction", sa.Text(), nullable=False),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("acts", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("starts_from", sa.Text(), nullable=False),
        sa.Column("plain", sa.Text(), nullable=True),
        sa.Column("cautious", sa.Text(), nullable=True),
        sa.Column("waiting_for", sa.Text(), nullable=True),
        sa.Column("record", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("book", "slip", "line", "jurisdiction", "rule", name="pk_holds"),
    )
    op.create_table(
        "items",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("slip", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("line", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("draft", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("description", sa.Text(), nullable=False),
        sa.Column("gross_mg", sa.BigInteger(), nullable=True),
        sa.Column("net_mg", sa.BigInteger(), nullable=True),
        sa.Column("fine_mg", sa.BigInteger(), nullable=True),
        sa.Column("assessment", sa.Text(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=True),
        sa.Column("offer_minor", sa.BigInteger(), nullable=True),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("changed_seq", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("book", "slip", "line", name="pk_items"),
    )
    op.create_index("ix_items_book_state", "items", ["book", "state"], unique=False)
    op.create_table(
        "locked_rows",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("class", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("bytes", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("book", "seq", "class", "subject", name="pk_locked_rows"),
    )
    op.create_table(
        "mentions",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.PrimaryKeyConstraint("book", "name", "seq", name="pk_mentions"),
    )
    op.create_table(
        "nodes",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("level", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("idx", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("hash", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("book", "level", "idx", name="pk_nodes"),
    )
    op.create_table(
        "orders",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("hold", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("notice_due", sa.Text(), nullable=True),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("book", "hold", name="pk_orders"),
    )
    op.create_table(
        "outcomes",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("slip", sa.BigInteger(), nullable=False),
        sa.Column("line", sa.BigInteger(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("book", "seq", name="pk_outcomes"),
    )
    op.create_table(
        "payouts",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("slip", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("payout", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("instrument", sa.Text(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("minor", sa.BigInteger(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("cash_minor", sa.BigInteger(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("book", "slip", "payout", name="pk_payouts"),
    )
    op.create_table(
        "permissions",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("permission", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("from_day", sa.Text(), nullable=False),
        sa.Column("until", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("book", "seq", name="pk_permissions"),
    )
    op.create_table(
        "reports",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("report", sa.Text(), nullable=False),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("jurisdiction", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("recipient", sa.Text(), nullable=False),
        sa.Column("period", sa.Text(), nullable=False),
        sa.Column("slips", sa.Text(), nullable=False),
        sa.Column("due", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("met_by", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=True),
        sa.Column("sent_at", sa.Text(), nullable=True),
        sa.Column("delivered_at", sa.Text(), nullable=True),
        sa.Column("received_at", sa.Text(), nullable=True),
        sa.Column("met_at", sa.Text(), nullable=True),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("book", "report", name="pk_reports"),
    )
    op.create_table(
        "rule_files",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("bytes", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("book", "digest", name="pk_rule_files"),
    )
    op.create_table(
        "seals",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("size", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("book", "size", name="pk_seals"),
    )
    op.create_table(
        "seller_index",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("slip", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.PrimaryKeyConstraint("book", "kind", "digest", "slip", name="pk_seller_index"),
    )
    op.create_index("ix_seller_index_book_slip", "seller_index", ["book", "slip"], unique=False)
    op.create_table(
        "shop_facts",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("facts", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("book", "seq", name="pk_shop_facts"),
    )
    op.create_table(
        "slips",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("slip", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("draft", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("presented_at", sa.Text(), nullable=False),
        sa.Column("local_day", sa.Text(), nullable=False),
        sa.Column("presented_seq", sa.BigInteger(), nullable=False),
        sa.Column("recorded_seq", sa.BigInteger(), nullable=True),
        sa.Column("closed_seq", sa.BigInteger(), nullable=True),
        sa.Column("items", sa.BigInteger(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=True),
        sa.Column("total_minor", sa.BigInteger(), nullable=True),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("book", "slip", name="pk_slips"),
    )
    op.create_table(
        "staff",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("staff", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("until", sa.Text(), nullable=True),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("book", "staff", name="pk_staff"),
    )
    op.create_table(
        "tasks",
        sa.Column("book", sa.Text(), nullable=False),
        sa.Column("slip", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("about", sa.Text(), nullable=False),
        sa.Column("jurisdiction", sa.Text(), nullable=False),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("due", sa.Text(), nullable=True),
        sa.Column("waiting_for", sa.Text(), nullable=True),
        sa.Column("met_by", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("met_at", sa.Text(), nullable=True),
        sa.Column("record", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("book", "slip", "about", "jurisdiction", "rule", name="pk_tasks"),
    )
    triggers.create(op.get_bind())
    words_index.create(op.get_bind())


def downgrade() -> None:
    raise RuntimeError("A book is never taken back to an older layout: restore a backup instead.")
