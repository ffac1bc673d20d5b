"""A copy of the book, forged as well as anybody can who has the database and the shop's own signing key.

Decides: what the forger does. He moves the day of one purchase, so that its hold would seem to be over, and then makes
everything in the file agree with it again: leaf hashes, links, the tree, and every seal from there on, signed anew.
Nothing in the file tells of it any more; the seal on a stub that left the shop does.
"""

import json
import shutil
import sqlite3
from dataclasses import dataclass
from pathlib import Path

from ledger.chain import canonical, seals, tree
from ledger.vault.keys_file import OpenKeys

_FORGED = ("entries", "nodes", "seals")


@dataclass(frozen=True)
class Forgery:
    """What was changed in the copy."""

    seq: int
    was: str
    now: str
    rewritten: int
    """entries whose hashes were made anew"""
    signed_anew: int
    """seals"""


def forged_copy(book: Path, copy: Path, keys: OpenKeys, slip: int, day: str) -> Forgery:
    """Copy a book's folder and move the purchase of one slip to another day (ISO). Result: what was changed."""
    shutil.copytree(book, copy)
    connection = sqlite3.connect(copy / "book.sqlite")
    try:
        triggers = _triggers(connection)
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        forgery = _rewrite(connection, keys, slip, day)
        for _, statement in triggers:
            connection.execute(statement)
        connection.commit()
    finally:
        connection.close()
    return forgery


def _triggers(connection: sqlite3.Connection) -> list[tuple[str, str]]:
    marks = ", ".join("?" * len(_FORGED))
    wanted = f"SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name IN ({marks}) ORDER BY name"
    return list(connection.execute(wanted, _FORGED))


def _rewrite(connection: sqlite3.Connection, keys: OpenKeys, slip: int, day: str) -> Forgery:
    rows = connection.execute("SELECT book, seq, bytes FROM entries ORDER BY seq").fetchall()
    book = rows[0][0]
    values = [json.loads(data) for _, _, data in rows]
    target = next(v["seq"] for v in values if v["kind"] == "purchase/0" and v["public"]["slip"] == slip)
    was = values[target]["occurred_at"]
    values[target]["occurred_at"] = day + was[10:]
    leaves = _relinked(values, target)
    for value, leaf in list(zip(values, leaves, strict=True))[target:]:
        connection.execute(
            "UPDATE entries SET bytes = ?, leaf = ?, prev = ? WHERE seq = ?",
            (canonical.encode(value), leaf, bytes.fromhex(value["prev"]), value["seq"]),
        )
    levels = tree.all_levels(leaves)
    connection.execute("DELETE FROM nodes")
    for level, hashes in enumerate(levels):
        rows = [(book, level, place, node) for place, node in enumerate(hashes)]
        connection.executemany("INSERT INTO nodes VALUES (?, ?, ?, ?)", rows)
    sizes = [size for (size,) in connection.execute("SELECT size FROM seals WHERE size > ?", (target,))]
    for size in sizes:
        root = tree.root(size, lambda level, place: levels[level][place])
        note = seals.seal(book, size, root, keys.public, keys.sign)
        connection.execute("UPDATE seals SET note = ? WHERE size = ?", (note, size))
    return Forgery(target, was, values[target]["occurred_at"], len(values) - target, len(sizes))


def _relinked(values: list[dict[str, object]], target: int) -> list[bytes]:
    """The leaf hash of every entry, once each from the target on names the new leaf before it.

    A purchase also names the leaf of the entry by which it was presented, which may be a new one too.
    """
    leaves = [_leaf(value) for value in values[: target + 1]]
    renamed: dict[object, str] = {}
    for value in values[target + 1 :]:
        old = _leaf(value).hex()
        value["prev"] = leaves[-1].hex()
        public = value["public"]
        assert isinstance(public, dict)
        if public.get("presented") in renamed:
            public["presented"] = renamed[public["presented"]]
        leaves.append(_leaf(value))
        renamed[old] = leaves[-1].hex()
    return leaves


def _leaf(value: dict[str, object]) -> bytes:
    return tree.leaf_hash(canonical.encode(value))
