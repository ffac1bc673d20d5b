"""${message}

Never rebuild a kept table here (no batch mode on entries, nodes, seals, rule_files, locked_rows): a rebuilt table
silently loses its append-only triggers. Add a book of the release before to tests/books/ in the same change.
"""

from alembic import op
import sqlalchemy as sa
${imports if imports else ""}

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = ${repr(branch_labels)}
depends_on = ${repr(depends_on)}


def upgrade() -> None:
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    raise RuntimeError("A book is never taken back to an older layout: restore a backup instead.")
