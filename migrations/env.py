"""Alembic's entrance. `ledger.book.engine.migrate` hands over its own open connection; there is no .ini file."""

import tempfile
from pathlib import Path

import sqlalchemy as sa
from alembic import context

from ledger.book.tables import WORDS, metadata

SCRATCH = Path(tempfile.gettempdir()) / "counterfoil-scratch.sqlite"


def _ours(_object: object, name: str | None, kind: str, _reflected: bool, _compared: object) -> bool:
    """Leave the search index out of comparisons: its tables are the database's own kind."""
    return not (kind in ("table", "index") and name is not None and WORDS in name)


def run(connection: sa.Connection) -> None:
    context.configure(
        connection=connection,
        target_metadata=metadata,
        include_object=_ours,
        compare_type=True,
        transaction_per_migration=False,
    )
    with context.begin_transaction():
        context.run_migrations()


connection = context.config.attributes.get("connection")
if connection is not None:
    run(connection)
else:  # a developer typed `alembic ...`: use a scratch file, which `alembic check` finds again
    with sa.create_engine(f"sqlite:///{SCRATCH}").begin() as scratch:
        run(scratch)
