"""Makes the kept tables append-only inside the database, on SQLite and PostgreSQL.

They stop accidents and other programs, not an owner of the file: for that there are seals outside.
On SQLite, REPLACE would slip past a DELETE trigger unless recursive_triggers is on in that connection, so an
insert over an existing key is refused by itself; so is one over an existing rowid, by which REPLACE deletes as well.
Entries must arrive in order and follow the last leaf.

Statements are kept as they were when a migration used them: a frozen migration calls `create` and never
rebuilds a kept table, since a rebuilt table silently loses its triggers.
"""

import sqlalchemy as sa

_KEYS = {
    "entries": ("book", "seq"),
    "nodes": ("book", "level", "idx"),
    "seals": ("book", "size"),
    "rule_files": ("book", "digest"),
    "locked_rows": ("book", "seq", "class", "subject"),
}
_ZERO = "00" * 32


def names() -> set[str]:
    """Every trigger that a sound book has."""
    made = {f"{table}_{what}" for table in _KEYS for what in ("no_update", "no_delete", "no_replace")}
    return made | {"entries_in_order"}


def create(connection: sa.Connection) -> None:
    """Create all triggers on the connection's database."""
    statements = _sqlite() if connection.dialect.name == "sqlite" else _postgresql()
    for statement in statements:
        connection.exec_driver_sql(statement)


def _sqlite() -> list[str]:
    made = []
    for table, keys in _KEYS.items():
        same = " AND ".join(f'"{key}" = NEW."{key}"' for key in keys)
        made += [
            f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} BEGIN"
            f" SELECT RAISE(ABORT, '{table} is append-only: no row may change'); END",
            f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} BEGIN"
            f" SELECT RAISE(ABORT, '{table} is append-only: no row may be deleted'); END",
            f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table}"
            f" WHEN EXISTS (SELECT 1 FROM {table} WHERE {same})"
            f" OR EXISTS (SELECT 1 FROM {table} WHERE rowid = NEW.rowid) BEGIN"
            f" SELECT RAISE(ABORT, '{table} is append-only: this row exists'); END",
        ]
    made.append(
        "CREATE TRIGGER entries_in_order BEFORE INSERT ON entries"
        " WHEN NEW.seq IS NOT (SELECT coalesce(max(seq) + 1, 0) FROM entries WHERE book = NEW.book)"
        " OR NEW.prev IS NOT coalesce((SELECT leaf FROM entries WHERE book = NEW.book ORDER BY seq DESC LIMIT 1),"
        f" x'{_ZERO}') BEGIN"
        " SELECT RAISE(ABORT, 'entries: this is not the next entry of the book'); END"
    )
    return made


def _postgresql() -> list[str]:
    made = [
        "CREATE FUNCTION counterfoil_append_only() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
        " RAISE EXCEPTION USING MESSAGE = TG_TABLE_NAME || ' is append-only: no row may change or be deleted'; END $$",
        "CREATE FUNCTION counterfoil_in_order() RETURNS trigger LANGUAGE plpgsql AS $$"
        " DECLARE last_seq bigint; last_leaf bytea; BEGIN"
        " SELECT seq, leaf INTO last_seq, last_leaf FROM entries WHERE book = NEW.book ORDER BY seq DESC LIMIT 1;"
        " IF NEW.seq IS DISTINCT FROM coalesce(last_seq + 1, 0)"
        f" OR NEW.prev IS DISTINCT FROM coalesce(last_leaf, '\\x{_ZERO}'::bytea) THEN"
        " RAISE EXCEPTION 'entries: this is not the next entry of the book'; END IF; RETURN NEW; END $$",
        "CREATE TRIGGER entries_in_order BEFORE INSERT ON entries FOR EACH ROW EXECUTE FUNCTION counterfoil_in_order()",
    ]
    for table in _KEYS:
        # no_replace: PostgreSQL's INSERT ... ON CONFLICT DO UPDATE fires the UPDATE trigger; TRUNCATE needs its own.
        for what, when in (("no_update", "UPDATE"), ("no_delete", "DELETE")):
            made.append(
                f"CREATE TRIGGER {table}_{what} BEFORE {when} ON {table}"
                " FOR EACH ROW EXECUTE FUNCTION counterfoil_append_only()"
            )
        made.append(
            f"CREATE TRIGGER {table}_no_replace BEFORE TRUNCATE ON {table}"
            " FOR EACH STATEMENT EXECUTE FUNCTION counterfoil_append_only()"
        )
    return made
