"""Alembic's entrance. `ledger.book.engine.migrate` hands over its own open connection; there is no .ini file."""

import sqlalchemy as sa
from alembic import context

from ledger.book.tables import WORDS, metadata


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
else:  # a developer typed `alembic ...`: use a scratch database in memory
    with sa.create_engine("sqlite://").begin() as scratch:
        run(scratch)
